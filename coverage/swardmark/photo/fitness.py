"""Is a photo fit to measure, by its pixels alone? What is wrong, and how to retake it.

What was looked at, its unit, and from where on it is "fair" (a note) or "unfit" (the number would mislead):

    blur                 share of the detail that a 9-pixel mean leaves, 0..1      > 0.45 fair, > 0.60 unfit
    softer than before   sharpness over the median of the point's earlier photos   < 0.15 fair
    glare                share of the ground with a clipped channel, 0..1          > 0.06 fair, > 0.40 unfit
    exposure             median brightest channel on the ground, 0..255            < 85 fair, < 55 unfit
    deep shade           share of the ground too dark to tell leaf from sand       > 0.10 fair, > 0.50 unfit
    hard shadow          share of the ground under 0.35 of the lit ground's light  > 0.40 fair
    noise                noise of the smoothest patches, 8-bit levels              > 7 fair
    scene                share of ground colours (leaf, straw, sand, soil), 0..1   < 0.50 fair, < 0.25 unfit
    smooth surfaces      share of blocks without any texture, 0..1                 > 0.55 fair, > 0.70 unfit
    dye or paint         median hue of the green, degrees                          > 125 fair

Everything is read from a reduced picture or a sparse sample, so that it costs a few milliseconds at 12 megapixels.
"Unfit" is kept for photos whose number would mislead.

References
----------
Pech-Pacheco, Cristobal, Chamorro-Martinez, Fernandez-Valdivia 2000, Diatom autofocusing in brightfield microscopy, ICPR
3:314-317 (variance of the Laplacian). Crete, Dolmiere, Ladret, Nicolas 2007, The blur effect, Proc. SPIE 6492, 64920I.
Immerkaer 1996, Fast noise variance estimation, Comput. Vis. Image Underst. 64(2):300-302.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.floating]
Mask = NDArray[np.bool_]

GOOD, FAIR, UNFIT = "good", "fair", "unfit"
REDUCED_PX = 800
"""Longer side of the picture on which sharpness and texture are judged: a pixel is then about 3-8 mm of ground."""
SPARSE_PX = 256
"""Points along the longer side at which colours are read."""
BLUR_WINDOW = 9
TOO_DARK = 30
"""Brightest channel below which a point counts as unreadable; the same as in the ground map (canopy/index.py)."""
CLIPPED = 254
SHADOW_SHARE = 0.35
"""Open shade gets a fifth to a third of the light of full sun (common practice, no source)."""
LEAF_EXG = 0.06
LEAST_GREEN = 0.05
LEAST_HISTORY = 2
BLOCK_PX = 8
TEXTURE_LEAST = 0.02
"""A block whose standard deviation is under this share of its mean is smooth: a wall, a floor, paper, sky."""


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at.

    Attributes
    ----------
    name : str
        As in the module's table.
    level : str
        "good", "fair" (a note, the interval may widen) or "unfit" (the number would mislead).
    value : float
        In the unit of the module's table; NaN if it could not be told.
    sentence, retake : str
        What is wrong and how to retake the photo, in plain words; empty when good.
    """

    name: str
    level: str
    value: float
    sentence: str = ""
    retake: str = ""


@dataclass(frozen=True)
class Rule:
    """Where a value turns fair and unfit, and what is said then; `{}` in the sentence takes the value."""

    name: str
    fair: float
    unfit: float
    sentence: str
    retake: str
    low_is_bad: bool = False

    def judge(self, value: float, *, at_most: str = UNFIT) -> Finding:
        """Return the finding for a value; NaN is good, for nothing was seen wrong."""
        sign = -1 if self.low_is_bad else 1
        if not sign * value > sign * self.fair:
            return Finding(self.name, GOOD, float(value))
        level = UNFIT if sign * value > sign * self.unfit and at_most == UNFIT else FAIR
        return Finding(self.name, level, float(value), self.sentence.format(value), self.retake)


NEVER = float("inf")
BLUR = Rule(
    "blur", 0.45, 0.60, "The photo is blurred: leaf and sand run into each other",
    "Hold the phone with both hands, wipe the lens, tap the lawn to focus, and take it again",
)  # fmt: skip
"""Drawn lawns of 1600 pixels: 0.17-0.26 as drawn; 0.41-0.51 (cover off by 1-4 points) at a Gaussian of 3 pixels; from 0.60
on marks are lost and cover is off by 5 points and more."""
SOFTER = Rule(
    "softer than before", 0.15, -NEVER, "The photo is softer than the earlier ones from here ({:.0%} of their sharpness)",
    "Wipe the lens and tap the lawn to focus", low_is_bad=True,
)  # fmt: skip
"""One series of drawn photos, sun and overcast, bare and full, stays within 0.25-1.6 of its median; a Gaussian of 2 pixels
at 1600 leaves 0.05."""
GLARE = Rule(
    "glare", 0.06, 0.40, "{:.0%} of the ground is washed out by glare or over-exposure",
    "Tap the brightest ground to set the exposure, put the sun behind you, or wait for a thin cloud",
)  # fmt: skip
"""Drawn lawns: 0.002 at most as drawn; 0.11-0.17 one stop brighter (cover high by up to 4 points), 0.5 two stops (by 15)."""
EXPOSURE = Rule(
    "exposure", 85.0, 55.0, "The photo is too dark: leaf and sand look alike",
    "Take it in daylight, and tap the ground rather than the sky to set the exposure", low_is_bad=True,
)  # fmt: skip
"""Drawn lawns: 127-152 as drawn; one stop darker 96-106 (cover low by up to 5 points), two 70-78 (by up to 14), three 51-57
(by up to 27)."""
DEEP_SHADE = Rule(
    "deep shade", 0.10, 0.50, "{:.0%} of the ground lies in shade too deep to tell leaf from sand",
    "Come back under an even cloud or when the shadow has moved on",
)  # fmt: skip
HARD_SHADOW = Rule(
    "hard shadow", 0.40, NEVER, "Hard shadow lies over {:.0%} of the ground",
    "Take it under an even cloud, or nearer to noon when shadows are short",
)  # fmt: skip
NOISE = Rule(
    "noise", 7.0, NEVER, "The photo is grainy, as at dusk",
    "Take it in full daylight, at least an hour after sunrise or before sunset",
)  # fmt: skip
"""Drawn lawns: 0.4-1.6 as drawn; 6.7 (cover off by 6 points) at added noise of 8 levels, 9.8 (by 11 points) at 12. Sharp real
turf alone, seen straight down, reads 5.6 (skimage.data.grass), so that this is a note at most."""
SCENE = Rule(
    "scene", 0.50, 0.25, "This does not look like a lawn: only {:.0%} of it has the colours of grass, sand or soil",
    "Photograph the lawn with the square lying on it, outdoors", low_is_bad=True,
)  # fmt: skip
SMOOTH = Rule(
    "smooth surfaces", 0.55, 0.70, "This does not look like a lawn: {:.0%} of it is smooth, like walls and floors",
    "Photograph the lawn with the square lying on it, outdoors",
)  # fmt: skip
DYE = Rule(
    "dye or paint", 125.0, NEVER, "The green looks dyed or painted, and a photo cannot tell colour from leaves",
    "If dye, paint or a pigment was used, wait until it has been mown off; else set the white balance to daylight",
)  # fmt: skip
"""Pigment lowered the cover that image analysis and people saw (five trials in Oregon and New Jersey, comparing methods to
quantify cover in turfgrass research). The hue of turf lies between 60 and 120 deg (Karcher and Richardson 2003, Crop Sci.
43:943-951); the step beyond is our own."""


def pixel_findings(
    rgb: NDArray[np.uint8], *, history: Sequence[float] = (), outline_px: ArrayLike | None = None
) -> tuple[Finding, ...]:
    """Look at a photo's pixels for all that makes its cover mislead.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright, red first.
    history : sequence of float
        `sharpness` of earlier photos from the same photo point; fewer than two are not used.
    outline_px : array_like, shape (N, 2), optional
        Convex outline of the measured ground, pixels. Without it the lower two thirds of the photo are looked at. With
        it a square was found, so that an odd scene is a note at most.
    """
    grey = _reduced(rgb)
    ground = _region(grey.shape, rgb.shape, outline_px)
    step = max(1, max(rgb.shape[:2]) // SPARSE_PX)
    sparse = np.ascontiguousarray(rgb[::step, ::step])
    sparse_ground = _region(sparse.shape, rgb.shape, outline_px)
    colours = sparse[sparse_ground]
    blur = BLUR.judge(_blur(grey, ground))
    at_most = UNFIT if outline_px is None else FAIR
    smooth = float("nan") if blur.level == UNFIT else _smooth_share(grey, ground)
    return (
        blur,
        SOFTER.judge(_against(_sharpness(grey, ground), history)),
        *_light_findings(colours),
        HARD_SHADOW.judge(_shadow_share(sparse, sparse_ground)),
        NOISE.judge(noise_level(rgb)),
        SCENE.judge(_ground_colour_share(colours), at_most=at_most),
        SMOOTH.judge(smooth, at_most=at_most),
        DYE.judge(_green_hue(colours)),
    )


def sharpness(rgb: NDArray[np.uint8], *, outline_px: ArrayLike | None = None) -> float:
    """Return the variance of the Laplacian of the green channel, reduced to 800 pixels (Pech-Pacheco et al. 2000).

    It scales with contrast and scene: comparable only between photos of the same photo point.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo.
    outline_px : array_like, shape (N, 2), optional
        Convex outline of the measured ground, pixels; else the lower two thirds of the photo.

    Returns
    -------
    float
        Squared 8-bit levels; NaN if the outline holds no pixel.
    """
    grey = _reduced(rgb)
    return _sharpness(grey, _region(grey.shape, rgb.shape, outline_px))


def noise_level(rgb: NDArray[np.uint8]) -> float:
    """Return the noise of the photo's smoothest patches, standard deviation in 8-bit levels (Immerkaer 1996).

    400 patches of 16 x 16 pixels are spread over the photo; the 20 quietest tell the noise, for elsewhere it is texture.
    NaN if no patch lies between black and white.
    """
    size, count = 16, 20
    rows, cols = (
        np.linspace(0, length - size, count).astype(np.intp)[:, None] + np.arange(size) for length in rgb.shape[:2]
    )
    patches = rgb[rows[:, None, :, None], cols[None, :, None, :], 1].reshape(-1, size, size).astype(np.float32)
    mean = patches.mean(axis=(1, 2))
    patches = patches[(mean > TOO_DARK / 2) & (mean < 235)]
    if not len(patches):
        return float("nan")
    across = patches[:, :, :-2] - 2 * patches[:, :, 1:-1] + patches[:, :, 2:]
    response = across[:, :-2] - 2 * across[:, 1:-1] + across[:, 2:]
    each = np.sqrt(np.pi / 2) / 6 * np.abs(response).mean(axis=(1, 2))
    return float(np.sort(each)[:count].mean())


def _light_findings(colours: NDArray[np.uint8]) -> tuple[Finding, Finding, Finding]:
    """Judge the light on the ground from its colours, shape (N, 3)."""
    if not len(colours):
        nothing = float("nan")
        return GLARE.judge(nothing), EXPOSURE.judge(nothing), DEEP_SHADE.judge(nothing)
    brightest = np.maximum(np.maximum(colours[:, 0], colours[:, 1]), colours[:, 2])
    dark = float((brightest < TOO_DARK).mean())
    clipped = float((brightest >= CLIPPED).mean())
    return GLARE.judge(clipped), EXPOSURE.judge(float(np.median(brightest))), DEEP_SHADE.judge(dark)


def _reduced(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the green channel with a longer side of 800 pixels, each the mean of at least two by two photo pixels."""
    import cv2

    scale = REDUCED_PX / max(rgb.shape[:2])
    if scale >= 1:
        return np.ascontiguousarray(rgb[..., 1])
    width, height = (max(1, round(length * scale)) for length in rgb.shape[1::-1])
    if scale < 0.5:
        rgb = np.asarray(cv2.resize(rgb, (2 * width, 2 * height), interpolation=cv2.INTER_NEAREST))
    return np.asarray(cv2.resize(cv2.extractChannel(rgb, 1), (width, height), interpolation=cv2.INTER_AREA))


def _region(shape: tuple[int, ...], full: tuple[int, ...], outline_px: ArrayLike | None) -> Mask:
    """Return the ground as a mask on a reduced lattice of the photo."""
    import cv2

    mask = np.zeros(shape[:2], np.uint8)
    if outline_px is None:
        mask[shape[0] // 3 :] = 1
    else:
        scale = np.array([shape[1] / full[1], shape[0] / full[0]])
        outline = (np.asarray(outline_px, float) + 0.5) * scale - 0.5
        cv2.fillConvexPoly(mask, np.rint(outline).astype(np.int32), 1)
    return mask.astype(bool)


def _sharpness(grey: NDArray[np.uint8], ground: Mask) -> float:
    import cv2

    response = cv2.Laplacian(grey, cv2.CV_16S)[ground]
    return float(response.var()) if len(response) else float("nan")


def _blur(grey: NDArray[np.uint8], ground: Mask) -> float:
    """Return the blur effect: how much of the neighbour differences survives a mean filter; the worse direction counts."""
    import cv2

    rows, cols = np.flatnonzero(ground.any(axis=1)), np.flatnonzero(ground.any(axis=0))
    if len(rows) < BLUR_WINDOW or len(cols) < BLUR_WINDOW:
        return float("nan")
    picture = grey[rows[0] : rows[-1] + 1, cols[0] : cols[-1] + 1].astype(np.float32)
    left, right = (slice(None), slice(None, -1)), (slice(None), slice(1, None))
    upper, lower = (slice(None, -1), slice(None)), (slice(1, None), slice(None))
    worst = []
    for one, other, window in ((left, right, (BLUR_WINDOW, 1)), (upper, lower, (1, BLUR_WINDOW))):
        mean = cv2.blur(picture, window)
        before = cv2.absdiff(picture[one], picture[other])
        lost = cv2.subtract(before, cv2.absdiff(mean[one], mean[other]))
        total = cv2.sumElems(before)[0]
        worst.append(1 - cv2.sumElems(cv2.max(lost, 0.0))[0] / total if total > 0 else float("nan"))
    return max(worst)


def _against(value: float, history: Sequence[float]) -> float:
    known = [past for past in history if np.isfinite(past) and past > 0]
    return value / float(np.median(known)) if len(known) >= LEAST_HISTORY else float("nan")


def _smooth_share(grey: NDArray[np.uint8], ground: Mask) -> float:
    """Share of the blocks on the ground whose standard deviation is a fiftieth of their mean or less."""
    import cv2

    size = (max(1, grey.shape[1] // BLOCK_PX), max(1, grey.shape[0] // BLOCK_PX))
    picture = grey.astype(np.float32)
    mean, square, inside = (
        cv2.resize(values, size, interpolation=cv2.INTER_AREA)
        for values in (picture, picture * picture, ground.astype(np.float32))
    )
    counted = (inside > 0.9) & (mean > TOO_DARK / 2) & (mean < 250)
    smooth = square - mean * mean < (TEXTURE_LEAST * mean) ** 2
    return float(smooth[counted].mean()) if counted.any() else float("nan")


def _exg(colours: NDArray[np.uint8]) -> Floats:
    values = colours.astype(np.float32)
    total = values.sum(axis=-1)
    return (3 * values[..., 1] - total) / np.maximum(total, 1)


def _ground_colour_share(colours: NDArray[np.uint8]) -> float:
    """Share of leaf, straw, sand and soil colours; greys count half, for the camera's white balance may have made them."""
    brightest, darkest = colours.max(axis=1), colours.min(axis=1)
    readable = (brightest >= TOO_DARK) & (darkest < CLIPPED)
    if not readable.any() or readable.mean() < 0.05:
        return float("nan")
    red, green, blue = np.ascontiguousarray(colours[readable].T, np.float32)
    grey = (brightest - darkest)[readable] < 0.10 * brightest[readable]
    leaf = (2 * green - red - blue > LEAF_EXG * (red + green + blue)) & (green >= blue)
    earth = (red >= green) & (green > blue) & (blue > 0.2 * red) & (green - blue > 0.25 * (red - blue))
    return float((leaf | earth | grey).mean() - 0.5 * (grey & ~leaf).mean())


def _shadow_share(sparse: NDArray[np.uint8], ground: Mask) -> float:
    """Share of the ground darker than 0.35 of the lit ground of its own kind, green or not, at the scale of shadows."""
    import cv2

    size = (max(1, sparse.shape[1] // 4), max(1, sparse.shape[0] // 4))
    small = cv2.resize(sparse, size, interpolation=cv2.INTER_AREA)
    inside = cv2.resize(ground.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    colours = small[inside]
    light = (colours[:, 1] / np.float32(255)) ** 2.2
    green = _exg(colours) > LEAF_EXG
    dark = 0
    for kind in (green, ~green):
        if kind.mean() > LEAST_GREEN:
            dark += int((light[kind] < SHADOW_SHARE * np.quantile(light[kind], 0.9)).sum())
    return dark / len(colours) if len(colours) else float("nan")


def _green_hue(colours: NDArray[np.uint8]) -> float:
    """Return the median hue of the green points, degrees; NaN if hardly anything is green."""
    red, green, blue = np.ascontiguousarray(colours[colours[:, 1] >= 2 * TOO_DARK].T, np.float32)
    is_green = (green > 1.12 * red) & (green >= blue)
    if is_green.sum() < LEAST_GREEN * len(colours) or not is_green.any():
        return float("nan")
    red, green, blue = red[is_green], green[is_green], blue[is_green]
    return float(np.median(120 + 60 * (blue - red) / (green - np.minimum(red, blue))))

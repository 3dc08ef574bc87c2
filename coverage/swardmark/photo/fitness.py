"""Is a photo fit to measure, by its pixels alone? What is wrong, and how to retake it.

Everything is read from a reduced picture or a sparse sample, so that it costs a few milliseconds at 12 megapixels.
The limits, each with its reason, stand in findings.py.

References
----------
Pech-Pacheco, Cristobal, Chamorro-Martinez, Fernandez-Valdivia 2000, Diatom autofocusing in brightfield microscopy, ICPR
3:314-317 (variance of the Laplacian). Crete, Dolmiere, Ladret, Nicolas 2007, The blur effect, Proc. SPIE 6492, 64920I.
Immerkaer 1996, Fast noise variance estimation, Comput. Vis. Image Underst. 64(2):300-302.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.common.color import linear_of
from swardmark.photo.findings import (
    BLUR,
    DEEP_SHADE,
    DYE,
    EXPOSURE,
    FAIR,
    GLARE,
    GOOD,
    HARD_SHADOW,
    NOISE,
    ONE_COLOR,
    SCENE,
    SMOOTH,
    SOFTER,
    UNFIT,
    Finding,
)

Floats = NDArray[np.floating]
Mask = NDArray[np.bool_]

REDUCED_PX = 800
"""Longer side of the picture on which sharpness and texture are judged: a pixel is then about 3-8 mm of ground."""
SPARSE_PX = 200
"""Points along the longer side at which colors are read."""
BLUR_WINDOW, BLUR_EVERY = 9, 2
"""Neighbors over which the blur effect takes a mean, and which of the rows and columns it is read along."""
TOO_DARK = 30
"""Brightest channel below which a point counts as unreadable; the same as in the ground map (canopy/index.py)."""
CLIPPED = 254
SHADOW_SHARE = 0.35
"""Open shade gets a fifth to a third of the light of full sun (common practice, no source)."""
LEAF_EXG = 0.06
LEAST_GREEN = 0.05
LEAST_HISTORY = 2
BLOCK_PX = 8
EVEN_PX = 16
"""Blocks of a JPEG with color at half its size: the patches in which lost data show."""
TEXTURE_LEAST = 0.02
"""A block whose standard deviation is under this share of its mean is smooth: a wall, a floor, paper, sky."""


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
    gray = _reduced(rgb)
    ground = _region(gray.shape, rgb.shape, outline_px)
    step = max(1, max(rgb.shape[:2]) // SPARSE_PX)
    sparse = every(rgb, step)
    sparse_ground = _region(sparse.shape, rgb.shape, outline_px)
    colors = sparse.reshape(-1, 3).compress(sparse_ground.ravel(), axis=0)
    blur = BLUR.judge(_blur(gray, ground))
    at_most = UNFIT if outline_px is None else FAIR
    smooth = float("nan") if blur.level == UNFIT else _smooth_share(gray, ground)
    sharp = _sharpness(gray, ground)
    return (
        blur,
        Finding("sharpness", GOOD, sharp),
        SOFTER.judge(against(sharp, history)),
        *_light_findings(colors),
        ONE_COLOR.judge(one_color_share(rgb, outline_px)),
        HARD_SHADOW.judge(_shadow_share(sparse, sparse_ground)),
        NOISE.judge(noise_level(rgb)),
        SCENE.judge(_ground_color_share(colors), at_most=at_most),
        SMOOTH.judge(smooth, at_most=at_most),
        DYE.judge(_green_hue(colors)),
    )


def one_color_share(rgb: NDArray[np.uint8], outline_px: ArrayLike | None = None) -> float:
    """Return the share of the ground whose color is exactly that of the ground 16 pixels to the right and below.

    Shadow and glare without any detail, which count elsewhere, do not count. `outline_px` as in `pixel_findings`.
    """
    import cv2

    step = EVEN_PX // 2
    colors = every(rgb, step)
    code = cv2.cvtColor(colors, cv2.COLOR_RGB2RGBA).view(np.uint32)[..., 0]
    here = code[:-2, :-2]
    even = (here == code[2:, :-2]) & (here == code[:-2, 2:]) & (here == code[2:, 2:])
    ground = _region(code.shape, rgb.shape, outline_px)[:-2, :-2]
    if not ground.any():
        return float("nan")
    brightest = colors[:-2, :-2][even & ground].max(axis=1)
    return float(((brightest >= TOO_DARK) & (brightest < CLIPPED)).sum() / ground.sum())


def every(rgb: NDArray[np.uint8], step: int) -> NDArray[np.uint8]:
    """Return every `step`-th pixel along rows and columns, as a picture of its own."""
    return np.ascontiguousarray(rgb[::step, ::step])


def noise_level(rgb: NDArray[np.uint8]) -> float:
    """Return the noise of the photo's smoothest patches, standard deviation in 8-bit levels (Immerkaer 1996).

    400 patches of 16 x 16 pixels are spread over the photo; the 20 quietest tell the noise, the others are texture.
    NaN if no patch lies between black and white.
    """
    size, count = 16, 20
    rows, cols = (
        np.linspace(0, length - size, count).astype(np.intp)[:, None] + np.arange(size)
        for length in rgb.shape[:2]
    )
    patches = (
        rgb[rows[:, None, :, None], cols[None, :, None, :], 1].reshape(-1, size, size).astype(np.float32)
    )
    mean = patches.mean(axis=(1, 2))
    patches = patches[(mean > TOO_DARK / 2) & (mean < 235)]
    if not len(patches):
        return float("nan")
    across = patches[:, :, :-2] - 2 * patches[:, :, 1:-1] + patches[:, :, 2:]
    response = across[:, :-2] - 2 * across[:, 1:-1] + across[:, 2:]
    each = np.sqrt(np.pi / 2) / 6 * np.abs(response).mean(axis=(1, 2))
    return float(np.sort(each)[:count].mean())


def against(value: float, history: Sequence[float]) -> float:
    """Return a value over the median of its history; NaN with fewer than two earlier values."""
    known = [past for past in history if np.isfinite(past) and past > 0]
    return value / float(np.median(known)) if len(known) >= LEAST_HISTORY else float("nan")


def _light_findings(colors: NDArray[np.uint8]) -> tuple[Finding, Finding, Finding]:
    """Judge the light on the ground from its colors, shape (N, 3)."""
    if not len(colors):
        nothing = float("nan")
        return GLARE.judge(nothing), EXPOSURE.judge(nothing), DEEP_SHADE.judge(nothing)
    brightest = np.maximum(np.maximum(colors[:, 0], colors[:, 1]), colors[:, 2])
    dark = float((brightest < TOO_DARK).mean())
    clipped = float((brightest >= CLIPPED).mean())
    return GLARE.judge(clipped), EXPOSURE.judge(float(np.median(brightest))), DEEP_SHADE.judge(dark)


def _reduced(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the green channel with a longer side of 800 pixels, each the mean of at least two by two photo pixels."""
    import cv2

    green = np.asarray(cv2.extractChannel(rgb, 1), np.uint8)
    scale = REDUCED_PX / max(rgb.shape[:2])
    if scale >= 1:
        return green
    width, height = (max(1, round(length * scale)) for length in rgb.shape[1::-1])
    if scale < 0.5:
        green = np.asarray(cv2.resize(green, (2 * width, 2 * height), interpolation=cv2.INTER_NEAREST))
    return np.asarray(cv2.resize(green, (width, height), interpolation=cv2.INTER_AREA), np.uint8)


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


def _sharpness(gray: NDArray[np.uint8], ground: Mask) -> float:
    import cv2

    response = cv2.Laplacian(gray, cv2.CV_16S)[ground]
    return float(response.var()) if len(response) else float("nan")


def _blur(gray: NDArray[np.uint8], ground: Mask) -> float:
    """Return the blur effect: the share of neighbor differences that survives a mean, in the worse direction."""
    import cv2

    rows, cols = np.flatnonzero(ground.any(axis=1)), np.flatnonzero(ground.any(axis=0))
    if len(rows) < BLUR_WINDOW or len(cols) < BLUR_WINDOW:
        return float("nan")
    picture = gray[rows[0] : rows[-1] + 1, cols[0] : cols[-1] + 1]
    worst = []
    for lines in (picture[::BLUR_EVERY], picture[:, ::BLUR_EVERY].T):
        lines = np.ascontiguousarray(lines, np.float32)
        mean = cv2.blur(lines, (BLUR_WINDOW, 1))
        before = cv2.absdiff(lines[:, :-1], lines[:, 1:])
        lost = cv2.subtract(before, cv2.absdiff(mean[:, :-1], mean[:, 1:]))
        total = cv2.sumElems(before)[0]
        worst.append(1 - float(np.maximum(lost, 0).sum()) / total if total > 0 else float("nan"))
    return max(worst)


def _smooth_share(gray: NDArray[np.uint8], ground: Mask) -> float:
    """Share of the blocks on the ground whose standard deviation is a fiftieth of their mean or less."""
    import cv2

    size = (max(1, gray.shape[1] // BLOCK_PX), max(1, gray.shape[0] // BLOCK_PX))
    picture = gray.astype(np.float32)
    mean, square, inside = (
        cv2.resize(values, size, interpolation=cv2.INTER_AREA)
        for values in (picture, picture * picture, ground.astype(np.float32))
    )
    counted = (inside > 0.9) & (mean > TOO_DARK / 2) & (mean < 250)
    smooth = square - mean * mean < (TEXTURE_LEAST * mean) ** 2
    return float(smooth[counted].mean()) if counted.any() else float("nan")


def _exg(colors: NDArray[np.uint8]) -> Floats:
    red, green, blue = np.ascontiguousarray(np.moveaxis(colors, -1, 0), np.float32)
    total = red + green + blue
    return np.asarray((3 * green - total) / np.maximum(total, 1))


def _ground_color_share(colors: NDArray[np.uint8]) -> float:
    """Share of leaf, straw, sand and soil colors; grays, which a white balance may have made, count half."""
    red, green, blue = np.ascontiguousarray(colors.T)
    brightest = np.maximum(np.maximum(red, green), blue)
    darkest = np.minimum(np.minimum(red, green), blue)
    readable = (brightest >= TOO_DARK) & (darkest < CLIPPED)
    if not readable.any() or readable.mean() < 0.05:
        return float("nan")
    red, green, blue = np.ascontiguousarray(colors[readable].T, np.float32)
    gray = (brightest - darkest)[readable] < 0.10 * brightest[readable]
    leaf = (2 * green - red - blue > LEAF_EXG * (red + green + blue)) & (green >= blue)
    earth = (red >= green) & (green > blue) & (blue > 0.2 * red) & (green - blue > 0.25 * (red - blue))
    return float((leaf | earth | gray).mean() - 0.5 * (gray & ~leaf).mean())


def _shadow_share(sparse: NDArray[np.uint8], ground: Mask) -> float:
    """Share of the ground darker than 0.35 of the lit ground of its own kind, green or not, at the scale of shadows."""
    import cv2

    size = (max(1, sparse.shape[1] // 4), max(1, sparse.shape[0] // 4))
    small = np.asarray(cv2.resize(sparse, size, interpolation=cv2.INTER_AREA), np.uint8)
    inside = cv2.resize(ground.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    colors = small[inside]
    light = linear_of(colors[:, 1])
    green = _exg(colors) > LEAF_EXG
    dark = 0
    for kind in (green, ~green):
        if kind.mean() > LEAST_GREEN:
            dark += int((light[kind] < SHADOW_SHARE * np.quantile(light[kind], 0.9)).sum())
    return dark / len(colors) if len(colors) else float("nan")


def _green_hue(colors: NDArray[np.uint8]) -> float:
    """Return the median hue of the green points, degrees; NaN if hardly anything is green."""
    red, green, blue = np.ascontiguousarray(colors[colors[:, 1] >= 2 * TOO_DARK].T, np.float32)
    is_green = (green > 1.12 * red) & (green >= blue)
    if is_green.sum() < LEAST_GREEN * len(colors) or not is_green.any():
        return float("nan")
    red, green, blue = red[is_green], green[is_green], blue[is_green]
    return float(np.median(120 + 60 * (blue - red) / (green - np.minimum(red, blue))))

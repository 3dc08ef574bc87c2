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

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.common.color import Colors, linear_of
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
from swardmark.photo.look import Look, Mask, every, look_at, region_of

Floats = NDArray[np.floating]

BLUR_WINDOW, BLUR_EVERY = 9, 4
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
    return findings_of(look_at(rgb, outline_px=outline_px), history=history)


def findings_of(look: Look, *, history: Sequence[float] = ()) -> tuple[Finding, ...]:
    """Judge a photo's pixels, as `pixel_findings` does."""
    blur = BLUR.judge(_blur(look.gray))
    at_most = UNFIT if look.outline_px is None else FAIR
    smooth = float("nan") if blur.level == UNFIT else _smooth_share(look.gray, look.ground)
    sharp = _sharpness(look.gray, look.ground)
    return (
        blur,
        Finding("sharpness", GOOD, sharp),
        SOFTER.judge(against(sharp, history)),
        *_light_findings(look.colors),
        ONE_COLOR.judge(one_color_share(look.rgb, look.outline_px)),
        HARD_SHADOW.judge(_shadow_share(look.sparse, look.sparse_ground)),
        NOISE.judge(noise_level(look.rgb)),
        SCENE.judge(_ground_color_share(look.colors), at_most=at_most),
        SMOOTH.judge(smooth, at_most=at_most),
        DYE.judge(_green_hue(look.colors)),
    )


def one_color_share(rgb: NDArray[np.uint8], outline_px: ArrayLike | None = None) -> float:
    """Return the share of the ground whose color is exactly that of the ground 16 pixels to the right and below.

    Shadow and glare without any detail, which count elsewhere, do not count. `outline_px` as in `pixel_findings`.
    """
    import cv2

    colors = every(rgb, EVEN_PX // 2)
    code = cv2.cvtColor(colors, cv2.COLOR_RGB2RGBA).view(np.uint32)[..., 0]
    here = code[:-2, :-2]
    even = (here == code[2:, :-2]) & (here == code[:-2, 2:]) & (here == code[2:, 2:])
    ground = region_of(code.shape, rgb.shape, outline_px)[:-2, :-2]
    count = np.count_nonzero(ground)
    if not count:
        return float("nan")
    brightest = colors[:-2, :-2][even & (ground > 0)].max(axis=1)
    return float(np.count_nonzero((brightest >= TOO_DARK) & (brightest < CLIPPED)) / count)


def noise_level(rgb: NDArray[np.uint8]) -> float:
    """Return the noise of the photo's smoothest patches, standard deviation in 8-bit levels (Immerkaer 1996).

    400 patches of 16 x 16 pixels are spread over the photo; the 20 quietest tell the noise, the others are texture.
    NaN if no patch lies between black and white.
    """
    size, count = 16, 20
    tops, lefts = (np.linspace(0, length - size, count).astype(np.intp) for length in rgb.shape[:2])
    windows = np.lib.stride_tricks.sliding_window_view(rgb[..., 1], (size, size))
    patches = windows[tops[:, None], lefts].reshape(-1, size, size)
    mean = patches.mean(axis=(1, 2))
    patches = patches[(mean > TOO_DARK / 2) & (mean < 235)].astype(np.int16)
    if not len(patches):
        return float("nan")
    across = patches[:, :, :-2] - 2 * patches[:, :, 1:-1] + patches[:, :, 2:]
    response = across[:, :-2] - 2 * across[:, 1:-1] + across[:, 2:]
    each = np.sqrt(np.pi / 2) / 6 * np.abs(response).mean(axis=(1, 2))
    return float(np.sort(each)[:count].mean())


def against(value: float, history: Sequence[float]) -> float:
    """Return a value over the median of its history; NaN with fewer than two earlier values."""
    known = sorted(past for past in history if past > 0 and past < math.inf)
    if len(known) < LEAST_HISTORY:
        return float("nan")
    half = len(known) // 2
    return value / ((known[half] + known[~half]) / 2)


def _light_findings(colors: Colors) -> tuple[Finding, Finding, Finding]:
    """Judge the light on the ground from its colors."""
    brightest = colors.brightest
    if not len(brightest):
        nothing = float("nan")
        return GLARE.judge(nothing), EXPOSURE.judge(nothing), DEEP_SHADE.judge(nothing)
    dark, clipped = (
        np.count_nonzero(which) / len(brightest) for which in (brightest < TOO_DARK, brightest >= CLIPPED)
    )
    return GLARE.judge(clipped), EXPOSURE.judge(float(np.median(brightest))), DEEP_SHADE.judge(dark)


def _sharpness(gray: NDArray[np.uint8], ground: Mask) -> float:
    import cv2

    count = np.count_nonzero(ground)
    if not count:
        return float("nan")
    response = cv2.copyTo(cv2.Laplacian(gray, cv2.CV_16S), ground)
    mean = cv2.sumElems(response)[0] / count
    return float(cv2.norm(response, cv2.NORM_L2SQR) / count - mean * mean)


def _blur(gray: NDArray[np.uint8]) -> float:
    """Return the blur effect: the share of neighbor differences that survives a mean, in the worse direction."""
    import cv2

    if min(gray.shape) < BLUR_WINDOW:
        return float("nan")
    worst = []
    for lines, window, first, second in (
        (gray[::BLUR_EVERY], (BLUR_WINDOW, 1), np.s_[:, :-1], np.s_[:, 1:]),
        (gray[:, ::BLUR_EVERY], (1, BLUR_WINDOW), np.s_[:-1], np.s_[1:]),
    ):
        sharp = lines.astype(np.float32, order="C")
        mean = cv2.blur(sharp, window)
        before = cv2.absdiff(sharp[first], sharp[second])
        lost = cv2.subtract(before, cv2.absdiff(mean[first], mean[second]))
        total = cv2.sumElems(before)[0]
        worst.append(1 - cv2.sumElems(np.maximum(lost, 0))[0] / total if total > 0 else float("nan"))
    return max(worst)


def _smooth_share(gray: NDArray[np.uint8], ground: Mask) -> float:
    """Share of the blocks on the ground whose standard deviation is a fiftieth of their mean or less."""

    rows, cols = (length // BLOCK_PX * BLOCK_PX for length in gray.shape)
    if not rows or not cols:
        return float("nan")
    picture = gray[:rows, :cols].astype(np.float32)
    mean, square, inside = (
        _block_means(values)
        for values in (picture, picture * picture, ground[:rows, :cols].astype(np.float32))
    )
    counted = (inside > 0.9) & (mean > TOO_DARK / 2) & (mean < 250)
    smooth = square - mean * mean < (TEXTURE_LEAST * mean) ** 2
    return float(smooth[counted].mean()) if counted.any() else float("nan")


def _block_means(values: Floats) -> Floats:
    """Return the means of blocks of 8 by 8 values, halving three times."""
    import cv2

    for _ in range(3):
        rows, cols = (length // 2 for length in values.shape)
        values = np.asarray(cv2.resize(values, (cols, rows), interpolation=cv2.INTER_AREA), np.float32)
    return values


def _ground_color_share(colors: Colors) -> float:
    """Share of leaf, straw, sand and soil colors; grays, which a white balance may have made, count half."""
    brightest, darkest = colors.brightest, colors.darkest
    readable = (brightest >= TOO_DARK) & (darkest < CLIPPED)
    count = np.count_nonzero(readable)
    if not count or count < 0.05 * len(readable):
        return float("nan")
    red, green, blue = (plane.astype(np.float32) for plane in colors)
    is_gray = readable & (brightest - darkest < np.float32(0.10) * brightest)
    leaf = _is_leaf(red, green, blue) & (green >= blue) & readable
    earth = (red >= green) & (green > blue) & (blue > 0.2 * red) & (green - blue > 0.25 * (red - blue))
    alike = np.count_nonzero(leaf | (earth & readable) | is_gray)
    return float((alike - 0.5 * np.count_nonzero(is_gray & ~leaf)) / count)


def _shadow_share(sparse: NDArray[np.uint8], ground: Mask) -> float:
    """Share of the ground darker than 0.35 of the lit ground of its own kind, green or not, at the scale of shadows."""
    import cv2

    size = (max(1, sparse.shape[1] // 4), max(1, sparse.shape[0] // 4))
    small = np.asarray(cv2.resize(sparse, size, interpolation=cv2.INTER_AREA), np.uint8)
    inside = cv2.resize(ground, size, interpolation=cv2.INTER_NEAREST) > 0
    red, green, blue = small[inside].astype(np.float32).T
    light, is_leaf = linear_of(green), _is_leaf(red, green, blue)
    dark = 0
    for kind in (is_leaf, ~is_leaf):
        if np.count_nonzero(kind) > LEAST_GREEN * len(kind):
            of_kind = light[kind]
            dark += int(np.count_nonzero(of_kind < SHADOW_SHARE * np.quantile(of_kind, 0.9)))
    return dark / len(light) if len(light) else float("nan")


def _is_leaf(red: Floats, green: Floats, blue: Floats) -> NDArray[np.bool_]:
    """Tell which points are green by their excess green, 2g - r - b."""
    total = red + green + blue
    return np.asarray(3 * green - total > LEAF_EXG * np.maximum(total, 1))


def _green_hue(colors: Colors) -> float:
    """Return the median hue of the green points, degrees; NaN if hardly anything is green."""
    is_lit = colors.green >= 2 * TOO_DARK
    red, green, blue = (plane[is_lit].astype(np.float32) for plane in colors)
    is_green = (green > np.float32(1.12) * red) & (green >= blue)
    if np.count_nonzero(is_green) < LEAST_GREEN * len(colors.green) or not is_green.any():
        return float("nan")
    red, green, blue = red[is_green], green[is_green], blue[is_green]
    return float(np.median(120 + 60 * (blue - red) / (green - np.minimum(red, blue))))

"""White balance from the square: the corner marks, printed black on white, tell the color of the light.

A camera balances each photo by what it happens to show, so the same lawn comes out greener one day and redder the
next. The marks lie in the same light as the lawn; gains that turn them neutral turn the lawn back too. White paper in
the sun comes out near full white, where a camera bends all colors toward white and the cast is lost; so only middle
tones are read: paper where it is dim enough, else the blurred edges between ink and paper, which are as neutral. The
gains act on coded values: for the power law that sRGB nearly is, that is the same as scaling light.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import Colors, colors_at, colors_of
from swardmark.ground.homography import narrowed
from swardmark.ground.plane import GroundPlane

Picture = NDArray[np.uint8]
Gains = tuple[float, float, float]

MARK_M = 0.12
"""Side of a mark's black square, meters, for a square of 1 m side; larger squares may have larger marks."""
BRIGHTEST = 220
"""Above this coded value a camera's tone curve has begun to bleach colors."""
INK_SHARE = 0.35
"""Points darker than this share of the mark's paper are ink and stray light, whose color says little."""
PAPER_RANK = 0.95
"""Share of a mark's points that are darker than its paper."""
LEAST_POINTS = 25
MARK_RIM = 0.03
"""Share of a mark's side along its edges that is left out."""
MOST_ALONG = 60
"""Pixels across and down that are read of a mark, at most about. Half as many move covers by up to a point."""
LARGEST_GAIN = 1.15
"""More than this on coded values (a third in light) is no camera's mistake but colored paper: cut off here."""


def white_gains(rgb: Picture, plane: GroundPlane, *, side_m: float) -> Gains | None:
    """Find the gains that turn the four corner marks neutral.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo.
    plane : GroundPlane
        The ground in the square's own frame.
    side_m : float
        The square's side, meters.

    Returns
    -------
    tuple of float, or None
        Gains of red, green and blue with a mean near 1; None where fewer than two marks show middle tones.
    """
    found = [_neutral_color(rgb, plane, corner) for corner in _mark_squares(side_m)]
    neutral = [color for color in found if color is not None]
    if len(neutral) < 2:
        return None
    cast = np.median([np.log(color / color.mean()) for color in neutral], axis=0)
    gains = np.exp(-(cast - cast.mean())).clip(1 / LARGEST_GAIN, LARGEST_GAIN)
    return float(gains[0]), float(gains[1]), float(gains[2])


def balance(colors: Colors, gains: Gains) -> Colors:
    """Multiply colors by the gains; what was clipped before stays so."""
    import cv2

    tables = np.rint(np.arange(256) * np.array(gains, np.float32)[:, None]).clip(0, 255).astype(np.uint8)
    clipped = np.flatnonzero(colors.darkest == 255)
    balanced = [cv2.LUT(channel, table) for channel, table in zip(colors, tables, strict=True)]
    red, green, blue = (np.asarray(channel, np.uint8).reshape(colors.red.shape) for channel in balanced)
    for channel in (red, green, blue):
        channel[clipped] = 255
    return Colors(red, green, blue)


def _mark_squares(side_m: float) -> NDArray[np.float64]:
    """Return the middle and the half side of each mark's black square but its rim, shape (4, 3), meters."""
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    middles = corners * side_m + (0.5 - corners) * MARK_M
    return np.column_stack([middles, np.full(4, (0.5 - MARK_RIM) * MARK_M)])


def _neutral_color(
    rgb: Picture, plane: GroundPlane, square: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """Return the mean color of a mark's middle tones, or None."""
    colors = _colors_within(rgb, plane, square)
    count = len(colors.red)
    if count < LEAST_POINTS:
        return None
    total = colors.red.astype(np.uint16)
    total += colors.green
    total += colors.blue
    paper = float(np.partition(total, int(PAPER_RANK * count))[int(PAPER_RANK * count)])
    middle = (total > INK_SHARE * paper) & (colors.brightest <= BRIGHTEST)
    if np.count_nonzero(middle) < LEAST_POINTS:
        return None
    return np.array([channel[middle].mean() for channel in colors])


def _colors_within(rgb: Picture, plane: GroundPlane, square: NDArray[np.float64]) -> Colors:
    """Return the pixels that lie in a square on the ground by half; of a large one every so many."""
    x, y, half = square
    outline = plane.pixels(
        [[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]
    )
    if not np.isfinite(outline).all():
        return colors_of(rgb[:0, 0])
    limit = np.array(rgb.shape[1::-1]) - 1
    left, top = np.clip(np.floor(outline.min(axis=0)), 0, limit).astype(int)
    right, bottom = np.clip(np.ceil(outline.max(axis=0)), 0, limit).astype(int)
    step = max(1, max(right - left, bottom - top) // MOST_ALONG)
    u, v = np.arange(left, right + 1, step), np.arange(top, bottom + 1, step)
    wide, high = half * (1 + 1 / np.linalg.norm(outline[1:3] - outline[:2], axis=1))
    inside = _between(_sides(plane.to_ground, (x, y), (wide, high), outline.mean(axis=0)), u, v)
    return colors_at(rgb[top : bottom + 1 : step, left : right + 1 : step], inside)


def _sides(
    to_ground: NDArray[np.float64],
    middle: tuple[float, float],
    reach: tuple[float, float],
    within_px: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return a rectangle's four sides in the photo, shape (4, 3): a u + b v + c is positive within."""
    *ground, depth = to_ground * np.sign(to_ground[2] @ [*within_px, 1])
    sides = [
        sign * (axis - (at - sign * far) * depth)
        for axis, at, far in zip(ground, middle, reach, strict=True)
        for sign in (1, -1)
    ]
    return np.array(sides)


def _between(sides: NDArray[np.float64], u: NDArray[np.intp], v: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Tell which pixels of columns u and rows v lie within straight sides, shape (rows, columns), row by row."""
    first, last = narrowed(np.full(len(v), -np.inf), np.full(len(v), np.inf), sides, v)
    return np.asarray((u >= first[:, None]) & (u <= last[:, None]))

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

from swardmark.ground.plane import GroundPlane

Colors = NDArray[np.uint8]
Gains = tuple[float, float, float]

MARK_M = 0.12
"""Side of a mark's black square, meters, for a square of 1 m side; larger squares may have larger marks."""
BRIGHTEST = 220
"""Above this coded value a camera's tone curve has begun to bleach colors."""
INK_SHARE = 0.35
"""Points darker than this share of the mark's paper are ink and stray light, whose color says little."""
LEAST_POINTS = 25
MARK_RIM = 0.03
"""Share of a mark's side along its edges that is left out."""
MOST_ALONG = 60
"""Pixels across and down that are read of a mark, at most about."""
LARGEST_GAIN = 1.15
"""More than this on coded values (a third in light) is no camera's mistake but colored paper: cut off here."""


def white_gains(rgb: Colors, plane: GroundPlane, *, side_m: float) -> Gains | None:
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
    """Multiply colors, shape (..., 3), by the gains; what was dark or clipped before stays so."""
    import cv2

    if not colors.size:
        return colors
    tables = np.rint(np.arange(256)[:, None] * np.array(gains, np.float32)).clip(0, 255).astype(np.uint8)
    flat = np.ascontiguousarray(colors).reshape(-1, 1, 3)
    balanced = np.asarray(cv2.LUT(flat, tables[None]), np.uint8).reshape(colors.shape)
    balanced[(colors[..., 0] & colors[..., 1] & colors[..., 2]) == 255] = 255
    return balanced


def _mark_squares(side_m: float) -> NDArray[np.float64]:
    """Return the middle and the half side of each mark's black square but its rim, shape (4, 3), meters."""
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    middles = corners * side_m + (0.5 - corners) * MARK_M
    return np.column_stack([middles, np.full(4, (0.5 - MARK_RIM) * MARK_M)])


def _neutral_color(
    rgb: Colors, plane: GroundPlane, square: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """Return the mean color of a mark's middle tones, or None."""
    colors = _colors_within(rgb, plane, square)
    if len(colors) < LEAST_POINTS:
        return None
    channels = np.ascontiguousarray(colors.T, np.float32)
    red, green, blue = channels
    gray = (red + green + blue) / 3
    middle = (gray > INK_SHARE * np.quantile(gray, 0.95)) & (
        np.maximum(np.maximum(red, green), blue) <= BRIGHTEST
    )
    return channels[:, middle].mean(axis=1, dtype=float) if middle.sum() >= LEAST_POINTS else None


def _colors_within(rgb: Colors, plane: GroundPlane, square: NDArray[np.float64]) -> Colors:
    """Return the pixels that lie in a square on the ground by half, shape (N, 3); of a large one every so many."""
    x, y, half = square
    outline = plane.pixels(
        [[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]
    )
    if not np.isfinite(outline).all():
        return np.zeros((0, 3), np.uint8)
    limit = np.array(rgb.shape[1::-1]) - 1
    (left, top), (right, bottom) = (
        np.clip(end, 0, limit).astype(int)
        for end in (np.floor(outline.min(axis=0)), np.ceil(outline.max(axis=0)))
    )
    step = max(1, max(right - left, bottom - top) // MOST_ALONG)
    u, v = np.arange(left, right + 1, step), np.arange(top, bottom + 1, step)[:, None]
    along, down, depth = (row[0] * u + row[1] * v + row[2] for row in plane.to_ground)
    wide, high = (1 + 1 / np.linalg.norm(outline[n + 1] - outline[n]) for n in range(2))
    with np.errstate(divide="ignore", invalid="ignore"):
        inside = (abs(along / depth - x) <= half * wide) & (abs(down / depth - y) <= half * high)
    return np.asarray(rgb[top : bottom + 1 : step, left : right + 1 : step][inside], np.uint8)

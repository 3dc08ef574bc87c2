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
    found = [_neutral_color(rgb, plane.pixels(spot)) for spot in _mark_points(side_m)]
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


def _mark_points(side_m: float) -> list[NDArray[np.float64]]:
    """Return ground points over each mark's black square, four arrays of shape (N, 2), meters."""
    step = MARK_M * np.linspace(0.03, 0.97, 60)
    near = np.stack(np.meshgrid(step, step), axis=-1).reshape(-1, 2)
    corners = side_m * np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    inward = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]])
    return [corner + near * turn for corner, turn in zip(corners, inward, strict=True)]


def _neutral_color(rgb: Colors, pixels: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Return the mean color of a mark's middle tones, or None."""
    height, width = rgb.shape[:2]
    inside = ((pixels >= 0) & (pixels <= (width - 1, height - 1))).all(axis=1)
    if inside.sum() < LEAST_POINTS:
        return None
    x, y = np.rint(pixels[inside]).astype(np.intp).T
    colors = rgb.reshape(-1, 3)[np.unique(y * width + x)].astype(float)
    gray = colors.mean(axis=1)
    middle = (gray > INK_SHARE * np.quantile(gray, 0.95)) & (colors.max(axis=1) <= BRIGHTEST)
    return colors[middle].mean(axis=0) if middle.sum() >= LEAST_POINTS else None

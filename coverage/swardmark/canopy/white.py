"""White balance from the square: the paper of the corner marks tells the colour of the light.

A camera balances each photo by what it happens to show, so the same lawn comes out greener one day and redder the
next. The white paper of the corner marks lies in the same light as the lawn; gains that turn it neutral turn the lawn
back too. The gains act on coded values: for the power law that sRGB nearly is, that is the same as scaling light.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.ground.plane import GroundPlane

Colours = NDArray[np.uint8]
Gains = tuple[float, float, float]

MARK_M, MARGIN_M = 0.12, 0.02
"""Side of a mark's black square and width of the white paper around it, metres, for a square of 1 m."""
BRIGHTEST, DARKEST = 248, 60
"""Coded values between which paper tells a colour: above, a channel is clipped; below, noise and haze speak."""
PAPER_SHARE = 0.85
"""Points at least this bright, against the mark's brightest tenth, are paper; ink and edges lie below."""
LEAST_POINTS = 25
LARGEST_GAIN = 1.25
"""More than this is no camera's mistake but coloured paper or a coloured wall: the gains are cut off here."""


def white_gains(rgb: Colours, plane: GroundPlane, *, side_m: float) -> Gains | None:
    """Find the gains that turn the paper of the four corner marks neutral.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo.
    plane : GroundPlane
        The ground in the square's own frame.
    side_m : float
        The square's side, metres.

    Returns
    -------
    tuple of float, or None
        Gains of red, green and blue with a mean near 1; None where fewer than two marks show unclipped paper.
    """
    papers = [paper for spot in _mark_points(side_m) if (paper := _paper_colour(rgb, plane.pixels(spot))) is not None]
    if len(papers) < 2:
        return None
    cast = np.median([np.log(paper / paper.mean()) for paper in papers], axis=0)
    gains = np.exp(-(cast - cast.mean())).clip(1 / LARGEST_GAIN, LARGEST_GAIN)
    return float(gains[0]), float(gains[1]), float(gains[2])


def balance(colours: Colours, gains: Gains) -> Colours:
    """Multiply colours, shape (..., 3), by the gains; what was dark or clipped before stays so."""
    balanced = np.rint(colours * np.asarray(gains, np.float32)).clip(0, 255).astype(np.uint8)
    clipped = colours.min(axis=-1, keepdims=True) >= 255
    return np.where(clipped, colours, balanced)


def _mark_points(side_m: float) -> list[NDArray[np.float64]]:
    """Return ground points over each mark and its paper, four arrays of shape (N, 2), metres."""
    low, high = -0.8 * MARGIN_M, MARK_M + 0.8 * MARGIN_M
    step = np.linspace(low, high, 50)
    near = np.stack(np.meshgrid(step, step), axis=-1).reshape(-1, 2)
    corners = side_m * np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    inward = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]])
    return [corner + near * turn for corner, turn in zip(corners, inward, strict=True)]


def _paper_colour(rgb: Colours, pixels: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Return the median colour of a mark's unclipped paper, or None."""
    height, width = rgb.shape[:2]
    inside = ((pixels >= 0) & (pixels <= (width - 1, height - 1))).all(axis=1)
    if inside.sum() < LEAST_POINTS:
        return None
    at = np.unique(np.rint(pixels[inside]).astype(np.intp), axis=0)
    colours = rgb[at[:, 1], at[:, 0]].astype(float)
    grey = colours.mean(axis=1)
    is_paper = grey > PAPER_SHARE * np.quantile(grey, 0.9)
    is_paper &= (colours.max(axis=1) <= BRIGHTEST) & (colours.min(axis=1) >= DARKEST)
    return np.median(colours[is_paper], axis=0) if is_paper.sum() >= LEAST_POINTS else None

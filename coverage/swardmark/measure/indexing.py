"""A photo laid flat to its ground map: one sample per lattice point, balanced colors, excess green, no square."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import NOT_SEEN, GroundMap, Window, index_bytes
from swardmark.canopy.turf import FullTurf, full_turf, leaf_light
from swardmark.canopy.white import balance, white_gains
from swardmark.common.errors import PhotoRefused
from swardmark.ground.plane import GroundPlane, seen_window
from swardmark.ground.sampling import sample
from swardmark.ground.square import Square
from swardmark.lawn.toml import MeasureSettings
from swardmark.photo.decode import Photo

SQUARE_MARGIN_M = 0.05
"""Ground beside the square's outer edge that is left out with it: paper margins and trodden grass."""


class GroundSample(NamedTuple):
    """Colors of the ground: the window of the lattice, the pixel at each point that is seen, and where that is."""

    window: Window
    colors: NDArray[np.uint8]
    seen: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class IndexedGround:
    """The ground map of a photo, and what only its colors tell.

    Attributes
    ----------
    ground_map : GroundMap
        Excess green per ground point, the square left out.
    is_balanced : bool
        Whether the square's white balanced the colors.
    full : FullTurf
        Index of full turf as the photo shows it, NaN where it does not, and how much of the ground is closed turf.
    leaf_light : float
        Light of the leaves over that of the bare ground; NaN where the photo does not show it.
    """

    ground_map: GroundMap
    is_balanced: bool
    full: FullTurf
    leaf_light: float


def sample_ground(photo: Photo, plane: GroundPlane, settings: MeasureSettings) -> GroundSample:
    """Read the photo at one point per lattice point of the ground that it shows well enough."""
    known = {
        "spacing_m": settings.point_spacing_mm / 1000,
        "max_view_deg": settings.max_view_deg,
        "max_footprint_mm": settings.max_footprint_mm,
    }
    window = seen_window(plane, **known)
    return GroundSample(window, *sample(photo.rgb, plane, window=window, **known))


def index_ground(
    sampled: GroundSample,
    photo: Photo,
    *,
    square: Square | None,
    own: GroundPlane | None,
    plane: GroundPlane,
    side_m: float,
    settings: MeasureSettings,
) -> IndexedGround:
    """Turn sampled colors into the ground map.

    Parameters
    ----------
    sampled : GroundSample
        The colors.
    photo : Photo
        The photo, whose square tells the color of the light.
    square, own
        The square and the ground in its own frame; None where the photo shows no square.
    plane : GroundPlane
        The ground in the photo point's frame.
    side_m : float
        The square's side, meters.
    settings : MeasureSettings
        The keeper's.

    Raises
    ------
    PhotoRefused
        No ground is seen well enough.
    """
    gains = None
    if square is not None and own is not None and square.how.has_white:
        gains = white_gains(photo.rgb, own, side_m=side_m)
    colors = balance(sampled.colors, gains) if gains else sampled.colors
    values = np.full(sampled.seen.shape, NOT_SEEN, np.uint8)
    values[sampled.seen] = index_bytes(colors, damping=settings.damping)
    ground_map = GroundMap(values, *sampled.window[:2], settings.point_spacing_mm / 1000)
    if square is not None:
        _leave_out_square(ground_map, plane.meters(square.corners_px), side_m)
    if not ground_map.is_readable.any():
        remedy = "Step closer, hold the camera higher and tilt it further down"
        raise PhotoRefused("no ground is seen steeply enough to measure", where=photo.name, remedy=remedy)
    light = leaf_light(sampled.colors, values[sampled.seen])
    brightness = np.zeros(values.shape, np.uint8)
    brightness[sampled.seen] = sampled.colors[:, 1]
    full = full_turf(ground_map, brightness)
    return IndexedGround(ground_map.trimmed(), gains is not None, full, light)


def _leave_out_square(ground_map: GroundMap, corners_m: NDArray[np.float64], side_m: float) -> None:
    """Take the square, wherever it lies on the ground, and a margin around it out of a map."""
    middle = corners_m.mean(axis=0)
    reach = side_m + 2 * SQUARE_MARGIN_M
    rows = np.flatnonzero(np.abs(ground_map.y_m - middle[1]) < reach)
    cols = np.flatnonzero(np.abs(ground_map.x_m - middle[0]) < reach)
    x, y = ground_map.x_m[cols] - middle[0], ground_map.y_m[rows, None] - middle[1]
    half = side_m / 2 + SQUARE_MARGIN_M + 1e-9
    inside = np.ones((len(rows), len(cols)), bool)
    for step in (corners_m[1] - corners_m[0], corners_m[3] - corners_m[0]):
        inside &= np.abs(x * step[0] + y * step[1]) <= half * side_m
    ground_map.values[np.ix_(rows, cols)] *= ~inside

"""Low and high spots: places of a fill or cut map that stand out of what reading errors alone would show."""

from __future__ import annotations

from dataclasses import dataclass
from string import ascii_uppercase

import numpy as np
from numpy.typing import NDArray

from swardmark.level.ground import Outline, Raster

Floats = NDArray[np.floating]
Labels = NDArray[np.intp]

AROUND = np.ones((3, 3), bool)


@dataclass(frozen=True, eq=False)
class Rule:
    """What makes a spot: how deep it is somewhere, and where it ends, in millimeters at each cell, (rows, cols)."""

    deepest_mm: Floats
    edge_mm: Floats


@dataclass(frozen=True)
class LevelSpot:
    """One low or high spot of the measured ground.

    Attributes
    ----------
    letter : str
        Its letter on the map: low spots first, each kind from near to far. Numbers belong to the spots of the photos.
    x_m, y_m : float
        Where it is deepest (or highest), in meters.
    area_m2 : float
        Area in square meters.
    deepest_mm, mean_mm : float
        Greatest and mean depth under the straightedge (height, for a high spot) in millimeters, set right for what lies
        between the places.
    litres, low_litres, high_litres : float
        Volume with its 95 % interval.
    outline_m : tuple of (x, y)
        Its outline in meters.
    """

    letter: str
    x_m: float
    y_m: float
    area_m2: float
    deepest_mm: float
    mean_mm: float
    litres: float
    low_litres: float
    high_litres: float
    outline_m: Outline


def find_spots(depth_mm: Floats, rule: Rule) -> Labels:
    """Number the connected cells that belong to spots, from 1; 0 elsewhere.

    Parameters
    ----------
    depth_mm : ndarray, shape (..., rows, cols)
        Depth below, or height above, what is level; one map or a stack of them, whose spots are numbered together.
    rule : Rule
        A spot reaches out to `edge_mm` and is `deepest_mm` at least somewhere.
    """
    from scipy.ndimage import label

    apart = np.zeros((3,) * depth_mm.ndim, bool)
    apart[(1,) * (depth_mm.ndim - 2)] = AROUND
    numbers, count = label(depth_mm > rule.edge_mm, structure=apart)
    is_kept = np.zeros(count + 1, bool)
    is_kept[numbers[depth_mm >= rule.deepest_mm]] = True
    is_kept[0] = False
    return (np.cumsum(is_kept) * is_kept)[numbers]


def letter_of(place: int) -> str:
    """Return the letter of a place counted from 0: A to Z, then AA, AB and so on."""
    before, at = divmod(place, len(ascii_uppercase))
    return (letter_of(before - 1) if before else "") + ascii_uppercase[at]


def outline_of(mask: NDArray[np.bool_], raster: Raster) -> Outline:
    """Return the outer outline of a spot's cells in meters."""
    from skimage.measure import find_contours

    padded = np.pad(mask.astype(float), 1)
    ring = max(find_contours(padded, 0.5), key=len) - 1
    x, y = raster.x0_m + ring[:-1, 1] * raster.cell_m, raster.y0_m + ring[:-1, 0] * raster.cell_m
    return tuple((round(float(a), 3), round(float(b), 3)) for a, b in zip(x, y, strict=True))

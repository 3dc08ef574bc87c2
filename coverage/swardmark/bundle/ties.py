"""Ties: places of the ground found again in other photos, on the photos laid flat.

A patch of one photo is looked for in the others (correlation coefficient). It counts where the best place is clear:
high, ahead of any other, and not at the rim of where it was looked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from swardmark.bundle.adjust import Sightings
from swardmark.bundle.camera import Floats, Lens, View, project
from swardmark.bundle.flat import FlatPhoto, Plane
from swardmark.bundle.lattice import STEP_M, Lattice

LEAST_SCORE, LEAST_LEAD = 0.45, 0.06
RIVAL_PX = 4
MOST_APART_DEG = 100.0


@dataclass(frozen=True)
class Search:
    """How ties are looked for.

    Attributes
    ----------
    apart_m : float
        Distance of the patches.
    half_px : int
        A patch reaches so many fine points to each side.
    reach_px : int
        It is looked for so many fine points to each side.
    """

    apart_m: float
    half_px: int
    reach_px: int


WIDE = Search(0.16, 21, 22)
"""On level ground: what is 3 cm high is found again 9 cm away."""
CLOSE = Search(0.09, 17, 8)
"""On the surface that the first ties gave."""


def find_ties(
    flats: Sequence[FlatPhoto],
    lens: Lens,
    views: Sequence[View],
    surface_m: Floats,
    lattice: Lattice,
    *,
    search: Search,
    apart_deg: Floats,
) -> tuple[Sightings, Floats]:
    """Find patches of one photo again in the others.

    Every patch belongs to one photo, by turns, and is looked for in all others that see it.

    Returns
    -------
    tuple
        Sightings, and the points, shape (P, 3) in meters, on the surface where the first photo of each shows them.
    """
    pictures = [flat.at(0.0) for flat in flats]
    reach = search.half_px + search.reach_px
    step = round(search.apart_m / STEP_M)
    at = np.arange(reach + 1, lattice.size - reach - 1, step)
    x, y = lattice.fine_m
    view: list[int] = []
    point: list[int] = []
    flat_places: list[tuple[float, float]] = []
    points: list[tuple[float, float, float]] = []
    rows, cols = np.meshgrid(at, at, indexing="ij")
    sees = np.stack([flat.readable[rows, cols] for flat in flats], axis=-1)
    for n, (row, col) in enumerate(zip(rows.ravel(), cols.ravel(), strict=True)):
        seeing = np.flatnonzero(sees.reshape(-1, len(flats))[n])
        if len(seeing) < 2:
            continue
        first = seeing[(row // step + 2 * (col // step)) % len(seeing)]
        patch = pictures[first][row - search.half_px : row + search.half_px + 1,
                                col - search.half_px : col + search.half_px + 1]  # fmt: skip
        found = []
        for other in seeing:
            if other != first and apart_deg[first, other] < MOST_APART_DEG:
                area = pictures[other][row - reach : row + reach + 1, col - reach : col + reach + 1]
                offset = _found(patch, area, search.reach_px)
                if offset is not None:
                    found.append((other, offset))
        if found:
            for seen_in, (down, right) in [(first, (0.0, 0.0)), *found]:
                view.append(seen_in)
                point.append(len(points))
                flat_places.append((row + down, col + right))
            points.append((x[col], y[row], surface_m[row, col]))
    pixels = _pixels(
        np.array(flat_places).reshape(-1, 2), np.array(view, int), lens, views, surface_m, lattice
    )
    return Sightings(np.array(view, int), np.array(point, int), pixels), np.array(points).reshape(-1, 3)


def _found(patch: Plane, area: Plane, reach: int) -> tuple[float, float] | None:
    """Return where a patch lies in an area, as offset (rows, columns) from its middle; None if that is not clear."""
    import cv2

    score = cv2.matchTemplate(area, patch, cv2.TM_CCOEFF_NORMED)
    _, best, _, (col, row) = cv2.minMaxLoc(score)
    last = 2 * reach
    if best < LEAST_SCORE or not (0 < row < last and 0 < col < last):
        return None
    down = _peak(score[row - 1, col], best, score[row + 1, col])
    right = _peak(score[row, col - 1], best, score[row, col + 1])
    score[max(0, row - RIVAL_PX) : row + RIVAL_PX + 1, max(0, col - RIVAL_PX) : col + RIVAL_PX + 1] = -1
    if best - float(score.max()) < LEAST_LEAD:
        return None
    return row - reach + down, col - reach + right


def _peak(before: float, best: float, after: float) -> float:
    """Return the top of the parabola through three values, from the middle one."""
    bend = float(before) + float(after) - 2 * float(best)
    return 0.0 if bend >= 0 else 0.5 * (float(before) - float(after)) / bend


def _pixels(
    places: Floats, view: np.ndarray, lens: Lens, views: Sequence[View], surface_m: Floats, lattice: Lattice
) -> Floats:
    """Return the pixels of places on the laid photos, shape (N, 2) as row and column."""
    from scipy.ndimage import map_coordinates

    z = map_coordinates(surface_m, places.T, order=1, mode="nearest")
    ground = np.column_stack([lattice.x0_m + STEP_M * places[:, 1], lattice.y0_m + STEP_M * places[:, 0], z])
    pixels = np.empty((len(places), 2))
    for n, one in enumerate(views):
        own = view == n
        pixels[own] = project(ground[own], lens, one)
    return pixels

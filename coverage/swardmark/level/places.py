"""Where to read: the numbered places of a string grid, and the places of the straightedge, drawn by lot."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from swardmark.common.errors import UsageError

MOST_PLACES = 900
TICKS_M = (-0.8, -0.4, 0.0, 0.4, 0.8)
"""Ticks along the edge from its middle: an edge of 2.4 m can be slid a foot either way and still covers them."""
SLIDE_M = 0.3
LAYINGS = 16


@dataclass(frozen=True)
class GridPlace:
    """A place of a string grid: its number, its row and column from 1, and where it lies in meters."""

    number: int
    row: int
    column: int
    x_m: float
    y_m: float


@dataclass(frozen=True)
class Laying:
    """A place of the straightedge: its number, middle and direction, and the ticks that lie on the lawn."""

    number: int
    x_m: float
    y_m: float
    along_x: bool
    ticks_m: tuple[tuple[float, float], ...]


def grid_places(
    width_m: float, length_m: float, spacing_m: float, *, start_m: tuple[float, float] = (0.0, 0.0)
) -> tuple[GridPlace, ...]:
    """Return the places of a string grid, row by row from near to far.

    Raises
    ------
    UsageError
        The spacing does not fit the size, or there would be more places than anyone reads.
    """
    if not 0.1 <= spacing_m <= min(width_m, length_m):
        remedy = "Give a spacing such as 0.75m and a size such as 6x8m"
        raise UsageError(f"places every {spacing_m:g} m do not fit {width_m:g} x {length_m:g} m",
                         where="--grid", remedy=remedy)  # fmt: skip
    columns, rows = (math.floor(side / spacing_m + 1e-6) + 1 for side in (width_m, length_m))
    if columns * rows > MOST_PLACES:
        remedy = f"Choose a wider spacing, or parts of the lawn: {MOST_PLACES} are the most on a sheet"
        raise UsageError(f"that makes {columns * rows} places", where="--grid", remedy=remedy)
    return tuple(
        GridPlace(
            number=row * columns + column + 1,
            row=row + 1,
            column=column + 1,
            x_m=round(start_m[0] + column * spacing_m, 3),
            y_m=round(start_m[1] + row * spacing_m, 3),
        )
        for row in range(rows)
        for column in range(columns)
    )


def straightedge_layings(
    width_m: float,
    length_m: float,
    *,
    layings: int = LAYINGS,
    seed: int,
    start_m: tuple[float, float] = (0.0, 0.0),
) -> tuple[Laying, ...]:
    """Return a systematic sample of layings with a random start, along x and along y by turns.

    The lattice reaches over the rim by as much as the ticks do, and ticks beyond the rim are left out: each place of
    the lawn is as likely to lie under a tick as any other.
    """
    rng = np.random.default_rng(seed)
    step = math.sqrt(width_m * length_m / layings)
    first = rng.uniform(-1.0, 0.0, 2) * step - TICKS_M[-1]
    first = first + step * np.ceil((-TICKS_M[-1] - first) / step)
    found: list[Laying] = []
    turn = int(rng.integers(2))
    for j, y in enumerate(np.arange(first[1], length_m - TICKS_M[0], step)):
        for i, x in enumerate(np.arange(first[0], width_m - TICKS_M[0], step)):
            along_x = (i + j + turn) % 2 == 0
            ticks = [(x + t, y) if along_x else (x, y + t) for t in TICKS_M]
            on_lawn = [(a, b) for a, b in ticks if 0 <= a <= width_m and 0 <= b <= length_m]
            if on_lawn:
                moved = tuple((round(a + start_m[0], 2), round(b + start_m[1], 2)) for a, b in on_lawn)
                middle = round(float(x) + start_m[0], 2), round(float(y) + start_m[1], 2)
                found.append(Laying(len(found) + 1, *middle, along_x, moved))
    return tuple(found)

"""Pegs in a drawn lawn: marks on pegs of one length that stand on the soil, above grass that moves between photos."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.practice.fields import Raster
from swardmark.practice.relief.draw import Board, Sand, square_boards

Floats = NDArray[np.floating]

PEG_M, MARGIN_M, STANDS_MM, FIRST_NUMBER = 0.060, 0.008, 80.0, 10
GRASS = (98.0, 124.0, 66.0)
LEAN = 0.05
"""How far a peg leans, as a spread of its slopes."""


def set_pegs(
    rng: np.random.Generator, *, count: int = 25, reach_m: float = 0.7, turned: bool = True
) -> tuple[Board, ...]:
    """Return pegs on a ragged grid round the square, where no corner mark lies.

    Parameters
    ----------
    rng : numpy.random.Generator
        Where each stands and how it leans.
    count : int
        How many, up to 36.
    reach_m : float
        How far beyond the square they stand.
    turned : bool
        Whether some lean.
    """
    side = int(np.ceil(np.sqrt(count + 4)))
    at = np.linspace(-reach_m, 1 + reach_m, side)
    places = [(x, y) for y in at for x in at]
    found: list[Board] = []
    for n in rng.permutation(len(places)):
        x, y = np.array(places[n]) + rng.normal(0, 0.04, 2)
        if (
            len(found) == count
            or min(np.hypot(x - a, y - b) for a in (0.06, 0.94) for b in (0.06, 0.94)) < 0.22
        ):
            continue
        lean = tuple(float(v) for v in rng.normal(0, LEAN if turned else 0, 2))
        found.append(Board(FIRST_NUMBER + len(found), float(x) - PEG_M / 2, float(y) - PEG_M / 2, PEG_M, MARGIN_M,
                           STANDS_MM, (lean[0], lean[1]), is_peg=True))  # fmt: skip
    return tuple(sorted(found, key=lambda peg: -peg.y_m))


def peg_feet_mm(pegs: tuple[Board, ...], heights: Raster) -> Floats:
    """Return the height of the soil under each peg, in millimeters."""
    middles = np.array([peg.middle_m for peg in pegs])
    return np.asarray(heights.smooth_at(middles[:, :1], middles[:, 1:]), float).ravel()


def pegged_lawn(heights: Raster, pegs: tuple[Board, ...], *, seed: int, lift_mm: float = 25.0) -> Sand:
    """Return grass with pegs; the square's marks lie on the grass, each as deep as it sinks in.

    A new seed for each photo stands for leaf that moves.
    """
    rng = np.random.default_rng([heights.values.size, 17])
    boards = [
        Board(b.number, b.x_m, b.y_m, b.side_m, b.margin_m, lift_mm + float(rng.normal(0, 4)))
        for b in square_boards()
    ]
    return Sand(heights, seed=seed, color=GRASS, contrast=0.28, boards=(*boards, *pegs))

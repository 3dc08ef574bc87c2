"""The lattice of cells: it lies ahead of the cameras, and two of them lie whole cells apart."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.bundle.lattice import AHEAD_M, CELL_M, CELLS, lattice_round

MIDDLE = np.array([0.5, 0.5])


def test_it_lies_ahead_of_the_cameras_by_whole_cells() -> None:
    still, front = lattice_round(MIDDLE), lattice_round(MIDDLE, np.array([[-0.4, -0.9], [1.4, -0.9]]))
    assert front.y0_m - still.y0_m == pytest.approx(AHEAD_M) and front.x0_m == pytest.approx(still.x0_m)
    assert (front.y0_m - still.y0_m) / CELL_M == pytest.approx(round(AHEAD_M / CELL_M))
    around = lattice_round(MIDDLE, np.array([[0.5, -1.1], [0.5, 2.1], [-1.1, 0.5], [2.1, 0.5]]))
    assert (around.x0_m, around.y0_m) == pytest.approx((still.x0_m, still.y0_m))


def test_cells_of_one_are_found_at_their_place_on_another() -> None:
    one = lattice_round(MIDDLE, np.array([[0.5, -1.0]]))
    other = lattice_round(MIDDLE, np.array([[-0.9, -0.2]]))
    values = one.places_m[..., 0] + 100 * one.places_m[..., 1]
    laid = one.laid_on(other, values)
    known = np.isfinite(laid)
    assert 0.7 * CELLS**2 < known.sum() < CELLS**2
    here = other.places_m[..., 0] + 100 * other.places_m[..., 1]
    assert np.allclose(laid[known], here[known], atol=1e-6)
    assert np.array_equal(one.laid_on(one, values), values)

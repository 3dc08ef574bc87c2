"""The straightedge and the dips: on ground whose answer follows from geometry."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.bundle.lattice import CELLS, lattice_round
from swardmark.relief.dips import find_hollows, straightedge_gap

LATTICE = lattice_round(np.array([0.5, 0.5]))
X, Y = LATTICE.places_m[..., 0], LATTICE.places_m[..., 1]


def bowl(depth_mm: float, width_m: float) -> np.ndarray:
    """A paraboloid hollow in level ground."""
    r = np.hypot(X - 0.5, Y - 0.5) / (width_m / 2)
    return np.where(r < 1, -depth_mm * (1 - r**2), 0.0)


@pytest.mark.parametrize("slope", [0.0, 20.0, -35.0])
def test_gap_over_a_groove_does_not_see_the_slope(slope: float) -> None:
    """A groove of 12 mm and 0.3 m across a slope: an edge that lies along the slope reads 12 mm."""
    z = slope * X + 11 * Y - np.where(np.abs(X - 0.5) < 0.15, 12.0, 0.0)
    gap = straightedge_gap(z, length_m=1.0)
    middle = (np.abs(X - 0.5) < 0.02) & (np.abs(Y - 0.5) < 0.5)
    assert gap[middle] == pytest.approx(12.0, abs=0.3)
    outside = (np.abs(X - 0.5) > 0.2) & (np.abs(X - 0.5) < 1.0)
    assert np.abs(gap[outside]).max() < 0.05


def test_an_edge_shorter_than_the_hollow_reads_less() -> None:
    """In a parabola of width w and depth d an edge of length L reads d (L / w)^2: chord and arc."""
    z = 40.0 * (X - 0.5) ** 2
    gap = straightedge_gap(z, length_m=1.0)
    inner = (np.abs(X - 0.5) < 0.3) & (np.abs(Y - 0.5) < 0.5)
    assert np.median(gap[inner]) == pytest.approx(40.0 * 0.25, rel=0.03)


def test_flat_ground_has_no_gap_and_no_dips() -> None:
    flat = np.zeros((CELLS, CELLS))
    found = find_hollows(flat, np.full_like(flat, 0.5), LATTICE)
    assert found.dips == ()
    assert found.worst_gap_mm < 1e-3


def test_litres_of_a_bowl() -> None:
    """A paraboloid holds half the cylinder: pi/8 w^2 d."""
    z = bowl(18.0, 0.8)
    (dip,) = find_hollows(z, np.full_like(z, 0.5), LATTICE).dips
    assert dip.litres == pytest.approx(np.pi / 8 * 0.8**2 * 18.0, rel=0.05)
    assert dip.low_litres < dip.litres < dip.high_litres
    assert dip.gap_mm == pytest.approx(18.0, abs=0.5)
    assert (dip.x_m, dip.y_m) == pytest.approx((0.5, 0.5), abs=0.03)


def test_unknown_cells_carry_no_edge() -> None:
    z = bowl(15.0, 0.6)
    z[:, : CELLS // 2 - 20] = np.nan
    gap = straightedge_gap(z, length_m=1.0)
    assert np.isnan(gap[0, 0])
    assert np.nanmax(gap) == pytest.approx(15.0, abs=0.3)

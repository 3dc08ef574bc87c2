"""The slant step against the gap fraction of randomly placed leaves.

The Poisson gap fraction exp(-G LAI / cos v) is that of inclined point quadrats: Warren Wilson 1963, Australian Journal
of Botany 11:95-105. The figures below are computed from it with G = 0.5 at every angle (spherical leaf angles).
"""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.canopy.cover import straight_down

SEEN_PCT = (10, 25, 50, 75, 90, 95)


@pytest.mark.parametrize(
    ("view", "down_pct"),
    [
        (45, (7.18, 18.41, 38.75, 62.48, 80.37, 87.98)),
        (60, (5.13, 13.40, 29.29, 50.00, 68.38, 77.64)),
        (70, (3.54, 9.37, 21.11, 37.76, 54.50, 64.11)),
    ],
)
def test_random_leaves_from_oblique_to_straight_down(view, down_pct):
    found = 100 * straight_down(np.array(SEEN_PCT) / 100, view, power=1.0)
    np.testing.assert_allclose(found, down_pct, atol=0.005)


@pytest.mark.parametrize(("lai", "down", "at_60"), [(1, 0.6065, 0.3679), (2, 0.3679, 0.1353)])
def test_gap_fractions_of_leaf_area(lai, down, at_60):
    assert np.exp(-0.5 * lai) == pytest.approx(down, abs=5e-5)
    assert 1 - straight_down(1 - at_60, 60, power=1.0) == pytest.approx(down, abs=2e-4)


def test_looking_straight_down_changes_nothing():
    np.testing.assert_allclose(straight_down([0, 0.3, 1], 0), [0, 0.3, 1])


def test_turf_is_corrected_less_than_random_leaves():
    """Foliage is not placed at random, and theory misses mainly for that: Warren Wilson 1966, J. Appl. Ecol. 3."""
    seen = np.linspace(0.05, 0.95, 10)
    assert (straight_down(seen, 60) > straight_down(seen, 60, power=1.0)).all()
    assert (straight_down(seen, 60) < seen).all()

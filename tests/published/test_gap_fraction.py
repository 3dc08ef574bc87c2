"""The slant step against the gap fraction of randomly placed leaves.

The Poisson gap fraction exp(-G LAI / cos v) is that of inclined point quadrats: Warren Wilson 1963, Australian Journal
of Botany 11:95-105. The figures below are computed from it with G = 0.5 at every angle (spherical leaf angles).
"""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.canopy.blades import SLANT_POWER, SLANT_POWER_SD
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


def test_the_shipped_power_is_that_of_grass_leaves():
    """As leaves of ryegrass lie in the middle of their published range, to 2.5 points at any cover and slant in use."""
    for view in (30, 45, 55, 65):
        middle = 1 - (1 - np.array(SEEN_PCT) / 100) ** _from_above(RYEGRASS_MIDDLE, view)
        np.testing.assert_allclose(straight_down(np.array(SEEN_PCT) / 100, view), middle, atol=0.025)


@pytest.mark.parametrize(
    "spread", [0.96, 1.13, 1.20, 2.47], ids=["wheat", "timothy", "barley", "flat ryegrass"]
)
def test_the_interval_of_the_power_holds_upright_and_flat_grasses(spread):
    at_60 = _from_above(spread, 60)
    power = np.log(at_60) / np.log(np.cos(np.radians(60)))
    assert abs(power - SLANT_POWER) < 1.96 * SLANT_POWER_SD


def test_spherical_leaves_have_the_power_one():
    assert _from_above(1.0, 60) == pytest.approx(0.5, abs=1e-3)


RYEGRASS_MIDDLE = float(np.sqrt(0.67 * 2.47))
"""Ratio of the axes of the ellipsoid on which leaf normals lie, 0.67 to 2.47 for ryegrass: Campbell & Norman 1998, An
Introduction to Environmental Biophysics, table 15.1, as are the other grasses' (from memory)."""


def _from_above(spread: float, view_deg: float) -> float:
    """Return the extinction straight down over that at a view angle, of ellipsoidal leaf angles.

    Campbell 1990, Agric. For. Meteorol. 49:173-176, for the density of the leaf angles; Warren Wilson 1960, New Phytol.
    59:1-8, for the shadow of a leaf at one angle. Integrated here by the midpoint rule.
    """
    angle = (np.arange(20_000) + 0.5) / 20_000 * np.pi / 2
    density = np.sin(angle) / (np.cos(angle) ** 2 + spread**2 * np.sin(angle) ** 2) ** 2
    density /= density.sum()
    return float(_shadow(angle, 1e-6) @ density / (_shadow(angle, np.radians(view_deg)) @ density))


def _shadow(angle: np.ndarray, view: float) -> np.ndarray:
    """Return the shadow that leaves at each angle cast on flat ground along a view angle, per leaf area."""
    turned = 1 / (np.tan(view) * np.tan(angle))
    turn = np.arccos(np.clip(turned, -1, 1))
    return np.cos(angle) * (1 + 2 / np.pi * (np.tan(turn) - turn))

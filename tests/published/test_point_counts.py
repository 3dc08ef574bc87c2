"""Interval of a share from counted points: Wilson 1927, J. Am. Stat. Assoc. 22:209-212."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from swardmark.canopy.cover import wilson


@pytest.mark.parametrize(
    ("hits", "points", "low", "high"),
    [(50, 100, 40.38, 59.62), (5, 100, 2.15, 11.18), (0, 100, 0.0, 3.70), (100, 100, 96.30, 100.0)],
)
def test_wilson_values(hits, points, low, high):
    """Computed from the formula, and by scipy below."""
    found = wilson(hits, points)
    assert 100 * found[0] == pytest.approx(low, abs=0.005)
    assert 100 * found[1] == pytest.approx(high, abs=0.005)


@pytest.mark.parametrize(("hits", "points"), [(0, 9), (3, 17), (40, 41), (123, 400)])
def test_agrees_with_scipy(hits, points):
    reference = binomtest(hits, points).proportion_ci(0.95, method="wilson")
    assert wilson(hits, points) == pytest.approx((reference.low, reference.high), abs=2e-5)


def test_no_points_tell_nothing():
    assert wilson(0, 0) == (0.0, 1.0)

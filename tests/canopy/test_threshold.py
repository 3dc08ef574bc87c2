"""The photo point's scale between bare ground and leaf."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.canopy.index import GroundMap
from swardmark.canopy.threshold import LEVELS, choose_threshold, pooled_counts


def counts_of(*kinds: tuple[float, float, float]) -> np.ndarray:
    """Counts of map values for kinds of point, each with its mean index, standard deviation and number."""
    counts = np.zeros(256)
    for mean, spread, number in kinds:
        bell = np.exp(-0.5 * ((LEVELS - mean) / spread) ** 2)
        counts[2:] += number * bell / bell.sum()
    return counts


SAND, LEAF = (0.030, 0.010, 1e4), (0.230, 0.030, 1e4)


def test_both_kinds_are_found_and_the_scale_lies_between_them():
    scale = choose_threshold(counts_of(SAND, LEAF))
    assert scale.source == "pooled histogram"
    assert scale.bare == pytest.approx(0.034, abs=0.006)
    assert scale.full == pytest.approx(0.200, abs=0.012)
    assert scale.bare < scale.value < scale.full


@pytest.mark.parametrize("kinds", [((0.03, 0.006, 1e4),), ((-0.07, 0.02, 1e4),), ((0.0, 0.012, 1e4),)])
def test_bare_ground_of_any_colour_holds_no_leaf(kinds):
    """A one-class histogram: where Otsu's method would split the sand in two halves."""
    counts = counts_of(*kinds)
    assert counts[2:] @ choose_threshold(counts).leaf_shares() / counts.sum() < 0.02


@pytest.mark.parametrize("leaf", [(0.19, 0.02, 1e4), (0.23, 0.03, 1e4), (0.32, 0.04, 1e4)])
def test_a_full_lawn_is_all_leaf(leaf):
    counts = counts_of(leaf)
    assert counts[2:] @ choose_threshold(counts).leaf_shares() / counts.sum() > 0.97


def test_half_a_leaf_is_counted_at_the_threshold():
    scale = choose_threshold(counts_of(SAND, LEAF))
    assert np.interp(scale.value, LEVELS, scale.leaf_shares()) == pytest.approx(0.5, abs=0.02)


def test_a_moved_scale_counts_less_leaf():
    scale = choose_threshold(counts_of(SAND, LEAF))
    assert (scale.leaf_shares(0.02) <= scale.leaf_shares()).all()


def test_the_keepers_value_moves_the_whole_scale():
    free, kept = (choose_threshold(counts_of(SAND, LEAF), setting=s) for s in ("auto", 0.15))
    assert kept.value == 0.15
    assert kept.full - kept.bare == pytest.approx(free.full - free.bare)


def test_an_empty_histogram_gives_the_usual_values():
    assert choose_threshold(np.zeros(256)).source == "usual values"


@given(st.floats(0.02, 0.98))
def test_the_scale_hardly_follows_how_much_of_each_there_is(share):
    """The same leaves and sand in other proportions are the same scale, where Otsu's value drifts."""
    scale = choose_threshold(counts_of((0.03, 0.01, 1e4 * (1 - share)), (0.23, 0.03, 1e4 * share)))
    assert scale.value == pytest.approx(0.090, abs=0.012)


def test_pooling_counts_all_maps():
    maps = [GroundMap(np.full((2, 3), value, np.uint8), 0, 0, 0.01) for value in (0, 5, 5)]
    counts = pooled_counts(maps)
    assert counts[0] == 6 and counts[5] == 12 and counts.sum() == 18

"""The photo point's scale between bare ground and leaf."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from swardmark.canopy.threshold import LEVELS, choose_threshold, value_counts

from swardmark.canopy.index import GroundMap


def counts_of(*kinds: tuple[float, float, float]) -> np.ndarray:
    """Counts of map values for kinds of point, each with its mean index, standard deviation and number."""
    counts = np.zeros(256)
    for mean, spread, number in kinds:
        bell = np.exp(-0.5 * ((LEVELS - mean) / spread) ** 2)
        counts[2:] += number * bell / bell.sum()
    return counts


SAND, LEAF = (0.034, 0.010, 1e4), (0.300, 0.030, 1e4)


def test_the_scale_lies_between_ground_and_full_turf():
    scale = choose_threshold(counts_of(SAND, LEAF), full_index=[0.31], leaf_light=[0.25])
    assert scale.source == "pooled histogram"
    assert scale.bare == pytest.approx(0.034, abs=0.003)
    assert scale.full == pytest.approx(0.31)
    assert scale.bare < scale.low < scale.value < scale.high < scale.full


@pytest.mark.parametrize("kinds", [((0.03, 0.006, 1e4),), ((-0.07, 0.02, 1e4),), ((0.0, 0.04, 1e4),)])
def test_bare_ground_of_any_color_and_noise_holds_no_leaf(kinds):
    """A one-class histogram: where Otsu's method would split the sand in two halves."""
    counts = counts_of(*kinds)
    assert counts[2:] @ choose_threshold(counts).leaf_shares() / counts.sum() < 0.02


@pytest.mark.parametrize("leaf", [(0.25, 0.03, 1e4), (0.30, 0.04, 1e4), (0.38, 0.05, 1e4)])
def test_full_turf_is_all_leaf(leaf):
    counts = counts_of(leaf)
    scale = choose_threshold(counts, full_index=[leaf[0]])
    assert counts[2:] @ scale.leaf_shares() / counts.sum() == pytest.approx(1, abs=0.02)


def test_thin_photos_do_not_move_the_full_end_and_one_odd_photo_hardly():
    some = choose_threshold(np.zeros(256), full_index=[0.18, 0.22, 0.30, 0.31, 0.32, 0.36, float("nan")])
    assert some.full == pytest.approx(0.315)


def test_the_darker_the_ground_the_less_do_mixed_pixels_lean_toward_it():
    """Half the way from ground to turf is more than half leaf on bright sand, and half leaf on soil as dark as leaf."""
    sand, soil = (choose_threshold(counts_of(SAND), leaf_light=[light]) for light in (0.2, 0.5))
    middle = (sand.bare + sand.full) / 2
    assert np.interp(middle, LEVELS, sand.leaf_shares()) == pytest.approx(0.71, abs=0.01)
    assert np.interp(middle, LEVELS, soil.leaf_shares()) == pytest.approx(0.50, abs=0.01)


def test_half_a_leaf_is_counted_at_the_threshold():
    scale = choose_threshold(counts_of(SAND, LEAF))
    assert np.interp(scale.value, LEVELS, scale.leaf_shares()) == pytest.approx(0.5, abs=0.02)


def test_a_moved_scale_counts_less_leaf():
    scale = choose_threshold(counts_of(SAND, LEAF))
    assert (scale.leaf_shares(1) <= scale.leaf_shares()).all()
    assert (scale.leaf_shares(-1) >= scale.leaf_shares()).all()


def test_the_keepers_value_moves_the_whole_scale():
    free, kept = (choose_threshold(counts_of(SAND, LEAF), setting=s) for s in ("auto", 0.15))
    assert kept.value == 0.15
    assert kept.full - kept.bare == pytest.approx(free.full - free.bare)


def test_an_empty_histogram_gives_the_usual_values():
    assert choose_threshold(np.zeros(256)).source == "usual values"


@given(st.floats(0.02, 0.98))
def test_the_scale_hardly_follows_how_much_of_each_there_is(share):
    """The same leaves and sand in other proportions are the same scale, where Otsu's value drifts."""
    scale = choose_threshold(counts_of((0.034, 0.01, 1e4 * (1 - share)), (0.30, 0.03, 1e4 * share)))
    assert scale.value == pytest.approx(0.120, abs=0.006)


def test_every_point_of_a_map_is_counted():
    values = np.array([[0, 5, 5], [1, 5, 255]], np.uint8)
    counts = value_counts(GroundMap(values, 0, 0, 0.01))
    assert {int(value): int(counts[value]) for value in np.flatnonzero(counts)} == {0: 1, 1: 1, 5: 3, 255: 1}

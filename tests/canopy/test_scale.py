"""The photo point's scale between bare ground and leaf."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import BLADE_MM, LEVELS, USUAL_FULL, leaf_scale, value_counts


def counts_of(*kinds: tuple[float, float, float]) -> np.ndarray:
    """Counts of map values for kinds of point, each with its mean index, standard deviation and number."""
    counts = np.zeros(256)
    for mean, spread, number in kinds:
        bell = np.exp(-0.5 * ((LEVELS - mean) / spread) ** 2)
        counts[2:] += number * bell / bell.sum()
    return counts


SAND, LEAF = (-0.005, 0.010, 1e4), (0.220, 0.030, 1e4)
MIXED = {"footprint_mm": BLADE_MM}


def test_the_scale_lies_between_ground_and_full_turf():
    scale = leaf_scale(counts_of(SAND, LEAF), full_index=[0.23], leaf_light=[0.25], **MIXED)
    assert scale.source == "photos"
    assert scale.bare == pytest.approx(-0.005, abs=0.003)
    assert scale.full == pytest.approx(0.23, abs=0.001)
    assert scale.bare < scale.low < scale.value < scale.high < scale.full


@pytest.mark.parametrize("kinds", [((0.01, 0.006, 1e4),), ((-0.10, 0.02, 1e4),), ((-0.01, 0.03, 1e4),)])
def test_bare_ground_of_any_color_and_noise_holds_no_leaf(kinds):
    """A one-class histogram: where Otsu's method would split the sand in two halves."""
    counts = counts_of(*kinds)
    for footprint_mm in (0.0, 1.0, BLADE_MM):
        scale = leaf_scale(counts, footprint_mm=footprint_mm)
        assert counts[2:] @ scale.leaf_shares() / counts.sum() < 0.02


def test_red_ground_is_told_from_a_gray_path_beside_it():
    """Soil of -0.15, the reddest of the photographed grounds, and a fifth as many points of smooth gray paving."""
    scale = leaf_scale(counts_of((-0.15, 0.015, 1e4), (-0.015, 0.006, 1e3), (0.17, 0.03, 2e4)), **MIXED)
    assert scale.bare == pytest.approx(-0.15, abs=0.01)


def test_pixels_that_are_part_leaf_are_not_taken_for_the_ground():
    """Thin turf all over: more pixels hold a third of leaf than none, on the green side of the ground."""
    scale = leaf_scale(counts_of((0.0, 0.01, 1e4), (0.055, 0.012, 2e4), (0.2, 0.03, 5e3)), **MIXED)
    assert scale.bare == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("leaf", [(0.17, 0.02, 1e4), (0.25, 0.04, 1e4), (0.33, 0.05, 1e4)])
def test_full_turf_is_all_leaf(leaf):
    counts = counts_of(leaf)
    scale = leaf_scale(counts, full_index=[leaf[0]], **MIXED)
    assert counts[2:] @ scale.leaf_shares() / counts.sum() == pytest.approx(1, abs=0.03)


def test_one_odd_photo_moves_the_full_end_by_a_rank():
    """Half of a photo in blue shade: a full turf far above the others', and the widest doubt among them."""
    usual = [0.18, 0.20, 0.21, 0.21, 0.22, 0.22]
    without, with_it = (leaf_scale(np.zeros(256), full_index=f, **MIXED) for f in (usual, [*usual, 0.38]))
    assert with_it.full - without.full <= 0.01
    spread = leaf_scale(np.zeros(256), full_index=[0.16, 0.19, 0.22, 0.25, 0.30, 0.33], **MIXED)
    assert spread.full_doubt > without.full_doubt


def test_thin_turf_weighs_less_than_closed_turf_and_leaves_more_doubt():
    """Two early photos that extrapolate from thin turf, one with closed turf; then one alone."""
    early, closed = [0.32, 0.33], [0.0, 0.0]
    thin = leaf_scale(np.zeros(256), full_index=early[:1], closed=closed[:1], **MIXED)
    both = leaf_scale(np.zeros(256), full_index=[*early, 0.2], closed=[*closed, 0.4], **MIXED)
    sure = leaf_scale(np.zeros(256), full_index=[*early, 0.2], closed=[1, 1, 1], **MIXED)
    assert USUAL_FULL < thin.full < 0.32, "drawn toward the usual value"
    assert both.full < sure.full - 0.02, "what closed turf shows counts more"
    assert thin.full_doubt > 2 * sure.full_doubt - 0.1 and thin.full_doubt > 0.2


def test_thin_turf_is_paler_than_full_turf_as_long_as_none_has_closed():
    """The second photo of a lawn that grows in; a single photo, and one that shows closed turf, stand as they are."""
    index = [0.12, 0.13]
    thin, closed = (
        leaf_scale(np.zeros(256), full_index=index, closed=c, **MIXED) for c in ([0, 0], [0, 0.3])
    )
    single = leaf_scale(np.zeros(256), full_index=index[1:], closed=[0.0], **MIXED)
    assert thin.full == pytest.approx(1.2 * 0.125 + 0.2 * (USUAL_FULL - 1.2 * 0.125), abs=0.003)
    assert closed.full < 0.15 and single.full == pytest.approx(0.13 + 0.2 * (USUAL_FULL - 0.13), abs=0.003)


def test_the_floor_of_full_turf_lies_below_photographic_turf():
    """Photographic turf reads 0.11 and more: a lawn of pale turf is full at its own green."""
    scale = leaf_scale(np.zeros(256), full_index=[0.12], closed=[0.8], **MIXED)
    assert scale.full == pytest.approx(0.12, abs=0.01)


def test_a_photo_without_turf_has_no_say():
    assert leaf_scale(np.zeros(256), full_index=[0.2, float("nan")], **MIXED) == leaf_scale(
        np.zeros(256), full_index=[0.2], **MIXED
    )


def test_pure_pixels_are_leaf_or_ground_and_mixed_ones_anything_between():
    """The same colors from close by and from afar: the ramp is as much steeper as pixels are purer."""
    counts = counts_of(SAND, LEAF)
    pure, half, mixed = (
        leaf_scale(counts, footprint_mm=f, full_index=[0.22]) for f in (0, BLADE_MM / 2, BLADE_MM)
    )
    assert set(pure.leaf_shares()) == {0.0, 1.0}
    steep = [np.ptp(LEVELS[(s.leaf_shares() > 0.1) & (s.leaf_shares() < 0.9)]) for s in (half, mixed)]
    assert steep[0] < 0.65 * steep[1]
    for scale in (half, mixed):
        assert np.interp(scale.value, LEVELS, scale.leaf_shares()) == pytest.approx(0.5, abs=0.03)


def test_the_darker_the_ground_the_less_do_mixed_pixels_lean_toward_it():
    """Half the way from ground to turf is more than half leaf on bright sand, and half leaf on soil as dark as leaf."""
    sand, soil = (leaf_scale(counts_of(SAND), leaf_light=[light], **MIXED) for light in (0.2, 1.0))
    middle = (sand.bare + sand.full) / 2
    assert np.interp(middle, LEVELS, sand.leaf_shares()) == pytest.approx(1 / (1 + 0.2**0.6), abs=0.02)
    assert np.interp(middle, LEVELS, soil.leaf_shares()) == pytest.approx(0.50, abs=0.02)


def test_half_a_leaf_is_counted_at_the_threshold():
    scale = leaf_scale(counts_of(SAND, LEAF), **MIXED)
    assert np.interp(scale.value, LEVELS, scale.leaf_shares()) == pytest.approx(0.5, abs=0.02)


def test_a_moved_scale_counts_less_leaf():
    scale = leaf_scale(counts_of(SAND, LEAF), **MIXED)
    above = scale.bare + scale.bare_doubt < LEVELS
    assert (scale.leaf_shares(1) <= scale.leaf_shares())[above].all()
    assert (scale.leaf_shares(-1) >= scale.leaf_shares())[above].all()


def test_the_keepers_value_moves_the_whole_scale():
    free, kept = (leaf_scale(counts_of(SAND, LEAF), setting=s, **MIXED) for s in ("auto", 0.15))
    assert kept.value == 0.15
    assert kept.full - kept.bare == pytest.approx(free.full - free.bare)


def test_an_empty_histogram_gives_the_usual_values():
    assert leaf_scale(np.zeros(256)).source == "usual values"


@given(st.floats(0.02, 0.98))
def test_the_scale_hardly_follows_how_much_of_each_there_is(share):
    """The same leaves and sand in other proportions are the same scale, where Otsu's value drifts."""
    scale = leaf_scale(counts_of((-0.005, 0.01, 1e4 * (1 - share)), (0.22, 0.03, 1e4 * share)), **MIXED)
    assert scale.value == pytest.approx(0.062, abs=0.006)


def test_every_point_of_a_map_is_counted():
    values = np.array([[0, 5, 5], [1, 5, 255]], np.uint8)
    counts = value_counts(GroundMap(values, 0, 0, 0.01))
    assert {int(value): int(counts[value]) for value in np.flatnonzero(counts)} == {0: 1, 1: 1, 5: 3, 255: 1}


def test_the_keepers_threshold_wins():
    for footprint_mm in (0.0, BLADE_MM):
        chosen = leaf_scale(np.ones(256), footprint_mm=footprint_mm, setting=0.2)
        assert (chosen.value, chosen.source) == (0.2, "keeper")

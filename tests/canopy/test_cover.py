"""Percent cover from maps and colors: what must hold for any map."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.canopy.cover import LEAST_SHARE, speaking_for, straight_down, total_cover, zone_cover
from swardmark.canopy.index import NOT_SEEN, UNREADABLE, GroundMap, byte_of
from swardmark.canopy.scale import BLADE_MM, leaf_scale

SCALE = leaf_scale(np.zeros(256), footprint_mm=BLADE_MM)
SAND, LEAF = byte_of(SCALE.bare) - 1, byte_of(SCALE.full) + 1


def a_map(values) -> GroundMap:
    return GroundMap(np.asarray(values, np.uint8), 0, 0, 0.01)


def everywhere(ground_map: GroundMap) -> np.ndarray:
    return np.ones(ground_map.values.shape, bool)


@st.composite
def maps(draw):
    seed, rows, cols = draw(st.integers(0, 2**32 - 1)), draw(st.integers(1, 60)), draw(st.integers(1, 60))
    return a_map(np.random.default_rng(seed).integers(0, 256, (rows, cols)))


@given(maps(), st.floats(0, 75))
def test_cover_and_interval_are_percentages_in_order(ground_map, view):
    cover = zone_cover(ground_map, everywhere(ground_map), scale=SCALE, view_deg=view)
    if cover.points:
        assert 0 <= cover.low_pct <= cover.cover_pct <= cover.high_pct <= 100
        assert cover.cover_pct <= cover.seen_pct + 1e-9
    else:
        assert np.isnan(cover.cover_pct)


@given(maps(), st.floats(-0.1, 0.4), st.floats(0, 0.2))
def test_a_higher_threshold_never_counts_more(ground_map, value, more):
    low, high = (
        zone_cover(
            ground_map,
            everywhere(ground_map),
            scale=leaf_scale(np.zeros(256), footprint_mm=BLADE_MM, setting=v),
            view_deg=40,
        )
        for v in (value, value + more)
    )
    if low.points:
        assert high.cover_pct <= low.cover_pct + 1e-9


@given(maps())
def test_unreadable_points_are_never_counted(ground_map):
    readable = ground_map.values.copy()
    readable[readable == UNREADABLE] = NOT_SEEN
    one, other = (
        zone_cover(m, everywhere(m), scale=SCALE, view_deg=0) for m in (ground_map, a_map(readable))
    )
    assert one.points == other.points
    if one.points:
        assert one.seen_pct == pytest.approx(other.seen_pct)
        assert one.high_pct - one.low_pct >= other.high_pct - other.low_pct - 1e-9


def test_nothing_seen_is_nan_and_never_zero():
    empty = a_map(np.zeros((5, 5)))
    cover = zone_cover(empty, everywhere(empty), scale=SCALE, view_deg=0)
    assert np.isnan(cover.cover_pct) and cover.points == 0


def test_a_known_share_of_leaf():
    values = np.full((100, 100), SAND)
    values[:, :30] = LEAF
    half = a_map(values)
    cover = zone_cover(half, everywhere(half), scale=SCALE, view_deg=0)
    assert cover.cover_pct == pytest.approx(30, abs=0.5) and cover.seen_pct == cover.cover_pct
    assert cover.area_m2 == pytest.approx(1.0)


def test_leaf_in_patches_needs_less_slant_step_than_leaf_spread_evenly():
    """Half the ground fully green and half bare looks the same from any angle; half cover everywhere does not."""
    patches, even = np.full((80, 80), SAND), np.full((80, 80), SAND)
    patches[:, :40] = LEAF
    even[::2] = LEAF
    clumped, spread = (
        zone_cover(m, everywhere(m), scale=SCALE, view_deg=60) for m in (a_map(patches), a_map(even))
    )
    assert clumped.cover_pct == pytest.approx(50)
    assert spread.cover_pct < 45


def test_noise_averages_out():
    """A bare and a full lawn in the noise of dusk: a spread of half the way from one to the other, on the point."""
    rng = np.random.default_rng(3)
    for kind, pct in ((SAND, 0), (LEAF, 100)):
        noisy = a_map(np.clip(kind + rng.normal(0, 6, (100, 100)), 2, 255).astype(np.uint8))
        found = zone_cover(noisy, everywhere(noisy), scale=SCALE, view_deg=0).cover_pct
        assert found == pytest.approx(pct, abs=1.5)


def test_a_smaller_zone_or_a_steeper_look_has_a_wider_interval():
    values = np.full((100, 100), SAND)
    values[::2] = LEAF
    whole = a_map(values)
    corner = np.zeros((100, 100), bool)
    corner[:10, :10] = True
    widths = [
        zone_cover(whole, zone, scale=SCALE, view_deg=view)
        for zone, view in ((everywhere(whole), 0), (everywhere(whole), 70), (corner, 0))
    ]
    plain, slanted, small = (c.high_pct - c.low_pct for c in widths)
    assert slanted > plain and small > plain


def test_ground_that_was_not_read_may_be_bare_or_full():
    """Half of the ground in deep shade: the truth may lie up to 33 points either way (two standard deviations)."""
    values = np.full((100, 100), SAND)
    values[::2] = LEAF
    read = zone_cover(a_map(values), everywhere(a_map(values)), scale=SCALE, view_deg=0)
    values[:50] = UNREADABLE
    shaded = zone_cover(a_map(values), everywhere(a_map(values)), scale=SCALE, view_deg=0)
    assert read.readable_pct == 100 and shaded.readable_pct == 50
    assert read.high_pct - read.low_pct < 30
    assert shaded.low_pct < shaded.cover_pct - 30 and shaded.high_pct > shaded.cover_pct + 30


def test_dense_turf_may_hide_gaps_and_bare_sand_hides_no_leaf():
    turf, sand = (
        zone_cover(m, everywhere(m), scale=SCALE, view_deg=0)
        for m in (a_map(np.full((200, 200), 255)), a_map(np.full((200, 200), 2)))
    )
    assert turf.cover_pct == 100 and turf.low_pct < 95
    assert sand.cover_pct == 0 and sand.high_pct < 3


def test_total_is_weighed_by_area_and_skips_the_unseen():
    values = [a_map(np.full((4, 4), v)) for v in (SAND, LEAF, 0)]
    covers = [zone_cover(m, everywhere(m), scale=SCALE, view_deg=0) for m in values]
    assert total_cover(covers, [3.0, 1.0, 50.0]) == pytest.approx(25.0)
    assert np.isnan(total_cover(covers[2:], [1.0]))


@given(st.floats(0, 1), st.floats(0, 80))
def test_straight_down_stays_within_what_is_seen(seen, view):
    assert 0 <= straight_down(seen, view) <= seen + 1e-12


def test_a_strip_speaks_for_its_zone_with_a_wider_interval():
    """A zone of 6.2 m2 at 23 %, of which a strip of 0.26 m2 shows 54 %: the interval of the zone holds both."""
    strip = a_map(np.where(np.arange(2600).reshape(52, 50) % 100 < 54, LEAF, SAND))
    cover = zone_cover(strip, everywhere(strip), scale=SCALE, view_deg=0)
    wide = speaking_for(cover, cover.area_m2 / 6.2)
    assert wide.cover_pct == cover.cover_pct == pytest.approx(54, abs=2)
    assert wide.low_pct <= 23 < cover.low_pct and wide.high_pct > cover.high_pct
    assert speaking_for(cover, LEAST_SHARE) is cover

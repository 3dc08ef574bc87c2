"""Spots of two and three seasons side by side."""

import math
from dataclasses import replace

import pytest
from shapely import Point

from swardmark.relevel.outlines import corners_of
from swardmark.relevel.seasons import compare_seasons, count_seasons
from swardmark.relevel.spots import Spot, SpotSearch

GROUND = ((-3.0, -1.0), (4.0, -1.0), (4.0, 5.0), (-3.0, 5.0))


def spot(number, x, y, radius, *, point="main"):
    shape = Point(x, y).buffer(radius)
    return Spot(
        number=number, point=point, zone="", outline_m=corners_of(shape), x_m=x, y_m=y, area_m2=shape.area,
        cover_pct=3.0, lawn_cover_pct=95.0, lag_days=20.0, is_bare=True, at_edge=False,
    )  # fmt: skip


def season(*spots, ground=GROUND, point="main"):
    return (SpotSearch(point, spots, (ground,), 42.0, 95.0, 9.0),)


def numbers(spots):
    return [s.number for s in spots]


def test_mended_still_and_new_are_told_apart():
    before = season(spot(1, 0.0, 2.0, 0.3), spot(2, 2.0, 2.0, 0.4), spot(3, 0.5, 4.0, 0.25))
    now = season(spot(1, 2.05, 2.03, 0.38), spot(2, -1.5, 3.0, 0.3))
    seen = compare_seasons(before, now)
    assert numbers(seen.mended) == [1, 3]
    assert [(a.number, b.number) for a, b in seen.still_there] == [(2, 1)]
    assert numbers(seen.new) == [2]
    assert seen.not_seen == ()


def test_the_mended_share_is_area_of_what_is_gone():
    # a disc shrunk to half its radius in the same place leaves a quarter of its area
    seen = compare_seasons(season(spot(1, 1.0, 2.0, 0.4)), season(spot(1, 1.0, 2.0, 0.2)))
    assert seen.mended_share == pytest.approx(0.75, abs=0.01)
    assert seen.sound_share == pytest.approx(1 - math.pi * 0.04 / 42, abs=1e-3)
    assert len(seen.still_there) == 1


def test_ground_out_of_view_is_neither_mended_nor_still_there():
    seen = compare_seasons(
        season(spot(1, 3.0, 4.0, 0.3)), season(ground=((-3, -1), (2, -1), (2, 3), (-3, 3)))
    )
    assert numbers(seen.not_seen) == [1]
    assert seen.mended == ()
    assert math.isnan(seen.mended_share)


@pytest.mark.parametrize(("apart", "same"), [(0.0, True), (0.28, True), (0.5, False), (0.7, False)])
def test_spots_are_the_same_place_where_a_quarter_of_the_smaller_one_is_shared(apart, same):
    """Two discs of radius 0.3 m share 2 acos(d/2r) - (d/2r) sqrt(4 - (d/r)^2) of pi: 0.43 at 0.28 m, 0.07 at 0.5 m."""
    seen = compare_seasons(season(spot(1, 1.0, 2.0, 0.3)), season(spot(1, 1.0 + apart, 2.0, 0.3)))
    assert bool(seen.still_there) is same
    assert bool(seen.new) is not same


def test_one_spot_that_breaks_in_two_is_still_there():
    seen = compare_seasons(
        season(spot(1, 1.0, 2.0, 0.5)), season(spot(1, 0.75, 2.0, 0.15), spot(2, 1.25, 2.0, 0.15))
    )
    assert numbers(a for a, _ in seen.still_there) == [1, 1]
    assert seen.new == seen.mended == ()


def test_other_photo_points_are_other_places():
    seen = compare_seasons(
        season(spot(1, 1, 2, 0.3)), season() + season(spot(1, 1, 2, 0.3, point="back"), point="back")
    )
    assert numbers(seen.mended) == [1]
    assert seen.new == ()  # nobody looked there last season


def test_a_lawn_that_has_not_grown_back_has_mended_nothing():
    """With 40 % of cover no place can be a spot, and all of last season's spots were once called mended."""
    (looked,) = season()
    waits = replace(looked, lawn_cover_pct=40.0, note="the lawn itself is only 40 % covered")
    seen = compare_seasons(season(spot(1, 1, 2, 0.3)), (waits,))
    assert (seen.mended, numbers(seen.unjudged), seen.is_judged) == ((), [1], False)
    assert math.isnan(seen.mended_share) and math.isnan(seen.sound_share)


def test_what_nobody_could_look_for_last_season_is_not_new():
    (looked,) = season()
    seen = compare_seasons((replace(looked, note="too few photos"),), season(spot(1, 1, 2, 0.3)))
    assert (seen.new, seen.is_judged) == ((), False)


def test_seasons_are_counted_while_a_spot_stays():
    counted = count_seasons(
        [
            season(spot(1, 1, 2, 0.3)),
            season(spot(1, 1, 2, 0.25), spot(2, 3, 3, 0.2)),
            season(spot(1, 1, 2, 0.2)),
        ]
    )
    assert [s.seasons_seen for s in counted[0].spots] == [3]
    gap = count_seasons([season(spot(1, 1, 2, 0.3)), season(), season(spot(1, 1, 2, 0.3))])
    assert [s.seasons_seen for s in gap[0].spots] == [1]


def test_nothing_before_and_nothing_now_is_a_sound_lawn():
    seen = compare_seasons(season(), season())
    assert seen.sound_share == 1.0
    assert math.isnan(seen.mended_share)

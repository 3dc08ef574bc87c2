"""Bare discs of known size on drawn photos of two seasons: found, measured and named by the whole pipeline."""

from __future__ import annotations

import pytest
from spot_lawns import FIRST, SECOND, draw_disc_lawn
from spots import match

from swardmark.measure.covers import measure_covers
from swardmark.practice.lawn import Season
from swardmark.season import relevel_plan_of, season_of

SEED = 60_417
DAYS = (8, 18, 28)
MENDED, STAYS, NEW = (-0.55, 1.75, 0.45), (1.55, 1.90, 0.80), (0.45, 2.35, 0.35)


@pytest.fixture(scope="module")
def lawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("discs") / "lawn"
    seasons = [Season(FIRST, DAYS, (MENDED, STAYS)), Season(SECOND, DAYS, (STAYS, NEW))]
    truths = draw_disc_lawn(folder, seed=SEED, seasons=seasons, size_px=(1200, 900))
    return truths[1], relevel_plan_of(season_of(measure_covers(folder)))


def test_discs_are_found_where_and_as_large_as_they_are_and_none_is_invented(lawn):
    truths, plan = lawn
    pairs, invented = match(truths, [item.spot for item in plan.spots])
    assert invented == []
    for pair in pairs:
        assert pair.spot is not None, pair.truth
        assert abs(pair.area_error) <= 0.15, pair.truth
        assert pair.center_error_m <= 0.10, pair.truth


def test_mended_still_and_new_are_named_right(lawn):
    seen = lawn[1].comparison
    assert [_at(spot) for spot in seen.mended] == [pytest.approx(MENDED[:2], abs=0.1)]
    assert [_at(now) for _, now in seen.still_there] == [pytest.approx(STAYS[:2], abs=0.1)]
    assert [_at(spot) for spot in seen.new] == [pytest.approx(NEW[:2], abs=0.1)]
    assert seen.not_seen == ()
    assert sorted(item.spot.seasons_seen for item in lawn[1].spots) == [1, 2]


def _at(spot):
    return (spot.x_m, spot.y_m)

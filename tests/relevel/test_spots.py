"""Spots on drawn stacks whose bare discs are known."""

import numpy as np
import pytest
from drawn_stack import CAMERA, DAYS, SCALE, Disc, draw, random_discs
from scipy.optimize import isotonic_regression

from swardmark.canopy.index import NOT_SEEN, GroundMap
from swardmark.lawn.toml import Zone
from swardmark.relevel.cells import cell_cover, cell_history, first_day_at, isotonic
from swardmark.relevel.spots import find_spots, whereabouts

LEAF_MM = 50.0  # drawn_stack hides 0.03 m of leaf height; find_spots takes 0.6 of the height as screening


def search(maps, **options):
    return find_spots(
        maps,
        options.pop("days", DAYS),
        scale=SCALE,
        camera_m=options.pop("camera_m", CAMERA),
        leaf_height_mm=LEAF_MM,
        **options,
    )


@pytest.mark.parametrize("seed", range(5))
def test_bare_discs_are_found_where_and_as_large_as_they_are(seed):
    discs = random_discs(seed, count=5, radii=(0.15, 0.75))
    spots = list(search(draw(discs, seed=seed, patchy=0.15)).spots)
    assert len(spots) == len(discs)  # none missed, none invented, 0.3-1.5 m across
    for disc in discs:
        spot = min(spots, key=lambda s: np.hypot(s.x_m - disc.x_m, s.y_m - disc.y_m))
        assert np.hypot(spot.x_m - disc.x_m, spot.y_m - disc.y_m) < 0.10
        assert spot.area_m2 == pytest.approx(np.pi * disc.radius_m**2, rel=0.15)
        assert spot.is_bare
        assert spot.cover_pct < 30
        assert spot.lag_days > 7


def test_a_place_is_outlined_as_far_as_the_eye_sees_it_bare():
    """A bare core within thin turf of 30 %: one place, outlined along the thin turf's rim and not along the core's."""
    thin, core = Disc(1.2, 2.6, 0.55, cover=0.30), Disc(1.2, 2.6, 0.30)
    (spot,) = search(draw([thin, core], seed=15, patchy=0.05, shadows=False)).spots
    assert spot.area_m2 == pytest.approx(np.pi * thin.radius_m**2, rel=0.15)


@pytest.mark.parametrize("ceiling", [0.80, 0.96])
def test_a_sound_lawn_has_no_spots(ceiling):
    found = search(draw([], seed=11, patchy=0.15, ceiling=ceiling))
    assert found.spots == ()
    assert found.note == ""
    assert found.ground_m2 > 5
    assert found.lawn_cover_pct == pytest.approx(100 * ceiling, abs=6)


def test_numbers_run_from_near_to_far():
    spots = search(
        draw([Disc(0.5, 3.5, 0.3), Disc(1.5, 1.0, 0.2), Disc(-0.6, 2.2, 0.25)], seed=3, patchy=0.1)
    ).spots
    assert [s.number for s in spots] == [1, 2, 3]
    assert [round(s.y_m, 1) for s in spots] == [1.0, 2.2, 3.5]


def test_a_place_that_caught_up_is_no_spot_and_one_that_lags_is():
    caught_up, lags = Disc(-0.5, 2.0, 0.4, cover=1.0), Disc(1.4, 2.2, 0.4, cover=0.35)
    spots = search(draw([caught_up, lags], seed=4, patchy=0.1)).spots
    assert len(spots) == 1
    assert np.hypot(spots[0].x_m - lags.x_m, spots[0].y_m - lags.y_m) < 0.1
    assert 10 < spots[0].cover_pct < 50


@pytest.mark.parametrize(("days_late", "m2"), [(3, (0.0, 0.1)), (12, (0.15, 0.8))])
def test_a_thin_place_is_a_spot_where_it_came_over_a_week_late(days_late, m2):
    """It ends at 60 %, above half of the lawn's cover: only its lag tells it from turf that is thin on the whole."""
    place, days = Disc(1.2, 2.6, 0.5, cover=0.60), [max(0.0, day - days_late) for day in DAYS]
    maps = draw([], seed=14, patchy=0.05, shadows=False, slant=False)
    later = draw([place], seed=14, patchy=0.05, shadows=False, slant=False, days=days)
    for ground_map, slow in zip(maps, later, strict=True):
        away = np.hypot(ground_map.x_m - place.x_m, (ground_map.y_m - place.y_m)[:, None])
        np.copyto(ground_map.values, slow.values, where=away < place.radius_m)
    found = search(maps, camera_m=None).spots
    assert m2[0] <= sum(spot.area_m2 for spot in found) <= m2[1]
    assert all(np.hypot(s.x_m - place.x_m, s.y_m - place.y_m) < place.radius_m for s in found)


@pytest.mark.parametrize(("spread", "limit"), [(0.0, 0.80), (0.05, 0.75)])
def test_a_place_is_low_ten_points_below_an_even_lawn_and_three_spreads_below_a_patchy_one(spread, limit):
    lawn = 0.90 + spread / 1.4826 * np.resize([-1.0, 1.0], (3, 20, 20))
    lawn[:, 10, ::7] = 0.90
    assert cell_history(lawn, np.array([0.0, 10.0, 20.0])).low_limit == pytest.approx(limit, abs=1e-6)


def test_cover_in_a_spot_is_as_from_straight_above():
    """At 68 degrees 30 % of leaf is 16 % from above: 1 - 0.7 ** (cos 68 degrees) ** 0.7 (the step as documented)."""
    maps = draw([Disc(0.5, 3.0, 0.5, cover=0.30)], seed=13, patchy=0.05, shadows=False, slant=False)
    above, beside = (search(maps, camera_m=(0.5, -1.0, height)).spots[0] for height in (500.0, 1.6))
    seen = 1 - above.cover_pct / 100
    assert 25 < above.cover_pct < 40
    assert beside.cover_pct == pytest.approx(100 * (1 - seen ** np.cos(np.radians(68.2)) ** 0.7), abs=1.5)
    assert beside.lawn_cover_pct < above.lawn_cover_pct - 2


def test_a_shadow_on_the_last_photo_is_no_spot():
    maps = draw([], seed=5, patchy=0.1, shadows=False)
    last = maps[-1].values.copy()
    last[250:300, 200:300] = np.where(last[250:300, 200:300] == NOT_SEEN, NOT_SEEN, 77)  # index 0: deep shade
    assert search([*maps[:-1], GroundMap(last, maps[-1].row0, maps[-1].col0, maps[-1].spacing_m)]).spots == ()


def test_a_path_along_the_edge_of_the_view_is_left_out_but_shown():
    maps = draw([Disc(1.2, 2.5, 0.3)], seed=6, patchy=0.1)
    for ground_map in maps:
        x = ground_map.x_m
        path = (x < -1.0) & (ground_map.values != NOT_SEEN)
        ground_map.values[path] = 77
    found = search(maps)
    assert len(found.spots) == 1
    assert len(found.left_out_m) >= 1


def test_the_lawns_outline_limits_the_search_and_zones_name_the_spots():
    discs = [Disc(-0.6, 2.0, 0.25), Disc(1.6, 2.0, 0.25)]
    right = Zone(name="right half", outline_m=((0.5, 1.2), (2.5, 1.2), (2.5, 3.5), (0.5, 3.5)))
    maps = draw(discs, seed=7, patchy=0.1)
    assert [s.zone for s in search(maps, zones=[right]).spots] == ["", "right half"]
    assert [s.zone for s in search(maps, zones=[right], outline_m=right.outline_m).spots] == ["right half"]


def test_too_few_photos_or_a_bare_lawn_are_said_and_not_guessed():
    maps = draw([Disc(0.5, 2.5, 0.4)], seed=8)
    assert "at least 3 photos" in search(maps[:2], days=DAYS[:2]).note
    assert "at least 3 photos" in search(maps[:3], days=(0, 1, 2)).note
    early = search(maps[:4], days=DAYS[:4])
    assert early.spots == ()
    assert "not" in early.note or "only" in early.note


def test_the_order_of_the_maps_does_not_matter():
    maps = draw([Disc(0.5, 2.5, 0.4)], seed=9, patchy=0.1)
    assert search(maps[::-1], days=DAYS[::-1]) == search(maps)


def test_isotonic_agrees_with_scipy():
    # reference library: scipy.optimize.isotonic_regression (pool adjacent violators)
    series = np.random.default_rng(0).normal(size=(12, 5, 4)).cumsum(axis=0)
    fit = isotonic(series)
    for row, col in np.ndindex(5, 4):
        np.testing.assert_allclose(fit[:, row, col], isotonic_regression(series[:, row, col]).x, atol=1e-12)


def test_first_day_is_straight_between_dates():
    fit = np.array([[0.1, 0.6, 0.1], [0.3, 0.8, 0.1], [0.7, 0.9, 0.2]])
    np.testing.assert_allclose(first_day_at(fit, np.array([0.0, 4.0, 8.0]), 0.5), [6.0, 0.0, np.inf])


def test_a_cell_is_the_mean_of_its_readable_points():
    leaf = np.zeros((1, 4, 4), np.float32)
    leaf[0, :2, :2] = [[1, 0], [1, 0]]
    readable = np.ones((1, 4, 4), np.float32)
    readable[0, 2:, 2:] = 0
    np.testing.assert_allclose(cell_cover(leaf, readable, 2)[0], [[0.5, 0.0], [0.0, np.nan]])


@pytest.mark.parametrize(
    ("place", "units", "words"),
    [
        ((4.2, 2.4), "metric", "3.2 m right of the square and 1.4 m beyond it (about 5 paces)"),
        ((-0.5, 0.5), "metric", "50 cm left of the square (about 1 pace)"),
        ((0.5, -1.5), "metric", "1.5 m before the square (about 2 paces)"),
        ((4.2, 0.2), "us", "10 ft right of the square (about 4 paces)"),
        ((0.5, 0.5), "metric", "inside the square"),
    ],
)
def test_whereabouts_in_words(place, units, words):
    assert whereabouts(*place, square_side_m=1.0, units=units) == words

"""Odd ground on drawn courses of cells: what comes and goes within days was never the lawn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.canopy.cells import CELL_M
from swardmark.canopy.cover import Cover
from swardmark.canopy.odd import odd_ground
from swardmark.canopy.odd_kept import packed_odd, unpacked_odd
from swardmark.lawn.toml import Zone
from swardmark.measure.odd import OddGround

DAYS = (0, 3, 6, 9, 12, 16, 21, 28)


def lawn(seed=0, *, days=DAYS, t50=9.0, noise=0.03, shape=(18, 16)):
    """Cells that grow in by a logistic, each at its own pace, read with noise and each photo in its own light."""
    rng = np.random.default_rng(seed)
    pace = t50 * np.exp(0.25 * rng.standard_normal(shape))
    cover = np.stack([1 / (1 + np.exp(-2.4 * (day / pace - 1))) for day in days])
    light = rng.normal(0, 0.015, (len(days), 1, 1))
    return np.clip(cover + light + rng.normal(0, noise, cover.shape), 0, 1)


def kinds(found):
    return [tuple(odd.kind for odd in own) for own in found]


@pytest.mark.parametrize("seed", range(40))
def test_a_lawn_that_grows_is_never_noted(seed):
    pace = np.random.default_rng(100 + seed).uniform(5, 20)
    assert kinds(odd_ground(lawn(seed, t50=pace), DAYS)) == [()] * len(DAYS)


@pytest.mark.parametrize("photo", [3, 4, 5, 6, 7])
def test_a_person_on_the_lawn_is_noted_where_he_stands_and_on_that_photo_alone(photo):
    cover = lawn(1, t50=5.0)
    cover[photo, 5:9, 6:8] = 0.05
    found = odd_ground(cover, DAYS)
    assert [bool(own) for own in found] == [n == photo for n in range(len(DAYS))]
    (odd,) = found[photo]
    assert odd.kind == "something lies there"
    assert odd.where[5:9, 6:8].all()
    assert odd.area_m2 == pytest.approx(8 * CELL_M**2, abs=0.13)
    assert odd.is_sure is (photo < len(DAYS) - 1)


def test_a_green_hose_on_bare_sand_is_noted_when_it_is_gone_again():
    cover = lawn(2, t50=25.0)
    cover[2, 10, 2:9] = 0.9
    assert kinds(odd_ground(cover, DAYS))[2] == ("something lies there",)


@pytest.mark.parametrize("photo", [3, 7])
def test_a_dog_on_thin_turf_is_noted_though_there_was_little_to_hide(photo):
    cover = lawn(9, t50=20.0) if photo == 7 else lawn(9, t50=10.0)
    assert 0.2 <= np.median(cover[photo - 1, 5:7, 6:8]) <= 0.75
    cover[photo, 5:7, 6:8] = 0.0
    assert kinds(odd_ground(cover, DAYS))[photo] == ("something lies there",)


def test_a_hose_on_the_newest_photo_is_noted_where_turf_could_not_gain_so_fast():
    cover = lawn(2, t50=10.0)[:5]
    cover[-1, 10, 2:9] = np.clip(cover[-2, 10, 2:9] + 0.65, 0, 1)
    found = odd_ground(cover, DAYS[:5])
    assert kinds(found)[-1] == ("something lies there",)
    (odd,) = found[-1]
    assert not odd.is_sure and np.nanmean((odd.expected - cover[-1])[odd.where]) < -0.2


@pytest.mark.parametrize("photo", [4, 5])
def test_a_part_under_dew_reads_low_while_the_rest_goes_on(photo):
    cover = lawn(10, t50=8.0)
    cover[photo, :, :6] *= 0.7
    found = odd_ground(cover[: photo + 2], DAYS[: photo + 2])
    assert kinds(found)[photo] == ("reads low",)
    assert found[photo][0].where[:, :5].mean() > 0.8
    assert sum(map(len, found)) == 1
    newest = odd_ground(cover[: photo + 1], DAYS[: photo + 1])
    assert kinds(newest)[photo] == ("reads low",) and not newest[photo][0].is_sure


def test_thin_turf_of_an_early_photo_is_not_pale():
    """Full turf is extrapolated from thin turf there, and reads less green than once it has closed."""
    cover = lawn(11, t50=8.0)
    turf = [0.13, 0.135, 0.17, 0.19, 0.20, 0.20, 0.20, 0.20]
    assert kinds(odd_ground(cover, DAYS, turf)) == [()] * len(DAYS)
    turf[5], cover[5] = 0.13, 0.95 * cover[5]
    assert kinds(odd_ground(cover, DAYS, turf))[5] == ("reads low",)


@pytest.mark.parametrize("photo", [4, 5, 6])
def test_dew_that_bleaches_the_leaf_is_noted(photo):
    """Glare that reads 61 % as 25 was seen; here a third of the leaf is lost everywhere."""
    cover = lawn(3, t50=6.0)
    cover[photo] *= 0.65
    found = kinds(odd_ground(cover, DAYS))
    assert "reads low" in found[photo]
    assert all(own == () for n, own in enumerate(found) if n != photo)


def test_dew_on_the_newest_photo_asks_for_another_one_where_turf_could_not_be_lost_so_fast():
    cover = lawn(3, t50=6.0)[:6]
    cover[-1] *= 0.8
    assert [odd.is_sure for odd in odd_ground(cover, DAYS[:6])[-1] if odd.kind == "reads low"] == [False]
    late = lawn(3, t50=6.0)
    late[-1] *= 0.8
    assert kinds(odd_ground(late, DAYS))[-1] == ()


@pytest.mark.parametrize("photo", [1, 2, 3])
def test_clippings_on_the_sand_are_noted_once_they_are_gone(photo):
    cover = lawn(4, t50=22.0)
    cover[photo] = np.clip(cover[photo] + 0.15, 0, 1)
    found = kinds(odd_ground(cover, DAYS))
    assert found[photo] == ("reads high",)
    assert all(own == () for n, own in enumerate(found) if n != photo)


def test_a_place_that_gained_more_than_the_rest_is_allowed_for_in_silence():
    """On the newest photo it may be a hose, or grass: nothing is said; the interval reaches down to what was due."""
    cover = lawn(4, t50=14.0, noise=0.01)[:6]
    cover[-1, 5:8, 6:9] += 0.2
    found = odd_ground(cover, DAYS[:6])
    assert kinds(found)[-1] == ("may read high",) and found[-1][0].where[5:8, 6:9].all()
    inside = tuple((CELL_M * x, CELL_M * y) for x, y in ((5, 4), (10, 4), (10, 9), (5, 9)))
    outside = tuple((x, y + 5 * CELL_M) for x, y in inside)
    zones = [Zone(name="with it", outline_m=inside), Zone(name="beside it", outline_m=outside)]
    odd = OddGround((0, 0, 18, 16), found, zones, cells=cover)
    read = Cover(60.0, 50.0, 70.0, 70.0, 100.0, 50.0, 1.0, 10_000)
    (wider, notes), (same, _) = (odd.allowed_for(read, photo=5, zone=zone) for zone in (0, 1))
    assert odd.said_of(5, ["with it", "beside it"]) == [] and notes == ()
    assert 4 < read.low_pct - wider.low_pct < 12 and wider.high_pct == read.high_pct
    assert same == read


def test_what_is_truly_lost_stays_lost_and_is_not_noted():
    """A strip that died under a tarpaulin stays bare on every later photo."""
    cover = lawn(5, t50=5.0)
    cover[4:, 3:6, 3:6] = 0.08
    found = kinds(odd_ground(cover, DAYS))
    assert found == [()] * len(DAYS)


def test_a_lawn_that_dies_back_slowly_is_not_noted():
    cover = lawn(6, t50=4.0)
    for number, day in enumerate(DAYS):
        cover[number] *= 1 - max(0, day - 12) / 40
    assert kinds(odd_ground(cover, DAYS)) == [()] * len(DAYS)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 1000), st.integers(1, 8), st.floats(0, 0.9))
def test_cells_that_were_not_seen_and_few_photos_break_nothing(seed, photos, gone):
    cover = lawn(seed, days=DAYS[:photos])
    cover[np.random.default_rng(seed).random(cover.shape) < gone] = np.nan
    assert len(odd_ground(cover, DAYS[:photos])) == photos


def test_photos_weeks_apart_say_nothing_of_each_other():
    cover = lawn(7, days=(0, 30, 60), t50=5.0)
    cover[1] *= 0.5
    assert kinds(odd_ground(cover, (0, 30, 60))) == [(), (), ()]


def test_photos_of_one_day_are_not_compared_with_each_other():
    cover = lawn(8, days=(0, 3, 3, 3, 6))
    cover[2] *= 0.6
    assert len(odd_ground(cover, (0, 3, 3, 3, 6))) == 5
    assert kinds(odd_ground(cover[1:4], (3, 3, 3))) == [(), (), ()]


def test_what_is_kept_of_it_comes_back_as_it_was():
    cover = lawn(2)
    cover[4, 3:6, 4:7] = 0.0
    cover[2] *= 0.6
    found = odd_ground(cover, DAYS)
    assert any(odd.expected is not None for odds in found for odd in odds)
    for odds, kept in zip(found, unpacked_odd(packed_odd(found), cover.shape[1:]), strict=True):
        for odd, again in zip(odds, kept, strict=True):
            assert (odd.kind, odd.change, odd.is_sure) == (again.kind, again.change, again.is_sure)
            assert np.array_equal(odd.where, again.where)
            assert (odd.expected is None) == (again.expected is None)
            assert odd.expected is None or np.array_equal(odd.expected, again.expected, equal_nan=True)

"""Odd ground on drawn courses of cells: what comes and goes within days was never the lawn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.canopy.odd import CELL_M, odd_ground, packed_odd, unpacked_odd

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

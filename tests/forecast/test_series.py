"""Which photos count."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from swardmark.forecast.rows import ZoneSeries
from swardmark.forecast.series import seen_after, seen_zones

ZERO = dt.date(2026, 6, 1)
NAN = float("nan")


def series(days, covers, zone="front"):
    dates = tuple(ZERO + dt.timedelta(days=day) for day in days)
    low, high = (tuple(np.array(covers, float) + side) for side in (-5.88, 5.88))
    return ZoneSeries("main", zone, 1.0, dates, tuple(map(float, covers)), low, high)


def seen(days, covers):
    return seen_after(series(days, covers), zero=ZERO, as_of=ZERO + dt.timedelta(days=60))


def test_sorted_after_the_sand_seen_and_not_later():
    one = seen_after(
        series([9, -3, 3, 6, 0, 20], [40, 90, 15, NAN, 8, 70]), zero=ZERO, as_of=ZERO + dt.timedelta(days=12)
    )
    assert list(one.day) == [0, 3, 9]
    assert list(one.cover_pct) == [8, 15, 40]
    assert one.sd_pct == pytest.approx([3.0, 3.0, 3.0])
    assert one.source.cover_pct == (8.0, 15.0, 40.0)


def test_a_photo_before_the_sand_of_the_same_day():
    assert list(seen([0, 0, 4], [95, 9, 15]).day) == [0, 4]
    assert list(seen([0, 4], [60, 15]).day) == [4]
    assert list(seen([0, 4], [30, 15]).day) == [4]
    assert list(seen([0, 4], [24, 15]).day) == [0, 4]
    assert list(seen([2, 4], [95, 15]).day) == [4]
    assert list(seen([5, 7], [95, 15]).day) == [7]
    assert list(seen([5, 13], [95, 15]).day) == [5, 13]
    assert list(seen([12, 14], [95, 15]).day) == [12, 14]


def test_a_photo_of_the_day_of_a_second_sand_is_told_by_the_one_before_it():
    """It was told to mow on the day of the sand, by a photo of the morning before it."""
    assert list(seen([-7, 0], [90, 88]).day) == []
    assert "before the sand went down" in seen([-7, 0], [90, 88]).notes[0]
    assert list(seen([-7, 0, 0], [90, 88, 30]).day) == [0]
    assert list(seen([-7, 0], [90, 60]).day) == [0]
    assert list(seen([-7, 0], [20, 18]).day) == [0]
    assert list(seen([-30, 0], [90, 60]).day) == [0]
    for alone in ([-30, 0], [0]):
        assert list(seen(alone, [90, 88][-len(alone) :]).day) == []  # no sand shows; told by itself
    assert list(seen([0, 0], [88, 30]).day) == [0]
    parts = [
        replace(series([0], [cover], name), area_m2=area)
        for name, cover, area in (("a", 88, 9.0), ("b", 40, 1.0))
    ]
    assert [list(one.day) for one in seen_zones(parts, zero=ZERO, as_of=ZERO)] == [[], []]
    assert list(seen([-7, 0, 3], [90, 88, 86]).day) == [0, 3]
    # without a leveling day the first photo's is day 0, and no day of sand
    (first,) = seen_zones([series([0], [80])], zero=ZERO, as_of=ZERO, is_given=False)
    assert list(first.day) == [0]
    zones = [series([-7, 0], covers, zone) for zone, covers in (("a", [90, 92]), ("b", [50, NAN]))]
    assert [list(one.day) for one in seen_zones(zones, zero=ZERO, as_of=ZERO)] == [[], []]


def test_an_interval_that_is_unknown_or_reversed_has_no_width():
    bad = ZoneSeries("main", "a", 1.0, (ZERO,), (10.0,), (NAN,), (20.0,))
    assert seen_after(bad, zero=ZERO, as_of=ZERO).sd_pct[0] == 0.0


def test_a_leveling_date_two_days_too_early_is_noticed():
    zero = dt.date(2026, 6, 1)
    taken = tuple(zero + dt.timedelta(days=day) for day in (2, 4, 8))
    rows = ZoneSeries("main", "zone", 5.0, taken, (88.0, 12.0, 25.0), (80.0, 5.0, 18.0), (95.0, 19.0, 32.0))
    seen = seen_after(rows, zero=zero, as_of=taken[-1])
    assert seen.day.tolist() == [4.0, 8.0]
    assert "between 2026-06-03 and 2026-06-05" in seen.notes[0]
    falling = ZoneSeries("main", "zone", 5.0, taken, (40.0, 30.0, 25.0), (30.0,) * 3, (50.0,) * 3)
    assert seen_after(falling, zero=zero, as_of=taken[-1]).day.tolist() == [2.0, 4.0, 8.0]


def lawn(days, *covers):
    rows = [series(days, cover, f"zone {i}") for i, cover in enumerate(covers)]
    return seen_zones(rows, zero=ZERO, as_of=ZERO + dt.timedelta(days=60))


def test_several_photos_before_the_sand_in_all_zones_at_once_and_the_likely_date():
    zones = lawn([0, 3, 5, 9, 12], [88, 90, 86, 12, 20], [70, 72, 69, 9, 15], [93, 94, 95, 20, 31])
    assert [one.day.tolist() for one in zones] == [[9.0, 12.0]] * 3
    (note,) = {note for one in zones for note in one.notes}
    assert "first 3 photos, up to 2026-06-06" in note
    assert "between 2026-06-06 and 2026-06-10, likely about 2026-06-08" in note


def test_a_thin_dressing_on_the_leveling_day_is_known_by_the_fall_of_all_zones():
    fell = lawn([0, 3, 6], [34, 22, 27], [30, 20, 26])
    assert [one.day.tolist() for one in fell] == [[3.0, 6.0]] * 2
    assert fell[0].notes == fell[1].notes and "leveling date" not in fell[0].notes[0]
    assert [one.day.tolist() for one in lawn([0, 3, 6], [34, 22, 27], [20, 19, 26])] == [[0.0, 3.0, 6.0]] * 2


def test_a_zone_that_dies_and_a_lawn_that_had_grown_are_not_the_sand():
    one_dies = lawn([2, 5, 8], [60, 12, 9], [30, 40, 52], [28, 41, 55], [33, 39, 50])
    assert all(len(one.day) == 3 and not one.notes for one in one_dies)
    dormant = lawn([1, 4, 8, 11], [8, 20, 55, 15], [9, 24, 60, 12])
    assert all(len(one.day) == 4 and not one.notes for one in dormant)


def test_photo_points_are_told_apart_and_a_zone_that_a_photo_misses_is_cut_with_the_others():
    here = lawn([0, 2, 6], [90, 12, 20], [NAN, 10, 18])
    assert [one.day.tolist() for one in here] == [[2.0, 6.0]] * 2
    other = ZoneSeries("back", "zone", 1.0, *(series([1, 4], [10, 16]).__dict__[k] for k in (
        "taken_on", "cover_pct", "low_pct", "high_pct")))  # fmt: skip
    both = seen_zones([series([0, 2], [90, 12]), other], zero=ZERO, as_of=ZERO + dt.timedelta(days=9))
    assert [one.day.tolist() for one in both] == [[2.0], [1.0, 4.0]]
    assert not both[1].notes

"""The lawn's outlook: statuses on typical series, replays, missing photos, totals and sentences."""

from __future__ import annotations

import datetime as dt
import time
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from swardmark.forecast import sentences
from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.readings import DiaryEntry
from swardmark.lawn.toml import WHOLE_LAWN, Lawn, Leveling
from swardmark.lawn.weather import Temperatures, Weather
from swardmark.mowing.outlook import outlook

ZERO = dt.date(2026, 6, 1)
DAYS = np.array([0, 3, 6, 9, 12, 16, 21, 28.0])
SEEDS = range(25)


def rising(t50, shape=2.4, ceiling=97.0, days=DAYS):
    return ceiling / (1 + np.exp(-shape * (days / t50 - 1)))


TRUTH = {
    "front": rising(9),
    "under the maple": rising(22),  # 90 % only on day 45
    "buried": 30 * (1 - np.exp(-(DAYS + 2) / 4)),  # at 29 to 30 % from day 12 on
    "worn": np.array([8, 20, 40, 60, 68, 62, 48, 38.0]),
}


def lawn(**settings) -> Lawn:
    return Lawn(**{"name": "ours", "grass": "zoysiagrass", "leveling": (Leveling(date=ZERO),)} | settings)


def series(zone, covers, *, days=DAYS, area=5.0, half_width=8.0) -> ZoneSeries:
    covers = np.asarray(covers, float)
    dates = tuple(ZERO + dt.timedelta(days=int(day)) for day in days[: len(covers)])
    return ZoneSeries(
        "main", zone, area, dates, tuple(covers), tuple(covers - half_width), tuple(covers + half_width)
    )


def said(truth, photos, seed, *, noise=4.0, **settings):
    rng = np.random.default_rng(seed)
    rows = [series(z, np.clip(c + rng.normal(0, noise, 8), 0, 100)[:photos]) for z, c in truth.items()]
    return outlook(rows, lawn=lawn(**settings), as_of=rows[0].taken_on[-1])


def statuses(photos, **kwargs):
    counts = {zone: Counter() for zone in TRUTH}
    for seed in SEEDS:
        for row in said(TRUTH, photos, seed, **kwargs).zones:
            counts[row.zone][row.status] += 1
    return counts


def test_all_eight_photos_name_every_zone_right():
    counts = statuses(8)
    assert counts["front"]["full"] == len(SEEDS)
    assert counts["under the maple"]["slow"] >= len(SEEDS) - 1
    assert counts["buried"]["stalled"] >= len(SEEDS) - 1
    assert counts["worn"]["losing ground"] >= len(SEEDS) - 1


@pytest.mark.parametrize("photos", [5, 6, 7])
def test_trouble_shows_early_and_the_normal_zone_is_never_flagged(photos):
    counts = statuses(photos)
    assert set(counts["front"]) <= {"filling in", "full"}
    if photos == 5:  # on day 12 a zone that has stopped, or will be four days late, may still come
        return
    assert counts["under the maple"]["filling in"] <= {6: 8, 7: 1}[photos]
    assert counts["buried"]["filling in"] <= 1
    assert counts["buried"]["stalled"] >= {5: 0, 6: 10, 7: 20}[photos]


def test_four_photos_flag_nobody_wrongly():
    counts = statuses(4, noise=3.0)
    assert counts["front"] == {"filling in": len(SEEDS)}


@pytest.mark.parametrize(("photos", "days"), [(0, DAYS), (1, DAYS), (2, DAYS), (3, np.array([0, 2, 4.0]))])
def test_too_early_means_no_date_at_all(photos, days):
    front = series("front", rising(9)[:photos], days=days)
    answer = outlook([front], lawn=lawn(), as_of=ZERO + dt.timedelta(days=4))
    for row in (*answer.zones, answer.whole):
        assert row.status == "too early to say"
        assert {row.mow_on, row.mow_earliest, row.mow_latest} == {None}
        assert {row.full_on, row.full_earliest, row.full_latest} == {None}
        assert np.isnan(row.chance_full_by_day28)
        assert row.band is None
    assert answer.first_mow.mow_on is None and answer.first_mow.days_to_go is None
    said = answer.first_mow.sentence
    assert "oo early to say" in said if not photos else "in view is covered" in said
    assert "likely" not in said


def test_no_zones_at_all():
    answer = outlook([], lawn=lawn(), as_of=ZERO)
    assert answer.zones == () and answer.whole.status == "too early to say"
    assert answer.whole.zone == WHOLE_LAWN and answer.whole.point == "all"


def test_a_replay_reads_nothing_that_came_later():
    full = [series(zone, covers) for zone, covers in TRUTH.items()]
    cut = [series(zone, covers[:5]) for zone, covers in TRUTH.items()]
    then = ZERO + dt.timedelta(days=12)
    later = DiaryEntry(date=then + dt.timedelta(days=1), what="mowed")
    replay = outlook(full, lawn=lawn(), as_of=then, diary=(later,))
    assert replay == outlook(cut, lawn=lawn(), as_of=then)
    assert replay.first_mow.mowed_on is None


def test_photos_before_the_leveling_are_not_used():
    before = series("front", rising(9))
    dates = (ZERO - dt.timedelta(days=5), *before.taken_on)
    with_old = ZoneSeries(
        "main",
        "front",
        5.0,
        dates,
        (95.0, *before.cover_pct),
        (90.0, *before.low_pct),
        (99.0, *before.high_pct),
    )
    as_of = before.taken_on[4]
    rows = [outlook([s], lawn=lawn(), as_of=as_of).zones[0] for s in (before, with_old)]
    assert rows[0] == rows[1]


def test_a_photo_of_the_leveling_day_before_the_sand_is_left_out():
    covers = np.concatenate([[93.0], rising(9)[1:]])
    answer = outlook([series("front", covers)], lawn=lawn(), as_of=ZERO + dt.timedelta(days=12))
    assert answer.zones[0].day[0] == 3.0
    assert any("before the sand" in note for note in answer.notes)


def test_without_a_leveling_date_days_count_from_the_first_photo():
    answer = outlook([series("front", rising(9))], lawn=lawn(leveling=()), as_of=ZERO + dt.timedelta(days=16))
    assert answer.day_zero == ZERO
    assert any("first photo" in note for note in answer.notes)
    assert answer.zones[0].status == "filling in"


def test_only_the_latest_leveling_counts():
    two = (Leveling(date=ZERO - dt.timedelta(days=365)), Leveling(date=ZERO))
    assert outlook([series("front", rising(9))], lawn=lawn(leveling=two), as_of=ZERO).day_zero == ZERO


def test_a_zone_within_ten_points_is_not_flagged():
    close = np.array([10, 20, 36, 52, 66, 78, 83, 86.0])
    answer = outlook([series("front", close)], lawn=lawn(), as_of=ZERO + dt.timedelta(days=28))
    assert answer.zones[0].status == "filling in"


def test_most_zones_flagged_say_one_thing_of_the_lawn():
    truth = {f"zone {n}": rising(t50) for n, t50 in enumerate((24, 26, 28, 9))}
    answer = said(truth, 7, 1)
    assert sum(row.flagged for row in answer.zones) == 3
    assert sum("whole lawn" in note for note in answer.notes) == 1
    assert all(row.look_for == "" for row in answer.zones)


def test_one_good_zone_of_three_speaks_against_the_whole_lawn():
    answer = said({zone: TRUTH[zone] for zone in ("front", "under the maple", "buried")}, 7, 1)
    assert [row.flagged for row in answer.zones] == [False, True, True]
    assert all(row.look_for for row in answer.zones[1:])
    assert not any("whole lawn" in note for note in answer.notes)


@pytest.mark.parametrize(
    ("cover", "status", "words"),
    [
        ((11, 16, 22, 27, 28, 29, 33, 41), "stalled", "the chance of 90 % is"),
        ((11, 16, 22, 27, 30, 30, 30, 29), "stalled", "and not gaining"),
        ((10, 14, 20, 26, 30, 38, 46, 58), "slow", "+1.7 points a day"),
    ],
)
def test_a_stalled_zone_is_far_from_full_at_its_gain(cover, status, words):
    rows = [series("old dip", np.array(cover, float)), series("front", rising(9)), series("back", rising(10))]
    row = outlook(rows, lawn=lawn(), as_of=ZERO + dt.timedelta(days=28)).zones[0]
    assert row.status == status and words in row.why


def test_the_same_advice_is_given_once():
    truth = {f"zone {n}": rising(t50) for n, t50 in enumerate((22, 23, 9, 8, 10))}
    rows = [row for row in said(truth, 7, 1).zones if row.flagged]
    assert [row.status for row in rows] == ["slow", "slow"]
    assert "hours of sun" in rows[0].look_for
    assert rows[1].look_for == sentences.CHECK_AS_IN.format(zone="zone 0")


def test_flagged_zones_tell_what_to_look_at_without_product_or_rate():
    answer = said(TRUTH | {"back": rising(8), "side": rising(10), "drive": rising(9)}, 8, 2)
    for row in answer.zones:
        assert bool(row.look_for) == row.flagged
        for word in ("fertil", "herbicide", "pesticide", "lb", "gram"):
            assert word not in row.look_for.lower()
        assert row.why.count(". ") == 0 and row.why.endswith(".")


def test_a_zone_that_stands_still_has_two_courses_that_agree_with_its_text():
    zones = {row.zone: row for row in said(TRUTH, 8, 3).zones}
    assert all(not row.courses and not row.ahead for row in zones.values() if not row.flagged)
    stalled = zones["buried"]
    stays, resumes = stalled.courses
    assert (stays.name, resumes.name) == ("stays", "resumes")
    assert stays.share + resumes.share == pytest.approx(1.0)
    assert stays.band.day[0] == stalled.day[-1] and stays.band.day[-1] == stalled.band.day[-1]
    assert stays.band.median[-1] - stalled.cover_pct < 10 < resumes.band.median[-1] - stalled.cover_pct
    assert f"about {stays.band.median[-1]:.0f} % if it stays" in stalled.ahead


def test_the_total_with_and_without_the_flagged_zones():
    truth = {"front": rising(9), "back": rising(10), "buried": TRUTH["buried"]}
    answer = said(truth, 7, 3)
    assert answer.whole_without_flagged is not None
    assert answer.whole_without_flagged.area_m2 == 10.0 and answer.whole.area_m2 == 15.0
    assert answer.whole_without_flagged.cover_pct > answer.whole.cover_pct + 10
    measured = np.mean([row.cover_pct for row in answer.zones])
    assert answer.whole.cover_pct == pytest.approx(measured)
    assert answer.whole.status in ("slow", "filling in")


def test_no_second_total_where_nothing_or_everything_is_flagged():
    good = {"front": rising(9), "back": rising(10)}
    assert said(good, 6, 1).whole_without_flagged is None
    assert said({"buried": TRUTH["buried"]}, 7, 1).whole_without_flagged is None


def test_a_zone_that_a_photo_misses_hears_the_others():
    rows = [series(f"zone {n}", rising(t50)[:5]) for n, t50 in enumerate((8, 9, 10))]
    gappy = (*rows[1].cover_pct[:4], float("nan"))
    without = ZoneSeries("main", "zone 1", 5.0, rows[1].taken_on, gappy, rows[1].low_pct, rows[1].high_pct)
    as_of = rows[0].taken_on[-1]
    heard = outlook([rows[0], without, rows[2]], lawn=lawn(), as_of=as_of).zones[1]
    alone = outlook([without], lawn=lawn(), as_of=as_of).zones[0]
    whole = outlook(rows, lawn=lawn(), as_of=as_of).zones[1]
    assert heard.observed_pct == gappy[:4]

    def width(row):
        return (row.full_latest - row.full_earliest).days

    assert width(whole) <= width(heard) <= width(alone)
    assert abs((heard.full_on - whole.full_on).days) <= 2


@pytest.mark.parametrize(("well_seen_m2", "dated"), [(2.0, False), (8.0, True)])
def test_the_lawn_is_forecast_from_half_of_its_area_on(well_seen_m2, dated):
    """Two zones of 3 m2 have two photos each, too few for a forecast of their own."""

    def seen(zone, area, days):
        covers = rising(9)[[list(DAYS).index(day) for day in days]]
        return series(zone, covers, days=np.array(days), area=area)

    rows = [seen("well", well_seen_m2, (0, 3, 6, 9)), seen("left", 3.0, (0, 9)), seen("right", 3.0, (0, 6))]
    whole = outlook(rows, lawn=lawn(), as_of=ZERO + dt.timedelta(days=9)).whole
    assert (whole.status != "too early to say") == (whole.full_on is not None) == dated
    assert (whole.why == sentences.LITTLE_AREA) is not dated


def test_a_bad_photo_of_the_lawn_is_held_out_and_told():
    rows = [series(f"zone {n}", np.append(rising(t50)[:4], 12.0)) for n, t50 in enumerate((8, 9, 10))]
    answer = outlook(rows, lawn=lawn(), as_of=rows[0].taken_on[-1])
    assert all(row.held_out == (False,) * 4 + (True,) for row in (*answer.zones, answer.whole))
    assert any("held out" in note and "13 June" in note for note in answer.notes)
    assert answer.whole.cover_pct == pytest.approx(np.mean([rising(t50)[3] for t50 in (8, 9, 10)]))


def test_a_bad_photo_is_held_out_where_another_photo_point_was_shot_a_day_later():
    rows = [series(f"zone {n}", np.append(rising(t50)[:4], 12.0)) for n, t50 in enumerate((8, 9, 10))]
    later = tuple(day + dt.timedelta(days=1) for day in rows[0].taken_on)
    rows += [replace(series(f"strip {n}", rising(9)[:5]), point="side", taken_on=later) for n in range(2)]
    answer = outlook(rows, lawn=lawn(), as_of=later[-1])
    assert [row.held_out[-1] for row in answer.zones] == [True] * 3 + [False] * 2
    assert any("held out" in note and "13 June" in note for note in answer.notes)


def test_one_zone_far_out_alone_asks_for_a_look():
    rows = [series(f"zone {n}", rising(t50)[:5]) for n, t50 in enumerate((8, 9, 10))]
    rows.append(series("gate", np.append(rising(9)[:4], 15.0)))
    answer = outlook(rows, lawn=lawn(), as_of=rows[0].taken_on[-1])
    assert any(note.startswith("gate: ") for note in answer.notes)


def test_two_photo_points_on_different_days():
    main = series("front", rising(9)[:5])
    later = tuple(day + dt.timedelta(days=1) for day in main.taken_on)
    side = ZoneSeries("side", "strip", 5.0, later, main.cover_pct, main.low_pct, main.high_pct)
    answer = outlook([main, side], lawn=lawn(), as_of=ZERO + dt.timedelta(days=13))
    assert [row.status for row in answer.zones] == ["filling in"] * 2
    assert answer.whole.status == "filling in"
    assert len(answer.whole.day) >= 3


def test_a_photo_point_is_not_taken_for_another_of_other_days():
    """A quick point's zones once counted as photographed, as bare as a slow point's, on the days of its photos."""

    def seen(point, days, t50):
        days = np.array(days)
        one = series(f"{t50}", rising(t50, days=days), days=days, half_width=6.0)
        return replace(one, point=point)

    rows = [seen("front", (1, 5, 9), t50) for t50 in (5.0, 5.5, 6.0)]
    rows += [seen("back", (3, 7, 11), t50) for t50 in (18, 19, 20)]
    for row in outlook(rows, lawn=lawn(grass="bermudagrass"), as_of=ZERO + dt.timedelta(days=11)).zones:
        at = row.band.day.index(18.0)
        truth = rising(float(row.zone), days=18.0)
        assert row.band.low80[at] <= truth <= row.band.high80[at]
        assert abs(row.band.median[at] - truth) < 6


def test_dates_follow_the_warmth():
    def weather(mean_c):
        days = [ZERO + dt.timedelta(days=n) for n in range(-2, 13)]
        return Weather(
            tuple(Temperatures(date=d, tmin_c=mean_c - 6, tmax_c=mean_c + 6) for d in days), "ours"
        )

    rows, as_of = [series("front", rising(9)[:5])], ZERO + dt.timedelta(days=12)
    plain = outlook(rows, lawn=lawn(), as_of=as_of)
    steady = outlook(rows, lawn=lawn(), as_of=as_of, weather=weather(27.0))
    assert plain.axis_method == "calendar days" and "27 °C days" in steady.axis_method
    # June still warms up a little from here on.
    assert abs(steady.zones[0].full_on - plain.zones[0].full_on) <= dt.timedelta(days=1)
    cooling = Weather(
        tuple(
            day
            if day.date < as_of - dt.timedelta(days=4)
            else day.model_copy(update={"tmin_c": 8.0, "tmax_c": 20.0})
            for day in weather(29.0).days
        ),
        "ours",
    )
    assert outlook(rows, lawn=lawn(), as_of=as_of, weather=cooling).zones[0].full_on > plain.zones[0].full_on


def test_the_days_since_the_last_water_are_told():
    diary = (DiaryEntry(date=ZERO + dt.timedelta(days=3), what="watered"),)
    rows = [series("buried", TRUTH["buried"])]
    answer = outlook(rows, lawn=lawn(), as_of=ZERO + dt.timedelta(days=28), diary=diary)
    assert sentences.DRY_DAYS.format(days=25) in answer.notes
    assert "25 days" in answer.zones[0].look_for


def test_an_old_photo_is_told():
    answer = outlook([series("front", rising(9)[:5])], lawn=lawn(), as_of=ZERO + dt.timedelta(days=40))
    assert any("28 days old" in note for note in answer.notes)


def test_a_thousand_zones():
    rng = np.random.default_rng(8)
    rows = [series(f"zone {n}", np.clip(rising(t), 0, 100)) for n, t in enumerate(rng.uniform(7, 14, 1000))]
    begun = time.process_time()
    answer = outlook(rows, lawn=lawn(), as_of=ZERO + dt.timedelta(days=28))
    assert len(answer.zones) == 1000
    assert time.process_time() - begun < 10.0  # CPU seconds: a guard against a blunder


def test_the_end_of_the_season_and_dormancy_are_said_from_the_weather():
    """Daily means that fall by 0.35 degrees a day, from 24 C on 1 September: under 10 C by 11 October."""
    zero = dt.date(2026, 9, 1)
    days = [
        Temperatures(date=zero + dt.timedelta(days=n), tmin_c=19 - 0.35 * n, tmax_c=29 - 0.35 * n)
        for n in range(50)
    ]

    def notes(on, covers):
        taken = tuple(zero + dt.timedelta(days=n) for n in (3, 10, 17, 24, on))
        rows = [
            ZoneSeries("main", name, 5.0, taken, c, tuple(x - 8 for x in c), tuple(x + 8 for x in c))
            for name, c in (("a", covers), ("b", tuple(x - 4.0 for x in covers)))
        ]
        home = lawn(grass="bermudagrass", leveling=(Leveling(date=zero),))
        known = Weather(tuple(days[: on + 1]), "weather.csv")
        return " ".join(outlook(rows, lawn=home, as_of=taken[-1], weather=known).notes)

    early = notes(28, (12.0, 30.0, 48.0, 60.0, 66.0))
    assert "Growth ends about" in early and "until spring" in early and "dormant" not in early
    late = notes(45, (12.0, 30.0, 48.0, 60.0, 40.0))
    assert "too cold for growth now" in late and "going dormant, not damage" in late

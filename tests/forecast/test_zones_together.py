"""Properties of zones that are fitted together."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from swardmark.bank import priors as p
from swardmark.bank.bank import draw_bank
from swardmark.bank.curves import logistic
from swardmark.forecast.rows import ZoneSeries
from swardmark.forecast.series import seen_after
from swardmark.forecast.weigh import fit_recovery, fit_zones

BANK = draw_bank("other warm-season")
DAYS = np.array([1, 5, 9, 13, 17.0])


def lawn(seed=1, zones=5):
    rng = np.random.default_rng(seed)
    return [logistic(DAYS, rng.uniform(7, 12), 2.4, 97.0) + rng.normal(0, 3, 5) for _ in range(zones)]


def fits(covers, **options):
    return fit_zones([DAYS] * len(covers), covers, bank=BANK, **options)


def ahead(recovery):
    return float(recovery.weight @ recovery.bank.at(24.0)[0])


def test_the_order_of_the_zones_changes_nothing():
    covers, order = lawn(), np.array([3, 0, 4, 2, 1])
    straight, mixed = fits(covers), fits([covers[i] for i in order])
    for place, zone in enumerate(order):
        days = np.arange(0, 60, 5.0)
        one, other = mixed[place].cover(days), straight[zone].cover(days)
        assert one.median == pytest.approx(other.median, abs=0.3)
        assert one.low95 == pytest.approx(other.low95, abs=2.0)


@pytest.mark.parametrize("photo", [2, 3, 4])
def test_a_bad_photo_counts_less_in_all_zones_than_in_one(photo):
    change, moved_all, moved_one = -25.0 * np.eye(5)[photo], [], []
    for seed in range(8):
        covers = lawn(seed)
        usual, common = fits(covers), fits([cover + change for cover in covers])
        for i, cover in enumerate(covers):
            one = fits([*covers[:i], cover + change, *covers[i + 1 :]])[i]
            moved_all.append(abs(ahead(common[i]) - ahead(usual[i])))
            moved_one.append(abs(ahead(one) - ahead(usual[i])))
    assert np.mean(moved_all) < 0.6 * np.mean(moved_one) + 0.3


def test_a_zone_alone_is_the_prior_times_tempered_students_t():
    from scipy.stats import t as students_t

    cover = lawn()[0]
    logs = []
    for scale in p.ERROR_SCALES_PCT:
        fit = students_t.logpdf(BANK.at(DAYS) - cover[:, None], p.ERROR_FREEDOM, scale=scale)
        logs.append(np.log(BANK.prior) + p.TEMPER * p.WEIGHT_PER_DAY ** (DAYS[-1] - DAYS) @ fit)
    weight = np.exp(logs - np.max(logs)).sum(axis=0)
    expected = weight / weight.sum()
    assert fit_recovery(DAYS, cover, bank=BANK, members=0).weight == pytest.approx(
        expected, rel=2e-3, abs=1e-9
    )


def test_zones_of_two_photo_points_share_no_light():
    bank, points, moved = replace(BANK, members=None), ["front"] * 3 + ["back"] * 2, []
    for given in (points, None):
        far = [
            [cover + (np.array([0, 0, 0, 0, shift]) if i < 3 else 0.0) for i, cover in enumerate(lawn())]
            for shift in (0.0, -25.0)
        ]
        usual, bad = (fit_zones([DAYS] * 5, covers, bank=bank, points=given) for covers in far)
        moved.append(max(abs(ahead(a) - ahead(b)) for a, b in zip(usual[3:], bad[3:], strict=True)))
    # What is left between points is the scale of the error, which is the lawn's.
    assert moved[0] < 0.5 < moved[1]


def test_missing_photos_and_zones_never_seen_give_numbers():
    covers = [*lawn(), np.full(5, np.nan)]
    covers[0][1] = covers[1][4] = covers[2][0] = np.nan
    covers[3][1:] = np.nan
    for recovery in fits(covers):
        assert np.isfinite(recovery.weight).all() and recovery.weight.sum() == pytest.approx(1.0)
        assert np.isfinite(recovery.cover(np.arange(0, 60, 5.0)).median).all()
    assert all(np.isfinite(f.weight).all() for f in fits([np.zeros(5), np.full(5, 100.0), np.zeros(5)]))


def test_a_zone_out_of_view_in_the_first_photo_of_a_day_is_not_told_that_photos_light():
    """Two photos on day 9: the first is bad, and one zone is not in it. That zone's second photo stays as it is."""
    covers, day = (
        [logistic(DAYS, t50, 2.4, 97.0) for t50 in (8.0, 9.0, 10.0, 11.0)],
        np.sort(np.append(DAYS, 9.0)),
    )
    twice = [np.insert(cover, 2, cover[2] - 25.0) for cover in covers]
    twice[3][2] = np.nan
    straight = fits(covers)[3]
    told = fit_zones([day] * 4, twice, bank=BANK)[3]
    assert told.observed_pct.tolist() == straight.observed_pct.tolist()
    assert ahead(told) == pytest.approx(ahead(straight), abs=1.2)


def test_photos_are_numbered_before_those_that_do_not_show_the_zone_are_left_out():
    zero = dt.date(2026, 6, 1)
    taken = tuple(zero + dt.timedelta(days=day) for day in (1, 5, 9, 9, 13))

    def seen(cover):
        rows = ZoneSeries("main", "zone", 5.0, taken, cover, cover, cover)
        return seen_after(rows, zero=zero, as_of=taken[-1])

    every, second = seen((5.0, 20.0, 1.0, 50.0, 70.0)), seen((5.0, 20.0, np.nan, 50.0, 70.0))
    assert len(set(every.photo)) == 5
    assert second.photo.tolist() == np.delete(every.photo, 2).tolist()


def points_lawn(*firsts, area_m2=5.0):
    """The first mow and the lawn of one zone a photo point, each photographed every four days from its own day on."""
    from swardmark.lawn.toml import Lawn, Leveling
    from swardmark.mowing.outlook import outlook

    zero, covers = dt.date(2026, 6, 1), (8.0, 15.0, 30.0, 48.0, 66.0, 80.0)
    rows = [
        ZoneSeries(
            f"point {first}",
            "grass",
            area_m2,
            tuple(zero + dt.timedelta(first + 4 * n) for n in range(6)),
            *[covers] * 3,
        )
        for first in firsts
    ]
    lawn = Lawn(name="x", leveling=(Leveling(date=zero),))
    return outlook(rows, lawn=lawn, as_of=max(row.taken_on[-1] for row in rows))


def test_three_photo_points_on_three_days_are_one_lawn():
    """No photo shows half of it: the lawn once had no cover, and the first mow said so as "nan %"."""
    said = points_lawn(0, 1, 2)
    assert said.whole.status == "filling in"
    assert said.whole.cover_pct == pytest.approx(82.0, abs=5.0)
    assert len(said.whole.day) >= 6
    assert "nan" not in said.first_mow.sentence


def test_photo_points_more_than_a_week_apart_have_a_cover_but_no_forecast():
    said = points_lawn(0, 40)
    assert (said.whole.status, said.whole.cover_pct, said.whole.day) == ("too early to say", 80.0, (60.0,))
    assert "more than a week apart" in said.whole.why
    assert "80 %" in said.first_mow.sentence


def test_zones_without_ground_in_view_have_no_forecast_together():
    said = points_lawn(0, area_m2=0.0)
    assert said.whole.status == "too early to say"
    assert said.whole.cover_pct == pytest.approx(80.0)


def test_the_lawn_counts_two_photos_of_a_day_as_its_zones_do():
    """The bad photo of day 10 comes first; the lawn's last entry is the mean of its zones' last entries."""
    from swardmark.forecast.outlook import forecast
    from swardmark.lawn.toml import Lawn, Leveling

    zero = dt.date(2026, 6, 1)
    taken = tuple(zero + dt.timedelta(days=day) for day in (1, 4, 7, 10, 10))
    covers = [(8.0, 20.0, 38.0, 30.0, 55.0), (10.0, 22.0, 42.0, 32.0, 59.0)]
    rows = [ZoneSeries("main", f"zone {i}", 5.0, taken, c, c, c) for i, c in enumerate(covers)]
    said = forecast(rows, lawn=Lawn(name="x", leveling=(Leveling(date=zero),)), as_of=taken[-1])
    assert said.whole.day == (1.0, 4.0, 7.0, 10.0, 10.0)
    assert said.whole.cover_pct == pytest.approx(57.0)
    assert [zone.cover_pct for zone in said.zones] == [55.0, 59.0]


@pytest.mark.parametrize(("off", "is_out"), [(-9, False), (-15, False), (-26, True), (15, False), (22, True)])
def test_a_newest_photo_is_left_out_once_it_is_more_likely_bad_than_good(off, is_out):
    """In doubt it is believed in part; only beyond even odds is it said to be left out."""
    days = np.array([0, 3, 6, 9, 12, 16.0])
    cover = np.array([5, 14, 27, 42, 56, 72.0])
    cover[-1] += off
    for fit in fit_zones([days] * 3, [cover, cover + 1, cover - 1], bank=BANK):
        assert bool(fit.held_out[-1]) is is_out
        assert not fit.held_out[:-1].any()

"""The weighed bank: dates, chances and bands that are honest on series with a known truth."""

from __future__ import annotations

import time

import numpy as np
import pytest

from swardmark.bank.bank import draw_bank
from swardmark.bank.curves import logistic
from swardmark.forecast.recovery import beliefs, whole_lawn
from swardmark.forecast.weigh import fit_recovery, fit_zones

BANK = draw_bank("other warm-season")
DAYS = np.array([0, 3, 6, 9, 12, 16, 21, 28.0])


def normal(t50=9.0, shape=2.4, ceiling=98.0):
    return logistic(DAYS, t50, shape, ceiling)


def test_truth_of_the_model_is_found_again():
    recovery = fit_recovery(DAYS, normal(), bank=BANK)
    assert recovery.weight.sum() == pytest.approx(1.0)
    assert recovery.crossing(65.0).day == pytest.approx(9 * (1 + np.log(65 / 33) / 2.4), abs=0.7)
    assert recovery.crossing(90.0).day == pytest.approx(9 * (1 + np.log(90 / 8) / 2.4), abs=1.5)
    assert recovery.chance_by(90.0, 28.0) > 0.9
    band = recovery.cover(DAYS)
    assert np.abs(band.median - normal()).max() < 4.0


def test_bands_are_nested_and_stay_within_percentages():
    band = fit_recovery(DAYS[:3], normal()[:3], bank=BANK).cover(np.arange(0, 130, 0.7))
    stack = np.array([band.low95, band.low80, band.median, band.high80, band.high95])
    assert (np.diff(stack, axis=0) >= 0).all()
    assert stack.min() >= 0 and stack.max() <= 100


def test_more_photos_narrow_the_window():
    spans = []
    for n in (3, 4, 5):
        crossing = fit_recovery(DAYS[:n], normal()[:n], bank=BANK).crossing(90.0)
        assert crossing.earliest <= crossing.day <= crossing.latest
        spans.append(crossing.latest - crossing.earliest)
    assert spans[0] > spans[1] > spans[2]


def test_a_cover_that_no_member_reaches_has_no_date():
    stuck = fit_recovery(np.arange(0, 60, 4.0), np.full(15, 20.0), bank=BANK).crossing(99.9)
    assert stuck.chance < 0.05
    assert np.isnan(stuck.day) or stuck.day > 60


def test_a_date_is_that_of_the_recoveries_which_arrive_this_season():
    stuck = fit_recovery(DAYS, np.array([5, 12, 20, 27, 31, 35, 38, 42.0]), bank=BANK)
    crossing, days = stuck.crossing(90.0), stuck.bank.first_day(90.0)[0]
    assert BANK.season_days == pytest.approx(60.0)
    assert crossing.earliest <= crossing.day <= crossing.latest <= BANK.season_days
    assert crossing.chance == pytest.approx(stuck.weight[days <= BANK.season_days].sum())
    assert crossing.chance < stuck.weight[np.isfinite(days)].sum()
    late = fit_recovery(DAYS + 32.0, np.linspace(40, 80, 8), bank=BANK).crossing(90.0)
    assert 60.0 < late.day < late.latest <= 60.0 + 28.0


def test_chances_rise_with_the_day_and_fall_with_the_level():
    recovery = fit_recovery(DAYS[:4], normal()[:4], bank=BANK)
    by_day = [recovery.chance_by(80.0, day) for day in (5, 10, 15, 20, 40)]
    by_level = [recovery.chance_by(level, 20.0) for level in (30, 60, 80, 95)]
    assert by_day == sorted(by_day) and by_level == sorted(by_level, reverse=True)


def test_a_photo_that_was_not_seen_changes_nothing():
    gap = np.array([*normal()[:4], np.nan])
    with_gap, without = (
        fit_recovery(DAYS[:5], gap, bank=BANK),
        fit_recovery(DAYS[:4], normal()[:4], bank=BANK),
    )
    assert np.array_equal(with_gap.weight, without.weight)


def test_no_photo_at_all_gives_the_prior():
    recovery = fit_recovery([], [], bank=BANK)
    assert recovery.weight == pytest.approx(BANK.prior)
    assert recovery.bank is BANK


def test_impossible_covers_still_give_an_answer():
    for covers in ([0, 100, 0, 100, 0], [100] * 5, [0] * 5, [250, -40, 3, 3, 3]):
        recovery = fit_recovery(DAYS[:5], np.array(covers, float), bank=BANK)
        assert np.isfinite(recovery.weight).all()
        assert np.isfinite(recovery.cover(np.arange(60)).median).all()


def test_a_bad_last_photo_is_held_out_until_the_next_confirms_it():
    covers = normal().copy()
    covers[4] = 20.0
    bad = fit_recovery(DAYS[:5], covers[:5], bank=BANK)
    good = fit_recovery(DAYS[:4], covers[:4], bank=BANK)
    assert list(bad.held_out) == [False] * 4 + [True]
    assert bad.crossing(90.0).day == pytest.approx(good.crossing(90.0).day, abs=1.0)
    # It may yet be the lawn: so much belief stays with it.
    assert good.cover(19.0).low80[0] > 60.0 > good.cover(19.0).low95[0] > bad.cover(19.0).low95[0]
    confirmed = fit_recovery(DAYS[:6], [*covers[:5], 22.0], bank=BANK)
    assert not confirmed.held_out.any()
    assert confirmed.cover(16.0).median[0] < 40.0


@pytest.mark.parametrize(("points", "held"), [(20.0, False), (35.0, True)])
def test_a_last_photo_is_held_out_only_far_outside_the_band(points, held):
    """20 points below, a tenth of the belief still lies near or beyond it; 35 below, next to none does."""
    off = normal()[:5] - [0, 0, 0, 0, points]
    assert fit_recovery(DAYS[:5], off, bank=BANK).held_out[-1] == held


@pytest.mark.parametrize(("points", "held"), [(15.0, False), (25.0, True)])
def test_a_photo_of_the_whole_lawn_is_held_out_where_it_is_more_likely_bad_than_not(points, held):
    covers = [normal(t50)[:5] - [0, 0, 0, 0, points] for t50 in (8, 9, 10, 11)]
    assert {bool(fit.held_out[-1]) for fit in fit_zones([DAYS[:5]] * 4, covers, bank=BANK)} == {held}


def test_one_zone_far_out_alone_is_not_held_out_but_is_surprising():
    covers = [normal()[:5].copy() for _ in range(4)]
    covers[2][4] = 20.0
    fits = fit_zones([DAYS[:5]] * 4, covers, bank=BANK)
    assert [fit.surprising for fit in fits] == [False, False, True, False]
    assert not any(fit.held_out.any() for fit in fits)


def test_a_bad_photo_of_the_whole_lawn_is_held_out_in_its_zones():
    covers = [normal(t50)[:5] - [0, 0, 0, 0, 45] for t50 in (8, 9, 10, 11)]
    assert all(fit.held_out[-1] for fit in fit_zones([DAYS[:5]] * 4, covers, bank=BANK))


def test_a_wide_interval_trusts_a_photo_less():
    off = normal()[:4] + np.array([0, 0, 0, -15.0])
    sure = fit_recovery(DAYS[:4], off, bank=BANK, sd_pct=np.array([2, 2, 2, 2.0]))
    unsure = fit_recovery(DAYS[:4], off, bank=BANK, sd_pct=np.array([2, 2, 2, 15.0]))
    truth = normal()[3]
    assert abs(unsure.cover(9.0).median[0] - truth) < abs(sure.cover(9.0).median[0] - truth)


def test_the_scale_of_the_error_is_learned_from_the_lawn():
    rng = np.random.default_rng(3)
    calm = [normal(t50) + rng.normal(0, 1.0, 8) for t50 in (8, 9, 10)]
    rough = [normal(t50) + rng.normal(0, 7.0, 8) for t50 in (8, 9, 10)]
    scales = [fit_zones([DAYS] * 3, covers, bank=BANK)[0].scale_pct for covers in (calm, rough)]
    assert scales[0] < 3.4 < 4.0 < scales[1]  # of 2.5, 3.5 and 5 points, before any photo 3.7 on average


def test_intervals_hold_their_promise_on_noisy_truths():
    rng, inside80, inside95 = np.random.default_rng(11), [], []
    for _ in range(300):
        t50, shape = 9 * np.exp(rng.normal(0, 0.5)), 2.4 * np.exp(rng.normal(0, 0.3))
        seen = logistic(DAYS[:4], t50, shape, 97.0) + rng.normal(0, 3.5, 4)
        band = fit_recovery(DAYS[:4], seen, bank=BANK).cover(16.0)
        truth = logistic(np.array(16.0), t50, shape, 97.0)
        inside80.append(band.low80[0] <= truth <= band.high80[0])
        inside95.append(band.low95[0] <= truth <= band.high95[0])
    # No trouble and no foreign curve here, both of which the intervals allow for: they may hold more than promised.
    assert 0.78 <= np.mean(inside80) <= 0.95
    assert np.mean(inside95) >= 0.95


def believed(fit, day):
    """Return what is believed of a zone on a day."""
    marks = {"full_pct": 90.0, "in_time": 35.0, "late": 60.0, "points": 10.0}
    return beliefs(fit.weight[None], fit.bank, day, **marks)[0]


def test_beliefs_are_the_shares_of_the_members():
    fit = fit_recovery(DAYS[:4], normal()[:4], bank=BANK)
    said = believed(fit, 9.0)
    assert said.full_in_time == pytest.approx(fit.chance_by(90.0, 35.0))
    assert said.full_late == pytest.approx(fit.chance_by(90.0, 60.0))
    assert said.full_now == pytest.approx(fit.chance_above(90.0, 9.0))
    assert said.cover_pct == pytest.approx(fit.cover(9.0).median[0], abs=2.0)


def test_gain_and_loss():
    fallen = fit_recovery(DAYS, [8, 20, 40, 60, 70, 58, 45, 40], bank=BANK)
    assert believed(fallen, 28.0).fallen > 0.5
    assert fallen.gain_pct_per_day(28.0) < 0.5
    rising = fit_recovery(DAYS[:4], normal()[:4], bank=BANK)
    assert believed(rising, 9.0).fallen < 0.02
    assert rising.gain_pct_per_day(9.0) == pytest.approx(normal()[3] / 5 - normal()[1] / 5, abs=3)


def test_the_total_lies_between_its_zones_and_is_wider_than_independent_zones():
    fits = fit_zones([DAYS[:4]] * 3, [normal(t50)[:4] for t50 in (7, 9, 12)], bank=BANK)
    total = whole_lawn(fits, [1.0, 2.0, 1.0])
    band, parts = total.cover(16.0), [fit.cover(16.0) for fit in fits]
    medians = [part.median[0] for part in parts]
    assert min(medians) < band.median[0] < max(medians)
    spread = [part.high80[0] - part.low80[0] for part in parts]
    independent = np.sqrt(np.sum((np.array([1, 2, 1]) / 4 * spread) ** 2))
    assert independent < band.high80[0] - band.low80[0] < max(spread)
    assert total.crossing(70.0).earliest < total.crossing(70.0).latest


def test_the_total_of_one_zone_is_that_zone():
    (fit,) = fit_zones([DAYS[:5]], [normal()[:5]], bank=BANK)
    total = whole_lawn([fit], [7.0])
    assert total.crossing(90.0).day == pytest.approx(fit.crossing(90.0).day, abs=0.4)
    assert total.cover(20.0).median[0] == pytest.approx(fit.cover(20.0).median[0], abs=0.7)


def test_many_zones_are_quick():
    rng = np.random.default_rng(5)
    covers = [logistic(DAYS, rng.uniform(6, 14), 2.4, 97.0) + rng.normal(0, 3, 8) for _ in range(200)]
    begun = time.process_time()
    fits = fit_zones([DAYS] * 200, covers, bank=BANK)
    assert all(np.isfinite(fit.crossing(65.0).day) for fit in fits)
    assert time.process_time() - begun < 6.0  # a guard against a blunder; 0.6 s of one core

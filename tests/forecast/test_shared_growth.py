"""What zones borrow of their lawn's growth: against the normal hierarchical model, and how much a zone keeps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from swardmark.forecast import priors as p
from swardmark.forecast.bank import draw_bank
from swardmark.forecast.curves import logistic
from swardmark.forecast.growth import share_growth
from swardmark.forecast.recovery import fit_recovery, fit_zones

BANK = draw_bank("other warm-season")
DAYS = np.array([1, 5, 9, 13, 17.0])


def seen(t50, photos=5):
    return logistic(DAYS[:photos], t50, 2.4, 97.0)


def fitted(*t50s, photos=5):
    return fit_zones([DAYS[:photos]] * len(t50s), [seen(t50, photos) for t50 in t50s], bank=BANK)


def test_normal_paces_shrink_as_in_the_hierarchical_model():
    # Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.4: y ~ N(zone, s^2), zone ~ N(lawn, between zones),
    # lawn ~ N(0, between lawns). The posterior mean of all zones at once is that of a joint normal distribution.
    y, s = np.array([-1.2, -0.4, 0.3, -0.9]), np.array([0.4, 0.8, 1.5, 0.6])
    own = BANK.prior * np.exp(-0.5 * ((BANK.pace - y[:, None]) / s[:, None]) ** 2)
    shared = share_growth(own / own.sum(axis=1, keepdims=True), BANK)
    prior = p.LAWN_PACE_SHARE + (1 - p.LAWN_PACE_SHARE) * np.eye(4)
    gain = prior @ np.linalg.inv(prior + np.diag(s**2))
    mean, variance = gain @ y, np.diag(prior - gain @ prior)
    assert shared @ BANK.pace == pytest.approx(mean, abs=0.04)  # 4096 members stand for the normal prior
    assert shared @ BANK.pace**2 - (shared @ BANK.pace) ** 2 == pytest.approx(variance, rel=0.08)


def test_zones_without_photos_leave_the_prior_as_it_is():
    shared = share_growth(np.tile(BANK.prior, (3, 1)), BANK)
    for weight in shared:
        assert weight.sum() == pytest.approx(1.0)
        assert weight @ BANK.pace == pytest.approx(0.0, abs=0.01)
        assert weight @ BANK.pace**2 == pytest.approx(1.0, abs=0.01)
        assert np.bincount(BANK.form, weight) == pytest.approx(0.25, abs=0.002)


def test_a_zone_not_seen_takes_the_pace_of_its_lawn():
    def unseen(t50):
        covers = [*(seen(t50) for _ in range(4)), np.full(5, np.nan)]
        return fit_zones([DAYS] * 5, covers, bank=BANK)[-1].crossing(65.0).day

    alone = fit_recovery([], [], bank=BANK).crossing(65.0).day
    assert unseen(6.0) < alone < unseen(15.0)


def test_three_photos_borrow_pace_and_more_photos_less():
    moved = []
    for photos in (3, 5):
        one, *_ = fitted(12.0, 7.0, 7.0, 7.0, 7.0, photos=photos)
        alone = fit_recovery(DAYS[:photos], seen(12.0, photos), bank=BANK)
        moved.append(alone.crossing(90.0).day - one.crossing(90.0).day)
    assert moved[0] > 0.2 and abs(moved[1]) < moved[0]


def test_a_slow_zone_among_quick_ones_stays_slow():
    slow, *quick = fitted(24.0, 7.0, 7.0, 7.0, 7.0)
    assert slow.chance_by(90.0, 28.0) < 0.1
    assert min(zone.chance_by(90.0, 28.0) for zone in quick) > 0.9


def test_a_zone_alone_and_a_bank_that_knows_no_pace_stay_as_they_are():
    own = np.stack([fit_recovery(DAYS, seen(t50), bank=BANK).weight for t50 in (8.0, 12.0)])
    assert np.array_equal(share_growth(own[:1], BANK), own[:1])
    assert np.array_equal(share_growth(own, replace(BANK, pace=None, form=None)), own)

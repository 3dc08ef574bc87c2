"""What zones borrow of their lawn's growth: against the normal hierarchical model, and how much a zone keeps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from swardmark.bank import priors as p
from swardmark.bank.bank import draw_bank
from swardmark.bank.curves import logistic
from swardmark.bank.members import FAMILIES, PACE
from swardmark.forecast.growth import GRID, growth_factors, growth_table, share_growth
from swardmark.forecast.weigh import fit_recovery, fit_zones

BANK = draw_bank("other warm-season")
PACES_OF = BANK.members.score[PACE]
DAYS = np.array([1, 5, 9, 13, 17.0])


def heard(own):
    weight = own * growth_factors(share_growth(own, BANK), BANK)
    return weight / weight.sum(axis=1, keepdims=True)


def seen(t50, photos=5):
    return logistic(DAYS[:photos], t50, 2.4, 97.0)


def fitted(*t50s, photos=5):
    return fit_zones([DAYS[:photos]] * len(t50s), [seen(t50, photos) for t50 in t50s], bank=BANK)


def test_normal_paces_shrink_as_in_the_hierarchical_model():
    # Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.4: y ~ N(zone, s^2), zone ~ N(lawn, between zones),
    # lawn ~ N(0, between lawns). The posterior mean of all zones at once is that of a joint normal distribution.
    y, s = np.array([-1.2, -0.4, 0.3, -0.9]), np.array([0.4, 0.8, 1.5, 0.6])
    own = BANK.prior * np.exp(-0.5 * ((PACES_OF - y[:, None]) / s[:, None]) ** 2)
    shared = heard(own / own.sum(axis=1, keepdims=True))
    prior = p.LAWN_PACE_SHARE + (1 - p.LAWN_PACE_SHARE) * np.eye(4)
    gain = prior @ np.linalg.inv(prior + np.diag(s**2))
    mean, variance = gain @ y, np.diag(prior - gain @ prior)
    assert shared @ PACES_OF == pytest.approx(mean, abs=0.04)  # 4096 members stand for the normal prior
    assert shared @ PACES_OF**2 - (shared @ PACES_OF) ** 2 == pytest.approx(variance, rel=0.08)


def test_zones_without_photos_leave_the_prior_as_it_is():
    shared = heard(np.tile(BANK.prior, (3, 1)))
    for weight in shared:
        assert weight.sum() == pytest.approx(1.0)
        assert weight @ PACES_OF == pytest.approx(0.0, abs=0.01)
        assert weight @ PACES_OF**2 == pytest.approx(1.0, abs=0.01)
        assert np.bincount(BANK.members.family, weight) == pytest.approx(0.25, abs=0.002)


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


def test_the_table_for_new_members_says_what_the_bank_is_told():
    own = np.tile(BANK.prior, (2, 1)) * np.exp(-0.5 * ((PACES_OF - 1.0) / 0.3) ** 2)
    share = share_growth(own / own.sum(axis=1, keepdims=True), BANK)
    table = growth_table(share)
    for family in range(FAMILIES):
        of = np.flatnonzero(BANK.members.family == family)[::50]
        told = np.log(growth_factors(share, BANK)[0, of])
        assert np.interp(PACES_OF[of], GRID, table[0, :, family]) == pytest.approx(told, abs=0.02)


def test_a_zone_alone_and_a_bank_that_knows_no_numbers_hear_nobody():
    bare = replace(BANK, members=None)
    alone = fit_recovery(DAYS, seen(8.0), bank=bare).weight
    both = fit_zones([DAYS, DAYS + 0.1], [seen(8.0), seen(12.0)], bank=bare, points=["front", "back"])
    one_scale = fit_zones([DAYS], [seen(8.0)], bank=bare)[0].weight
    assert np.array_equal(alone, one_scale)
    assert both[0].weight == pytest.approx(alone, abs=0.01)

"""The curve bank keeps to its stated priors."""

from __future__ import annotations

import time
from typing import get_args

import numpy as np
import pytest

from swardmark.bank import bank as bank_module
from swardmark.bank.bank import MEMBERS, CurveBank, draw_bank
from swardmark.bank.members import CEILING, KIND, SHAPE, cover_of
from swardmark.bank.priors import GRASSES, KINDS, LAWN_STATE_SHARE, LAWN_STATES, prior_of
from swardmark.lawn.toml import WARM_SEASON, Grass


def weighted_median(values, weight):
    order = np.argsort(values)
    return values[order][np.searchsorted(np.cumsum(weight[order]), 0.5)]


def test_every_grass_of_lawn_toml_has_a_prior():
    assert set(GRASSES) == set(get_args(Grass))
    warm, cool = (
        np.median([row.t50_days for name, row in GRASSES.items() if (name in WARM_SEASON) == is_warm])
        for is_warm in (True, False)
    )
    assert warm < cool
    # Trappe et al. 2011: bermudagrass recovers before zoysiagrass
    assert (
        GRASSES["bermudagrass"].t50_days
        < GRASSES["zoysiagrass"].t50_days
        < GRASSES["centipedegrass"].t50_days
    )


def test_shares_of_the_kinds():
    assert sum(kind.prior_share for kind in KINDS) == pytest.approx(1.0)
    assert sum(kind.drawn_share for kind in KINDS) == pytest.approx(1.0)
    troubles = [
        kind.prior_share for kind in KINDS if kind.name not in ("as expected", "closes", "partly covered")
    ]
    assert 0.3 < sum(troubles) < 0.45
    # No trouble of the whole lawn can be more frequent than that trouble of a zone.
    share = {kind.name: kind.prior_share for kind in KINDS}
    for state, chance in LAWN_STATES.items():
        assert chance * LAWN_STATE_SHARE <= share[state]


@pytest.mark.parametrize("grass", sorted(GRASSES))
def test_half_way_day_is_that_of_the_table(grass):
    bank = draw_bank(grass)
    assert bank.cover_pct.shape == (241, MEMBERS)
    assert bank.prior.sum() == pytest.approx(1.0)
    row, usual = GRASSES[grass], bank.members.kind == KIND["as expected"]
    half = 0.5 * (100 - row.ceiling_gap_shape * row.ceiling_gap_scale_pct)  # half of the mean ceiling
    day = weighted_median(bank.first_day(half)[0][usual], bank.prior[usual] / bank.prior[usual].sum())
    assert day == pytest.approx(row.t50_days, rel=0.05)


def test_covers_are_percentages_and_finite():
    cover = draw_bank("bermudagrass").cover_pct
    assert np.isfinite(cover).all() and cover.min() >= 0 and cover.max() <= 100


def test_some_members_stall_some_fall_and_most_fill():
    bank = draw_bank("bermudagrass")
    last, best = bank.cover_pct[-1], bank.cover_pct.max(axis=0)
    assert 0.01 < bank.prior[last < 80].sum() < 0.2
    assert 0.01 < bank.prior[best - last > 10].sum() < 0.1
    assert bank.prior[last > 90].sum() > 0.75


def members_of(kind):
    bank = draw_bank("bermudagrass")
    return bank.members[np.flatnonzero(bank.members.kind == KIND[kind])]


def test_a_die_back_takes_from_three_to_twenty_days():
    bank = draw_bank("bermudagrass")
    cover = bank.cover_pct[:, bank.members.kind == KIND["dies back"]]
    near_best = cover >= cover.max(axis=0) - 1e-3
    falling_from = len(cover) - 1 - near_best[::-1].argmax(axis=0)
    fallen_by = (near_best.cumsum(axis=0).astype(bool) & (cover <= cover[-1] + 1e-3)).argmax(axis=0)
    days = 0.5 * (fallen_by - falling_from)
    assert len(days) > 100
    assert 2.5 <= days.min() < 5.0 and 17.0 < days.max() <= 21.0


def test_a_pause_goes_on_where_it_stopped_and_a_stop_does_not():
    day, prior = np.arange(0.0, 121.0)[:, None], prior_of("bermudagrass")
    paused, stopped = (cover_of(members_of(kind), day, prior) for kind in ("pauses", "stops"))
    assert (np.diff(paused, axis=0) > -0.01).all() and (np.diff(stopped, axis=0) > -0.01).all()
    assert np.median(paused[120]) > 90.0
    assert np.allclose(stopped[70], stopped[120], atol=0.01)  # 45 days and 18 of fading are over


def test_closing_turf_closes_and_leveling_turf_levels_off():
    day, prior = np.arange(0.0, 121.0)[:, None], prior_of("bermudagrass")
    closed, level = (cover_of(members_of(kind), day, prior) for kind in ("closes", "levels off"))
    assert np.percentile(closed[120], 10) > 97.0
    assert 15.0 < np.percentile(level[120], 5) < np.percentile(level[120], 95) < 92.0
    steep = members_of("closes").score[SHAPE]
    there = steep > 0.0
    assert abs(np.corrcoef(steep[there], closed[120, there])[0, 1]) < 0.2  # a steep curve ends as high as any


def test_ceilings_read_from_the_table_are_those_of_the_gamma_distribution():
    from scipy.stats import gamma, norm

    prior, members = prior_of("bermudagrass"), members_of("as expected")
    late = cover_of(members, np.full((1, 1), 2000.0), prior)[0]
    wanted = (
        100.0
        - gamma.ppf(norm.cdf(members.score[CEILING]), prior.ceiling_gap_shape) * prior.ceiling_gap_scale_pct
    )
    inside = (wanted > 61.0) & (wanted < 98.0) & (members.score[SHAPE] > 0)  # steep enough to get there
    assert late[inside] == pytest.approx(wanted[inside], abs=0.05)


def test_straight_lines_late_in_the_season_are_as_good_as_curves():
    bank = draw_bank("tall fescue")
    some = bank.members[::16]
    whole, late = (
        bank_module.bank_of(some, bank.prior[::16], bank.row, step_days=1.0, late_days=late).cover_pct
        for late in ((120.0, 1), (60.0, 4))
    )
    assert whole.shape == late.shape and np.array_equal(whole[:61], late[:61])
    assert np.array_equal(whole[60::4], late[60::4])
    assert np.abs(whole - late).max() < 1.5 and np.abs(whole - late).mean() < 0.02


def test_cover_between_rows_is_interpolated():
    bank = CurveBank(
        np.array([[0.0, 10.0], [20.0, 10.0], [40.0, 50.0]], np.float32), np.array([0.5, 0.5]), 1.0
    )
    assert bank.at(0.25) == pytest.approx(np.array([[5.0, 10.0]]))
    assert bank.at(99.0) == pytest.approx(np.array([[40.0, 50.0]]))
    days, order = bank.first_day(30.0)
    assert days == pytest.approx([1.5, 1.5])
    assert bank.first_day(45.0)[0] == pytest.approx([np.inf, 1.875])
    assert list(bank.first_day(45.0)[1]) == [1, 0]
    assert bank.first_day(0.0)[0] == pytest.approx([0.0, 0.0])
    assert sorted(order) == [0, 1]


def test_the_bank_is_always_the_same_and_quick_to_draw():
    first = draw_bank("tall fescue").cover_pct.copy()
    bank_module.draw_bank.cache_clear()
    begun = time.perf_counter()
    again = draw_bank("tall fescue").cover_pct
    assert time.perf_counter() - begun < 2.0  # a guard against a blunder; 0.1 s on two cores
    assert np.array_equal(first, again)

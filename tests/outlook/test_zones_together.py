"""Properties of zones that are fitted together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from swardmark.outlook import priors as p
from swardmark.outlook.bank import draw_bank
from swardmark.outlook.curves import logistic
from swardmark.outlook.recovery import fit_recovery, fit_zones

BANK = draw_bank("other warm-season")
DAYS = np.array([1, 5, 9, 13, 17.0])


def lawn(seed=1, zones=5):
    rng = np.random.default_rng(seed)
    return [logistic(DAYS, rng.uniform(7, 12), 2.4, 97.0) + rng.normal(0, 3, 5) for _ in range(zones)]


def fits(covers, **options):
    return fit_zones([DAYS] * len(covers), covers, bank=BANK, **options)


def ahead(recovery):
    return float(recovery.weight @ BANK.at(24.0)[0])


def test_the_order_of_the_zones_changes_nothing():
    covers, order = lawn(), np.array([3, 0, 4, 2, 1])
    straight, mixed = fits(covers), fits([covers[i] for i in order])
    for place, zone in enumerate(order):
        assert mixed[place].weight == pytest.approx(straight[zone].weight, rel=1e-3, abs=1e-9)


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
    assert np.mean(moved_all) < 0.6 * np.mean(moved_one)


def test_a_zone_alone_is_the_prior_times_tempered_students_t():
    from scipy.stats import t as students_t

    cover = lawn()[0]
    logs = []
    for scale in p.ERROR_SCALES_PCT:
        fit = students_t.logpdf(BANK.at(DAYS) - cover[:, None], p.ERROR_FREEDOM, scale=scale)
        logs.append(np.log(BANK.prior) + p.TEMPER * p.WEIGHT_PER_DAY ** (DAYS[-1] - DAYS) @ fit)
    weight = np.exp(logs - np.max(logs)).sum(axis=0)
    expected = weight / weight.sum()
    assert fit_recovery(DAYS, cover, bank=BANK).weight == pytest.approx(expected, rel=2e-3, abs=1e-9)


def test_zones_of_two_photo_points_share_no_light():
    bank, points, moved = replace(BANK, pace=None, form=None), ["front"] * 3 + ["back"] * 2, []
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

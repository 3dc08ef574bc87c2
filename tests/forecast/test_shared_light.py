"""The light that the zones of a photo share: against a mixed model solved another way, and what must never happen."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.bank import priors as p
from swardmark.bank.bank import draw_bank
from swardmark.bank.curves import logistic
from swardmark.forecast.light import LIGHT_VARIANCE, offsets, photo_keys, shared_light

BANK = draw_bank("other warm-season")
DAYS = np.array([1, 5, 9, 13, 17.0])
PACES = (7.5, 8.5, 9.5, 11.0)


def lawn(shift=0.0, photo=2):
    covers = [logistic(DAYS, t50, 2.4, 97.0) for t50 in PACES]
    for cover in covers:
        cover[photo] += shift
    return covers


def told(covers, days=None):
    days = days or [DAYS] * len(covers)
    return shared_light(
        days, covers, [np.zeros(len(c)) for c in covers], [photo_keys(day) for day in days], BANK
    )


def test_normal_errors_give_the_blup_of_a_mixed_model():
    # Robinson 1991, Statistical Science 6:15-32, section 2: the BLUP solves Henderson's mixed model equations; here by
    # least squares with one more row that draws the offset to zero.
    rng = np.random.default_rng(4)
    left, variance = rng.normal(0, 3, (5, 3)), rng.uniform(4, 30, (5, 3))
    left[1, 2] = variance[1, 2] = np.nan
    offset, doubt, *_ = offsets(left, variance, freedom=1e7, bad_share=0.0)
    for zone in range(6):
        for photo in range(3):
            others = np.flatnonzero((np.arange(5) != zone) & np.isfinite(left[:, photo]))
            rows = 1 / np.sqrt(np.append(variance[others, photo], LIGHT_VARIANCE))
            said = rows * np.append(left[others, photo], 0.0)
            blup = np.linalg.lstsq(rows[:, None], said, rcond=None)[0][0]
            assert offset[zone, photo] == pytest.approx(blup, abs=0.01)
            assert doubt[zone, photo] * LIGHT_VARIANCE == pytest.approx(1 / (rows @ rows), rel=0.01)


def test_known_offsets_are_found_within_the_doubt_that_is_told():
    rng, off, share_inside, prior = np.random.default_rng(12), [], [], []
    for _ in range(150):
        truth = rng.normal(0, np.sqrt(LIGHT_VARIANCE), len(DAYS))
        own = np.sqrt(1 - p.LIGHT_SHARE) * 3.5
        covers = [
            logistic(DAYS, 9 * np.exp(rng.normal(0, 0.4)), 2.4, 97.0)
            + truth
            + own * rng.standard_t(4, len(DAYS))
            for _ in range(8)
        ]
        for light in told(covers)[:1]:
            off += list(light.offset_pct - truth)
            share_inside += list(
                np.abs(light.offset_pct - truth) < 1.28 * np.sqrt(light.doubt * LIGHT_VARIANCE)
            )
            prior += list(truth)
    assert np.std(off) < 0.9 * np.std(prior)
    assert 0.74 <= np.mean(share_inside) <= 0.86  # 0.80 if the doubt is right; 750 offsets, in groups


def test_a_bad_photo_is_known_by_all_of_its_zones():
    lights = told(lawn(-25.0))
    for light in lights:
        assert light.bad[2] > 0.95 and np.delete(light.bad, 2).max() < 0.05
        assert light.offset_pct[2] == pytest.approx(-25.0, abs=5.0)
        assert np.abs(np.delete(light.offset_pct, 2)).max() < 3.0


def test_one_zone_that_falls_is_no_bad_photo_and_is_not_corrected():
    covers = lawn()
    covers[3][4] -= 40.0
    lights, usual = told(covers), told(lawn())
    assert max(light.bad.max() for light in lights) < 0.1
    assert lights[3].offset_pct[4] == pytest.approx(usual[3].offset_pct[4], abs=0.7)


def test_a_zone_alone_in_its_photos_is_told_nothing():
    covers = lawn()
    for lights in (told(covers[:1]), told(covers, [DAYS + 0.1 * i for i in range(4)])):
        for light in lights:
            assert not light.offset_pct.any() and not light.bad.any() and not light.shared.any()
            assert (light.doubt == 1.0).all()


def test_two_photos_of_one_day_have_each_their_light():
    days = np.sort(np.append(DAYS, 9.0))
    covers = [np.insert(cover, 3, cover[2] + 20.0) for cover in lawn()]
    for light in told(covers, [days] * 4):
        assert light.bad[3] > 0.9 and light.bad[2] < 0.1
        assert light.offset_pct[3] - light.offset_pct[2] == pytest.approx(20.0, abs=5.0)


def test_of_very_many_zones_some_speak_for_all():
    rng = np.random.default_rng(2)
    covers = [logistic(DAYS, t50, 2.4, 97.0) - [0, 0, 6, 0, 0] for t50 in rng.uniform(7, 12, 200)]
    lights = told(covers)
    assert len(lights) == 200
    assert all(np.isfinite(light.offset_pct).all() and light.offset_pct[2] < -2.0 for light in lights)


def test_a_photo_that_none_of_the_speakers_saw_tells_nothing():
    covers = [logistic(DAYS, 9.0, 2.4, 97.0) for _ in range(100)]
    days = [np.array([1, 5, 9, 13, 18.0]) if i in (1, 4) else DAYS for i in range(100)]
    light = told(covers, days)[1]
    assert list(light.shared) == [True] * 4 + [False]
    assert light.offset_pct[4] == 0.0 and light.doubt[4] == 1.0

"""Layings drawn by lot, and hollows known by their size alone.

Student's interval: a worked mean of eight clusters by scipy.stats. Solids: closed forms.
"""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from scipy import stats

from swardmark.common.errors import UsageError
from swardmark.lawn.heights import HeightReading
from swardmark.level.places import grid_places, straightedge_layings
from swardmark.level.shapes import bowl_volume, frustum_litres, puddle_volume
from swardmark.level.straightedge import mean_gap, straightedge_estimates


def test_the_interval_of_equal_layings_is_students():
    rng = np.random.default_rng(0)
    gaps = rng.uniform(1, 9, (8, 5))
    mean, low, high = mean_gap(gaps.tolist(), se_mm=1.0)
    theirs = stats.t.interval(0.95, 7, loc=gaps.mean(), scale=stats.sem(gaps.mean(axis=1)))
    assert (mean, low, high) == pytest.approx((gaps.mean(), *theirs))


def test_a_reading_of_zero_is_censored_not_zero():
    """On level ground half of the errors cannot be read; taken for zeros they would make sand of 0.4 mm."""
    errors = np.random.default_rng(1).normal(0, 1, (400, 5)).clip(0)
    assert mean_gap(errors.tolist(), se_mm=1.0)[0] == pytest.approx(0, abs=0.05)
    assert errors.mean() == pytest.approx(0.4, abs=0.03)


def test_every_place_is_as_likely_to_lie_under_a_tick():
    hits = np.zeros((5, 5))
    for seed in range(600):
        for laying in straightedge_layings(5.0, 5.0, layings=9, seed=seed):
            for x, y in laying.ticks_m:
                hits[min(int(y), 4), min(int(x), 4)] += 1
    assert hits.min() > 0.9 * hits.mean()
    assert hits.max() < 1.1 * hits.mean()


def test_layings_make_an_estimate_from_heights_csv():
    rows = [
        HeightReading(
            date=dt.date(2026, 6, 3), place=str(n), x_m=n, y_m=t, height_mm=-gap, how="straightedge"
        )
        for n in range(6)
        for t, gap in enumerate((2.0, 4.0, 6.0, 4.0, 2.0 + n))
    ]
    (one,) = straightedge_estimates(rows)
    assert (one.layings, one.ticks) == (6, 30)
    assert one.gap_mm == pytest.approx(4.1)
    assert one.fill(100).litres == pytest.approx(410)
    assert straightedge_estimates(rows[:15]) == (), "three layings say nothing of a lawn"


def test_solids():
    radius, deep = 0.9, 30.0
    area = math.pi * radius**2
    assert bowl_volume(area, deep).litres == pytest.approx(math.pi * radius**2 * deep / 2)
    assert bowl_volume(area, deep).low_litres == pytest.approx(math.pi * radius**2 * deep / 3)
    frustum = math.pi * deep * (0.9**2 + 0.9 * 0.5 + 0.5**2) / 3
    assert frustum_litres(math.pi * 0.9**2, math.pi * 0.5**2, deep) == pytest.approx(frustum)


def test_a_puddle_by_one_photo_is_area_times_deepest_over_two():
    assert puddle_volume([2.0], [30.0]).litres == pytest.approx(30.0)
    assert puddle_volume([1.0, 2.0], [15.0, None]).litres == pytest.approx(30.0), (
        "the depth of a bowl goes with its area"
    )


def test_a_drying_puddle_is_summed_in_layers():
    """A paraboloid of 40 mm: at depth d its water has the area A d / 40."""
    depths = np.arange(40.0, 0, -4)
    areas = 2.0 * depths / 40
    volume = puddle_volume(areas.tolist(), depths.tolist())
    assert volume.litres == pytest.approx(40.0, rel=0.002)
    assert volume.high_litres - volume.low_litres < 1


def test_a_grid_is_numbered_from_near_left():
    places = grid_places(6, 8, 0.75, start_m=(-1.0, 2.0))
    assert len(places) == 9 * 11
    assert (places[0].x_m, places[0].y_m, places[0].number) == (-1.0, 2.0, 1)
    assert (places[9].x_m, places[9].y_m, places[9].row) == (-1.0, 2.75, 2)
    with pytest.raises(UsageError, match="900 are the most"):
        grid_places(100, 100, 0.5)
    with pytest.raises(UsageError, match="do not fit"):
        grid_places(1, 8, 2.0)

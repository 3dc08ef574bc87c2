"""Cut and fill of small lawns with known ground."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.common.errors import UsageError
from swardmark.lawn.heights import Heights
from swardmark.level.cutfill import cut_and_fill
from swardmark.level.ground import Fall

DAY = dt.date(2026, 6, 3)


def grid(step: float = 0.5, *, width: float = 5.0, length: float = 6.0) -> tuple[np.ndarray, np.ndarray]:
    x, y = np.meshgrid(np.arange(0, width + 1e-9, step), np.arange(0, length + 1e-9, step))
    return x.ravel(), y.ravel()


def bowl(x, y, *, at=(2.5, 3.0), width=1.6, deepest=30.0) -> np.ndarray:
    return -deepest * np.clip(1 - ((x - at[0]) ** 2 + (y - at[1]) ** 2) / (width / 2) ** 2, 0, None)


def heights(x, y, z, *, se=1.0, how="string") -> Heights:
    return Heights(DAY, "main", x, y, np.asarray(z, float), np.full(len(x), se), how)


def test_a_bowl_is_found_where_it_is_with_its_volume_inside_the_interval():
    x, y = grid()
    noise = np.random.default_rng(2).normal(0, 1, x.size)
    one = cut_and_fill([heights(x, y, bowl(x, y) + 20 * x + noise)])
    (spot,) = one.low
    true = math.pi * 0.8**2 * 30 / 2
    assert (spot.x_m, spot.y_m) == pytest.approx((2.5, 3.0), abs=0.2)
    assert one.fill.low_litres < true < one.fill.high_litres
    assert one.fill.litres == pytest.approx(true, rel=0.2)
    assert spot.litres == pytest.approx(one.fill.litres)
    assert (one.high, one.cut.litres) == ((), 0)
    assert one.fall.percent == pytest.approx(2, abs=0.1)
    assert one.fall.direction_deg == pytest.approx(270, abs=3), "it falls to the left"


def test_a_mound_is_cut_and_its_foot_is_not_filled():
    x, y = grid()
    one = cut_and_fill([heights(x, y, -bowl(x, y))])
    (spot,) = one.high
    assert spot.litres == pytest.approx(math.pi * 0.8**2 * 30 / 2, rel=0.25)
    assert not one.low


@settings(max_examples=8, deadline=None)
@given(
    percent=st.floats(0, 12), direction=st.floats(0, 360), datum=st.floats(-400, 400), seed=st.integers(0, 99)
)
def test_a_plane_of_any_fall_takes_nothing_and_has_no_spots(percent, direction, datum, seed):
    x, y = grid(0.75)
    slope = Fall(percent, direction).slopes
    noise = np.random.default_rng(seed).normal(0, 1, x.size)
    one = cut_and_fill([heights(x, y, datum + slope[0] * x + slope[1] * y + noise, se=2.0)])
    assert (one.fill.litres, one.cut.litres, one.low, one.high) == (0, 0, (), ())
    assert one.deviation_mm[1] < 3


@settings(max_examples=6, deadline=None)
@given(datum=st.floats(-500, 500), tilt=st.tuples(st.floats(-40, 40), st.floats(-40, 40)))
def test_adding_a_constant_or_a_fall_changes_nothing(datum, tilt):
    x, y = grid(0.75)
    z = bowl(x, y, width=2.0) + np.random.default_rng(5).normal(0, 1, x.size)
    one = cut_and_fill([heights(x, y, z)])
    moved = cut_and_fill([heights(x, y, z + datum + tilt[0] * x + tilt[1] * y)])
    assert moved.fill.litres == pytest.approx(one.fill.litres, rel=1e-6)
    assert moved.height_mm == pytest.approx(one.height_mm, abs=1e-5)


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 500))
def test_a_finer_grid_never_widens_the_interval(seed):
    """The fine grid holds the places of the coarse one, with the same readings there."""
    rng = np.random.default_rng(seed)
    at, width = rng.uniform([1.2, 1.2], [3.8, 4.8]), rng.uniform(1.2, 2.0)
    x, y = grid(0.5)
    z = bowl(x, y, at=at, width=width, deepest=rng.uniform(20, 35)) + rng.normal(0, 1, x.size)
    on_coarse = (np.round(2 * x) % 2 == 0) & (np.round(2 * y) % 2 == 0)
    fine = cut_and_fill([heights(x, y, z)])
    coarse = cut_and_fill([heights(x[on_coarse], y[on_coarse], z[on_coarse])])
    if coarse.low:
        assert (
            fine.fill.high_litres - fine.fill.low_litres <= coarse.fill.high_litres - coarse.fill.low_litres
        )


def test_a_grid_too_coarse_shows_less_of_the_sand():
    shown = []
    for step in (0.5, 1.5):
        x, y = grid(step, width=9, length=9)
        hollows = [(1.7, 1.6), (4.4, 2.9), (7.4, 1.4), (2.9, 5.8), (6.1, 7.4), (7.6, 4.6)]
        z = sum(bowl(x, y, at=at, width=1.5) for at in hollows)
        shown.append(cut_and_fill([heights(x, y, z, se=2.0)]).seen_share)
    assert shown[0] > 0.85
    assert shown[1] < 0.8


def test_no_hollow_is_deeper_in_the_mean_than_at_its_deepest():
    """A bowl's mean is half of its deepest, a flat bottom's 0.77; with places every 1.5 m it was once twice as much."""
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0, 6.01, 1.5), np.arange(0, 9.01, 1.5)))
    rng = np.random.default_rng(5)
    z = sum(bowl(x, y, at=rng.uniform((0, 0), (6, 9)), deepest=rng.uniform(15, 35)) for _ in range(6))
    z = z + rng.normal(0, 2, x.size)
    found = cut_and_fill([Heights(dt.date(2026, 6, 1), "main", x, y, z, np.full(x.size, 2.0), "string")]).low
    assert found and all(spot.mean_mm <= 0.77 * spot.deepest_mm + 1e-9 for spot in found)


def test_the_designed_fall_is_kept_and_a_swale_is_left():
    x, y = grid()
    z = bowl(x, y) - 20 * y
    swale = ((1.5, 2.0), (3.5, 2.0), (3.5, 4.0), (1.5, 4.0))
    designed = cut_and_fill([heights(x, y, z)], fall=Fall(2.0, 0.0, is_designed=True))
    assert designed.fall.is_designed
    assert len(designed.low) == 1
    assert not cut_and_fill([heights(x, y, z)], kept_low_m=[swale]).low


def test_two_sources_of_one_day_are_fitted_together():
    x, y = grid()
    z = bowl(x, y)
    half = x < 2.6
    string, pegs = heights(x[half], y[half], z[half]), heights(x[~half], y[~half], z[~half] - 750, how="pegs")
    one = cut_and_fill([string, pegs])
    assert one.hows == ("string", "pegs")
    assert len(one.low) == 1
    assert one.fill.litres == pytest.approx(cut_and_fill([heights(x, y, z)]).fill.litres, rel=0.15)


def test_a_dense_source_is_averaged_in_blocks():
    x, y = grid(0.05)
    one = cut_and_fill([heights(x, y, bowl(x, y), se=0.8, how="photos")])
    assert one.readings == x.size > 10_000
    assert one.fill.litres == pytest.approx(math.pi * 0.8**2 * 30 / 2, rel=0.1)


def test_too_few_heights_are_refused_in_one_line():
    x, y = grid(2.5)
    with pytest.raises(UsageError, match=r"make no surface.*Read 9 places"):
        cut_and_fill([heights(x[:6], y[:6], np.zeros(6))])

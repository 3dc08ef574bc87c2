"""The surface: datum, fall, errors, and what closer readings do to the interval."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.lawn.heights import Heights
from swardmark.level.cutfill import cut_and_fill
from swardmark.level.joining import joinable
from swardmark.level.surface import Surface, fit_surface, ground_terms

DAY = dt.date(2026, 6, 3)


def grid(step: float, *, width: float = 4.0, length: float = 5.0) -> np.ndarray:
    x, y = np.meshgrid(np.arange(0, width + 1e-9, step), np.arange(0, length + 1e-9, step))
    return np.column_stack([x.ravel(), y.ravel()])


def ground(places: np.ndarray) -> np.ndarray:
    x, y = places.T
    return 100 + 20 * x - 7 * y - 25 * np.exp(-2 * ((x - 2) ** 2 + (y - 2.5) ** 2) / 0.6**2)


def test_the_plane_is_found_under_the_hollow():
    places = grid(0.5, width=8, length=8)
    fit = fit_surface(places, ground(places), np.full(len(places), 2.0))
    assert fit.plane[1:] == pytest.approx([20, -7], abs=0.4)


def test_a_surface_goes_through_good_readings_and_not_through_poor_ones():
    places = grid(0.5)
    truth = ground(places)
    noisy = truth + np.random.default_rng(1).normal(0, 3, len(truth))
    fit = fit_surface(places, noisy, np.full(len(places), 3.0))
    mean, se = fit.predict(places)
    assert np.sqrt(np.mean((mean - truth) ** 2)) < 0.9 * np.sqrt(np.mean((noisy - truth) ** 2))
    assert 0.8 < np.mean(np.abs(mean - truth) < 1.96 * se) <= 1
    exact, _ = fit_surface(places, truth, np.full(len(places), 0.01)).predict(places)
    assert exact == pytest.approx(truth, abs=0.1)


def test_sources_with_other_datums_are_brought_together():
    places = grid(0.5)
    truth = ground(places)
    source = (np.arange(len(places)) % 3 == 0).astype(np.intp)
    apart = fit_surface(places, truth + 1234.0 * source, np.full(len(places), 1.0), source=source)
    one = fit_surface(places, truth, np.full(len(places), 1.0))
    assert apart.predict(places)[0] == pytest.approx(one.predict(places)[0], abs=1.0)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000), scale=st.floats(0.3, 2.0))
def test_more_readings_never_widen_the_interval(seed, scale):
    """With the same law of the ground, the standard error nowhere grows when readings are added."""
    rng = np.random.default_rng(seed)
    coarse = grid(1.0)
    fine = np.vstack([coarse, grid(0.5) + np.array([0.001, 0])])
    asked = rng.uniform([0, 0], [4, 5], (60, 2))
    errors = []
    for places in (coarse, fine):
        count = len(places)
        law = Surface(
            places, rng.normal(0, 5, count), np.full(count, 2.0), np.zeros(count, np.intp), scale, 8.0, 0.0
        )
        errors.append(law.predict(asked)[1])
    assert (errors[1] <= errors[0] + 1e-6).all()


@pytest.mark.parametrize("places", [grid(1.0)[:5], np.column_stack([np.arange(12.0), 2 * np.arange(12.0)])])
def test_readings_on_a_line_or_too_few_make_no_surface(places):
    with pytest.raises(ValueError, match="no surface"):
        fit_surface(places, np.zeros(len(places)), np.ones(len(places)))


def test_photos_that_do_not_know_the_fall_lie_on_a_string_grid_of_a_sloped_lawn():
    """A lawn that falls by 2 %: a string knows it, pegs have lost it, and photos have lost the crown as well.

    All three of one day give the heights of the lawn, its fall and its hollow; two sources with one plane would not.
    """
    rng = np.random.default_rng(21)

    def lawn(x, y):
        hollow = -18.0 * np.exp(-((x - 1) ** 2 + (y - 1) ** 2) / 0.18)
        return 20.0 * y + 3.0 * (x - 1) ** 2 + hollow

    def source(how, x, y, *, terms, error):
        z = lawn(x, y) + 200.0
        if terms:
            kept = ground_terms(np.column_stack([x, y]))[:, :terms]
            z = z - kept @ np.linalg.lstsq(kept, z, rcond=None)[0]
        spread = np.full(len(x), error)
        return Heights(DAY, "main", x, y, z + rng.normal(0, error, len(x)), spread, how)

    wide = [a.ravel() for a in np.meshgrid(np.arange(-1.5, 4.1, 0.75), np.arange(-1.5, 4.1, 0.75))]
    near = [a.ravel() for a in np.meshgrid(np.arange(-0.5, 2.6, 0.15), np.arange(-0.5, 2.6, 0.15))]
    pegs = [a.ravel() for a in np.meshgrid(np.arange(-0.6, 2.7, 0.6), np.arange(-0.6, 2.7, 0.6))]
    string = source("string", *wide, terms=0, error=1.5)
    photos, pegged = (
        source("photos", *near, terms=6, error=0.5),
        source("pegs", *pegs, terms=3, error=0.8),
    )
    known = cut_and_fill([source("laser", *near, terms=0, error=0.05)]).low[0].deepest_mm
    for heights in ([string, photos], [photos, string], [photos, pegged, string]):
        one = cut_and_fill(heights)
        assert one.measured_fall.percent == pytest.approx(2.0, abs=0.15)
        (spot,) = one.low
        assert np.hypot(spot.x_m - 1, spot.y_m - 1) < 0.2
        assert spot.deepest_mm == pytest.approx(known, abs=3)
        x, y = np.meshgrid(one.raster.x_m, one.raster.y_m)
        off = one.height_mm + 20.0 * y - lawn(x, y)
        off = (off - np.median(off))[np.hypot(x - 1, y - 1) < 1.4]
        assert np.sqrt((off**2).mean()) < 1.5


def test_a_source_that_cannot_be_laid_on_the_others_is_left_out():
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0, 2.1, 0.2), np.arange(0, 2.1, 0.2)))
    photos = Heights(DAY, "main", x, y, np.sin(3 * x), np.full(len(x), 0.5), "photos")
    line = np.arange(0.0, 4.0, 0.4)
    on_a_line = Heights(DAY, "main", line, line, 5 * line, np.full(10, 2.0), "string")
    few = Heights(DAY, "main", *np.array([[0.0, 1, 1, 2], [0, 0, 1, 2], [1, 2, 3, 4], [2, 2, 2, 2]]), "laser")
    for apart in (on_a_line, few):
        kept, out = joinable([photos, apart])
        assert ([one.how for one in kept], [one.how for one in out]) == (["photos"], [apart.how])
    assert joinable([on_a_line, few]) == ([on_a_line, few], [])
    assert joinable([on_a_line]) == ([on_a_line], [])

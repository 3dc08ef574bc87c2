"""The surface: datum, fall, errors, and what closer readings do to the interval."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.level.surface import Surface, fit_surface


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

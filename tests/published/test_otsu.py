"""Otsu's threshold against worked examples, closed forms and scikit-image."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.filters import threshold_otsu
from swardmark.canopy.threshold import choose_threshold, otsu


def test_the_six_level_teaching_example():
    """Counts 8 7 2 6 9 4 at levels 0..5, a widely used classroom example (from memory); eta by Otsu 1979."""
    level, eta = otsu([8, 7, 2, 6, 9, 4])
    assert level == 2
    assert eta == pytest.approx(0.8426, abs=5e-5)


def test_two_values_are_fully_separable_and_one_is_not():
    """Otsu 1979: eta is 1 only for a two-valued picture and 0 only for a single level."""
    counts = np.zeros(256)
    counts[[40, 200]] = 30, 70
    level, eta = otsu(counts)
    assert eta == pytest.approx(1)
    assert 40 <= level < 200
    counts[200] = 0
    assert otsu(counts) == (40, 0.0)


def test_closed_forms():
    """A flat histogram splits in half with eta 3/4; a Gaussian has eta 2/pi (both by integration)."""
    assert otsu(np.ones(256)) == (127, pytest.approx(0.75, abs=1e-4))
    bell = np.exp(-(((np.arange(256) - 127.5) / 30) ** 2) / 2)
    assert otsu(bell)[1] == pytest.approx(2 / np.pi, abs=1e-3)


@given(st.integers(0, 2**32 - 1), st.floats(0.05, 0.95))
def test_agrees_with_scikit_image(seed, share):
    rng = np.random.default_rng(seed)
    size = 20_000
    low, high = rng.normal(80, 12, size), rng.normal(150, 18, size)
    values = np.clip(np.where(rng.random(size) < share, high, low), 0, 255).astype(np.uint8)
    assert abs(otsu(np.bincount(values, minlength=256))[0] - threshold_otsu(values)) <= 1


def test_an_empty_histogram_is_an_error():
    with pytest.raises(ValueError, match="at least one count"):
        otsu(np.zeros(10))


def test_separability_is_no_quality_gate():
    """Two clean but unequal classes, 4 sd apart, 5 % green: eta 0.548, lower than a plain Gaussian's 0.637."""
    x = np.linspace(-6, 12, 2000)
    mixed = 0.95 * np.exp(-(x**2) / 2) + 0.05 * np.exp(-((x - 4) ** 2) / 2)
    assert otsu(mixed)[1] == pytest.approx(0.548, abs=2e-3)


def test_the_keepers_threshold_wins():
    chosen = choose_threshold(np.ones(256), setting=0.2)
    assert (chosen.value, chosen.source) == (0.2, "keeper")

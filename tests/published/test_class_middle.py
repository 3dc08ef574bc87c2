"""The midpoint of two class means against scikit-image, and what the pull toward usual values is for."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.filters import threshold_isodata

from swardmark.canopy import scale
from swardmark.canopy.scale import LEVELS, class_middle


def histogram(*classes: tuple[float, float, float]) -> np.ndarray:
    return 1e-6 + sum(n * np.exp(-0.5 * ((LEVELS - mean) / sd) ** 2) / sd for mean, sd, n in classes)


def plain(counts: np.ndarray, **options: bool) -> np.ndarray | float:
    with np.errstate(all="ignore"):
        return threshold_isodata(hist=(counts, LEVELS), **options)


@given(st.floats(-0.03, 0.02), st.floats(0.14, 0.20), st.floats(0.15, 0.85))
def test_without_the_pull_it_is_the_method_of_ridler_and_calvard(ground, leaf, share):
    """scikit-image's threshold_isodata (Ridler & Calvard 1978) on the same histogram; within two levels."""
    counts = histogram((ground, 0.015, 1 - share), (leaf, 0.025, share))
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(scale, "PULL", 1e-9)
        middle, _, _ = class_middle(counts)
    least = plain(counts, return_all=True)
    assert np.abs(np.asarray(least) - middle).min() <= 0.008


def test_one_class_alone_is_not_split():
    """On bare ground the plain method splits the sand in two halves; the pull keeps the midpoint above all of it."""
    bare, full = histogram((-0.02, 0.015, 1)), histogram((0.25, 0.03, 1))
    assert plain(bare) < 0
    for counts, share in ((bare, 0), (full, 1)):
        middle, _, _ = class_middle(counts)
        assert counts[middle < LEVELS].sum() / counts.sum() == pytest.approx(share, abs=0.005)

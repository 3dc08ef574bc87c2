"""The even points, against SciPy's own Sobol sequence."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import qmc

from swardmark.bank.sobol import sobol_points


def test_same_points_as_scipy():
    # scipy.stats.qmc.Sobol uses the same Joe & Kuo 2008 direction numbers; ours are moved by half a cell.
    theirs = qmc.Sobol(8, scramble=False).random(4096)
    assert np.abs(sobol_points(4096, 8) - 0.5 / 4096 - theirs).max() < 1e-9


def test_every_margin_is_evenly_covered():
    points = sobol_points(256, 8)
    for margin in points.T:
        assert np.array_equal(np.sort((margin * 256).astype(int)), np.arange(256))


def test_a_number_that_is_no_power_of_two_is_refused():
    with pytest.raises(ValueError, match="power of two"):
        sobol_points(1000, 2)

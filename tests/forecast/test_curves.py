"""Every curve means by its numbers what its docstring says."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.bank.curves import gompertz, log_logistic_offset, logistic, weibull_offset

CASES = [(9.0, 2.4, 97.0, 8.0), (20.0, 1.5, 60.0, 3.0), (5.0, 4.0, 100.0, 25.0)]
CURVES = {
    "logistic": lambda t, t50, s, k, _: logistic(t, t50, s, k),
    "gompertz": lambda t, t50, s, k, _: gompertz(t, t50, s, k),
    "weibull": weibull_offset,
    "log-logistic": log_logistic_offset,
}


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("case", CASES)
def test_half_way_day_slope_and_ceiling(name, case):
    curve, (t50, shape, ceiling, _) = CURVES[name], case
    assert curve(np.array(t50), *case) == pytest.approx(ceiling / 2)
    step = 1e-4
    slope = (curve(np.array(t50 + step), *case) - curve(np.array(t50 - step), *case)) / (2 * step)
    assert slope * t50 / (ceiling / 4) == pytest.approx(shape, rel=1e-5)
    assert curve(np.array(1e4), *case) == pytest.approx(ceiling, rel=1e-3)
    days = np.linspace(0, 120, 500)
    assert (np.diff(curve(days, *case)) >= 0).all()


@pytest.mark.parametrize("name", ["weibull", "log-logistic"])
@pytest.mark.parametrize("case", CASES)
def test_curves_with_an_offset_start_there(name, case):
    assert CURVES[name](np.array(0.0), *case) == pytest.approx(case[3])
    assert CURVES[name](np.array(-3.0), *case) == pytest.approx(case[3])


def test_members_are_computed_at_once():
    days, t50 = np.arange(5.0)[:, None], np.array([5.0, 9.0, 14.0])
    table = logistic(days, t50, np.full(3, 2.4), np.full(3, 97.0))
    assert table.shape == (5, 3)
    assert table[3, 1] == pytest.approx(float(logistic(np.array(3.0), 9.0, 2.4, 97.0)))

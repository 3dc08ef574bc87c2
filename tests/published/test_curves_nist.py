"""The growth curves against NIST's certified fits and textbook forms.

NIST StRD nonlinear regression, data sets Rat42 and Rat43, https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml
(data and digits as in the copies of the GNU Scientific Library's test suite); both from Ratkowsky, Nonlinear Regression
Modeling, Dekker 1983, pp. 61-62 and 88: pasture yield and onion dry weight against growing time.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq, least_squares

from swardmark.bank.curves import gompertz, logistic


def plain_logistic(x: np.ndarray, b1: float, b2: float, b3: float) -> np.ndarray:
    """Return b1 / (1 + exp(b2 - b3 x)), the logistic as NIST's data set Rat42 writes it."""
    return b1 / (1.0 + np.exp(b2 - b3 * np.asarray(x, dtype=float)))


def richards(x: np.ndarray, b1: float, b2: float, b3: float, b4: float) -> np.ndarray:
    """Return b1 / (1 + exp(b2 - b3 x)) ** (1 / b4), Richards' curve as NIST's data set Rat43 writes it."""
    return b1 / (1.0 + np.exp(b2 - b3 * np.asarray(x, dtype=float))) ** (1.0 / b4)


RAT42_X = np.array([9, 14, 21, 28, 42, 57, 63, 70, 79.0])
RAT42_Y = np.array([8.930, 10.800, 18.590, 22.330, 39.350, 56.110, 61.730, 64.620, 67.080])
RAT42 = (7.2462237576e01, 2.6180768402e00, 6.7359200066e-02)
RAT42_RSS = 8.0565229338e00

RAT43_X = np.arange(1.0, 16.0)
RAT43_Y = np.array(
    [
        16.08,
        33.83,
        65.80,
        97.20,
        191.55,
        326.20,
        386.87,
        520.53,
        590.03,
        651.92,
        724.93,
        699.56,
        689.96,
        637.56,
        717.41,
    ]
)
RAT43 = (6.9964151270e02, 5.2771253025e00, 7.5962938329e-01, 1.2792483859e00)
RAT43_RSS = 8.7864049080e03


def fit(curve, x, y, start):
    """Least squares by a trust region, to the last digits that the arithmetic gives."""
    found = least_squares(
        lambda b: curve(x, *b) - y,
        start,
        x_scale="jac",
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-15,
        max_nfev=5000,
        jac="3-point",
    )
    return found.x, 2 * found.cost


def test_rat42_residual_sum_at_the_certified_parameters():
    rss = ((plain_logistic(RAT42_X, *RAT42) - RAT42_Y) ** 2).sum()
    assert rss == pytest.approx(RAT42_RSS, rel=1e-10)


@pytest.mark.parametrize("start", [(100, 1, 0.1), (75, 2.5, 0.07)])
def test_rat42_least_squares_from_both_starts(start):
    parameters, rss = fit(plain_logistic, RAT42_X, RAT42_Y, start)
    assert parameters == pytest.approx(RAT42, rel=1e-6)
    assert rss == pytest.approx(RAT42_RSS, rel=1e-9)


def test_our_logistic_is_rat42s_in_other_parameters():
    b1, b2, b3 = RAT42
    ours = logistic(RAT42_X, b2 / b3, b2, b1)
    assert ((ours - RAT42_Y) ** 2).sum() == pytest.approx(RAT42_RSS, rel=1e-10)


def test_rat43_residual_sum_at_the_certified_parameters():
    rss = ((richards(RAT43_X, *RAT43) - RAT43_Y) ** 2).sum()
    assert rss == pytest.approx(RAT43_RSS, rel=1e-10)


@pytest.mark.parametrize("start", [(100, 10, 1, 1), (700, 5, 0.75, 1.3)])
def test_rat43_least_squares_from_both_starts(start):
    parameters, rss = fit(richards, RAT43_X, RAT43_Y, start)
    assert parameters == pytest.approx(RAT43, rel=1e-6)
    assert rss == pytest.approx(RAT43_RSS, rel=1e-9)


def test_textbook_values_of_logistic_and_gompertz():
    # Rate 0.1 a day, inflection on day 10, ceiling 100 %: closed forms of the textbook curves, from memory, and their
    # values. The Gompertz inflection lies at 1/e of the ceiling, so its half-way day is 10 - ln(ln 2) / 0.1.
    def cover_l(t):
        return logistic(np.array(t), 10.0, 1.0, 100.0)

    half = 10 - np.log(np.log(2)) / 0.1

    def cover_g(t):
        return gompertz(np.array(t), half, 2 * np.log(2) * 0.1 * half, 100.0)

    assert half == pytest.approx(13.6651, abs=5e-5)
    assert cover_l(20.0) == pytest.approx(73.1059, abs=5e-5)
    assert cover_g(20.0) == pytest.approx(69.2201, abs=5e-5)
    assert cover_g(10.0) == pytest.approx(100 / np.e)
    assert brentq(lambda t: cover_l(t) - 90, 0, 100) == pytest.approx(31.9722, abs=5e-5)
    assert brentq(lambda t: cover_g(t) - 90, 0, 100) == pytest.approx(32.5037, abs=5e-5)

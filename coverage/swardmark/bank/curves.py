"""Growth curves, as published formulas and nothing else.

The four families of the forecast share one way of saying what they look like: `t50_days`, the day of half the
ceiling; `shape`, the slope at that day times `t50_days`, over a quarter of the ceiling (for the logistic it is the
rate times `t50_days`); `ceiling_pct`, the cover that is reached in the end; and for two of them `start_pct`, the cover
on day 0. All arguments broadcast, so a bank of curves is computed by giving the days as a column.

Sources of the forms: logistic (Verhulst 1838), Gompertz (1825), Weibull (1951), log-logistic (Hill 1910), as collected
in Ratkowsky, Nonlinear Regression Modeling, Dekker 1983; the latter is also the source of NIST's data sets Rat42 and
Rat43, https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml.
"""

from __future__ import annotations

import numpy as np

LN2 = float(np.log(2.0))


def logistic(day: np.ndarray, t50_days: np.ndarray, shape: np.ndarray, ceiling_pct: np.ndarray) -> np.ndarray:
    """Return the logistic curve [%], symmetric about its half-way day.

    Parameters
    ----------
    day : array_like
        Days since day 0 [days].
    t50_days : array_like
        Day on which half the ceiling is reached [days].
    shape : array_like
        Slope at that day times `t50_days`, over a quarter of the ceiling [-].
    ceiling_pct : array_like
        Cover in the end [%].
    """
    return ceiling_pct / (1.0 + np.exp(-shape * (day / t50_days - 1.0)))


def gompertz(day: np.ndarray, t50_days: np.ndarray, shape: np.ndarray, ceiling_pct: np.ndarray) -> np.ndarray:
    """Return the Gompertz curve [%]: quick at first, long in coming to its ceiling. Arguments as in `logistic`."""
    return ceiling_pct * np.exp(-LN2 * np.exp(-shape / (2.0 * LN2) * (day / t50_days - 1.0)))


def weibull_offset(
    day: np.ndarray, t50_days: np.ndarray, shape: np.ndarray, ceiling_pct: np.ndarray, start_pct: np.ndarray
) -> np.ndarray:
    """Return the Weibull curve [%] that rises from `start_pct`, which is below half the ceiling [%].

    Other arguments as in `logistic`; days before 0 count as 0.
    """
    rise = ceiling_pct - start_pct
    scale = np.log(2.0 * rise / ceiling_pct)
    power = shape / (2.0 * scale)
    return start_pct + rise * (1.0 - np.exp(-scale * _power(day, t50_days, power)))


def log_logistic_offset(
    day: np.ndarray, t50_days: np.ndarray, shape: np.ndarray, ceiling_pct: np.ndarray, start_pct: np.ndarray
) -> np.ndarray:
    """Return the log-logistic (Hill) curve [%] that rises from `start_pct`, which is below half the ceiling [%].

    Other arguments as in `logistic`; days before 0 count as 0.
    """
    rise = ceiling_pct - start_pct
    power = shape * rise / (ceiling_pct - 2.0 * start_pct)
    grown = _power(day, t50_days, power)
    return start_pct + rise * grown / (grown + ceiling_pct / (ceiling_pct - 2.0 * start_pct))


def _power(day: np.ndarray, t50_days: np.ndarray, power: np.ndarray) -> np.ndarray:
    """Return (day / t50) ** power, 0 up to day 0 and at most e ** 60."""
    return np.exp(np.minimum(power * np.log(np.maximum(day, 1e-9) / t50_days), 60.0)) * (day > 0)

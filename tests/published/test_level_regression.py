"""The surface regression against outside implementations.

- Regression with a plane of unknown coefficients and any kernel: scipy.interpolate.RBFInterpolator with degree 1 and
  smoothing, whose system of equations is that of universal kriging (G. Wahba, Spline Models for Observational Data,
  1990).
- Matern covariance: its definition with the modified Bessel function (Rasmussen and Williams 2006, equation 4.14), by
  scipy.special.kv.
- Leave-one-out: readings really left out, one by one.
- The plane: NIST StRD linear regression, data set Norris (certified slope and intercept), through the fit without
  undulation, a second column orthogonal to the first.
  https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import RBFInterpolator
from scipy.special import gamma, kv

from swardmark.level import surface
from swardmark.level.surface import Surface, fit_surface, matern32


def readings(seed: int = 4, count: int = 60) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    places = rng.uniform(0, 5, (count, 2))
    return places, 3 * places[:, 0] - 8 * np.exp(-((places - 2.5) ** 2).sum(axis=1)) + rng.normal(
        0, 0.5, count
    )


def test_the_regression_is_scipys_with_the_same_kernel(monkeypatch):
    places, heights = readings()
    scale, spread, error = 0.9, 6.0, 0.5
    monkeypatch.setattr(surface, "matern32", lambda d, s: np.exp(-((d / s) ** 2)))
    ours = Surface(places, heights, np.full(60, error), np.zeros(60, np.intp), scale, spread, 0.0)
    theirs = RBFInterpolator(
        places, heights, kernel="gaussian", epsilon=1 / scale, degree=1, smoothing=(error / spread) ** 2
    )
    asked = np.random.default_rng(5).uniform(0, 5, (40, 2))
    assert ours.predict(asked)[0] == pytest.approx(theirs(asked), abs=1e-6)
    undulation = ours.undulation_weights(asked) @ heights + np.column_stack([np.ones(40), asked]) @ ours.plane
    assert undulation == pytest.approx(theirs(asked), abs=1e-6)


def test_the_covariance_is_materns():
    distance = np.linspace(0.01, 4, 50)
    s = np.sqrt(2 * 1.5) * distance / 0.7
    assert matern32(distance, 0.7) == pytest.approx(2**-0.5 / gamma(1.5) * s**1.5 * kv(1.5, s), rel=1e-10)


def test_the_error_of_foretelling_is_that_of_readings_really_left_out():
    places, heights = readings(count=30)
    fit = fit_surface(places, heights, np.full(30, 0.5), scale_m=1.0)
    missed = []
    for n in range(30):
        others = np.arange(30) != n
        law = Surface(
            places[others], heights[others], fit.se_mm[others], fit.source[others], 1.0, fit.spread_mm, 0.0
        )
        missed.append(float(law.predict(places[n : n + 1])[0][0]) - heights[n])
    assert fit.loo_mm == pytest.approx(np.sqrt(np.mean(np.square(missed))), rel=1e-6)


def test_the_plane_is_that_of_norris():
    x, y = np.array(NORRIS).T
    line = np.column_stack([np.ones(len(x)), x])
    other = np.where(np.arange(len(x)) % 2, 1.0, -1.0)
    other -= line @ np.linalg.lstsq(line, other, rcond=None)[0]
    places = np.column_stack([x, other])
    law = Surface(places, y, np.full(len(x), 1.0), np.zeros(len(x), np.intp), 1.0, 1e-9, 0.0)
    assert law.plane[1] == pytest.approx(1.00211681802045, rel=1e-9)
    assert law.plane[0] == pytest.approx(-0.262323073774029, rel=1e-7)


NORRIS = (
    (0.2, 0.1), (337.4, 338.8), (118.2, 118.1), (884.6, 888.0), (10.1, 9.2), (226.5, 228.1), (666.3, 668.5),
    (996.3, 998.5), (448.6, 449.1), (777.0, 778.9), (558.2, 559.2), (0.4, 0.3), (0.6, 0.1), (775.5, 778.1),
    (666.9, 668.8), (338.0, 339.3), (447.5, 448.9), (11.6, 10.8), (556.0, 557.7), (228.1, 228.3), (995.8, 998.0),
    (887.6, 888.8), (120.2, 119.6), (0.3, 0.3), (0.3, 0.6), (556.8, 557.6), (339.1, 339.3), (887.2, 888.0),
    (999.0, 998.5), (779.0, 778.9), (11.1, 10.2), (118.3, 117.6), (229.2, 228.9), (669.1, 668.4), (448.9, 449.2),
    (0.5, 0.2),
)  # fmt: skip

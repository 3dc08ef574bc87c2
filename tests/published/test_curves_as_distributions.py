"""The Weibull and log-logistic curves against SciPy's distributions of the same names.

Above its start, either curve is a cumulative distribution times the rise to the ceiling: the Weibull (1951, J. Appl.
Mech. 18:293-297) is `scipy.stats.weibull_min`, the log-logistic `scipy.stats.fisk` (Fisk 1961, Econometrica
29:171-185). Their two parameters are found here from SciPy's own quantiles and densities alone: half the ceiling on the
half-way day, and the slope there.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import fisk, weibull_min

from swardmark.bank.curves import log_logistic_offset, weibull_offset

DAYS = np.linspace(0.0, 90.0, 181)
CASES = [(9.0, 2.4, 97.0, 8.0), (20.0, 1.5, 60.0, 3.0), (5.0, 4.0, 100.0, 25.0), (33.0, 2.0, 88.0, 1.0)]
"""Half-way day, slope there times that day over a quarter of the ceiling, ceiling and start."""


@pytest.mark.parametrize(
    ("curve", "family"), [(weibull_offset, weibull_min), (log_logistic_offset, fisk)], ids=["weibull", "fisk"]
)
@pytest.mark.parametrize("case", CASES)
def test_a_curve_is_the_distribution_times_its_rise(curve, family, case):
    t50, shape, ceiling, start = case
    rise = ceiling - start
    share = (ceiling / 2 - start) / rise

    def scale_for(power: float) -> float:
        return t50 / family.ppf(share, power)

    def slope_over_wanted(power: float) -> float:
        slope = rise * family.pdf(t50, power, scale=scale_for(power))
        return slope / (shape * ceiling / 4 / t50) - 1

    power = brentq(slope_over_wanted, 0.2, 30.0, xtol=1e-12)
    expected = start + rise * family.cdf(DAYS, power, scale=scale_for(power))
    np.testing.assert_allclose(curve(DAYS, *case), expected, atol=1e-6)

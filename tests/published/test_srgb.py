"""Coded sRGB to linear light: check values of IEC 61966-2-1, worked from the formula of CSS Color 4 (W3C)."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.common.color import coded_of, linear_of


@pytest.mark.parametrize(
    ("coded", "linear"),
    [(0.1, 0.0100228256), (0.5, 0.2140411405), (128 / 255, 0.2158605001), (0.04045, 0.0031308050)],
)
def test_coded_values_become_the_standard_s_linear_light(coded, linear):
    assert float(linear_of(255 * coded)) == pytest.approx(linear, abs=1e-9)


def test_all_codes_come_back_from_linear_light():
    codes = np.arange(256)
    np.testing.assert_allclose(coded_of(linear_of(codes)), codes, atol=0.01)

"""The map of measured sand reads in the keeper's units."""

from __future__ import annotations

import pytest

from swardmark.drawing.relief_map import relief_map
from swardmark.relief.measure import Relief


@pytest.mark.parametrize(
    ("units", "axis", "contours"), [("metric", "m", {"-8", "-16"}), ("us", "ft", {"-1/4", "-1/2"})]
)
def test_axes_and_contours_are_in_the_units_of_the_lawn(relief: Relief, units, axis, contours):
    (axes,) = relief_map(relief, units=units).axes
    assert {axes.get_xlabel().split()[0], axes.get_ylabel().split()[0]} == {axis}
    assert contours & {text.get_text() for text in axes.texts}

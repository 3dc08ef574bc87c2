"""The ground map: where its points lie, and what of it is kept."""

import numpy as np
import pytest

from swardmark.canopy.index import DAMPING, GroundMap, box_m
from swardmark.lawn.toml import MeasureSettings


def test_a_map_is_trimmed_to_what_was_seen_and_stays_where_it_is():
    values = np.zeros((8, 9), np.uint8)
    values[2, 3], values[5, 6], values[3, 4] = 7, 9, 1
    whole = GroundMap(values, -4, 10, 0.01)
    small = whole.trimmed()
    assert (small.values.shape, small.row0, small.col0) == ((4, 4), -2, 13)
    np.testing.assert_array_equal(small.window(-4, 10, 8, 9), values)
    assert box_m((-2, 13, 4, 4), 0.01) == pytest.approx((0.125, -0.025, 0.165, 0.015))
    assert GroundMap(values * 0, 0, 0, 0.01).trimmed().values.size == 0


def test_lawns_are_indexed_as_single_photos_are():
    assert MeasureSettings().damping == DAMPING

"""Excess green against the published definition and public color-chart patches."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.canopy import index
from swardmark.canopy.index import WARMTH, GroundMap, byte_of, excess_green, index_bytes
from swardmark.common.color import colors_of


def index_of(values: np.ndarray) -> np.ndarray:
    """Return the excess green of map values; NaN where not seen or unreadable."""
    value = index.INDEX_LOW + index.INDEX_STEP * (values.astype(np.float32) - index.FIRST_VALUE)
    return np.where(values >= index.FIRST_VALUE, value, np.float32(np.nan))


# 8-bit sRGB of a 24-patch color chart, from the public table in lygia (color/checker.glsl); ExG = 2g - r - b with
# chromatic coordinates, the definition of Woebbecke et al. 1995, Trans. ASAE 38(1):259-269, worked out by hand.
CHART = {
    "foliage": ((87, 108, 67), 0.2366),
    "yellow-green": ((157, 188, 64), 0.3790),
    "green": ((70, 148, 73), 0.5258),
    "neutral 6.5": ((160, 160, 160), 0.0),
    "dark skin": ((115, 82, 68), -0.0717),
}
# Illustrative ground colors, same definition: tan sand and straw are above zero, so "above 0" is not "green".
GROUND = {
    "tan sand": ((210, 190, 150), 0.0364),
    "straw": ((190, 170, 110), 0.0851),
    "brown soil": ((110, 85, 60), 0.0),
}


@pytest.mark.parametrize(("rgb", "expected"), [*CHART.values(), *GROUND.values()], ids=[*CHART, *GROUND])
def test_plain_excess_green_of_known_colors(rgb, expected):
    assert excess_green(np.array(rgb, np.uint8), damping=0) == pytest.approx(expected, abs=5e-5)


def test_the_damped_index_meets_the_plain_one_in_good_light_and_vanishes_in_the_dark():
    leaf = np.array([60, 90, 40], float)
    bright, dark = (leaf * 2).astype(np.uint8), (leaf * 0.08).astype(np.uint8)
    plain, damped = (excess_green(np.stack([bright, dark]), damping=k) for k in (0, 100))
    assert damped[0] / plain[0] > 0.75
    assert abs(damped[1]) < 0.2 * plain[1]


def test_black_has_no_chromaticity():
    assert np.isnan(excess_green(np.zeros(3, np.uint8), damping=0))
    assert index_bytes(colors_of(np.zeros((1, 3), np.uint8)), damping=0)[0] == 1


def test_red_is_red_not_blue():
    """The index is symmetric in red and blue: only the position in the array tells them apart, here by weight 1."""
    red, green, blue = np.eye(3, dtype=np.uint8) * 200
    assert excess_green(red, damping=0) == excess_green(blue, damping=0) == -1
    assert excess_green(green, damping=0) == 2


def test_one_byte_keeps_the_index_to_two_thousandths():
    rgb = np.random.default_rng(4).integers(30, 250, (5000, 3)).astype(np.uint8)
    exact = excess_green(rgb, warmth=WARMTH)
    kept = index_of(index_bytes(colors_of(rgb)))
    inside = (exact > -0.3) & (exact < 0.712)
    assert np.abs(kept - exact)[inside].max() <= 0.002 + 1e-6
    assert byte_of(-0.3) == 2
    assert byte_of(0.10) == 102


def test_canopy_is_strictly_above_the_threshold_and_never_the_unseen():
    ground_map = GroundMap(np.array([[0, 1, 2, 102, 103, 255]], np.uint8), 0, 0, 0.01)
    np.testing.assert_array_equal(ground_map.canopy(0.10), [[False, False, False, False, True, True]])
    np.testing.assert_array_equal(ground_map.canopy(-5.0), [[False, False, False, True, True, True]])

"""The index of the map against published measures of green, and public color-chart patches."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import rgb2lab

from swardmark.canopy.index import WARMTH, excess_green
from swardmark.canopy.straight import cover_straight_down

CHART_LEAF = {"foliage": (87, 108, 67), "yellow-green": (157, 188, 64), "green": (70, 148, 73)}
CHART_OTHER = {
    "dark skin": (115, 82, 68),
    "light skin": (194, 150, 130),
    "orange": (214, 126, 44),
    "orange-yellow": (224, 163, 46),
    "white": (243, 243, 242),
    "neutral 6.5": (160, 160, 160),
    "neutral 3.5": (85, 85, 85),
}
"""8-bit sRGB of patches of a 24-patch color chart, from the public table in lygia (color/checker.glsl)."""


@pytest.mark.parametrize("rgb", CHART_LEAF.values(), ids=CHART_LEAF)
def test_the_charts_greens_are_leaf(rgb):
    assert cover_straight_down(np.full((8, 8, 3), rgb, np.uint8)).cover_pct == 100


@pytest.mark.parametrize("rgb", CHART_OTHER.values(), ids=CHART_OTHER)
def test_the_charts_skins_oranges_and_grays_are_not(rgb):
    assert cover_straight_down(np.full((8, 8, 3), rgb, np.uint8)).cover_pct == 0


def index(rgb: np.ndarray) -> np.ndarray:
    return excess_green(rgb, warmth=WARMTH)


def test_near_gray_the_index_orders_colors_as_cielab_a_does():
    """a* near gray falls with 2G - 1.31R - 0.69B (sRGB primaries, IEC 61966-2-1); scikit-image is the reference."""
    rng = np.random.default_rng(9)
    rgb = (128 + rng.integers(-6, 7, (5000, 3))).astype(np.uint8)
    green = -rgb2lab(rgb[None] / 255.0)[0, :, 1]
    assert np.corrcoef(green, index(rgb))[0, 1] > 0.999


def test_the_numerator_is_a_star_by_its_slope_at_mid_gray():
    """d a* / d(R, G, B) at gray, by scikit-image: in the proportion -1.31 : 2 : -0.69."""
    step = 1e-4
    gray = np.full((1, 4, 3), 128 / 255)
    gray[0, 1:] += step * np.eye(3)
    a = rgb2lab(gray)[0, :, 1]
    slope = (a[1:] - a[0]) / step
    assert 2 * slope / slope[1] == pytest.approx([-(1 + WARMTH), 2, -(1 - WARMTH)], abs=0.01)


def test_it_lies_between_excess_green_and_excess_green_less_excess_red():
    """ExG - ExR = 3g - 2.4r - b (Meyer & Camargo Neto 2008, Comput. Electron. Agric. 63:282-293) weighs red against
    blue as 1.45 : 0.55 once the gray part is taken off; ExG (Woebbecke et al. 1995) as 1 : 1."""
    red_less_blue = 68 / 47 - 26 / 47
    assert 0 < 2 * WARMTH < red_less_blue


def test_without_warmth_and_damping_it_is_excess_green():
    """2g - r - b, Woebbecke et al. 1995, Trans. ASAE 38(1):259-269."""
    rgb = np.array([60, 110, 80], np.uint8)
    assert excess_green(rgb, damping=0) == pytest.approx((2 * 110 - 60 - 80) / 250)

"""The index for single photos against the two published measures it lies between, and public color-chart patches."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import rgb2lab

from swardmark.canopy.field import FIXED, cover_straight_down, leaf_index

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


def exg_less_exr(rgb: np.ndarray) -> np.ndarray:
    """ExG - ExR = (2g - r - b) - (1.4r - g), Meyer & Camargo Neto 2008, Comput. Electron. Agric. 63:282-293."""
    r, g, b = np.moveaxis(rgb / rgb.sum(axis=-1, keepdims=True), -1, 0)
    return (2 * g - r - b) - (1.4 * r - g)


def warm_colors(number: int = 20_000) -> np.ndarray:
    rng = np.random.default_rng(8)
    colors = rng.integers(40, 256, (number, 3))
    return colors[colors[:, 0] > colors[:, 2]].astype(np.uint8)


def test_exg_less_exr_above_zero_is_the_same_index_with_weight_and_threshold_moved():
    """3g - 2.4r - b > 0, plus 2/15 of r + g + b = 1, times 15/23.5: 2g - 1.447r - 0.553b > 0.0851 (worked out here)."""
    rgb = warm_colors().astype(float)
    r, g, b = np.moveaxis(rgb / rgb.sum(axis=-1, keepdims=True), -1, 0)
    ours = 2 * g - 68 / 47 * r - 26 / 47 * b > 4 / 47
    away = abs(exg_less_exr(rgb)) > 1e-9
    assert (ours == (exg_less_exr(rgb) > 0))[away].all()


def test_in_good_light_the_fixed_threshold_decides_as_exg_less_exr_does():
    """R + G + B around 240, where 0.06 of the damped index is 0.085 of the plain one."""
    rgb = warm_colors(200_000)
    total = rgb.sum(axis=1, dtype=int)
    rgb = rgb[abs(total - 240) < 15]
    agree = (leaf_index(rgb) > FIXED) == (exg_less_exr(rgb.astype(float)) > 0)
    assert len(rgb) > 1000
    assert agree.mean() > 0.97


def test_near_gray_the_index_orders_colors_as_cielab_a_does():
    """a* near gray falls with 2G - 1.31R - 0.69B (sRGB primaries, IEC 61966-2-1); scikit-image is the reference."""
    rng = np.random.default_rng(9)
    rgb = (128 + rng.integers(-6, 7, (5000, 3))).astype(np.uint8)
    warm = rgb[rgb[:, 0] >= rgb[:, 2]]
    green = -rgb2lab(warm[None] / 255.0)[0, :, 1]
    assert np.corrcoef(green, leaf_index(warm))[0, 1] > 0.99


def test_in_cool_colors_it_is_excess_green():
    """2g - r - b, Woebbecke et al. 1995, Trans. ASAE 38(1):259-269, here with blue above red."""
    assert leaf_index(np.array([60, 110, 80], np.uint8), damping=0) == pytest.approx(
        (2 * 110 - 60 - 80) / 250
    )

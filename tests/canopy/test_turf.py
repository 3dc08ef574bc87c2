"""Full turf and the light of leaves, as a photo shows them: simple maps whose answers are known."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.canopy.index import NOT_SEEN, UNREADABLE, GroundMap, byte_of, index_bytes
from swardmark.canopy.turf import full_turf, leaf_light
from swardmark.common.color import colors_of

GROUND, TURF = -0.005, 0.220


def index_of(*known):
    return full_turf(*known).green


def lawn(cover: np.ndarray, *, spread=0.02, seed=1, turf=TURF, spacing_m=0.01) -> GroundMap:
    """A map of pure points, leaf with the given chance at each point, on 20 cm cells of the given cover."""
    rng = np.random.default_rng(seed)
    side = round(0.2 / spacing_m)
    chance = np.kron(cover, np.ones((side, side)))
    index = np.where(rng.random(chance.shape) < chance, turf, GROUND) + rng.normal(0, spread, chance.shape)
    values = np.array([byte_of(value) for value in index.ravel()], np.uint8).reshape(index.shape)
    return GroundMap(values, 0, 0, spacing_m)


@pytest.mark.parametrize("turf", [0.24, 0.30, 0.38])
@pytest.mark.parametrize("spacing_m", [0.01, 0.02])
def test_full_turf_is_what_closed_cells_show(turf, spacing_m):
    cover = np.full((6, 8), 0.3)
    cover[2:4, 1:6] = 1.0
    assert index_of(lawn(cover, turf=turf, spacing_m=spacing_m)) == pytest.approx(turf, abs=0.004)


def test_a_full_lawn_is_full_turf():
    assert index_of(lawn(np.ones((6, 8)))) == pytest.approx(TURF, abs=0.006)


def test_a_thin_lawn_is_not_taken_for_full_turf():
    """Mixed points all over, a few of them ground: full turf lies above the densest cells, by the ground they show."""
    rng = np.random.default_rng(2)
    index = GROUND + np.clip(rng.normal(0.7, 0.25, (120, 160)), 0, 1) * (TURF - GROUND)
    values = np.vectorize(byte_of)(index).astype(np.uint8)
    assert index.mean() + 0.015 < index_of(GroundMap(values, 0, 0, 0.01)) < TURF


@pytest.mark.parametrize("index", [-0.10, -0.05, 0.0, 0.03])
def test_bare_ground_tells_nothing_of_turf(index):
    assert np.isnan(index_of(lawn(np.zeros((6, 8)), turf=index)))


def test_where_hardly_anything_is_readable_nothing_is_told():
    whole = lawn(np.ones((6, 8)))
    for value in (NOT_SEEN, UNREADABLE):
        values = np.full_like(whole.values, value)
        values[:40, :40] = whole.values[:40, :40]
        assert np.isnan(index_of(GroundMap(values, 0, 0, 0.01)))
    assert np.isnan(index_of(GroundMap(np.zeros((3, 3), np.uint8), 0, 0, 0.01)))


def test_leaf_light_is_that_of_leaves_over_that_of_the_ground():
    """IEC 61966-2-1: coded 188 is half the light of coded 255."""
    colors = colors_of(np.array([[188, 188, 188]] * 60 + [[100, 176, 100]] * 40, np.uint8))
    found = leaf_light(colors, index_bytes(colors, damping=0))
    assert found == pytest.approx(((100 + 176 + 100) / (3 * 188)) ** 2.2, rel=0.01)


@pytest.mark.parametrize("exposure", [0.5, 0.8])
def test_exposure_does_not_change_leaf_light(exposure):
    bright = np.array([[200, 185, 150]] * 60 + [[86, 122, 50]] * 40, np.uint8)
    dark = np.rint(bright * exposure).astype(np.uint8)
    one, other = (leaf_light(c, index_bytes(c, damping=0)) for c in map(colors_of, (bright, dark)))
    assert other == pytest.approx(one, rel=0.03)


def test_all_leaf_or_all_ground_tells_no_leaf_light():
    for color in ((200, 185, 150), (86, 122, 50)):
        colors = colors_of(np.array([color] * 100, np.uint8))
        assert np.isnan(leaf_light(colors, index_bytes(colors, damping=0)))


def test_shaded_cells_have_no_say_about_full_turf():
    """Half closed turf, half of that in a shade a quarter as bright, whose blue light makes leaves look greener."""
    cover = np.full((6, 8), 0.3)
    cover[:3] = 1.0
    whole = lawn(cover)
    values, light = whole.values.copy(), np.full(whole.values.shape, 120, np.uint8)
    values[:, 80:] = np.minimum(values[:, 80:] + 15, 255)
    light[:, 80:] = 60
    shaded = GroundMap(values, 0, 0, 0.01)
    assert index_of(shaded, light) == pytest.approx(index_of(whole), abs=0.008)
    assert index_of(shaded) > index_of(whole) + 0.02

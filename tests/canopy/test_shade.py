"""Turf half in hard shadow, exactly known; open shade gets a fifth of full sun, and bluer (common practice)."""

import numpy as np

from swardmark.canopy.index import DAMPING, INDEX_LOW, INDEX_STEP, UNREADABLE, GroundMap, index_bytes
from swardmark.canopy.shade import in_own_light
from swardmark.common.color import colors_of

LEAF, SAND, SOIL = (70, 120, 45), (190, 170, 135), (70, 52, 38)
OPEN_SHADE = np.array([0.17, 0.205, 0.27])
"""Light over that of the sun, linear; coded values go by its 2.2th root."""


def ground(*, shaded=False, soil=False):
    """Two meters by two of leaf at random, 80 % left and right, on sand; the left half in shade or on dark soil."""
    rng = np.random.default_rng(3)
    is_leaf = rng.random((200, 200)) < 0.8
    colors = np.where(is_leaf[..., None], LEAF, SAND).astype(float)
    colors[:, :100] = np.where(is_leaf[:, :100, None], LEAF, SOIL if soil else SAND)
    if shaded:
        colors[:, :100] *= OPEN_SHADE ** (1 / 2.2)
    colors = np.rint(colors + rng.normal(0, 3, colors.shape)).clip(0, 255).astype(np.uint8).reshape(-1, 3)
    seen = np.ones(is_leaf.shape, bool)
    kept = colors_of(colors)
    return GroundMap(index_bytes(kept).reshape(seen.shape), 0, 0, 0.01), seen, kept


def leaf_index(ground_map, half):
    """Return the upper quartile of the index in the inner part of a half of the map."""
    return INDEX_LOW + INDEX_STEP * float(np.quantile(ground_map.values[:, half], 0.75))


LEFT, RIGHT = slice(0, 80), slice(120, 200)


def test_turf_in_hard_shadow_reads_as_in_the_sun():
    """The damping alone takes a fifth of the index; bluer light is left with less than a twelfth."""
    before, seen, colors = ground(shaded=True)
    after = in_own_light(before, seen, colors, damping=DAMPING)
    lit = leaf_index(before, RIGHT)
    assert leaf_index(before, LEFT) < 0.85 * lit
    assert abs(leaf_index(after, LEFT) - lit) < 0.08 * lit
    np.testing.assert_array_equal(after.values[:, RIGHT], before.values[:, RIGHT])
    assert ((before.values == UNREADABLE) == (after.values == UNREADABLE)).all()


def test_dark_soil_is_no_shade_and_a_lit_lawn_is_left_as_it_is():
    for shown in (ground(), ground(soil=True)):
        assert in_own_light(*shown, damping=DAMPING) is shown[0]

"""Photos of a square whose marks are bitten by the blades around them, drawn with the practice room's own parts."""

import numpy as np

from swardmark.practice.backdrop import draw_backdrop
from swardmark.practice.blades import Habit
from swardmark.practice.draw import _bounds, _develop, _in_view, _leaf_layer, _light_on
from swardmark.practice.lighting import light_up, shade_ground
from swardmark.practice.scene import Scene
from swardmark.practice.sward import Stand, sow, steady
from swardmark.practice.target import lay_square


def overgrown(scene: Scene, *, cover_pct: float, length_mm: float, seed: int = 0):
    """Draw blades over the square too: those rooted beside its sheets lean over them and stand before them."""
    camera, square = scene.camera, scene.square
    stand = Stand(steady(cover_pct), habit=Habit(length_mm=length_mm))
    blades = sow([stand], camera=camera, ground=scene.ground, seed=seed, patchiness=0.3).on_day(0)
    blades = blades.only(_in_view(blades, camera) & ~_under_sheets(blades.root, square))
    back = draw_backdrop(camera, scene.ground)
    lit = light_up(blades, scene.light, _bounds(back))
    picture = back.color * _light_on(back, lit)
    lay_square(
        picture,
        square,
        camera,
        shade_ground(back.x_m, back.y_m, lit, among_blades=np.zeros_like(back.is_sand)),
    )
    leaves = _leaf_layer(blades, lit, camera)
    picture = picture * (1 - leaves[..., 3:]) + leaves[..., :3]
    rgb = _develop(picture, back, scene.light, np.random.default_rng([seed, 5]))
    return rgb, camera.project(np.column_stack([square.corners_m, np.zeros(4)]))[0]


def _under_sheets(root, square):
    x, y = square.from_ground_xy(root[:, 0], root[:, 1])
    high, under = square.side_m - square.mark_m, np.zeros(len(root), bool)
    for x0, y0 in ((0.0, 0.0), (high, 0.0), (high, high), (0.0, high)):
        least, most = np.minimum(x - x0, y - y0), np.maximum(x - x0, y - y0)
        under |= (least > -square.margin_m) & (most < square.mark_m + square.margin_m)
    return under

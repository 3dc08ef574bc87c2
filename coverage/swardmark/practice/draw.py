"""One practice photo: backdrop, blades in painter's order, the square on top, then the camera's own doing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import coded_of
from swardmark.practice.backdrop import FENCE, SKY, Backdrop, draw_backdrop
from swardmark.practice.blades import Blades, as_strips
from swardmark.practice.lighting import Lit, light_up, shade_blades, shade_ground
from swardmark.practice.raster import paint_strips
from swardmark.practice.scene import Camera, Light, Scene
from swardmark.practice.target import lay_square

Floats = NDArray[np.floating]
Plane = NDArray[np.float32]
_FINE = 2
_LENS_SHARE = 0.5


@dataclass(frozen=True, eq=False)
class DrawnPhoto:
    """A drawn photo and what is known about it.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        Coded sRGB, red first.
    scene : Scene
        What was drawn.
    corners_px : ndarray, shape (4, 2), or None
        The square's corners 0 to 3 in the photo [px]; an integer is a pixel's center.
    homography : ndarray, shape (3, 3)
        From ground meters, in the frame of the lawn and not of a moved square, to pixels.
    """

    rgb: NDArray[np.uint8]
    scene: Scene
    corners_px: Floats | None
    homography: Floats


def draw_photo(blades: Blades, scene: Scene, *, seed: int = 0) -> DrawnPhoto:
    """Draw blades and scene as a photo.

    Parameters
    ----------
    blades : Blades
        What grows; no blade is drawn over the square's printed parts.
    scene : Scene
        Camera, square, light and ground.
    seed : int
        Seed of the sensor noise.
    """
    camera = scene.camera
    back = draw_backdrop(camera, scene.ground)
    blades = blades.only(_in_view(blades, camera))
    lit = light_up(blades, scene.light, _bounds(back))
    picture = back.color * _light_on(back, lit)
    leaves = _leaf_layer(blades, lit, camera)
    picture = picture * (1 - leaves[..., 3:]) + leaves[..., :3]
    lay_square(
        picture,
        scene.square,
        camera,
        shade_ground(back.x_m, back.y_m, lit, among_blades=np.zeros_like(back.is_sand)),
    )
    rgb = _develop(picture, back, scene.light, np.random.default_rng([seed, 5]))
    corners = None
    if scene.square.kind != "none":
        flat = np.column_stack([scene.square.corners_m, np.zeros(4)])
        corners = camera.project(flat)[0]
    return DrawnPhoto(rgb, scene, corners, camera.ground_homography)


def _in_view(blades: Blades, camera: Camera) -> NDArray[np.bool_]:
    """Return which blades may show or throw a shadow into the picture."""
    pixel, depth = camera.project(blades.root)
    margin, size = 0.04 * camera.size_px[0], np.array(camera.size_px)
    return ((pixel > -margin) & (pixel < size + margin)).all(axis=1) & (depth > 0.1)


def _bounds(back: Backdrop) -> tuple[float, float, float, float]:
    near = (back.kind != SKY) & (np.abs(back.x_m) < 8) & (back.y_m < 9)
    if not near.any():
        return 0.0, 0.0, 1.0, 1.0
    x, y = back.x_m[near], back.y_m[near]
    return float(x.min()) - 0.1, float(y.min()) - 0.1, float(x.max()) + 0.1, float(y.max()) + 0.1


def _light_on(back: Backdrop, lit: Lit) -> Plane:
    light = shade_ground(back.x_m, back.y_m, lit, among_blades=back.is_sand)
    upright = 0.5 * np.array(lit.light.sun, np.float32) + 0.8 * np.array(lit.light.sky, np.float32)
    light[back.kind == FENCE] = upright
    light[back.kind == SKY] = max(upright)
    return light


def _leaf_layer(blades: Blades, lit: Lit, camera: Camera) -> Plane:
    """Return the leaves' light and their share of each pixel, shape (H, W, 4)."""
    import cv2

    width, height = camera.size_px
    if not len(blades):
        return np.zeros((height, width, 4), np.float32)
    table = np.ones((2 * len(blades) + 1, 4), np.float32)
    table[0] = 0
    order, ids = _paint(blades, camera)
    table[1:, :3] = shade_blades(blades, lit, camera)[order]
    layer = np.empty((height, width, 4), np.float32)
    for top in range(0, height, 64):
        rows = table[ids[top * _FINE : (top + 64) * _FINE]]
        layer[top : top + 64] = cv2.resize(rows, (width, len(rows) // _FINE), interpolation=cv2.INTER_AREA)
    return layer


def _paint(blades: Blades, camera: Camera) -> tuple[NDArray[np.intp], NDArray[np.int32]]:
    """Paint all strips from far to near on a finer lattice; return their order and who is on top."""
    width, height = camera.size_px

    def project(points: Floats) -> Floats:
        return camera.project(points)[0] * _FINE + (_FINE - 1) / 2

    strips = as_strips(blades, project)
    place = np.array(camera.position_m, np.float32)
    far = np.concatenate([
        np.linalg.norm(0.5 * (a + b) - place, axis=1)
        for a, b in ((blades.root, blades.knee), (blades.knee, blades.tip))
    ])  # fmt: skip
    steps = (far / far.max() * 65535).astype(np.uint16)
    order = np.argsort(65535 - steps, kind="stable")
    ranked = strips.only(order)
    ids = paint_strips(
        ranked.start, ranked.end, ranked.half_start, ranked.half_end, size=(width * _FINE, height * _FINE)
    )
    return order, ids


def _develop(picture: Plane, back: Backdrop, light: Light, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Expose, blur, add noise and code: linear light to 8-bit sRGB.

    Blur in linear light (the lens) moves dark edges inward when the light is coded afterwards; blur of the
    coded picture (the phone's smoothing) does not. As mixed here, a mark's edges lie about 0.3 px inward.
    """
    width = picture.shape[1]
    white = np.array(light.sun) * max(float(light.to_sun[2]), 0.2) + np.array(light.sky)
    gains = (white.mean() / white) ** light.neutral_share * np.array(light.white_balance)
    picture = picture * gains.astype(np.float32)
    mean = float(picture[back.kind != SKY].mean()) if (back.kind != SKY).any() else 0.2
    exposed = picture * np.float32(0.20 / max(mean, 1e-6) * light.exposure)
    exposed = _blurred(exposed, _LENS_SHARE * light.blur_px * width / 1600)
    spread = np.sqrt(np.float32(1.2e-4) * exposed.clip(0) + np.float32(4e-6))
    grain = _blurred(rng.standard_normal(exposed.shape, np.float32), 0.6)
    exposed += grain * spread * np.float32(1.9 * light.noise)
    coded = coded_of(_shoulder(exposed))
    coded = _blurred(coded, np.sqrt(1 - _LENS_SHARE**2) * light.blur_px * width / 1600)
    return np.rint(coded).astype(np.uint8)


def _blurred(picture: Plane, spread: float) -> Plane:
    import cv2

    if spread < 0.1:
        return picture
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), spread), np.float32)


def _shoulder(light: Plane) -> Plane:
    """Bend highlights so that they reach white softly: straight up to 0.6, then toward 1."""
    over = np.maximum(light - np.float32(0.6), 0)
    return np.minimum(light, np.float32(0.6)) + np.float32(0.4) * (1 - np.exp(-over / np.float32(0.4)))

"""A phone's camera as it is: lens that bends, stabilizer that shifts the picture, shutter that rolls.

Ground frame in meters as in the whole practice lawn (x toward corner 1, y toward corner 3, z up). A ray (x, y, 1) in
the camera's frame falls on the pixel f d (x, y) + center + shift + roll t, with d = 1 + k1 r^2 + k2 r^4, r^2 = x^2 +
y^2, and t from -1/2 in the first row to 1/2 in the last. Written apart from the code that measures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.practice.scene import FRAME_DIAGONAL_MM

Floats = NDArray[np.floating]
_INVERSION_ROUNDS = 8


@dataclass(frozen=True)
class Phone:
    """The phone that takes all photos of a set.

    Attributes
    ----------
    size_px : tuple of int
        Width and height of the picture.
    focal35_mm : float
        What it says of its focal length, 35 mm equivalent.
    focal_px : float
        The focal length it really has, in pixels.
    off_center_px : tuple of float
        Where the optical axis meets the picture, from its middle.
    k1, k2 : float
        Radial distortion.
    """

    size_px: tuple[int, int]
    focal35_mm: float
    focal_px: float
    off_center_px: tuple[float, float] = (0.0, 0.0)
    k1: float = 0.0
    k2: float = 0.0


@dataclass(frozen=True, eq=False)
class View:
    """One photo: where the phone was held, and what its stabilizer and shutter did.

    Attributes
    ----------
    position_m : tuple of float
        x, y and height.
    rotation : ndarray, shape (3, 3)
        From the ground frame to the camera's (x right, y down, z forward).
    shift_px : tuple of float
        Shift of the picture by the stabilizer.
    roll_px : tuple of float
        How far the picture moves while its rows are read.
    """

    phone: Phone
    position_m: tuple[float, float, float]
    rotation: Floats
    shift_px: tuple[float, float] = (0.0, 0.0)
    roll_px: tuple[float, float] = (0.0, 0.0)

    @property
    def _origin_px(self) -> Floats:
        width, height = self.phone.size_px
        middle = np.array([(width - 1) / 2, (height - 1) / 2])
        return middle + self.phone.off_center_px + self.shift_px

    def project(self, points_m: Floats) -> Floats:
        """Return the pixels, shape (..., 2), of points, shape (..., 3), in meters."""
        seen = (np.asarray(points_m, float) - self.position_m) @ self.rotation.T
        x, y = seen[..., 0] / seen[..., 2], seen[..., 1] / seen[..., 2]
        square = x * x + y * y
        scale = self.phone.focal_px * (1 + self.phone.k1 * square + self.phone.k2 * square**2)
        u, v = scale * x + self._origin_px[0], scale * y + self._origin_px[1]
        height = self.phone.size_px[1]
        v = v + self.roll_px[1] * ((v + 0.5) / height - 0.5) / (1 - self.roll_px[1] / height)
        return np.stack([u + self.roll_px[0] * ((v + 0.5) / height - 0.5), v], axis=-1)

    def rays(self, pixels: Floats) -> Floats:
        """Return directions in the ground frame, shape (..., 3), of pixels, shape (..., 2)."""
        late = (pixels[..., 1:] + 0.5) / self.phone.size_px[1] - 0.5
        bent = (pixels - self._origin_px - late * np.array(self.roll_px)) / self.phone.focal_px
        straight = bent
        for _ in range(_INVERSION_ROUNDS):
            square = (straight**2).sum(axis=-1, keepdims=True)
            straight = bent / (1 + self.phone.k1 * square + self.phone.k2 * square**2)
        return np.concatenate([straight, np.ones_like(straight[..., :1])], axis=-1) @ self.rotation


def held_at(
    position_m: tuple[float, float, float], aim_m: tuple[float, float], *, roll_deg: float = 0.0
) -> Floats:
    """Return the turn, shape (3, 3), of a camera that looks from a position at a place on the ground."""
    forward = np.array([*aim_m, 0.0]) - position_m
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    roll = np.radians(roll_deg)
    turned = np.cos(roll) * right + np.sin(roll) * down
    return np.stack([turned, np.cross(forward, turned), forward])


def walk(
    rng: np.random.Generator,
    *,
    photos: int = 5,
    width_px: int = 2000,
    step_deg: float = 23.0,
    height_m: float = 1.6,
    distance_m: float = 1.6,
    aim_m: tuple[float, float] = (0.5, 0.5),
    start_deg: float | None = None,
    shift_px: float = 8.0,
    roll_px: float = 3.0,
) -> tuple[View, ...]:
    """Return the views of somebody who walks round the square on an arc and looks at its middle.

    Parameters
    ----------
    rng : numpy.random.Generator
        How unsteady hand, stabilizer and lens are.
    photos, width_px : int
        Photos, and the width of each.
    step_deg : float
        Angle between neighbors, seen from the square's middle.
    height_m, distance_m : float
        Height of the phone, and how far from the square's middle one stands.
    aim_m : tuple of float
        Where one looks.
    start_deg : float, optional
        Direction of the first photo from the middle, clockwise from -y; by default the arc's middle is there.
    shift_px, roll_px : float
        Spread of the stabilizer's shift and of the shutter's roll at 2000 px of width.
    """
    size = (width_px, width_px * 3 // 4)
    share = width_px / 2000
    told = 26.0
    focal = told * float(np.hypot(*size)) / FRAME_DIAGONAL_MM * float(rng.normal(1, 0.01))
    center = rng.normal(0, 6 * share, 2)
    phone = Phone(size, told, focal, (float(center[0]), float(center[1])),
                  float(rng.normal(0.02, 0.03)), float(rng.normal(-0.01, 0.008)))  # fmt: skip
    first = -step_deg * (photos - 1) / 2 if start_deg is None else start_deg
    views = []
    for n in range(photos):
        turn = np.radians(first + n * step_deg + rng.normal(0, 2))
        away = distance_m * float(rng.normal(1, 0.04))
        place = (
            aim_m[0] - away * np.sin(turn),
            aim_m[1] - away * np.cos(turn),
            height_m + rng.normal(0, 0.04),
        )
        aim = tuple(np.array(aim_m) + rng.normal(0, 0.06, 2))
        rotation = held_at(place, (aim[0], aim[1]), roll_deg=float(rng.normal(0, 2)))
        shift, roll = rng.normal(0, shift_px * share, 2), rng.normal(0, roll_px * share, 2)
        views.append(
            View(phone, place, rotation, (float(shift[0]), float(shift[1])), (float(roll[0]), float(roll[1])))
        )
    return tuple(views)

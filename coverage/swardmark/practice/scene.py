"""What stands in a practice photo: camera, reference square, light, ground and furniture.

Ground frame, in meters: origin at the square's corner 0, x toward corner 1, y toward corner 3 and away from
the camera, z up. Pixels: an integer is a pixel's center, x to the right, y down. The camera is an ideal
pinhole without distortion; its focal length is given as the 35 mm equivalent, by the picture's diagonal (a
36 x 24 mm frame's is 43.267 mm).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]
Color = tuple[float, float, float]

FRAME_DIAGONAL_MM = float(np.hypot(36.0, 24.0))
OPEN_LAWN_M = 9.0
"""How far from the camera blades are drawn where no fence ends the lawn; plain green from there on."""


@dataclass(frozen=True)
class Camera:
    """A pinhole camera held above the ground.

    Attributes
    ----------
    position_m : tuple of float
        x, y and height above the ground [m].
    pitch_deg : float
        How far the camera looks down from the horizontal [deg].
    yaw_deg, roll_deg : float
        Turn to the right about the vertical, and clockwise about the line of sight [deg].
    focal35_mm : float
        35 mm equivalent focal length by the diagonal [mm].
    size_px : tuple of int
        Width and height of the picture [px].
    """

    position_m: tuple[float, float, float] = (0.5, -1.1, 1.6)
    pitch_deg: float = 33.5
    yaw_deg: float = 0.0
    roll_deg: float = 0.0
    focal35_mm: float = 27.0
    size_px: tuple[int, int] = (1600, 1200)

    @property
    def focal_px(self) -> float:
        """Focal length [px]."""
        return self.focal35_mm / FRAME_DIAGONAL_MM * float(np.hypot(*self.size_px))

    @property
    def matrix(self) -> Floats:
        """The 3 x 3 camera matrix, principal point in the middle of the picture."""
        width, height = self.size_px
        return np.array(
            [[self.focal_px, 0, (width - 1) / 2], [0, self.focal_px, (height - 1) / 2], [0, 0, 1]],
            dtype=np.float64,
        )

    @property
    def rotation(self) -> Floats:
        """The 3 x 3 rotation from the ground frame to the camera's (x right, y down, z forward)."""
        pitch, yaw, roll = np.radians([self.pitch_deg, self.yaw_deg, self.roll_deg])
        forward = np.array([np.sin(yaw) * np.cos(pitch), np.cos(yaw) * np.cos(pitch), -np.sin(pitch)])
        right = np.array([np.cos(yaw), -np.sin(yaw), 0.0])
        down = np.cross(forward, right)
        turned = np.cos(roll) * right + np.sin(roll) * down
        return np.stack([turned, np.cross(forward, turned), forward])

    @property
    def ground_homography(self) -> Floats:
        """The 3 x 3 homography from ground meters (x, y) to pixels."""
        rotation = self.rotation
        shift = -rotation @ np.array(self.position_m)
        return self.matrix @ np.column_stack([rotation[:, 0], rotation[:, 1], shift])

    def project(self, points: Floats) -> tuple[Floats, Floats]:
        """Project points (N, 3) [m]; return pixels (N, 2) and the depth along the line of sight (N,) [m]."""
        kind = np.result_type(points.dtype, np.float32).type
        to_pixel = self.matrix @ self.rotation
        start = to_pixel @ np.array(self.position_m)
        x, y, z = points.T
        across, along, depth = (
            x * kind(row[0]) + y * kind(row[1]) + z * kind(row[2]) - kind(at)
            for row, at in zip(to_pixel, start, strict=True)
        )
        scale = 1 / np.maximum(depth, kind(1e-3))
        return np.column_stack([across * scale, along * scale]), depth

    def to_ground(self, pixels: Floats) -> Floats:
        """Return where on the ground (N, 2) [m] the pixels (N, 2) look."""
        seen = np.column_stack([pixels, np.ones(len(pixels))]) @ np.linalg.inv(self.ground_homography).T
        return seen[:, :2] / seen[:, 2:]

    def view_deg(self, points: Floats) -> Floats:
        """Return the angle from the vertical [deg] under which ground points (N, 2) [m] are seen."""
        away = np.hypot(points[:, 0] - self.position_m[0], points[:, 1] - self.position_m[1])
        return np.degrees(np.arctan2(away, self.position_m[2]))

    def shaken(self, rng: np.random.Generator, *, shift_m: float = 0.02, turn_deg: float = 0.7) -> Camera:
        """Return the camera moved and turned as by a hand: normal, cut off at twice the given spread."""
        moves = shift_m * rng.standard_normal(3).clip(-2, 2)
        turns = turn_deg * rng.standard_normal(3).clip(-2, 2)
        x, y, z = (float(value) for value in np.array(self.position_m) + moves)
        return replace(
            self,
            position_m=(x, y, z),
            pitch_deg=self.pitch_deg + float(turns[0]),
            yaw_deg=self.yaw_deg + float(turns[1]),
            roll_deg=self.roll_deg + float(turns[2]),
        )


@dataclass(frozen=True)
class Square:
    """The reference square on the ground: four printed corner marks, a plain light frame, or nothing.

    Each mark (ArUco, DICT_4X4_50, ids 0 to 3: near left, near right, far right, far left) lies inside the square,
    its outer black corner on the square's corner and its own top toward the far side.

    Attributes
    ----------
    kind : str
        "marks", "frame" (bars whose outer edge is the square) or "none".
    side_m : float
        Side of the square [m].
    shift_m, turn_deg : tuple of float, float
        Where the square was laid instead of at the origin: corner 0 [m], its turn counter-clockwise [deg].
    mark_m, margin_m, bar_m : float
        Side of a mark's black square, white margin around it, width of a frame's bars [m].
    """

    kind: Literal["marks", "frame", "none"] = "marks"
    side_m: float = 1.0
    shift_m: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    mark_m: float = 0.12
    margin_m: float = 0.02
    bar_m: float = 0.04

    @property
    def corners_m(self) -> Floats:
        """Corners 0 to 3 on the ground, shape (4, 2) [m]."""
        return self.to_ground(self.side_m * np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float64))

    def to_ground(self, local: Floats) -> Floats:
        """Turn points (N, 2) in the square's own frame into ground meters."""
        return local @ self._turn.T + self.shift_m

    def from_ground_xy(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Turn ground x and y [m], of any shape, into the square's own frame."""
        east, north = x - self.shift_m[0], y - self.shift_m[1]
        (cos, _), (sin, _) = self._turn
        return east * cos + north * sin, north * cos - east * sin

    @property
    def _turn(self) -> Floats:
        turn = np.radians(self.turn_deg)
        return np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])


@dataclass(frozen=True)
class Light:
    """Sun, sky, a hard shadow, and what the camera makes of it.

    Attributes
    ----------
    sun_azimuth_deg, sun_height_deg : float
        Where the sun stands: clockwise from +y, away from the camera, and above the horizon [deg].
    sun, sky : tuple of float
        Red, green and blue strength of sun and sky (linear; 1 lights a level white sheet fully).
    shadow : str
        "none", "tree" (a crown's outline with gaps) or "fence" (pickets).
    shadow_at_m : tuple of float
        Middle of the shadow on the ground [m].
    shadow_size_m : float
        Radius of the crown, or length of the pickets' shadow [m].
    exposure : float
        Factor on the automatic exposure.
    white_balance : tuple of float
        Red, green and blue gain that the camera adds to the preset's own (linear).
    neutral_share : float
        How much of the light's own color the camera's automatic white balance takes out, 0..1.
    noise : float
        Sensor noise, as a factor on a phone's in daylight.
    blur_px : float
        Spread of the lens blur at 1600 px width [px]; it scales with the width.
    """

    sun_azimuth_deg: float = -60.0
    sun_height_deg: float = 52.0
    sun: Color = (1.0, 0.96, 0.88)
    sky: Color = (0.17, 0.20, 0.25)
    shadow: Literal["none", "tree", "fence"] = "none"
    shadow_at_m: tuple[float, float] = (-0.9, 2.2)
    shadow_size_m: float = 1.1
    exposure: float = 1.0
    white_balance: Color = (1.0, 1.0, 1.0)
    neutral_share: float = 0.8
    noise: float = 1.0
    blur_px: float = 0.7

    @property
    def to_sun(self) -> Floats:
        """Unit vector toward the sun."""
        azimuth, height = np.radians([self.sun_azimuth_deg, self.sun_height_deg])
        return np.array([np.sin(azimuth) * np.cos(height), np.cos(azimuth) * np.cos(height), np.sin(height)])


SUN = Light()
OVERCAST = Light(sun=(0.10, 0.10, 0.10), sky=(0.50, 0.52, 0.55), sun_height_deg=60.0, noise=1.2)
SHADE = Light(sun=(0.0, 0.0, 0.0), sky=(0.19, 0.225, 0.29), noise=1.5)
DUSK = Light(sun=(0.07, 0.045, 0.02), sky=(0.05, 0.055, 0.075), sun_height_deg=14.0, noise=3.0, exposure=0.75)
LIGHTS: dict[str, Light] = {"sun": SUN, "overcast": OVERCAST, "shade": SHADE, "dusk": DUSK}


@dataclass(frozen=True)
class Ground:
    """How the ground between the blades looks, and what stands behind the lawn.

    Attributes
    ----------
    sand, soil : tuple of float
        Coded sRGB colors, 0..255.
    soil_share : float
        Share of the ground where soil shows through the sand, 0..1.
    wet : float
        0 dry to 1 soaked: darker sand.
    fence_y_m : float or None
        Distance of the board fence behind the lawn [m]; None for open lawn up to the horizon.
    path_x_m : tuple of float or None
        Left and right edge of the paved path along the lawn [m].
    seed : int
        Fixes texture and furniture, so that all photos of a lawn show the same ones.
    """

    sand: Color = (205.0, 186.0, 152.0)
    soil: Color = (108.0, 88.0, 66.0)
    soil_share: float = 0.12
    wet: float = 0.0
    fence_y_m: float | None = 5.2
    path_x_m: tuple[float, float] | None = (-2.7, -1.75)
    seed: int = 0


@dataclass(frozen=True)
class Scene:
    """Everything of one photo but the blades."""

    camera: Camera = field(default_factory=Camera)
    square: Square = field(default_factory=Square)
    light: Light = field(default_factory=Light)
    ground: Ground = field(default_factory=Ground)

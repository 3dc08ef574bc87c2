"""Scenes for the accuracy benchmark: a lawn of our own making per seed, drawn as one photo from a random stand point.

Every scene has a 1 m square with corner marks, a camera at 1.4 to 1.9 m pitched 25 to 60 degrees, blades of 10 to 40 mm
of random width, lean, tuftedness, color and age, sand with some soil in it, and up to seven square zones of all covers
on the measured ground. Families differ in light. The group "hard" adds what is harder to read: dark soil for sand, too
little and too much exposure, and lawns that are bare or full all over, each in all lights.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from swardmark.ground.plane import GroundPlane, pose_of
from swardmark.practice.blades import Blades, Habit
from swardmark.practice.draw import DrawnPhoto, draw_photo
from swardmark.practice.scene import DUSK, OVERCAST, SHADE, SUN, Camera, Ground, Light, Scene, Square
from swardmark.practice.sward import Course, Stand, sow
from swardmark.practice.truth import true_cover_pct

FAMILIES = ("sun", "overcast", "shade", "dusk", "hard shadow")
LIGHTS = {"sun": SUN, "overcast": OVERCAST, "shade": SHADE, "dusk": DUSK, "hard shadow": SUN}
SANDS = ((205, 186, 152), (196, 184, 164), (188, 158, 122), (214, 204, 184))
SOILS = ((112, 88, 64), (96, 80, 62), (120, 84, 60), (90, 80, 70))
HARD = ("dark soil", "under-exposed", "over-exposed", "bare", "full")
SEASON_START_PCT = 3.0
MOST_ZONES, MOST_VIEW_DEG, FARTHEST_M = 7, 74.0, 4.8


@dataclass(frozen=True, eq=False)
class Lawn:
    """One seed's lawn: its blades, where the camera stands, its light and ground, and the zones' outlines."""

    family: str
    blades: Blades
    scene: Scene
    zones: tuple[tuple[tuple[float, float], ...], ...]

    def draw(
        self,
        camera: Camera | None = None,
        square: Square | None = None,
        light: Light | None = None,
        seed: int = 0,
    ) -> DrawnPhoto:
        """Draw the lawn, on request from another place, with the square elsewhere, or in another light."""
        scene = replace(
            self.scene,
            camera=camera or self.scene.camera,
            square=square or self.scene.square,
            light=light or self.scene.light,
        )
        return draw_photo(self.blades, scene, seed=seed)

    def true_cover_pct(self) -> list[float]:
        """Return each zone's share of ground under living blades, seen straight down."""
        return [true_cover_pct(self.blades, zone) for zone in self.zones]


def grow_lawn(seed: int, *, width_px: int = 1600, hard: bool = False, day: float | None = None) -> Lawn:
    """Make the lawn of a seed; the family, in the hard group the kind and more slowly the light, go round with it.

    With a `day` it grows from nearly bare toward its covers, and is that of so many days after the sand.
    """
    rng = np.random.default_rng([seed, 77])
    kind = HARD[seed % len(HARD)] if hard else ""
    light = FAMILIES[(seed // len(HARD) if hard else seed) % len(FAMILIES)]
    camera = _camera(rng, width_px)
    ground = _ground(rng, seed)
    if kind == "dark soil":
        ground = replace(ground, soil_share=float(rng.uniform(0.75, 0.98)))
    habit = Habit(
        length_mm=float(rng.uniform(10, 40)),
        width_mm=float(rng.uniform(1.6, 3.5)),
        lean_deg=float(rng.uniform(30, 70)),
        dead_share=float(rng.uniform(0.02, 0.15)),
        green=float(rng.uniform(0.2, 0.8)),
    )
    zones = _zones(rng, camera, ground)
    covers = rng.permutation(np.linspace(2, 97, MOST_ZONES + 1))[: len(zones) + 1] + rng.uniform(
        -2, 2, len(zones) + 1
    )
    age = float(np.exp(rng.uniform(np.log(3), np.log(60))))
    if kind == "full":
        covers, age = rng.uniform(97, 99.8, len(zones) + 1), 60.0
    courses = [Course(start_pct=max(c, 1.0), ceiling_pct=max(c, 1.0), grown_days=age) for c in covers]
    if day is not None:
        courses = [Course(start_pct=min(SEASON_START_PCT, c), ceiling_pct=max(c, 1.0)) for c in covers]
    stands = [Stand(courses[-1], habit=habit)]
    stands += [
        Stand(course, outline_m=zone, habit=habit) for course, zone in zip(courses, zones, strict=False)
    ]
    sward = sow(
        stands,
        camera=replace(camera, focal35_mm=23.0),
        ground=ground,
        seed=seed,
        patchiness=rng.uniform(0.1, 0.9),
    )
    blades = sward.on_day(day or 0)
    if kind == "bare":
        blades = blades.only(np.zeros(len(blades), bool))
    scene = Scene(camera, Square(), _exposed(rng, _light(rng, light), kind), ground)
    return Lawn(kind or light, blades, scene, zones)


def as_on_visit(lawn: Lawn, seed: int, number: int) -> Lawn:
    """Return a lawn as on another visit: in another light, the camera held by hand near the same place."""
    rng = np.random.default_rng([seed, 79, number])
    camera, (x, y, z) = lawn.scene.camera, rng.normal(0, 0.03, 3)
    at = camera.position_m
    moved = replace(
        camera,
        position_m=(at[0] + x, at[1] + y, at[2] + z),
        pitch_deg=camera.pitch_deg + rng.normal(0, 0.7),
        yaw_deg=camera.yaw_deg + rng.normal(0, 0.7),
    )
    light = _light(rng, FAMILIES[(seed + number) % len(FAMILIES)])
    return replace(lawn, scene=replace(lawn.scene, camera=moved, light=light))


def _camera(rng: np.random.Generator, width_px: int) -> Camera:
    """Stand somewhere from which the whole square is in the picture, as any photo must show it."""
    while True:
        height, pitch = rng.uniform(1.4, 1.9), rng.uniform(25, 60)
        size = (width_px, width_px * 3 // 4)
        camera = Camera(
            (0.5 + rng.uniform(-0.3, 0.3), rng.uniform(-2.2, 0.2), height),
            pitch_deg=pitch,
            yaw_deg=rng.uniform(-8, 8),
            roll_deg=rng.uniform(-3, 3),
            size_px=size if rng.random() < 0.6 else size[::-1],
        )
        corners = 1.06 * (np.column_stack([Square().corners_m, np.zeros(4)]) - (0.5, 0.5, 0)) + (0.5, 0.5, 0)
        pixels, depth = camera.project(corners)
        rim = 0.02 * width_px
        if (depth > 0).all() and ((pixels > rim) & (pixels < np.array(camera.size_px) - rim)).all():
            return camera


def _ground(rng: np.random.Generator, seed: int) -> Ground:
    return Ground(
        sand=SANDS[rng.integers(len(SANDS))],
        soil=SOILS[rng.integers(len(SOILS))],
        soil_share=float(rng.choice([0.05, 0.15, 0.4])),
        wet=float(max(0, rng.uniform(-0.5, 0.8))),
        seed=seed,
        path_x_m=None if rng.random() < 0.5 else (-2.7, -1.75),
    )


def _light(rng: np.random.Generator, family: str) -> Light:
    base = LIGHTS[family]
    red, green, blue = (float(value) for value in rng.lognormal(0, 0.05, 3))
    return replace(
        base,
        sun_azimuth_deg=float(rng.uniform(-170, 170)),
        sun_height_deg=base.sun_height_deg if family == "dusk" else float(rng.uniform(30, 62)),
        white_balance=(red, green, blue),
        exposure=base.exposure * float(rng.lognormal(0, 0.12)),
        shadow=("tree", "fence")[rng.integers(2)] if family == "hard shadow" else "none",
        shadow_at_m=(float(rng.uniform(-1, 2)), float(rng.uniform(1, 2.4))),
        neutral_share=float(rng.uniform(0.5, 1)),
    )


def _exposed(rng: np.random.Generator, light: Light, kind: str) -> Light:
    """Open or close the camera by what the kind says, in steps of exposure (factors of two)."""
    steps = {"under-exposed": (-2.0, -0.5), "over-exposed": (0.3, 1.0)}.get(kind)
    return replace(light, exposure=light.exposure * float(2 ** rng.uniform(*steps))) if steps else light


def _zones(
    rng: np.random.Generator, camera: Camera, ground: Ground
) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Lay squares of 0.6 to 0.9 m where the camera sees the ground well, off the reference square and the path."""
    to_photo = camera.ground_homography
    plane = GroundPlane(to_photo, camera.size_px, pose_of(to_photo, camera.size_px, camera.focal_px))
    x0, y0, height = camera.position_m
    taken = [(np.array([0.0, 0.0]), np.array([1.0, 1.0]))]
    for _ in range(400):
        half = rng.uniform(0.3, 0.45)
        reach, turn = height * np.tan(np.radians(rng.uniform(0, MOST_VIEW_DEG))), rng.uniform(-0.7, 0.7)
        middle = np.array([x0 + reach * np.sin(turn), y0 + reach * np.cos(turn)])
        low, high = middle - half, middle + half
        free = all((high + 0.2 < a).any() or (low - 0.2 > b).any() for a, b in taken)
        on_path = ground.path_x_m is not None and low[0] < ground.path_x_m[1] + 0.05
        if free and not on_path and high[1] < FARTHEST_M and _is_seen(plane, low, high):
            taken.append((low, high))
        if len(taken) > MOST_ZONES:
            break
    return tuple(
        ((a[0], a[1]), (b[0], a[1]), (b[0], b[1]), (a[0], b[1])) for a, b in taken[1:]
    )  # fmt: skip


def _is_seen(plane: GroundPlane, low: np.ndarray, high: np.ndarray) -> bool:
    spots = np.stack(np.meshgrid(*np.linspace(low, high, 9).T), axis=-1)
    pixels = plane.pixels(spots)
    inside = ((pixels >= 2) & (pixels < np.array(plane.size) - 2)).all()
    return bool(inside and (plane.view_deg(spots) < 75).all() and (plane.footprint_mm(spots) < 15).all())

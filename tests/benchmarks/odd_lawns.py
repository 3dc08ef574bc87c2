"""Lawns with something odd in a photo: dew, clippings, wet sand, and things that lie there.

Lawns of four zones, each a photo point of six photos over 17 days in changing light, sand now dry, now damp. The odd
things are painted here, by code that shares nothing with what measures. A photo's blades and light are drawn once; what
is painted on it costs little.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from pathlib import Path

import cv2
import numpy as np
import photo_yards

from swardmark.practice import draw as practice
from swardmark.practice.backdrop import Backdrop, draw_backdrop
from swardmark.practice.blades import Blades, Habit
from swardmark.practice.files import save_photo
from swardmark.practice.lighting import light_up, shade_ground
from swardmark.practice.scene import OVERCAST, SHADE, SUN, Camera, Ground, Scene, Square
from swardmark.practice.sward import Course, Stand, Sward, sow, steady
from swardmark.practice.target import lay_square
from swardmark.practice.truth import true_cover_pct

SIZE = (720, 540)
FENCE_M = 3.0
"""No blade is drawn beyond; the farthest zone ends at 2.15 m."""
DAYS = (2, 5, 8, 11, 15, 19)
LEVELED = dt.date(2026, 6, 3)
CORNERS = {"near left": (-1.0, 0.3), "near right": (1.2, 0.3), "behind": (0.1, 1.2), "far left": (-0.95, 1.3)}
SIDE_M = 0.85


@dataclass(frozen=True, eq=False)
class Picture:
    """A photo in the making: light, where on the ground its pixels look, its leaf share, and the light of the open."""

    light: np.ndarray
    x_m: np.ndarray
    y_m: np.ndarray
    leaf: np.ndarray
    lawn: np.ndarray
    open_light: np.ndarray
    rng: np.random.Generator = field(default_factory=np.random.default_rng)


Paint = Callable[[Picture], None]


def dew(picture: Picture, *, part: bool = False) -> None:
    """A pale veil on the leaves, a little on the sand, in drifts; where `part`, on one side of the lawn only."""
    veil = picture.rng.uniform(0.05, 0.11) * np.clip(1 + 0.5 * _drifts(picture, 0.4), 0.3, 2)
    if part:
        edge = picture.rng.uniform(-0.3, 0.3)
        veil = veil * (picture.x_m < 0.5 + edge)
    veil = veil * picture.lawn * (0.15 + 0.85 * picture.leaf)
    picture.light[:] += veil[..., None] * picture.open_light


def soaked(picture: Picture, *, part: bool = False) -> None:
    """Water darkens sand to half its light, the blue most (twofold: Lobell and Asner 2002); where `part`, in places."""
    wet = np.ones(picture.lawn.shape) if not part else _drifts(picture, 0.5) > 0.2
    share = (wet * picture.lawn * (1 - picture.leaf))[..., None]
    picture.light[:] *= 1 - share * (1 - np.array([0.56, 0.50, 0.42]))


def person(picture: Picture) -> None:
    """Someone sitting on the lawn: shirt and trousers."""
    x, y = _place(picture)
    _thing(picture, x, y, (0.25, 0.33), (0.12, 0.02, 0.03))
    _thing(picture, x, y + 0.28, (0.3, 0.3), (0.02, 0.03, 0.1))


def dog(picture: Picture) -> None:
    """A brown dog lying on its side."""
    x, y = _place(picture)
    _thing(picture, x, y, (0.42, 0.17), (0.14, 0.07, 0.03))
    _thing(picture, x + 0.45, y + 0.05, (0.13, 0.11), (0.12, 0.06, 0.03))


def hose(picture: Picture) -> None:
    """A green hose, coiled."""
    x, y = _place(picture)
    off = np.hypot(picture.x_m - x, picture.y_m - y)
    on = (off < 0.36) & (off > 0.14) & (off % 0.03 < 0.024)
    shade = 1 + 0.5 * np.cos(2 * np.pi * (off % 0.03) / 0.03)
    picture.light[on] = (shade[..., None] * (0.02, 0.13, 0.03) * picture.open_light)[on]


def plastic(picture: Picture) -> None:
    """A blue sheet, left lying."""
    x, y = _place(picture)
    on = (np.abs(picture.x_m - x) < 0.4) & (np.abs(picture.y_m - y) < 0.35)
    folds = 1 + 0.3 * np.sin(31 * picture.x_m + 17 * picture.y_m)
    picture.light[on] = (folds[..., None] * (0.05, 0.15, 0.4) * picture.open_light)[on]


CASES: dict[str, tuple[Paint | None, tuple[int, ...]]] = {
    "dew": (dew, (4, 5)),
    "dew, a part": (lambda picture: dew(picture, part=True), (4, 5)),
    "clippings": (None, (1, 5)),
    "wet sand": (soaked, (1, 3)),
    "wet sand, places": (lambda picture: soaked(picture, part=True), (1, 3)),
    "person": (person, (3, 5)),
    "dog": (dog, (3, 5)),
    "hose": (hose, (1, 5)),
    "plastic": (plastic, (3, 5)),
}
"""What is painted, and into which photos of the series."""


@dataclass(frozen=True, eq=False)
class _Scenery:
    """A photo before anything odd is painted on it and before it is developed."""

    scene: Scene
    back: Backdrop
    picture: Picture
    truth: dict[str, float]


@dataclass(frozen=True, eq=False)
class OddLawn:
    """A lawn that grows in, and the looks of its photos."""

    seed: int
    textures: tuple[np.ndarray, np.ndarray] | None
    dead_share: float = 0.05
    _drawn: dict[int, _Scenery] = field(default_factory=dict)
    _home = Camera(size_px=SIZE, position_m=(0.5, -1.1, 1.65), pitch_deg=34)

    def photo(self, number: int, case: str = "") -> tuple[np.ndarray, Camera, dict[str, float]]:
        """Draw a photo of the series: the picture, its camera, and each zone's true cover in percent."""
        if case == "clippings":
            drawn = self._scenery(number, with_clippings=True)
        else:
            if number not in self._drawn:
                self._drawn[number] = self._scenery(number)
            drawn = self._drawn[number]
        seed, plain = [self.seed, number, 7], drawn.picture
        picture = replace(plain, light=plain.light.copy(), rng=np.random.default_rng(seed))
        paint = CASES[case][0] if case else None
        if paint is not None:
            paint(picture)
        camera = drawn.scene.camera
        lay_square(picture.light, drawn.scene.square, camera, picture.open_light)
        rng = np.random.default_rng([*seed, 5])
        return practice._develop(picture.light, drawn.back, drawn.scene.light, rng), camera, drawn.truth

    def leaf_share(self, number: int) -> np.ndarray:
        """Return how much of each pixel of a photo is leaf, 0..1, as drawn before."""
        return self._drawn[number].picture.leaf

    def _scenery(self, number: int, *, with_clippings: bool = False) -> _Scenery:
        rng = np.random.default_rng([self.seed, number])
        ground = Ground(**self._ground, wet=float(max(0, rng.uniform(-0.4, 0.4))))
        light = (SUN, OVERCAST, SUN, SHADE)[rng.integers(4)]
        light = replace(
            light, exposure=float(rng.lognormal(0, 0.1)), sun_azimuth_deg=float(rng.uniform(-75, -35))
        )
        scene = Scene(self._home.shaken(rng), Square(), light, ground)
        grown = self._sward.on_day(DAYS[number])
        truth = {name: true_cover_pct(grown, _outline(name)) for name in CORNERS}
        shown = _both(grown, self._clippings.on_day(0)) if with_clippings else grown
        back, picture = self._lit(shown, scene)
        return _Scenery(scene, back, picture, truth)

    @property
    def _ground(self) -> dict[str, float]:
        return {"seed": self.seed, "soil_share": 0.1, "fence_y_m": FENCE_M}

    @cached_property
    def _sward(self) -> Sward:
        rng = np.random.default_rng([self.seed, 99])
        pace = rng.uniform(7, 13)
        habit = Habit(
            length_mm=float(rng.uniform(18, 34)), dead_share=0.0 if self.textures else self.dead_share
        )

        def stand(factor: float, name: str = "") -> Stand:
            course = Course(rng.uniform(3, 15), rng.uniform(85, 96), pace * factor, rng.uniform(1.5, 2.1))
            return Stand(course, _outline(name) if name else (), habit)

        stands = [stand(1.0), *(stand(float(rng.uniform(0.8, 1.8)), name) for name in CORNERS)]
        ground = Ground(**self._ground)
        return sow(stands, camera=self._home, ground=ground, seed=self.seed)

    @cached_property
    def _clippings(self) -> Sward:
        """Clippings to strew among the blades: short, flat, on 15 % of the ground."""
        habit = Habit(length_mm=16, lean_deg=86, dead_share=0.1)
        ground = Ground(**self._ground)
        return sow([Stand(steady(15.0), habit=habit)], camera=self._home, ground=ground, seed=self.seed + 500)

    def _lit(self, blades: Blades, scene: Scene) -> tuple[Backdrop, Picture]:
        """Return the backdrop, and the light of the lawn in it."""
        camera = scene.camera
        back = draw_backdrop(camera, scene.ground)
        blades = blades.only(practice._in_view(blades, camera))
        lit = light_up(blades, scene.light, practice._bounds(back))
        is_lawn, color = back.is_sand.astype(bool), back.color.copy()
        open_light = shade_ground(back.x_m, back.y_m, lit, among_blades=np.zeros_like(back.is_sand))
        if self.textures is None:
            leaves = practice._leaf_layer(blades, lit, camera)
            light, leaf = color * practice._light_on(back, lit), leaves[..., 3]
            light = light * (1 - leaf[..., None]) + leaves[..., :3]
            return back, Picture(light, back.x_m, back.y_m, leaf, is_lawn, open_light)
        leaf = photo_yards._leaf_share(blades, camera)
        footprint_m = photo_yards._footprint_m(back.x_m, back.y_m)
        ground, turf = (photo_yards._shown(one, back.x_m, back.y_m, footprint_m) for one in self.textures)
        color[is_lawn] = ground[is_lawn] * (1 - 0.4 * scene.ground.wet)
        light = color * practice._light_on(back, lit)
        light = light + leaf[..., None] * (turf * open_light - light)
        return back, Picture(light, back.x_m, back.y_m, leaf, is_lawn, open_light)


def _outline(name: str) -> tuple[tuple[float, float], ...]:
    x, y = CORNERS[name]
    return ((x, y), (x + SIDE_M, y), (x + SIDE_M, y + SIDE_M), (x, y + SIDE_M))


def _both(grown: Blades, cut: Blades) -> Blades:
    return Blades(
        *(np.concatenate([getattr(grown, part.name), getattr(cut, part.name)]) for part in fields(Blades))
    )


def _drifts(picture: Picture, size_m: float) -> np.ndarray:
    """Return a smooth random field of the ground with a spread of 1."""
    rng = picture.rng
    field = np.zeros(picture.x_m.shape)
    for _ in range(6):
        angle, phase = rng.uniform(0, np.pi), rng.uniform(0, 2 * np.pi)
        wave = 2 * np.pi / (size_m * rng.uniform(1.5, 4))
        field += np.sin(wave * (picture.x_m * np.cos(angle) + picture.y_m * np.sin(angle)) + phase)
    return np.nan_to_num(field / np.sqrt(3), posinf=0, neginf=0)


def _place(picture: Picture) -> tuple[float, float]:
    """Choose a place in one of the zones."""
    x, y = list(CORNERS.values())[picture.rng.integers(len(CORNERS))]
    return float(x + picture.rng.uniform(0.3, 0.55)), float(y + picture.rng.uniform(0.3, 0.55))


def _thing(
    picture: Picture, x: float, y: float, half: tuple[float, float], color: tuple[float, float, float]
) -> None:
    off = ((picture.x_m - x) / half[0]) ** 2 + ((picture.y_m - y) / half[1]) ** 2
    rough = cv2.GaussianBlur(picture.rng.standard_normal(off.shape).astype(np.float32), (0, 0), 2)
    shade = (1.2 - 0.5 * off.clip(0, 1) + 0.8 * rough)[..., None].clip(0.3, 2)
    on = off < 1
    picture.light[on] = (shade * np.array(color) * picture.open_light)[on]


def write_lawn(lawn: OddLawn, folder: Path) -> list[dict[str, float]]:
    """Write the lawn's folder with its plain photos; returns the truth of each photo."""
    (folder / "photos").mkdir(parents=True)
    zones = "".join(
        f'[[zone]]\nname = "{name}"\noutline_m = {[list(xy) for xy in _outline(name)]}\n' for name in CORNERS
    )
    text = f'name = "odd"\n[[leveling]]\ndate = {LEVELED}\ndepth_mm = 6\n{zones}'
    (folder / "lawn.toml").write_text(text)
    truths = []
    for number in range(len(DAYS)):
        rgb, camera, truth = lawn.photo(number)
        save(folder, number, rgb, camera)
        truths.append(truth)
    return truths


def save(folder: Path, number: int, rgb: np.ndarray, camera: Camera) -> str:
    """Write a photo into the folder; returns its name."""
    day = LEVELED + dt.timedelta(days=DAYS[number])
    path = folder / "photos" / f"{day}.jpg"
    path.unlink(missing_ok=True)
    moment = dt.datetime.combine(day, dt.time(10))
    save_photo(path, rgb, taken_at=moment, focal35_mm=camera.focal35_mm)
    return path.name

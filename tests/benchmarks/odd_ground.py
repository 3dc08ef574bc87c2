"""Odd ground: how often it is noted, how often in vain, and what it does to the covers.

    python tests/benchmarks/odd_ground.py [--lawns 6] [--first 1] [--folder DIR]

Lawns of four zones, each a photo point of six photos over 17 days in changing light, sand now dry, now damp. Into one
photo of each comes something odd, once in the middle of the series and once in its newest photo: dew glare on the
whole lawn or on a part of it, clippings, sand soaked all over or in places, a person, a dog, a hose, a sheet of
plastic. With --folder every second lawn is painted with photographs of turf and ground (photo_yards.py says which; they
are kept there); without it all are drawn. The odd things are painted here, by code that shares nothing with what
measures.

A line per case: photos noted of those that are odd; covers' mean absolute error and the share inside their 95 %
interval, without what is done about odd ground and with it, in the zones that it touches by 3 points or more of raw
error against the same photo without it (all zones where it touches none). Last, the notes on photos where nothing is
odd.
"""

from __future__ import annotations

import argparse
import datetime as dt
import json
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from pathlib import Path
from unittest import mock

import cv2
import numpy as np
import photo_yards

from swardmark.measure.covers import measure_covers
from swardmark.practice import draw as practice
from swardmark.practice.backdrop import draw_backdrop
from swardmark.practice.blades import Blades, Habit
from swardmark.practice.files import save_photo
from swardmark.practice.lighting import light_up, shade_ground
from swardmark.practice.scene import OVERCAST, SHADE, SUN, Camera, Ground, Scene, Square
from swardmark.practice.sward import Course, Stand, sow, steady
from swardmark.practice.target import lay_square
from swardmark.practice.truth import true_cover_pct

SIZE = (800, 600)
DAYS = (2, 5, 8, 11, 15, 19)
LEVELED = dt.date(2026, 6, 3)
CORNERS = {"near left": (-1.0, 0.3), "near right": (1.2, 0.3), "behind": (0.1, 1.2), "far left": (-0.95, 1.3)}
SIDE_M = 0.85
TOUCHED = 3.0


@dataclass(frozen=True, eq=False)
class Picture:
    """A photo in the making: light, where on the ground its pixels look, its leaf share, and the light of the open."""

    light: np.ndarray
    x_m: np.ndarray
    y_m: np.ndarray
    leaf: np.ndarray
    lawn: np.ndarray
    open_light: np.ndarray
    rng: np.random.Generator


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
class OddLawn:
    """A lawn that grows in, and the looks of its photos."""

    seed: int
    textures: tuple[np.ndarray, np.ndarray] | None

    def photo(self, number: int, case: str = "") -> tuple[np.ndarray, Camera, dict[str, float]]:
        """Draw a photo of the series: the picture, its camera, and each zone's true cover in percent."""
        rng = np.random.default_rng([self.seed, number])
        home = Camera(size_px=SIZE, position_m=(0.5, -1.1, 1.65), pitch_deg=34)
        ground = Ground(seed=self.seed, soil_share=0.1, wet=float(max(0, rng.uniform(-0.4, 0.4))))
        light = (SUN, OVERCAST, SUN, SHADE)[rng.integers(4)]
        light = replace(
            light, exposure=float(rng.lognormal(0, 0.1)), sun_azimuth_deg=float(rng.uniform(-75, -35))
        )
        scene = Scene(home.shaken(rng), Square(), light, ground)
        grown = self._sward(home, ground).on_day(DAYS[number])
        truth = {name: true_cover_pct(grown, _outline(name)) for name in CORNERS}
        shown = _with_clippings(grown, scene, self.seed) if case == "clippings" else grown
        rgb = self._draw(shown, scene, CASES[case][0] if case else None, [self.seed, number, 7])
        return rgb, scene.camera, truth

    def _sward(self, camera: Camera, ground: Ground):
        rng = np.random.default_rng([self.seed, 99])
        pace = rng.uniform(7, 13)
        habit = Habit(length_mm=float(rng.uniform(18, 34)), dead_share=0.0 if self.textures else 0.05)

        def stand(factor: float, name: str = "") -> Stand:
            course = Course(rng.uniform(3, 15), rng.uniform(85, 96), pace * factor, rng.uniform(1.5, 2.1))
            return Stand(course, _outline(name) if name else (), habit)

        stands = [stand(1.0), *(stand(float(rng.uniform(0.8, 1.8)), name) for name in CORNERS)]
        return sow(stands, camera=camera, ground=ground, seed=self.seed)

    def _draw(self, blades: Blades, scene: Scene, paint: Paint | None, seed: list[int]) -> np.ndarray:
        camera = scene.camera
        back = draw_backdrop(camera, scene.ground)
        blades = blades.only(practice._in_view(blades, camera))
        lit = light_up(blades, scene.light, practice._bounds(back))
        is_lawn, color = back.is_sand.astype(bool), back.color.copy()
        leaf = photo_yards._leaf_share(blades, camera)
        open_light = shade_ground(back.x_m, back.y_m, lit, among_blades=np.zeros_like(back.is_sand))
        picture = Picture(color, back.x_m, back.y_m, leaf, is_lawn, open_light, np.random.default_rng(seed))
        if self.textures is None:
            picture = replace(picture, light=color * practice._light_on(back, lit))
            leaves = practice._leaf_layer(blades, lit, camera)
            picture.light[:] = picture.light * (1 - leaves[..., 3:]) + leaves[..., :3]
        else:
            footprint_m = photo_yards._footprint_m(back.x_m, back.y_m)
            ground, turf = (photo_yards._shown(one, back.x_m, back.y_m, footprint_m) for one in self.textures)
            color[is_lawn] = ground[is_lawn] * (1 - 0.4 * scene.ground.wet)
            picture = replace(picture, light=color * practice._light_on(back, lit))
            picture.light[:] += leaf[..., None] * (turf * open_light - picture.light)
        if paint is not None:
            paint(picture)
        lay_square(picture.light, scene.square, camera, open_light)
        return practice._develop(picture.light, back, scene.light, np.random.default_rng([*seed, 5]))


def _outline(name: str) -> tuple[tuple[float, float], ...]:
    x, y = CORNERS[name]
    return ((x, y), (x + SIDE_M, y), (x + SIDE_M, y + SIDE_M), (x, y + SIDE_M))


def _with_clippings(grown: Blades, scene: Scene, seed: int) -> Blades:
    """Return the blades with clippings strewn among them: short, flat, on 15 % of the ground."""
    habit = Habit(length_mm=16, lean_deg=86, dead_share=0.1)
    sward = sow([Stand(steady(15.0), habit=habit)], camera=scene.camera, ground=scene.ground, seed=seed + 500)
    cut = sward.on_day(0)
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


def measured(folder: Path, photo: str, *, plainly: bool = False):
    """Return the covers of a photo by zone, and the names of the photos that are noted as odd."""
    off = mock.patch("swardmark.measure.zonal.unpacked_odd", lambda kept, _: [() for _ in json.loads(kept)])
    with off if plainly else mock.MagicMock():
        covers = measure_covers(folder)
    own = {row.zone: row.cover for row in covers.covers if row.photo == photo}
    noted = {one.photo: one.sentence for point in covers.points for one in point.noted}
    return own, noted


def main() -> None:
    """Draw, measure, print."""
    cv2.setNumThreads(1)
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--lawns", type=int, default=6)
    options.add_argument("--first", type=int, default=1, help="seed of the first lawn")
    options.add_argument("--folder", type=Path, help="where the packages with photographs are kept")
    options.add_argument("--cases", nargs="*", default=list(CASES))
    options.add_argument("--verbose", action="store_true")
    chosen = options.parse_args()
    known = photo_yards.photographs(chosen.folder, "checked on") if chosen.folder else None
    rows: dict[str, list[tuple]] = {case: [] for case in chosen.cases}
    plain_photos, false_plain, false_beside = 0, 0, 0
    for seed in range(chosen.first, chosen.first + chosen.lawns):
        rng, textures = np.random.default_rng([seed, 3]), None
        if known is not None and seed % 2:
            textures = tuple(pool[rng.integers(len(pool))] for pool in (known.grounds, known.turfs))
        lawn = OddLawn(seed, textures)
        with tempfile.TemporaryDirectory() as spare:
            home = Path(spare) / "plain"
            truths = write_lawn(lawn, home)
            noted = measured(home, "")[1]
            plain_photos, false_plain = plain_photos + len(DAYS), false_plain + len(noted)
            if chosen.verbose and noted:
                print(seed, "plain", noted, flush=True)
            for case, number in ((c, n) for c in chosen.cases for n in CASES[c][1]):
                folder = Path(shutil.copytree(home, Path(spare) / f"{case} {number}"))
                rgb, camera, _ = lawn.photo(number, case)
                name = f"{LEVELED + dt.timedelta(days=DAYS[number])}.jpg"
                usual, _ = measured(home, name, plainly=True)
                save(folder, number, rgb, camera)
                raw, _ = measured(folder, name, plainly=True)
                mended, noted = measured(folder, name)
                beside = set(noted) - {name}
                false_beside += len(beside)
                touched = [
                    zone for zone in CORNERS if abs(raw[zone].cover_pct - usual[zone].cover_pct) >= TOUCHED
                ]
                rows[case].append(
                    (name in noted, number == len(DAYS) - 1, truths[number], raw, mended, touched)
                )
                if chosen.verbose:
                    told = {
                        z: f"{truths[number][z]:.0f} usual {usual[z].cover_pct:.0f} raw {raw[z].cover_pct:.0f}"
                        f" -> {mended[z].cover_pct:.0f} [{mended[z].low_pct:.0f}, {mended[z].high_pct:.0f}]"
                        for z in CORNERS
                    }
                    print(
                        seed,
                        case,
                        number,
                        noted.get(name, "NOT NOTED"),
                        told,
                        "beside:",
                        beside or "",
                        flush=True,
                    )
    tell(rows, plain_photos, false_plain, false_beside)


def tell(rows: dict[str, list[tuple]], plain_photos: int, false_plain: int, false_beside: int) -> None:
    """Print the table."""
    print(f"{'case':18s} {'noted':>9s} {'newest':>9s}  error before, after   inside before, after")
    true = 0
    for case, found in rows.items():
        old, new = ([row[0] for row in found if row[1] == newest] for newest in (False, True))
        true += sum(old) + sum(new)
        errors, inside = ([], []), ([], [])
        for _, _, truth, *covers, touched in found:
            for zone in touched or CORNERS:
                for at, cover in enumerate(covers):
                    errors[at].append(abs(cover[zone].cover_pct - truth[zone]))
                    inside[at].append(cover[zone].low_pct <= truth[zone] <= cover[zone].high_pct)
        before, after = (np.mean(one) for one in errors)
        held = [f"{np.mean(one):.0%}" for one in inside]
        print(
            f"{case:18s} {sum(old):3d} of {len(old):2d} {sum(new):3d} of {len(new):2d}"
            f"  {before:8.1f} {after:8.1f}   {held[0]:>8s} {held[1]:>8s}"
        )
    print(
        f"notes that are true {true}; in vain {false_plain} on {plain_photos} plain photos,"
        f" {false_beside} beside odd ones"
    )


if __name__ == "__main__":
    main()

"""Tern Cottage: an invented zoysiagrass lawn, drawn through the weeks after it was leveled with sand.

Three zones come back in three ways: the open middle fills in, the zone under the tree is slow, and the old
dip, buried too deep, stalls. Photos, lawn.toml and the true cover go into a lawn folder like any keeper's.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from swardmark.common.errors import UsageError, check_path
from swardmark.practice.draw import draw_photo
from swardmark.practice.files import save_photo
from swardmark.practice.heights import DAYS_AFTER, heights_files
from swardmark.practice.scene import OVERCAST, SUN, Camera, Ground, Light, Scene, Square
from swardmark.practice.sward import Course, Stand, sow
from swardmark.practice.truth import true_cover_pct

NAME = "Tern Cottage"
LEVELED = dt.date(2026, 6, 3)
DAYS = (0, 3, 6, 9, 12, 16, 21, 28)
Disc = tuple[float, float, float]

FILLS = Course(start_pct=14, ceiling_pct=96, half_day=11.2, power=1.9)
SLOW = Course(start_pct=12, ceiling_pct=94, half_day=23.0, power=1.7)
STALLS = Course(start_pct=11, ceiling_pct=31, half_day=8.0, power=1.3)
ZONES: dict[str, Stand] = {
    "open middle": Stand(FILLS, ((-0.10, 1.20), (1.10, 1.20), (1.10, 2.15), (-0.10, 2.15))),
    "under the tree": Stand(SLOW, ((-0.20, 0.40), (-0.20, 1.80), (-1.15, 1.80), (-0.62, 0.40))),
    "old dip": Stand(STALLS, ((1.20, 0.40), (1.62, 0.40), (2.15, 1.80), (1.20, 1.80))),
}
REST = Stand(Course(start_pct=15, ceiling_pct=96, half_day=11.5, power=1.8))


@dataclass(frozen=True)
class Season:
    """One leveling, the days of its photos, and round places where nothing comes through.

    Attributes
    ----------
    leveled : date
        Day of the sand.
    days : tuple of int
        Days after it, one photo each.
    discs : tuple of tuple
        x, y and diameter [m] of bare discs.
    """

    leveled: dt.date = LEVELED
    days: tuple[int, ...] = DAYS
    discs: tuple[Disc, ...] = ()


@dataclass(frozen=True, eq=False)
class PracticePhoto:
    """What is known about one photo of a drawn lawn.

    Attributes
    ----------
    name : str
        File name in photos/.
    day : int
        Days since the leveling.
    taken_at : datetime
        As in the photo's EXIF.
    scene : Scene
        Camera, square and light of the photo.
    corners_px : ndarray, shape (4, 2), or None
        The square's corners in the photo [px].
    true_cover_pct : dict
        Zone name -> cover seen straight down [%].
    """

    name: str
    day: int
    taken_at: dt.datetime
    scene: Scene
    corners_px: NDArray[np.floating] | None
    true_cover_pct: dict[str, float]


def draw_practice_lawn(
    folder: Path | str,
    *,
    days: Sequence[int] = DAYS,
    seed: int = 1,
    discs: Sequence[Disc] = (),
    seasons: Sequence[Season] | None = None,
    camera: Camera | None = None,
    square: Square | None = None,
    lights: Sequence[Light] | None = None,
    shift_m: float = 0.02,
    turn_deg: float = 0.7,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[PracticePhoto, ...]:
    """Draw the practice lawn into a new folder: photos/, lawn.toml, heights.csv, their truth, and README.md.

    Parameters
    ----------
    folder : Path or str
        New or empty folder.
    days : sequence of int
        Days after the leveling of 2026-06-03, one photo each; not used where `seasons` is given.
    seed : int
        Same seed, same lawn; on the same library versions, byte for byte.
    discs : sequence of tuple
        x, y and diameter [m] of bare discs; not used where `seasons` is given.
    seasons : sequence of Season, optional
        Several levelings of the same lawn.
    camera, square : Camera, Square, optional
        Where the photos are taken from, and the reference square.
    lights : sequence of Light, optional
        Light of each photo in turn; otherwise sun and cloud as they come, the tree's shadow moving.
    shift_m, turn_deg : float
        Spread of the camera's shift and turn between photos [m, deg]; at most twice that occurs.
    progress : callable, optional
        Called with photos done and photos in all.

    Returns
    -------
    tuple of PracticePhoto
        What is known about each photo, in order.

    Raises
    ------
    UsageError
        The folder holds something already, or the days are not usable.
    """
    check_path(folder, name="folder", where="draw_practice_lawn")
    seasons = tuple(seasons) if seasons is not None else (Season(LEVELED, tuple(days), tuple(discs)),)
    _check(Path(folder), seasons, seed)
    camera, square = camera or Camera(), square or Square()
    ground = Ground(seed=seed)
    photos_dir = Path(folder) / "photos"
    photos_dir.mkdir(parents=True, exist_ok=True)
    total = sum(len(season.days) for season in seasons)
    done: list[PracticePhoto] = []
    for number, season in enumerate(seasons):
        stands = [REST, *ZONES.values()]
        sward = sow(stands, camera=camera, ground=ground, seed=seed + 1000 * number, discs=season.discs)
        for day in sorted(season.days):
            rng = np.random.default_rng([seed, number, day])
            light = lights[len(done) % len(lights)] if lights else _light_of_the_day(rng)
            held = camera.shaken(rng, shift_m=shift_m, turn_deg=turn_deg)
            scene = Scene(held, square, light, replace(ground, wet=_wetness(rng)))
            blades = sward.on_day(day)
            drawn = draw_photo(blades, scene, seed=int(rng.integers(2**31)))
            date = season.leveled + dt.timedelta(days=int(day))
            taken_at = dt.datetime.combine(date, dt.time(10, int(rng.integers(60)), int(rng.integers(60))))
            name = f"{date.isoformat()}.jpg"
            save_photo(photos_dir / name, drawn.rgb, taken_at=taken_at, focal35_mm=held.focal35_mm)
            cover = {zone: true_cover_pct(blades, stand.outline_m) for zone, stand in ZONES.items()}
            done.append(PracticePhoto(name, int(day), taken_at, scene, drawn.corners_px, cover))
            if progress is not None:
                progress(len(done), total)
    _write_texts(Path(folder), seasons, square, done, heights_files(seasons[-1].leveled, seed=seed))
    return tuple(done)


def _check(folder: Path, seasons: Sequence[Season], seed: int) -> None:
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        remedy = "Give a new folder's name; a practice lawn never mixes with a keeper's files"
        raise UsageError("this folder is not empty", where=str(folder), remedy=remedy)
    if seed < 0:
        raise UsageError(f"the seed is {seed}", where="--seed", remedy="Give a whole number from 0 up")
    dates = [season.leveled + dt.timedelta(days=int(day)) for season in seasons for day in season.days]
    if not dates:
        raise UsageError("no days to draw", where="--days", remedy="Give days after the sand, like 0,3,6,9")
    if any(not 0 <= day <= 140 for season in seasons for day in season.days):
        remedy = "Give days after the sand, like 0,3,6,9"
        raise UsageError("a day lies outside 0 to 140", where="--days", remedy=remedy)
    if len(set(dates)) < len(dates):
        raise UsageError("a day is given twice", where="--days", remedy="Give each day once")


def _light_of_the_day(rng: np.random.Generator) -> Light:
    """Choose sun (three days in four) or cloud, where the tree's shadow lies, and the camera's gains."""
    sunny = rng.random() < 0.75
    base = SUN if sunny else OVERCAST
    red, green, blue = (float(value) for value in rng.lognormal(0, 0.03, 3))
    at = np.array([-0.95, 2.15]) + rng.uniform(-0.4, 0.4, 2)
    return replace(
        base,
        sun_azimuth_deg=float(rng.uniform(-75, -35)),
        sun_height_deg=float(rng.uniform(45, 62)),
        shadow="tree",
        shadow_at_m=(float(at[0]), float(at[1])),
        shadow_size_m=1.1,
        exposure=float(rng.lognormal(0, 0.10)),
        white_balance=(red, green, blue),
    )


def _wetness(rng: np.random.Generator) -> float:
    return float(max(0.0, rng.uniform(-0.4, 0.5)))


def _write_texts(
    folder: Path,
    seasons: Sequence[Season],
    square: Square,
    done: Sequence[PracticePhoto],
    heights: Mapping[str, str],
) -> None:
    table = io.StringIO(newline="")
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(["photo", "zone", "true_cover_pct"])
    for photo in done:
        for zone, cover in photo.true_cover_pct.items():
            writer.writerow([photo.name, zone, f"{cover:.2f}"])
    for name, text in (
        ("lawn.toml", _lawn_toml(seasons, square)), ("truth.csv", table.getvalue()), ("README.md", _README),
        *heights.items(),
    ):  # fmt: skip
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


def _lawn_toml(seasons: Sequence[Season], square: Square) -> str:
    parts = [_TOML_HEAD.format(name=NAME, side=square.side_m)]
    for season in seasons:
        parts.append(f"[[leveling]]\ndate = {season.leveled.isoformat()}\ndepth_mm = 6\n")
    parts.append(_TOML_ZONES)
    for zone, stand in ZONES.items():
        corners = ", ".join(f"[{x:.2f}, {y:.2f}]" for x, y in stand.outline_m)
        parts.append(f'[[zone]]\nname = "{zone}"\noutline_m = [{corners}]\n')
    parts.append(_TOML_MOWING)
    parts.append(_TOML_PROBE.format(date=seasons[-1].leveled + dt.timedelta(days=DAYS_AFTER)))
    return "\n".join(parts)


_TOML_HEAD = """\
# {name}: a drawn practice lawn. Lengths on the ground are meters, heights and depths millimeters.
name = "{name} (drawn)"
grass = "zoysiagrass"
units = "metric"
square_side_m = {side:g}      # outer edge to outer edge of the reference square

# The day of the sand, and how deep it was spread on average.
"""
_TOML_ZONES = """\
# Parts of the lawn that are followed one by one: corners as [x, y] in meters from the square's corner mark 0,
# x toward mark 1, y away from the camera toward mark 3.
"""
_TOML_MOWING = """\
# Heights of cut: what the lawn is usually kept at, the target of the first cut, and the cut before the sand.
[mowing]
usual_height_mm = 25
target_height_mm = 20
scalp_height_mm = 12
"""
_TOML_PROBE = """\
# What the keeper found in the old dip: level under the straightedge, and the sand thick over the crowns.
[[probe]]
date = {date}
x_m = 1.6
y_m = 1.1
ground = "level"
sand_mm = 34
"""
_README = """\
# Tern Cottage: a drawn lawn

Nothing here was photographed. Every picture in photos/ was drawn by `swardmark practice`: an invented
zoysiagrass lawn, leveled with sand, seen from one place. No such cottage, lawn or keeper exists.

- photos/ are the drawn photos, with date and focal length as a phone would write them.
- lawn.toml is what a keeper would write: the square's side, the day of the sand, three zones.
- truth.csv is the true cover of each zone in percent: the same blades drawn straight down and counted,
  without any of the code that measures photos. Only living blades count.
- heights.csv is the ground by string, read five days before the sand and 28 days after it, each reading with an
  error of 2 mm; heights_truth.csv is the same ground everywhere, without error (the photos do not show it).

Nine tenths of the ground fill in. One tenth does not: the place under the tree is slow in its shade, and the small old
dip was buried too deep and stalls. It is level: what is still low lies in green turf, beyond the open middle.
"""

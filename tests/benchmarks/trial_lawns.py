"""Seasons of invented trial plots, without photos: covers as if measured, everything after them as it is.

Each plot recovers along a logistic whose half-way day depends on its treatment and block and on chance.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from swardmark.canopy.cover import UNSEEN, Cover
from swardmark.canopy.scale import LeafScale
from swardmark.lawn.toml import parse_lawn
from swardmark.measure.covers import LawnCovers
from swardmark.measure.points import PointReview, ZoneCover
from swardmark.season import Season, season_of

ZERO = dt.date(2026, 6, 3)
SCALE = LeafScale(0.1, 0.08, 0.12, "photos", 0.0, 0.2, 0.5)


def lawn_text(
    treatments: Sequence[Sequence[str]], *, points: Sequence[str] = ("main",), more: str = ""
) -> str:
    """Return a lawn.toml with one grid of plots at each photo point."""
    head = f'name = "invented plots"\ngrass = "zoysiagrass"\n[[leveling]]\ndate = {ZERO}\ndepth_mm = 6\n'
    grid = (
        f"rows = {len(treatments)}\ncolumns = {len(treatments[0])}\nsize_m = [1.0, 0.5]\ngap_m = 0.1\n"
        f"origin = [-2.0, 1.5]\ntreatments = {[list(row) for row in treatments]!r}\n"
    )
    grids = "".join(f'[[plots]]\npoint = "{point}"\n{grid}' for point in points)
    return head + grids + more


def season_of_plots(
    folder: Path,
    text: str,
    days: Sequence[int],
    cover_of: Callable[[str, str, int], tuple[float, float] | None],
) -> Season:
    """Return the season of plots whose covers are given.

    Parameters
    ----------
    folder : Path
        Where lawn.toml is written.
    text : str
        What it says.
    days : sequence of int
        Days of the photos since the leveling.
    cover_of : callable
        Point, zone and day to cover and its standard deviation [%]; None where it was not seen.
    """
    (folder / "lawn.toml").write_text(text, encoding="utf-8")
    lawn = parse_lawn(text, folder=folder)
    names = sorted({zone.point for zone in lawn.zone})
    points = tuple(PointReview(name, 1.0, (), (), SCALE, lawn.zones_of(name), False) for name in names)
    covers = [
        ZoneCover(
            dt.datetime.combine(ZERO + dt.timedelta(days=day), dt.time(10)),
            f"{zone.point}-{day}.jpg",
            zone.point,
            zone.name,
            day,
            _cover(cover_of(zone.point, zone.name, day)),
            SCALE.value,
        )
        for day in days
        for zone in lawn.zone
    ]
    measured = LawnCovers(
        lawn=lawn,
        as_of=ZERO + dt.timedelta(days=max(days)),
        points=points,
        covers=tuple(covers),
        refused=(),
        duplicates=(),
    )
    return season_of(measured)


def recovering(
    treatments: Sequence[Sequence[str]],
    half_way: dict[str, float],
    *,
    seed: int = 1,
    spread_days: float = 1.0,
) -> Callable[[str, str, int], tuple[float, float]]:
    """Return covers of plots that recover, each row of the grid a block of its own pace."""
    rng = np.random.default_rng(seed)
    middle = {}
    for row, line in enumerate(treatments):
        block = rng.normal(0, 2.0)
        for column, treatment in enumerate(line):
            middle[f"plot {row + 1}{column + 1:02d}"] = (
                half_way[treatment] + block + rng.normal(0, spread_days)
            )

    def cover(point: str, zone: str, day: int) -> tuple[float, float]:
        return float(98 / (1 + np.exp(-(day - middle[zone]) / 5))), 2.0

    return cover


def _cover(seen: tuple[float, float] | None) -> Cover:
    if seen is None:
        return UNSEEN
    value, sd = seen
    low, high = max(0.0, value - 1.96 * sd), min(100.0, value + 1.96 * sd)
    return Cover(value, low, high, value, 100.0, 40.0, 0.5, 5000)

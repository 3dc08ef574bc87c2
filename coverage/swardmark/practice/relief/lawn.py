"""Tern Cottage on the day of the sand: five photos of the dragged lawn, with known heights."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np

from swardmark.common.errors import UsageError
from swardmark.practice.fields import Raster
from swardmark.practice.files import save_photo
from swardmark.practice.relief.draw import Sand, draw_relief, square_boards
from swardmark.practice.relief.ground import Dip, dragged_sand
from swardmark.practice.relief.phone import walk

DAY = dt.datetime(2026, 6, 3, 16, 5, 0)
SECONDS_BETWEEN = 9
DIPS = (
    Dip(0.62, 0.45, 0.46, 0.62, 35.0, 15.0),
    Dip(-0.35, 1.20, 0.42, 0.52, 110.0, 21.0),
    Dip(1.45, 0.05, 0.50, 0.60, 60.0, -11.0),
)
QUALITY = 88
TABLE_STEP_M = 0.1


def draw_relief_lawn(
    folder: Path | str,
    *,
    photos: int = 5,
    width_px: int = 2000,
    seed: int = 1,
    quality: int = QUALITY,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Path, ...]:
    """Draw a lawn folder with one set of relief photos, lawn.toml, heights_truth.csv and README.md.

    Parameters
    ----------
    folder : Path or str
        New or empty folder.
    photos, width_px : int
        How many photos, and the width of each in pixels.
    seed : int
        Same seed, same lawn.
    quality : int
        Of the JPEG files.
    progress : callable, optional
        Called with photos done and photos in all.

    Raises
    ------
    UsageError
        The folder holds something already.
    """
    folder = Path(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        remedy = "Give a new folder's name; a practice lawn never mixes with a keeper's files"
        raise UsageError("this folder is not empty", where=str(folder), remedy=remedy)
    where = folder / "photos" / "relief"
    where.mkdir(parents=True)
    rng = np.random.default_rng([seed, 41])
    heights = dragged_sand(rng, dips=DIPS, prints=3)
    sand = Sand(heights, seed=seed, boards=square_boards())
    written = []
    for n, view in enumerate(walk(rng, photos=photos, width_px=width_px)):
        path = where / f"sand-{n + 1}.jpg"
        picture = draw_relief(view, sand, seed=100 * seed + n)
        when = DAY + dt.timedelta(seconds=SECONDS_BETWEEN * n)
        save_photo(path, picture, taken_at=when, focal35_mm=view.phone.focal35_mm, quality=quality)
        written.append(path)
        if progress is not None:
            progress(n + 1, photos)
    for name, text in (
        ("lawn.toml", _TOML), ("heights_truth.csv", _table(heights)), ("README.md", _README)
    ):  # fmt: skip
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return tuple(written)


def _table(heights: Raster) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["x_m", "y_m", "height_mm"])
    at = np.arange(-1.5, 2.5 + TABLE_STEP_M / 2, TABLE_STEP_M)
    x, y = np.meshgrid(at, at)
    z = heights.smooth_at(x, y)
    for row in zip(x.ravel(), y.ravel(), z.ravel(), strict=True):
        writer.writerow([f"{row[0]:.2f}", f"{row[1]:.2f}", f"{row[2]:.2f}"])
    return text.getvalue()


_TOML = """\
# Tern Cottage on the day of the sand: a drawn practice lawn. Lengths on the ground are meters, heights millimeters.
name = "Tern Cottage, day of the sand (drawn)"
grass = "zoysiagrass"
units = "metric"
square_side_m = 1

[[leveling]]
date = 2026-06-03
depth_mm = 6
"""
_README = """\
# Tern Cottage on the day of the sand: a drawn lawn

Nothing here was photographed. The five pictures in photos/relief/ were drawn by `swardmark practice --relief`: dragged
sand with two dips and a rise, seen by a phone with a lens that bends, a stabilizer that shifts and a shutter that
rolls. No such cottage, lawn or keeper exists.

- photos/relief/ is one set of photos, taken from an arc around the marked square within a minute.
- heights_truth.csv has the drawn heights every 0.1 m, in millimeters, with the ground's fall and crown. Photos do not
  show these two: take a quadratic off before you compare.

Measure it with `swardmark level DIR`.
"""

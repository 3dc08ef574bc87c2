"""The practice lawn's ground: a field of heights that is known everywhere, and what a keeper reads of it by string.

Heights are millimeters above the ground at corner mark 0. The lawn falls away from the camera, where the house stands.
Before the sand there are two hollows, the old dip and a shallow one in the open middle, and a low mound of roots under
the tree. The sand filled the old dip to the brim and the other by half: what stays bare on the photos is level, and
what is green is still low.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]

FALL_PERCENT = 1.5
"""Away from the camera."""
READ_EVERY_M, TRUTH_EVERY_M, READING_SD_MM = 0.5, 0.1, 2.0
WEST_M, EAST_M, NEAR_M, FAR_M = -1.5, 3.0, -0.5, 4.0
DAYS_BEFORE, DAYS_AFTER = 5, 28


@dataclass(frozen=True)
class Bowl:
    """A round hollow (or mound, with a negative depth) in the shape of a paraboloid."""

    x_m: float
    y_m: float
    width_m: float
    before_mm: float
    after_mm: float

    def depth_mm(self, x: Floats, y: Floats, *, is_filled: bool) -> Floats:
        """Return how far the ground lies below the fall."""
        r2: Floats = ((x - self.x_m) ** 2 + (y - self.y_m) ** 2) / (self.width_m / 2) ** 2
        deepest = self.after_mm if is_filled else self.before_mm
        return deepest * (1 - r2).clip(0)

    def litres(self, *, is_filled: bool) -> float:
        """Return the volume of the paraboloid."""
        deepest = self.after_mm if is_filled else self.before_mm
        return math.pi * (self.width_m / 2) ** 2 * deepest / 2


OLD_DIP = Bowl(1.65, 1.1, 1.5, before_mm=34.0, after_mm=0.0)
OPEN_MIDDLE = Bowl(0.4, 2.6, 1.9, before_mm=28.0, after_mm=18.0)
ROOTS = Bowl(-0.8, 1.4, 1.2, before_mm=-16.0, after_mm=-16.0)
BOWLS = (OLD_DIP, OPEN_MIDDLE, ROOTS)


def height_mm(x: Floats, y: Floats, *, is_filled: bool) -> Floats:
    """Return the height of the ground at places in meters, before or after the sand."""
    low = np.sum([bowl.depth_mm(x, y, is_filled=is_filled) for bowl in BOWLS], axis=0)
    return -10 * FALL_PERCENT * y - low


def heights_files(leveled: dt.date, *, seed: int) -> dict[str, str]:
    """Return the texts of heights.csv, as a keeper reads it on two days, and of heights_truth.csv."""
    rng = np.random.default_rng([seed, 17])
    days = (
        (leveled - dt.timedelta(days=DAYS_BEFORE), False),
        (leveled + dt.timedelta(days=DAYS_AFTER), True),
    )
    read, true = [], []
    for day, is_filled in days:
        x, y = _lattice(READ_EVERY_M)
        drop = 150 - height_mm(x, y, is_filled=is_filled) + rng.normal(0, READING_SD_MM, x.size)
        read += [
            [day.isoformat(), f"{a:.2f}", f"{b:.2f}", f"{c:.0f}", "string"]
            for a, b, c in zip(x, y, drop, strict=True)
        ]
        x, y = _lattice(TRUTH_EVERY_M)
        height = height_mm(x, y, is_filled=is_filled)
        true += [
            [day.isoformat(), f"{a:.2f}", f"{b:.2f}", f"{c:.2f}"]
            for a, b, c in zip(x, y, height, strict=True)
        ]
    return {
        "heights.csv": _table(["date", "x_m", "y_m", "drop_mm", "how"], read),
        "heights_truth.csv": _table(["date", "x_m", "y_m", "true_height_mm"], true),
    }


def _lattice(step_m: float) -> tuple[Floats, Floats]:
    """Return x and y of places row by row, in meters."""
    sides = ((WEST_M, EAST_M), (NEAR_M, FAR_M))
    across, along = (low + step_m * np.arange(round((high - low) / step_m) + 1) for low, high in sides)
    x, y = np.meshgrid(across.round(3) + 0.0, along.round(3) + 0.0)
    return x.ravel(), y.ravel()


def _table(head: list[str], rows: list[list[str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()

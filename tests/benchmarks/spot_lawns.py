"""Lawns with bare discs of known size, drawn as photos, for the spots benchmark and the end-to-end test.

All of the lawn fills in but for the discs, in which no blade is rooted. What a disc is worth as truth is
found by drawing the living blades straight down on the last day, without any code that measures photos:
neighboring blades lean a centimeter or two over its rim, and the bare place ends where half of the turf's
cover is reached in a window of 5 cm.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy import ndimage

from swardmark.practice.draw import draw_photo
from swardmark.practice.files import save_photo
from swardmark.practice.lawn import FILLS, Season
from swardmark.practice.scene import OVERCAST, SUN, Camera, Ground, Light, Scene, Square
from swardmark.practice.sward import Stand, Sward, sow
from swardmark.practice.truth import straight_down

DAYS = (5, 12, 20, 28)
FIRST, SECOND = dt.date(2025, 6, 4), dt.date(2026, 6, 3)
FARTHEST_M = 4.0
CELL_M, WINDOW_M = 0.004, 0.05
Disc = tuple[float, float, float]
Span = tuple[float, float]
PATH_X_M: Span = (-2.7, -1.75)
"""The path of the practice lawns: left and right edge."""


@dataclass(frozen=True)
class Truth:
    """A disc as sown, and the bare place that is really there."""

    x_m: float
    y_m: float
    diameter_m: float
    area_m2: float
    away_m: float


def random_path(seed: int) -> Span:
    """Place a path of 0.35 to 1 m beside or across the lawn in view, clear of the square."""
    rng = np.random.default_rng([seed, 78])
    width = float(rng.uniform(0.35, 1.0))
    near = float(rng.uniform(0.3, 2.0))
    return (1 + near, 1 + near + width) if rng.random() < 0.5 else (-near - width, -near)


def random_discs(
    seed: int, *, largest_m: float = 1.5, count: int = 5, gap_m: float = 0.35, path_x_m: Span = PATH_X_M
) -> list[Disc]:
    """Place discs of 0.2 m to `largest_m` in view, up to 4 m from the camera, clear of square, path, each other."""
    rng = np.random.default_rng([seed, 77])
    sizes = sorted([rng.uniform(0.8, largest_m), rng.uniform(0.2, 0.3), *rng.uniform(0.3, 0.9, count - 2)])
    discs: list[Disc] = []
    for diameter in reversed(sizes):
        for _ in range(2000):
            x, y = rng.uniform(-1.6, 2.8), rng.uniform(-0.2, 3.0)
            if _fits(x, y, diameter, path_x_m) and all(
                np.hypot(x - a, y - b) > (diameter + d) / 2 + gap_m for a, b, d in discs
            ):
                discs.append((float(x), float(y), float(diameter)))
                break
    return discs


def draw_disc_lawn(
    folder: Path,
    *,
    seed: int,
    seasons: Sequence[Season],
    size_px: tuple[int, int] = (1600, 1200),
    path_x_m: Span = PATH_X_M,
) -> list[list[Truth]]:
    """Draw one photo for each day of each season, and lawn.toml; return each season's true bare places."""
    camera, ground = Camera(size_px=size_px), Ground(seed=seed, path_x_m=path_x_m)
    (folder / "photos").mkdir(parents=True)
    truths = []
    for number, season in enumerate(seasons):
        sward = sow(
            [Stand(FILLS)], camera=camera, ground=ground, seed=seed + 1000 * number, discs=season.discs
        )
        for day in season.days:
            rng = np.random.default_rng([seed, number, day])
            held = camera.shaken(rng)
            scene = Scene(held, Square(), _light(rng), replace(ground, wet=float(rng.uniform(0, 0.4))))
            rgb = draw_photo(sward.on_day(day), scene, seed=int(rng.integers(2**31))).rgb
            when = dt.datetime.combine(season.leveled + dt.timedelta(days=day), dt.time(10, 30))
            save_photo(
                folder / "photos" / f"{when.date()}.jpg", rgb, taken_at=when, focal35_mm=held.focal35_mm
            )
        truths.append([_truth(sward, max(season.days), disc) for disc in season.discs])
    levelings = "".join(f"[[leveling]]\ndate = {s.leveled}\ndepth_mm = 6\n\n" for s in seasons)
    text = f'name = "drawn discs"\ngrass = "zoysiagrass"\nsquare_side_m = 1.0\n\n{levelings}'
    (folder / "lawn.toml").write_text(text, encoding="utf-8")
    return truths


def _fits(x: float, y: float, diameter: float, path_x_m: Span) -> bool:
    """Whether a disc and 25 cm around it are in the picture, on the lawn, and clear of square and path."""
    camera = Camera()
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    reach = diameter / 2 + 0.25
    rim = np.column_stack([x + reach * np.cos(turn), y + reach * np.sin(turn)])
    pixel, depth = camera.project(np.column_stack([rim, np.zeros(len(rim))]))
    in_view = ((pixel > 0) & (pixel < np.array(camera.size_px)) & (depth[:, None] > 0.3)).all()
    off_path = rim[:, 0].min() > path_x_m[1] + 0.15 or rim[:, 0].max() < path_x_m[0] - 0.15
    nearest = np.clip((x, y), 0, 1)
    off_square = np.hypot(x - nearest[0], y - nearest[1]) > diameter / 2 + 0.2
    return bool(in_view and off_path and off_square and _away(x, y) <= FARTHEST_M)


def _away(x: float, y: float) -> float:
    """Return how far a place lies from the foot of the camera, in meters."""
    at = Camera().position_m
    return float(np.hypot(x - at[0], y - at[1]))


def _light(rng: np.random.Generator) -> Light:
    base = SUN if rng.random() < 0.7 else OVERCAST
    gains = tuple(float(g) for g in rng.lognormal(0, 0.03, 3))
    shadow = "tree" if rng.random() < 0.5 else "none"
    at = (float(rng.uniform(-1.5, 2.5)), float(rng.uniform(1.0, 3.5)))
    return replace(base, shadow=shadow, shadow_at_m=at, shadow_size_m=0.8, white_balance=gains,
                   sun_azimuth_deg=float(rng.uniform(-80, 80)), exposure=float(rng.lognormal(0, 0.1)))  # fmt: skip


def _truth(sward: Sward, day: int, disc: Disc) -> Truth:
    x, y, diameter = disc
    reach = diameter / 2 + 0.3
    low = np.array([x - reach, y - reach])
    points = round(2 * reach / CELL_M)
    covered = straight_down(sward.on_day(day), low, (points, points), CELL_M).astype(float)
    local = ndimage.gaussian_filter(covered, WINDOW_M / np.sqrt(12) / CELL_M, mode="nearest")
    rows, cols = np.indices(local.shape)
    out = np.hypot(low[0] + CELL_M * cols - x, low[1] + CELL_M * rows - y) - diameter / 2
    bare, turf = covered[out < -0.05].mean(), covered[out > 0.08].mean()
    labels, _ = ndimage.label(ndimage.binary_fill_holes(local < (bare + turf) / 2))
    place = labels == labels[points // 2, points // 2]
    middle = np.array(ndimage.center_of_mass(place))[::-1] * CELL_M + low
    return Truth(float(middle[0]), float(middle[1]), diameter, float(place.sum()) * CELL_M**2, _away(x, y))

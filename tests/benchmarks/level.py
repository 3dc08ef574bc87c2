"""Volumes and low spots of 30 invented lawns that nothing was tuned on: level.py [--lawns N] [--spacing M ...]."""

from __future__ import annotations

import argparse
import datetime as dt
import time

import numpy as np
from level_lawns import CELL_M, InventedLawn

from swardmark.lawn.heights import Heights
from swardmark.level.cutfill import CutFill, cut_and_fill

FIRST_SEED, LAWNS, SD_MM = 1000, 30, 2.0
SPACINGS_M = (0.5, 0.75, 1.0, 1.5)


def measured(lawn: InventedLawn, spacing_m: float, *, sd_mm: float = SD_MM) -> CutFill:
    """Read a lawn with a string grid and evaluate it as swardmark does."""
    x, y, z = lawn.grid(spacing_m, sd_mm)
    day = dt.date(2026, 6, 3)
    return cut_and_fill([Heights(day, "main", x, y, z, np.full(x.size, sd_mm), "string")])


def found_and_invented(lawn: InventedLawn, result: CutFill) -> tuple[int, int, int]:
    """Return true spots found, true spots in all, and spots listed where the ground is nowhere 5 mm low."""
    raster = result.raster
    x, y = np.meshgrid(lawn.x, lawn.y)
    col = np.rint((x - raster.x0_m) / raster.cell_m).astype(int).clip(0, raster.inside.shape[1] - 1)
    row = np.rint((y - raster.y0_m) / raster.cell_m).astype(int).clip(0, raster.inside.shape[0] - 1)
    listed = result.fill_mm[row, col] > 0
    spots = lawn.spots()
    found = sum(bool(listed[mask].any()) for mask in spots)
    invented = 0
    for spot in result.low:
        near = np.hypot(x - spot.x_m, y - spot.y_m) < max(np.sqrt(spot.area_m2 / np.pi), CELL_M)
        invented += bool(lawn.fill_mm[near].max(initial=0) < 5)
    return found, len(spots), invented


def run(spacing_m: float, *, lawns: int, first_seed: int) -> dict[str, float]:
    """Return the figures of one grid."""
    error, raw, holds, widths, found, spots, invented, seconds = [], [], [], [], 0, 0, 0, []
    for seed in range(first_seed, first_seed + lawns):
        lawn = InventedLawn(seed)
        start = time.perf_counter()
        result = measured(lawn, spacing_m)
        seconds.append(time.perf_counter() - start)
        true = lawn.fill_litres
        error.append(100 * (result.fill.litres / true - 1))
        raw.append(100 * (result.fill_mm.sum() * result.raster.cell_m2 / true - 1))
        holds.append(result.fill.low_litres <= true <= result.fill.high_litres)
        widths.append(100 * (result.fill.high_litres - result.fill.low_litres) / true)
        here = found_and_invented(lawn, result)
        found, spots, invented = found + here[0], spots + here[1], invented + here[2]
    return {
        "volume error, mean %": float(np.mean(error)),
        "sd %": float(np.std(error, ddof=1)),
        "uncorrected %": float(np.mean(raw)),
        "95 % interval holds, share": float(np.mean(holds)),
        "its width %": float(np.mean(widths)),
        "spots found, share": found / spots,
        "invented a lawn": invented / lawns,
        "seconds": float(np.median(seconds)),
    }


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--lawns", type=int, default=LAWNS)
    parser.add_argument("--first-seed", type=int, default=FIRST_SEED)
    parser.add_argument("--spacing", type=float, nargs="*", default=SPACINGS_M)
    given = parser.parse_args()
    for spacing in given.spacing:
        figures = run(spacing, lawns=given.lawns, first_seed=given.first_seed)
        print(
            f"{spacing:g} m  " + "  ".join(f"{name} {value:.3g}" for name, value in figures.items()),
            flush=True,
        )


if __name__ == "__main__":
    main()

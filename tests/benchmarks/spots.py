"""Find known bare discs on drawn photos by the whole pipeline, and tell mended, still and new over two seasons.

python tests/benchmarks/spots.py --seeds 201 202 203 204 205
python tests/benchmarks/spots.py --seeds 301 302 303 --paths       (a path somewhere else on each lawn)
python tests/benchmarks/spots.py --seeds 301 302 --two-seasons
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from spot_lawns import DAYS, FIRST, PATH_X_M, SECOND, Span, Truth, draw_disc_lawn, random_discs, random_path

from swardmark.measure.covers import measure_covers
from swardmark.practice.lawn import Season
from swardmark.relevel.spots import Spot
from swardmark.season import relevel_plan_of, season_of

LEAST_JUDGED_M = 0.3


@dataclass(frozen=True)
class Found:
    """One true bare place and what was found there; `spot` is None where nothing was."""

    truth: Truth
    spot: Spot | None

    @property
    def area_error(self) -> float:
        """Relative error of the area."""
        return self.spot.area_m2 / self.truth.area_m2 - 1 if self.spot else np.nan

    @property
    def center_error_m(self) -> float:
        """Distance of the centers, in meters."""
        spot = self.spot
        return float(np.hypot(spot.x_m - self.truth.x_m, spot.y_m - self.truth.y_m)) if spot else np.nan


def match(truths: Sequence[Truth], spots: Sequence[Spot]) -> tuple[list[Found], list[Spot]]:
    """Give each true place the nearest spot whose outline holds its center; return those left over too."""
    from shapely import Point

    left = list(spots)
    pairs = []
    for truth in truths:
        middle = Point(truth.x_m, truth.y_m)
        holds = [spot for spot in left if spot.polygon.distance(middle) < 0.05]
        best = max(holds, key=lambda spot: spot.area_m2, default=None)
        if best is not None:
            left.remove(best)
        pairs.append(Found(truth, best))
    return pairs, left


def score_discs(
    folder: Path, *, seed: int, season: Season | None = None, path_x_m: Span = PATH_X_M
) -> tuple[list[Found], list[Spot]]:
    """Draw a lawn with discs, measure it, and match what was found with what is there."""
    season = season or Season(FIRST, DAYS, tuple(random_discs(seed, path_x_m=path_x_m)))
    (truths,) = draw_disc_lawn(folder, seed=seed, seasons=[season], path_x_m=path_x_m)
    plan = relevel_plan_of(season_of(measure_covers(folder)))
    return match(truths, [item.spot for item in plan.spots])


def score_seasons(folder: Path, *, seed: int, days: Sequence[int] = DAYS) -> dict[str, tuple[int, int]]:
    """Draw two seasons; return (named right, in all) for mended, still there and new places.

    Every second disc of the first season mends; the others stay, and one comes new.
    """
    discs = random_discs(seed, largest_m=1.0)
    mended, still, new = discs[1:-1:2], discs[0:-1:2], discs[-1:]
    days = tuple(days)
    seasons = [Season(FIRST, days, tuple(mended + still)), Season(SECOND, days, tuple(still + new))]
    draw_disc_lawn(folder, seed=seed, seasons=seasons)
    seen = relevel_plan_of(season_of(measure_covers(folder))).comparison
    assert seen is not None
    named = {
        "mended": (mended, seen.mended), "still there": (still, [now for _, now in seen.still_there]),
        "new": (new, seen.new), "not seen": ([], seen.not_seen),
    }  # fmt: skip
    return {name: _agreeing(true, spots) for name, (true, spots) in named.items()}


def _agreeing(discs: Sequence[tuple[float, float, float]], spots: Sequence[Spot]) -> tuple[int, int]:
    hits = sum(any(np.hypot(s.x_m - x, s.y_m - y) < 0.1 for s in spots) for x, y, _ in discs)
    return hits, max(len(discs), len(spots))


def _report(rows: Sequence[Found], invented: Sequence[Spot]) -> None:
    judged = [row for row in rows if row.truth.diameter_m >= LEAST_JUDGED_M]
    groups = {
        "0.2-0.3 m across": [r for r in rows if r.truth.diameter_m < 0.3],
        "0.3-0.6 m": [r for r in judged if r.truth.diameter_m < 0.6],
        "0.6-1.5 m": [r for r in judged if r.truth.diameter_m >= 0.6],
        ">= 0.3 m, up to 3 m away": [r for r in judged if r.truth.away_m < 3],
        ">= 0.3 m, 3 to 4 m away": [r for r in judged if r.truth.away_m >= 3],
        ">= 0.3 m, all": judged,
    }
    print("discs                      found    area error: bias  worst   within 15 %   center: median  worst")
    for name, group in groups.items():
        there = [row for row in group if row.spot]
        if not there:
            print(f"{name:<26} 0/{len(group)}")
            continue
        area, off = (np.array([getattr(r, key) for r in there]) for key in ("area_error", "center_error_m"))
        print(
            f"{name:<26} {len(there)}/{len(group):<6}              {area.mean():+4.0%}  {np.abs(area).max():5.0%}"
            f"      {(np.abs(area) <= 0.15).sum()}/{len(there):<6}     {100 * np.median(off):4.1f} cm  {100 * off.max():4.1f} cm"  # noqa: E501
        )
    print(f"invented: {len(invented)}")


def main() -> None:
    """Print what was found by size and distance, or how the spots of two seasons were named."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", type=int, nargs="+", default=[201, 202, 203, 204, 205])
    parser.add_argument("--two-seasons", action="store_true")
    parser.add_argument("--paths", action="store_true", help="draw each lawn's path at a place of its own")
    parser.add_argument("--keep", type=Path, help="leave the drawn lawns in this folder")
    options = parser.parse_args()
    rows: list[Found] = []
    invented: list[Spot] = []
    for seed in options.seeds:
        start = time.perf_counter()
        with tempfile.TemporaryDirectory() as scratch:
            folder = (options.keep or Path(scratch)) / f"lawn{seed}"
            if options.two_seasons:
                named = score_seasons(folder, seed=seed)
                said = ", ".join(f"{name} {right}/{total}" for name, (right, total) in named.items())
            else:
                path_x_m = random_path(seed) if options.paths else PATH_X_M
                found, more = score_discs(folder, seed=seed, path_x_m=path_x_m)
                rows, invented = rows + found, invented + more
                said = f"{sum(r.spot is not None for r in found)}/{len(found)} found, {len(more)} invented"
                said += "".join(
                    f"\n   {r.truth.diameter_m:.2f} m at ({r.truth.x_m:+.2f}, {r.truth.y_m:.2f}), "
                    f"{r.truth.away_m:.1f} m away: area {r.area_error:+.0%}, center {100 * r.center_error_m:.1f} cm"
                    for r in found
                ) + "".join(f"\n   invented {s.area_m2:.2f} m2 at ({s.x_m:+.2f}, {s.y_m:.2f})" for s in more)  # fmt: skip  # noqa: E501
        print(f"seed {seed}: {said}  ({time.perf_counter() - start:.0f} s)", flush=True)
    if rows:
        _report(rows, invented)


if __name__ == "__main__":
    main()

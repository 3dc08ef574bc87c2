"""Draw practice lawns with unseen seeds, measure them by the whole pipeline, and score against the drawn truth.

    python tests/benchmarks/practice_lawns.py --seeds 101 102 103 104 105

Truth is the straight-down share of living blades, drawn orthographically by swardmark.practice, which shares no code
with the measuring.
"""

from __future__ import annotations

import argparse
import csv
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from swardmark.lawn.toml import REST_OF_LAWN
from swardmark.measure.covers import measure_covers
from swardmark.practice.lawn import DAYS, draw_practice_lawn
from swardmark.season import season_of


@dataclass(frozen=True)
class Score:
    """How one drawn lawn was measured."""

    seed: int
    photos: int
    measured: int
    corners_rms_px: float
    corners_max_px: float
    errors_pct: tuple[float, ...]
    inside: tuple[bool, ...]
    widths_pct: tuple[float, ...]
    status: dict[str, str]

    @property
    def mae_pct(self) -> float:
        """Mean absolute error of cover_pct, points."""
        return float(np.abs(self.errors_pct).mean())


def score_lawn(folder: Path, *, seed: int, days: tuple[int, ...] = DAYS) -> Score:
    """Draw a lawn into an empty folder, measure it, and compare."""
    drawn = {photo.name: photo for photo in draw_practice_lawn(folder, days=days, seed=seed)}
    season = season_of(measure_covers(folder))
    entries = [entry for point in season.points for entry in point.entries]
    gaps = [np.subtract(entry.facts.corners_px, drawn[entry.name].corners_px) for entry in entries]
    distance = np.linalg.norm(np.concatenate(gaps), axis=1)
    with (folder / "truth.csv").open(newline="") as file:
        truth = {(r["photo"], r["zone"]): float(r["true_cover_pct"]) for r in csv.DictReader(file)}
    rows = [(row.cover, truth[row.photo, row.zone]) for row in season.covers if row.zone != REST_OF_LAWN]
    return Score(
        seed=seed,
        photos=len(drawn),
        measured=len(entries),
        corners_rms_px=float(np.sqrt((distance**2).mean())),
        corners_max_px=float(distance.max()),
        errors_pct=tuple(cover.cover_pct - true for cover, true in rows),
        inside=tuple(cover.low_pct <= true <= cover.high_pct for cover, true in rows),
        widths_pct=tuple(cover.high_pct - cover.low_pct for cover, _ in rows),
        status={zone.zone: zone.status for zone in season.outlook.zones},
    )


def main() -> None:
    """Print one line per seed."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", type=int, nargs="+", default=[101, 102, 103, 104, 105])
    seeds = parser.parse_args().seeds
    print("seed   found  corners rms/max px   MAE   bias   max   in 95 %  width  status")
    for seed in seeds:
        start = time.perf_counter()
        with tempfile.TemporaryDirectory() as folder:
            score = score_lawn(Path(folder) / "lawn", seed=seed)
        errors = np.array(score.errors_pct)
        print(
            f"{seed:<6} {score.measured}/{score.photos}    {score.corners_rms_px:.2f} / {score.corners_max_px:.2f}"
            f"          {score.mae_pct:5.2f}  {errors.mean():+5.2f}  {np.abs(errors).max():4.1f}   "
            f"{np.mean(score.inside):6.0%}  {np.mean(score.widths_pct):5.1f}  "
            f"{', '.join(f'{zone}: {status}' for zone, status in score.status.items())}"
            f"  ({time.perf_counter() - start:.0f} s)",
            flush=True,
        )


if __name__ == "__main__":
    main()

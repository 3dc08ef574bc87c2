"""The straightedge laid by lot on invented lawns: level_layings.py [--lawns N].

A rigid edge of 2.4 m rests on the two points of the ground that carry its middle (a facet of the profile's upper hull).
As the sheet says, it is slid a foot either way and the largest gap at each tick is noted, with a reading error of 1 mm;
what would read below zero reads zero. The truth is the mean fill of the lawn under a level line, both ways.
"""

from __future__ import annotations

import argparse
from itertools import pairwise

import numpy as np
from level_lawns import LENGTH_M, WIDTH_M, InventedLawn

from swardmark.level.places import SLIDE_M, Laying, straightedge_layings
from swardmark.level.straightedge import mean_gap

EDGE_M, STEP_M, SD_MM, FIRST_SEED = 2.4, 0.05, 1.0, 1000


def resting_line(profile: np.ndarray) -> np.ndarray:
    """Return the straight line on which a rigid edge rests: the facet of the upper hull under its middle."""
    hull: list[int] = []
    for n in range(len(profile)):
        while len(hull) >= 2 and _is_below(profile, hull[-2], hull[-1], n):
            hull.pop()
        hull.append(n)
    middle = (len(profile) - 1) / 2
    a, b = next((a, b) for a, b in pairwise(hull) if a <= middle <= b)
    return profile[a] + (profile[b] - profile[a]) * (np.arange(len(profile)) - a) / (b - a)


def gaps(lawn: InventedLawn, laying: Laying) -> np.ndarray:
    """Return the largest gaps at a laying's ticks as the edge is slid along its own line."""
    ticks = np.array(laying.ticks_m)
    along = 0 if laying.along_x else 1
    middle = np.array([laying.x_m, laying.y_m])
    largest = np.zeros(len(ticks))
    for slide in np.linspace(-SLIDE_M, SLIDE_M, 7):
        at = np.arange(-EDGE_M / 2, EDGE_M / 2 + 1e-9, STEP_M) + slide
        places = np.repeat(middle[None], len(at), axis=0)
        places[:, along] += at
        on_lawn = (places >= 0).all(axis=1) & (places <= (WIDTH_M, LENGTH_M)).all(axis=1)
        if on_lawn.sum() < 5:
            continue
        line, ground = np.full(len(at), np.nan), -lawn.depth(*places.T)
        line[on_lawn] = resting_line(ground[on_lawn])
        gap = np.interp(ticks[:, along] - middle[along], at[on_lawn], (line - ground)[on_lawn])
        largest = np.maximum(largest, gap)
    return largest


def main() -> None:
    """Print the error of the estimate over many lawns."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--lawns", type=int, default=120)
    parser.add_argument("--layings", type=int, default=20)
    given = parser.parse_args()
    errors, holds, count = [], [], []
    for seed in range(FIRST_SEED, FIRST_SEED + given.lawns):
        lawn = InventedLawn(seed)
        rng = np.random.default_rng(seed)
        read = []
        for laying in straightedge_layings(WIDTH_M, LENGTH_M, layings=given.layings, seed=seed):
            true = gaps(lawn, laying)
            read.append(np.round(true + rng.normal(0, SD_MM, true.size)).clip(0).tolist())
        mean, low, high = mean_gap(read, se_mm=SD_MM)
        truth = float(lawn.fill_mm.mean())
        errors.append(100 * (mean / truth - 1))
        holds.append(low <= truth <= high)
        count.append(len(read))
    spread = float(np.std(errors, ddof=1))
    print(
        f"{given.lawns} lawns, {np.mean(count):.0f} layings each: error {np.mean(errors):+.1f} % "
        f"(standard error {spread / np.sqrt(given.lawns):.1f}), sd {spread:.0f} %, interval holds {np.mean(holds):.0%}"
    )


def _is_below(profile: np.ndarray, a: int, b: int, c: int) -> bool:
    return (profile[b] - profile[a]) * (c - a) <= (profile[c] - profile[a]) * (b - a)


if __name__ == "__main__":
    main()

"""Heights of drawn sand against the truth: rms error, gap under 1 m, litres, dips found and invented, intervals, time.

    .venv/bin/python tests/benchmarks/relief.py [--scenes 20] [--first 100] [--width 2000]

Every fifth scene is flat. The truth is the drawn height field; a robust quadratic is taken off both (fall and crown are
not measured). True dips are those that the same rules find in the drawn heights on the ground that was measured.
"""

from __future__ import annotations

import argparse
import resource
import time

import numpy as np
from relief_scenes import draw_scene, true_heights

from swardmark.relief.dips import find_hollows
from swardmark.relief.measure import measure_relief
from swardmark.relief.surface import off_quadratic

LEAST_GAP_MM, LEAST_M2 = 10.0, np.pi / 4 * 0.4**2


def main() -> None:
    """Run the scenes and print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--scenes", type=int, default=20)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument("--width", type=int, default=2000)
    asked = parser.parse_args()
    rms, gaps, volumes, held, area, seconds = [], [], [], [], [], []
    found = missed = invented = inside = 0
    for seed in range(asked.first, asked.first + asked.scenes):
        rng = np.random.default_rng(seed)
        flat = seed % 5 == 0
        scene = draw_scene(seed, width_px=asked.width, dips=0 if flat else int(rng.integers(2, 5)),
                           photos=int(rng.integers(4, 7)), noise=float(rng.uniform(0.7, 2)),
                           contrast=float(rng.uniform(0.06, 0.16)), prints=int(rng.integers(0, 6)),
                           wave_mm=float(rng.uniform(0.4, 1.6)))  # fmt: skip
        start = time.process_time()
        relief = measure_relief(scene.photos)
        seconds.append(time.process_time() - start)
        known = np.isfinite(relief.height_mm)
        true = np.where(known, true_heights(scene, relief.lattice.places_m), np.nan)
        error = off_quadratic(relief.height_mm - true, relief.lattice)[known]
        rms.append(float(np.sqrt((error**2).mean())))
        held.append(float((np.abs(error) < 1.96 * relief.se_mm[known]).mean()))
        area.append(relief.area_m2)
        truth = find_hollows(true, relief.se_mm, relief.lattice)
        mine = relief.hollows
        for n, dip in enumerate(truth.dips, start=1):
            own = truth.labels == n
            hits = [m for m in np.unique(mine.labels[own]) if m]
            if not hits:
                missed += dip.gap_mm >= LEAST_GAP_MM and dip.area_m2 >= LEAST_M2
                continue
            found += 1
            one = mine.dips[max(hits, key=lambda m: (mine.labels[own] == m).sum()) - 1]
            gaps.append(one.gap_mm - dip.gap_mm)
            volumes.append(one.litres / dip.litres)
            inside += one.low_litres <= dip.litres <= one.high_litres
        for m, _ in enumerate(mine.dips, start=1):
            invented += bool(np.nanmin(truth.off_mm[mine.labels == m]) > -8)
        print(f"{seed}: rms {rms[-1]:.2f} mm over {area[-1]:.1f} m2, interval holds {held[-1]:.1%}, "
              f"{len(truth.dips)} dips, {len(mine.dips)} found, {seconds[-1]:.1f} s", flush=True)  # fmt: skip
    gaps_, volumes_ = np.array(gaps), np.array(volumes)
    print(f"rms {np.mean(rms):.2f} mm, worst scene {np.max(rms):.2f}; {np.mean(area):.1f} m2")
    print(
        f"95 % interval of a height holds {np.mean(held):.1%} (scenes {np.min(held):.1%} to {np.max(held):.1%})"
    )
    print(
        f"gap under 1 m: {gaps_.mean():+.2f} +- {gaps_.std():.2f} mm, within 2 mm {(np.abs(gaps_) <= 2).mean():.0%}"
    )
    print(
        f"litres over true: {volumes_.mean():.3f} +- {volumes_.std():.3f}, "
        f"{volumes_.min():.3f} to {volumes_.max():.3f}; interval holds {inside / max(found, 1):.0%}"
    )
    print(f"dips found {found}, missed (>= 10 mm, >= 0.4 m) {missed}, invented {invented}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{np.mean(seconds):.1f} s of one core a set, peak memory with drawing {peak:.0f} MiB")


if __name__ == "__main__":
    main()

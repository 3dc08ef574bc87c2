"""How long a trial takes once its covers are measured: 200 plots of 20 treatments in 10 blocks, 10 days of photos.

    python tests/benchmarks/trial.py [--rounds 3]

The plots are invented (trial_lawns.py). Wall time on one thread, the median of the rounds after an uncounted one:
the outlook of all plots, then the trial itself, its tables and its figure.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from pathlib import Path

import numpy as np
from trial_lawns import lawn_text, recovering, season_of_plots

from swardmark.trial.figure import save_trial_figure
from swardmark.trial.tables import write_trial
from swardmark.trial.trial import trial_of

TREATMENTS, BLOCKS = 20, 10
DAYS = (0, 3, 6, 9, 12, 16, 21, 28, 35, 42)


def main() -> None:
    """Time the parts and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rounds", type=int, default=3)
    rounds = parser.parse_args().rounds
    rng = np.random.default_rng(1)
    names = [f"treatment {n + 1}" for n in range(TREATMENTS)]
    plan = [list(rng.permutation(names)) for _ in range(BLOCKS)]
    plan = [[str(name) for name in row] for row in plan]
    covers = recovering(plan, {name: 12.0 + n / 2 for n, name in enumerate(names)})
    taken: dict[str, list[float]] = {"outlook": [], "trial": [], "tables": [], "figure": []}
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for _ in range(rounds + 1):
            clock = [time.perf_counter()]
            season = season_of_plots(folder, lawn_text(plan), DAYS, covers)
            clock.append(time.perf_counter())
            trial = trial_of(season)
            clock.append(time.perf_counter())
            write_trial(trial, folder=folder)
            clock.append(time.perf_counter())
            save_trial_figure(trial, folder)
            clock.append(time.perf_counter())
            for name, start, end in zip(taken, clock, clock[1:], strict=False):
                taken[name].append(end - start)
    print(f"{len(trial.plots)} plots x {len(trial.days)} days")
    for name, seconds in taken.items():
        print(f"{name:8} {1000 * statistics.median(seconds[1:]):6.0f} ms")


if __name__ == "__main__":
    main()

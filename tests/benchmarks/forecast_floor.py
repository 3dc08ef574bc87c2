"""What no forecast from the photos alone can beat: the simulators' own lawns take the place of the curve bank.

    python tests/benchmarks/forecast_floor.py --lawns 14 --seed 1 [--drawn 600] [--family pause]

The bank is drawn lawns of all mixes and families of forecast_surprise.py, each as likely, from another seed. A zone is
weighed by its photos as in the tool, then hears the other zones of its lawn: how likely they make each cell of family,
pace and day on which the lawn changes its course. So nothing is unknown but what the photos do not show. Printed as in
forecast_surprise.py. Where few of the drawn lawns fit (members), chance adds to the misses.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from dataclasses import replace

import numpy as np
from forecast_families import FAMILIES
from forecast_lawns import GRID, SimulatedZone
from forecast_surprise import MIXES, Table, lawns_of, print_head, print_row, score, seen_of, stage_of

from swardmark.bank.bank import CurveBank, draw_bank
from swardmark.forecast.recovery import Recovery
from swardmark.forecast.weigh import fit_zones

# Photos on days 7, 14 and 28 are the lawns of "ordinary" photographed less often.
NAMES = [name for name in (*MIXES, *FAMILIES) if name != "7/14/28"]
SEED, STEP_DAYS, PHOTOS = 888_001, 0.5, (3, 4, 5, 7, 10)
PACE_EDGES = 9.0 * np.exp([-0.6, -0.35, -0.15, 0.0, 0.15, 0.35, 0.6])
CHANGE_EDGES = (7, 10, 13, 16, 20, 24)


def drawn_bank(lawns: int) -> tuple[CurveBank, np.ndarray]:
    """Return a bank of the zones of so many lawns of each family, and the cell of each."""
    every = round(STEP_DAYS / (GRID[1] - GRID[0]))
    covers, cells = [], []
    for number, name in enumerate(NAMES):
        for zones in lawns_of(name, lawns, SEED):
            covers += [zone.truth_pct[::every].astype(np.float32) for zone in zones]
            cells += [(number, *_lawn_cell(zones))] * len(zones)
    even = np.full(len(covers), 1.0 / len(covers))
    season = draw_bank("other warm-season").season_days
    bank = CurveBank(np.stack(covers, axis=1), even, STEP_DAYS, season)
    return bank, np.unique(np.array(cells), axis=0, return_inverse=True)[1].ravel()


def _lawn_cell(zones: list[SimulatedZone]) -> tuple[int, int]:
    half = np.median([GRID[np.argmax(zone.truth_pct >= 0.5 * zone.truth_pct.max())] for zone in zones])
    change = zones[0].change_day
    change_cell = 1 + int(np.digitize(change, CHANGE_EDGES)) if np.isfinite(change) else 0
    return int(np.digitize(half, PACE_EDGES)), change_cell


def heard(fits: list[Recovery], one_hot: np.ndarray, cells: np.ndarray) -> list[Recovery]:
    """Return the zones once each has heard what cells the others make likely."""
    weight = np.stack([fit.weight for fit in fits])
    evidence = np.log(np.maximum(weight @ one_hot / one_hot.sum(axis=0), 1e-30))
    others = evidence.sum(axis=0) - evidence
    weight = weight * np.exp(others - others.max(axis=1, keepdims=True))[:, cells]
    weight /= weight.sum(axis=1, keepdims=True)
    return [replace(fit, weight=row) for fit, row in zip(fits, weight, strict=True)]


def run(names: list[str], lawns: int, seed: int, drawn: int) -> None:
    """Draw the bank, score the lawns of each family and print."""
    bank, cells = drawn_bank(drawn)
    one_hot = np.eye(cells.max() + 1, dtype=np.float32)[cells]
    print_head()
    for name in names:
        stages: dict[str, Table] = defaultdict(lambda: defaultdict(list))
        for zones in lawns_of(name, lawns, seed):
            for n in PHOTOS:
                seen = seen_of(zones, n)
                if seen is None:
                    continue
                fits = list(fit_zones(*seen, bank=bank, members=0))
                for zone, fit in zip(zones, heard(fits, one_hot, cells), strict=True):
                    score(stages[f"{name}, all"], [], zone, fit)
                    if np.isfinite(zone.change_day):
                        score(stages[f"  {stage_of(zone, fit)}"], [], zone, fit)
        for stage, table in stages.items():
            print_row(stage, table)


def main() -> None:
    """Read the options, run, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--lawns", type=int, default=14)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--drawn", type=int, default=600, help="lawns of each family that the bank is drawn from"
    )
    parser.add_argument("--family", choices=NAMES, action="append")
    options = parser.parse_args()
    run(options.family or NAMES, options.lawns, options.seed, options.drawn)


if __name__ == "__main__":
    main()

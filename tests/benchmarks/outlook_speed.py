"""How long the outlook takes: weighing the curve bank and all verdicts, without photos or files, on one thread.

    python tests/benchmarks/outlook_speed.py [--rounds 5]

The covers are those of invented lawns (forecast_lawns.py). Wall time, the median of the rounds after one that is not
counted, for a lawn of 12 zones and one of 1,000, ten photos each.
"""

from __future__ import annotations

import argparse
import datetime as dt
import statistics
import time

import numpy as np
from forecast_lawns import simulate_lawn

from forecast import ZERO
from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.toml import Lawn, Leveling
from swardmark.mowing.outlook import outlook

PHOTOS = 10


def lawn_of(zones: int) -> list[ZoneSeries]:
    """Draw one lawn of so many zones in ten photos."""
    rows = []
    for number, zone in enumerate(simulate_lawn(np.random.default_rng(zones), foreign=False, zones=zones)):
        days = tuple(ZERO + dt.timedelta(days=int(day)) for day in zone.photo_day[:PHOTOS])
        cover = zone.photo_pct[:PHOTOS]
        rows.append(
            ZoneSeries("main", f"zone {number}", 5.0, days, tuple(cover), tuple(cover - 8), tuple(cover + 8))
        )
    return rows


def main() -> None:
    """Time both lawns and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    lawn = Lawn(name="invented", grass="other warm-season", leveling=(Leveling(date=ZERO),))
    for zones in (12, 1000):
        rows, taken = lawn_of(zones), list[float]()
        last = rows[0].taken_on[-1]
        for _ in range(rounds + 1):
            start = time.perf_counter()
            outlook(rows, lawn=lawn, as_of=last)
            taken.append(time.perf_counter() - start)
        print(f"{zones:5,} zones x {PHOTOS} photos: {1000 * statistics.median(taken[1:]):6.0f} ms")


if __name__ == "__main__":
    main()

"""How often the first mow comes as it was said: the chance beside the window, and what came true, on invented lawns.

    python tests/benchmarks/first_mow.py --lawns 300 --seed 1

After 3, 4 and 5 photos of four zones each: the chance that enough of the ground (60 %) has the cover (70 %) by the end
of the window, in bins, against the share of lawns of which that was true; and the share of "likely" windows that came
true.
"""

from __future__ import annotations

import argparse
import datetime as dt
from itertools import pairwise

import numpy as np
from forecast_lawns import SimulatedZone, simulate_lawn

from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.toml import Lawn, Leveling
from swardmark.mowing.firstmow import LIKELY
from swardmark.mowing.outlook import outlook

ZERO = dt.date(2026, 6, 1)
LAWN = Lawn(name="invented", grass="bermudagrass", leveling=(Leveling(date=ZERO),))
BINS = (0.0, 0.6, 0.75, 0.85, 1.01)


def said_and_true(zones: list[SimulatedZone], photos: int) -> tuple[float, float, bool] | None:
    """Return the chance, the days from the median to the window's end, and whether it came true; None without one."""
    last = zones[0].photo_day[photos - 1]
    rows = []
    for number, zone in enumerate(zones):
        keep = zone.photo_day <= last
        days = tuple(ZERO + dt.timedelta(days=int(day)) for day in zone.photo_day[keep])
        cover = zone.photo_pct[keep]
        sides = (tuple(cover - 8), tuple(cover + 8))
        rows.append(ZoneSeries("main", f"zone {number}", 5.0, days, tuple(cover), *sides))
    mow = outlook(rows, lawn=LAWN, as_of=ZERO + dt.timedelta(days=int(last))).first_mow
    if mow.mow_on is None or mow.mow_latest is None or mow.days_to_go == 0:
        return None
    end = (mow.mow_latest - ZERO).days
    ready = np.mean([zone.true_day(LAWN.outlook.first_mow_cover_pct) <= end for zone in zones])
    return (
        mow.chance,
        float((mow.mow_latest - mow.mow_on).days),
        bool(100 * ready >= LAWN.outlook.ready_ground_pct),
    )


def main() -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lawns", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    lawns = [simulate_lawn(rng, foreign=bool(n % 2)) for n in range(options.lawns)]
    for photos in (3, 4, 5):
        rows = [row for zones in lawns if (row := said_and_true(zones, photos)) is not None]
        chance, _, true = (np.array(column, float) for column in zip(*rows, strict=True))
        print(f"{photos} photos, {len(rows)} windows: said {chance.mean():.2f}, came true {true.mean():.2f}")
        for low, high in pairwise(BINS):
            at = (chance >= low) & (chance < high)
            if at.any():
                print(f"  chance {low:.2f} to {min(high, 1):.2f}: said {chance[at].mean():.2f}, "
                      f"came true {true[at].mean():.2f} ({at.sum()})")  # fmt: skip
        likely = chance >= LIKELY
        print(
            f"  likely: said {chance[likely].mean():.2f}, came true in {true[likely].mean():.2f} of {likely.sum()}"
        )


if __name__ == "__main__":
    main()

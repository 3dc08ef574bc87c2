"""Back-test of what is said of each zone: does a status stay, is a flag right, and are zones that will not fill named?

    python tests/benchmarks/forecast_status.py --lawns 50 --seed 1

On ordinary lawns (forecast_families.py), photo by photo from the fourth on: the share of zones whose status returns to
an earlier one, and of those of which a flag is dropped, in all and where the zone was full by day 35 after all (so that
the flag was wrong). On both mixes of forecast.py, on day 28: flags against what is true (not full by day 35, or over
ten points below its best), and zones that are not full by day 60 against what is said of them.
"""

from __future__ import annotations

import argparse
import datetime as dt
from collections import Counter
from itertools import pairwise

import numpy as np
from forecast_lawns import SimulatedZone
from forecast_surprise import MIXES, lawns_of

from forecast import ZERO
from swardmark.forecast.outlook import forecast
from swardmark.forecast.rows import FLAGGED, ZoneSeries
from swardmark.lawn.toml import Lawn, Leveling

LAWN = Lawn(name="invented", grass="other warm-season", leveling=(Leveling(date=ZERO),))
FLAG_DAY, FULL_PCT, DUE_DAY, LATE_DAY, LOST_PCT = 28, 90.0, 35.0, 60.0, 10.0
EVERY_TENTH = 10


def statuses(zones: list[SimulatedZone], day: float) -> list[str]:
    """Return what is said of each zone on a day."""
    rows = []
    for number, zone in enumerate(zones):
        keep = zone.photo_day <= day
        cover = zone.photo_pct[keep]
        taken = tuple(ZERO + dt.timedelta(days=int(d)) for d in zone.photo_day[keep])
        sides = (tuple(cover - 8), tuple(cover + 8))
        rows.append(ZoneSeries("main", f"zone {number}", 5.0, taken, tuple(cover), *sides))
    said = forecast(rows, lawn=LAWN, as_of=ZERO + dt.timedelta(days=int(day)))
    return [zone.status for zone in said.zones]


def steady(lawns: list[list[SimulatedZone]]) -> None:
    """Print how often a status returns, and how often a flag is dropped."""
    returned, dropped, wrongly = [], [], []
    for zones in lawns:
        said = [statuses(zones, day) for day in zones[0].photo_day[3:]]
        for number, zone in enumerate(zones):
            course = [row[number] for row in said if row[number] != "too early to say"]
            runs = [one for i, one in enumerate(course) if not i or one != course[i - 1]]
            flags = [one in FLAGGED for one in course]
            returned.append(len(set(runs)) < len(runs))
            dropped.append(any(a and not b for a, b in pairwise(flags)))
            wrongly.append(dropped[-1] and zone.true_day(FULL_PCT) <= DUE_DAY)
    print(f"ordinary zones: status returns in {np.mean(returned):.3f}, a flag is dropped in {np.mean(dropped):.3f}, "
          f"of a zone that was full in time in {np.mean(wrongly):.3f} ({len(returned)} zones)")  # fmt: skip


def right(lawns: list[list[SimulatedZone]]) -> None:
    """Print how right the flags of day 28 are, and what is said of zones that are not full by day 60."""
    flagged, bad, late = [], [], Counter[str]()
    stalled_late = []
    for zones in lawns:
        for zone, status in zip(zones, statuses(zones, FLAG_DAY), strict=True):
            until = zone.truth_pct[: FLAG_DAY * EVERY_TENTH + 1]
            lost = until.max() - until[-1] > LOST_PCT
            flagged.append(status in FLAGGED)
            bad.append(zone.true_day(FULL_PCT) > DUE_DAY or lost)
            if zone.true_day(FULL_PCT) > LATE_DAY:
                late[status] += 1
            if status == "stalled":
                stalled_late.append(zone.true_day(FULL_PCT) > LATE_DAY)
    both = np.sum(np.array(flagged) & np.array(bad))
    count = sum(late.values())
    print(f"day {FLAG_DAY}: flags precision {both / np.sum(flagged):.3f}, recall {both / np.sum(bad):.3f} "
          f"({np.sum(bad)} of {len(bad)} zones)")  # fmt: skip
    print(f"not full by day {LATE_DAY:.0f}: {count} zones, said "
          + ", ".join(f"{status} {number}" for status, number in late.most_common())
          + f"; of those called stalled {np.mean(stalled_late):.2f} were not")  # fmt: skip


def main() -> None:
    """Read the options, run, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lawns", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    steady(lawns_of("ordinary", options.lawns, options.seed))
    right([zones for name in MIXES for zones in lawns_of(name, options.lawns, options.seed)])


if __name__ == "__main__":
    main()

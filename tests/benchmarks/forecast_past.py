"""What past seasons are worth: the forecast with and without twenty past lawns of the same place, lawn by lawn.

    python tests/benchmarks/forecast_past.py --places 6 --lawns 10 --seed 1 [--apart 0.25]

Every place has a pace of its own (its log differs from that of the simulator by a normal of --apart); twenty of its
lawns are past seasons, the others are forecast after 3, 4 and 5 photos, in both ways. --own N gives each lawn to be
forecast N earlier seasons of its own instead, with the same pace.
"""

from __future__ import annotations

import argparse
import datetime as dt
from collections import defaultdict

import numpy as np
from forecast_lawns import SimulatedZone, simulate_lawn

from forecast import AHEAD_DAYS, PHOTOS, crps
from swardmark.bank.bank import draw_bank
from swardmark.bank.priors import ANY_LAWN
from swardmark.forecast.past import PastSeason, lawn_prior, season_row
from swardmark.forecast.recovery import Recovery
from swardmark.forecast.weigh import fit_zones

GRASS, PACE_DAYS, PAST_DAYS = "other warm-season", 9.0, 60.0
DAY = dt.date(2025, 6, 1)


def past_season(zones: list[SimulatedZone], lawn: str, year: int) -> PastSeason | None:
    """Return a simulated lawn's season as a row of past.csv."""
    bank = draw_bank(GRASS)
    keep = [zone.photo_day <= PAST_DAYS for zone in zones]
    days = [zone.photo_day[at] for zone, at in zip(zones, keep, strict=True)]
    covers = [zone.photo_pct[at] for zone, at in zip(zones, keep, strict=True)]
    fits = fit_zones(days, covers, bank=bank, members=0)
    return season_row(
        fits,
        bank,
        lawn=lawn,
        grass=GRASS,
        leveled_on=DAY.replace(year=year),
        last_photo=DAY.replace(year=year, month=8),
    )


def fits_of(zones: list[SimulatedZone], n: int, expected: object) -> tuple[Recovery, ...]:
    """Fit a lawn after its first n photos."""
    seen = [np.flatnonzero(np.isfinite(zone.photo_pct))[:n] for zone in zones]
    days = [zone.photo_day[at] for zone, at in zip(zones, seen, strict=True)]
    covers = [zone.photo_pct[at] for zone, at in zip(zones, seen, strict=True)]
    return fit_zones(days, covers, bank=draw_bank(GRASS), expected=expected)


def main() -> None:
    """Read the options, run, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--places", type=int, default=6)
    parser.add_argument("--lawns", type=int, default=10)
    parser.add_argument("--past", type=int, default=20)
    parser.add_argument("--own", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--apart", type=float, default=0.25)
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    scores: dict[tuple[int, str, str], list[float]] = defaultdict(list)
    for place in range(options.places):
        pace = PACE_DAYS * float(np.exp(rng.normal(0, options.apart)))

        def drawn(number: int, pace: float = pace) -> list[SimulatedZone]:
            return simulate_lawn(rng, foreign=number % 3 == 0, pace_days=pace)

        count = 0 if options.own else options.past
        past = [past_season(drawn(i), f"past {i}", 2024) for i in range(count)]
        for number in range(options.lawns):
            name = f"lawn {number}"
            state = rng.bit_generator.state["state"]["state"] % 2**31
            own_pace = (
                pace * float(np.exp(np.random.default_rng(state).normal(0, 0.38))) if options.own else None
            )
            if own_pace is not None:
                rows = [
                    past_season(
                        simulate_lawn(rng, foreign=False, pace_days=own_pace, lawns_apart=0.2), name, 2024 - i
                    )
                    for i in range(options.own)
                ]
                zones = simulate_lawn(rng, foreign=number % 3 == 0, pace_days=own_pace, lawns_apart=0.2)
            else:
                rows, zones = past, drawn(number)
            learned = lawn_prior([row for row in rows if row is not None], lawn=name, grass=GRASS)
            for n in PHOTOS:
                for what, expected in (("without", ANY_LAWN), ("with", learned)):
                    for zone, fit in zip(zones, fits_of(zones, n, expected), strict=True):
                        ahead = float(fit.day[-1]) + AHEAD_DAYS
                        truth, band = zone.true_cover(ahead), fit.cover(ahead)
                        scores[n, what, "crps"].append(crps(fit.bank.at(ahead)[0][fit.draws], truth))
                        scores[n, what, "in80"].append(float(band.low80[0] <= truth <= band.high80[0]))
                        true = zone.true_day(90.0)
                        if true <= 60:
                            day = fit.crossing(90.0).day
                            scores[n, what, "date"].append(abs(day - true) if np.isfinite(day) else np.inf)
        print(f"place {place + 1}: half-way day {pace:.1f}, learned {learned}", flush=True)
    for n in PHOTOS:
        for what in ("without", "with"):
            one = {name: scores[n, what, name] for name in ("crps", "in80", "date")}
            print(
                f"{n} photos, {what:8} past seasons: CRPS {np.mean(one['crps']):.2f}, 90 % date "
                f"{np.median(one['date']):.2f} days, inside the 80 % interval {np.mean(one['in80']):.3f} "
                f"({len(one['crps'])})"
            )
        gain = np.array(scores[n, "without", "crps"]) - np.array(scores[n, "with", "crps"])
        lawns = gain.reshape(-1, 4).mean(axis=1)
        error = lawns.std(ddof=1) / np.sqrt(len(lawns))
        print(f"{n} photos: CRPS lower by {gain.mean():.2f} (standard error over lawns {error:.2f})")


if __name__ == "__main__":
    main()

"""Back-test of the forecast on lawns that surprise: is it right as often as it says?

    python tests/benchmarks/forecast_surprise.py --lawns 60 --seed 1 [--family pause]

For the two mixes of forecast.py and each family of forecast_families.py, by number of photos: CRPS and bias of the
cover seven days ahead, the share of truths inside the 80 % and 95 % intervals, the share of true dates (65 and 90 %
cover, where a date is said and comes) inside their 80 % windows, and effective members (1 over the sum of squared
weights). Windows are widened by half a day either way, as whole days widen them; "ahead" are those that were not over
on the day of the newest photo, "exact" the same without the half days. Then, over all of it: chances said against how
often they came true, by tenth; a bad newest photo of all zones, and how often it is held out; zones together against
zones alone.
"""

from __future__ import annotations

import argparse
import time
from collections import defaultdict

import numpy as np
from forecast_families import BAD_LAST_PCT, FAMILIES, simulate_family
from forecast_lawns import SimulatedZone, simulate_lawn

from forecast import AHEAD_DAYS, LEVELS, crps
from swardmark.bank.bank import draw_bank
from swardmark.forecast.recovery import Recovery
from swardmark.forecast.weigh import fit_zones

PHOTOS = range(3, 11)
SAID_FROM, LEFT_SHARE = 0.5, 0.75
MIXES = ("mix all", "mix curves")
Table = dict[str, list[float]]


def lawns_of(name: str, lawns: int, seed: int) -> list[list[SimulatedZone]]:
    """Draw the lawns of a mix or a family."""
    rng = np.random.default_rng([seed, sum(map(ord, name))])
    if name in MIXES:
        return [simulate_lawn(rng, foreign=i % 3 == 0, mix=name[4:]) for i in range(lawns)]
    return [simulate_family(rng, name) for _ in range(lawns)]


def seen_of(
    zones: list[SimulatedZone], n: int, *, shift: float = 0.0
) -> tuple[list[np.ndarray], list[np.ndarray]] | None:
    """Return days and covers of a lawn's first n photos, the last of them shifted; None where they are too few."""
    if n > len(zones[0].photo_day):
        return None
    days = [zone.photo_day[:n] for zone in zones]
    covers = [np.clip(zone.photo_pct[:n] + shift * (np.arange(n) == n - 1), 0, 100) for zone in zones]
    if days[0][-1] - days[0][0] < 5 or any(np.isfinite(cover).sum() < 3 for cover in covers):
        return None
    return days, covers


def fits_of(zones: list[SimulatedZone], n: int, *, shift: float = 0.0) -> list[Recovery] | None:
    """Fit the zones of a lawn to what `seen_of` returns."""
    seen = seen_of(zones, n, shift=shift)
    return list(fit_zones(*seen, bank=draw_bank("other warm-season"))) if seen else None


def score(table: Table, chances: list[tuple[float, bool]], zone: SimulatedZone, fit: Recovery) -> None:
    """Score one zone's forecast."""
    now = float(fit.day[-1])
    truth, band = zone.true_cover(now + AHEAD_DAYS), fit.cover(now + AHEAD_DAYS)
    table["crps"].append(crps(fit.bank.at(now + AHEAD_DAYS)[0][fit.draws], truth))
    table["bias"].append(float(band.median[0]) - truth)
    table["in80"].append(float(band.low80[0] <= truth <= band.high80[0]))
    table["in95"].append(float(band.low95[0] <= truth <= band.high95[0]))
    table["members"].append(fit.effective_members)
    until = max(fit.bank.season_days, now + 28.0)
    for level in LEVELS:
        true, said = zone.true_day(level), fit.crossing(level)
        if said.chance >= SAID_FROM and true <= until:
            inside = float(said.earliest - 0.5 <= true <= said.latest + 0.5)
            table["window"].append(inside)
            if said.latest > now:
                table["window ahead"].append(inside)
                table["exact"].append(float(said.earliest <= true <= said.latest))
                table["date error"].append(abs(said.day - true))
    chances.append((fit.chance_by(90.0, 28.0), zone.true_day(90.0) <= 28.0))
    chances.append((fit.chance_by(90.0, now + 14.0), zone.true_day(90.0) <= now + 14.0))
    chances.append((fit.chance_above(65.0, now + 7.0), zone.true_cover(now + 7.0) >= 65.0))


def run(names: list[str], lawns: int, seed: int) -> None:
    """Simulate, score and print family by family."""
    every: list[tuple[float, bool]] = []
    print_head()
    for name in names:
        drawn = lawns_of(name, lawns, seed)
        pooled: Table = defaultdict(list)
        stages: dict[str, Table] = {}
        chances: list[tuple[float, bool]] = []
        for n in PHOTOS:
            table: Table = defaultdict(list)
            for zones in drawn:
                fits = fits_of(zones, n)
                for zone, fit in zip(zones, fits or [], strict=bool(fits)):
                    score(table, chances, zone, fit)
                    if np.isfinite(zone.change_day):
                        stage = stage_of(zone, fit)
                        score(stages.setdefault(stage, defaultdict(list)), [], zone, fit)
            if table:
                print_row(f"{name}, {n} photos", table)
            for key, values in table.items():
                pooled[key] += values
        print_row(f"{name}, all", pooled)
        for stage, table in sorted(stages.items()):
            print_row(f"  {stage}", table)
        if len(names) > 1:
            print(_tenths(chances))
        every += chances
    print("chances said -> true (cases), all families\n" + _tenths(every))


def stage_of(zone: SimulatedZone, fit: Recovery) -> str:
    """Return whether the lawn's change of course had begun, and whether two photos had shown it."""
    if zone.change_day > fit.day[-1]:
        return "change to come"
    return "change seen" if (fit.day > zone.change_day + 2.0).sum() >= 2 else "change begun"


def print_head() -> None:
    """Print the head of the table."""
    print(f"{'':24}{'CRPS 7 d':>9}{'bias':>7}{'in 80 %':>9}{'in 95 %':>9}{'windows':>9}{'ahead':>8}{'exact':>8}"
          f"{'median':>9}{'1 %':>6}{'>= 100':>8}")  # fmt: skip


def print_row(name: str, table: Table) -> None:
    """Print what a table of scores comes to."""
    mean = {key: np.mean(table[key]) if table[key] else np.nan for key in table}
    members = np.array(table["members"])
    print(f"{name:24}{mean['crps']:9.2f}{mean['bias']:7.1f}{mean['in80']:9.3f}{mean['in95']:9.3f}"
          f"{mean.get('window', np.nan):9.3f}{mean.get('window ahead', np.nan):8.3f}{mean.get('exact', np.nan):8.3f}"
          f"{np.median(members):9.0f}"
          f"{np.percentile(members, 1):6.0f}{np.mean(members >= 100):8.3f}")  # fmt: skip


def _tenths(chances: list[tuple[float, bool]]) -> str:
    said, true = np.array(chances, float).T
    tenth = np.minimum((said * 10).astype(int), 9)
    cells = [(said[tenth == i], true[tenth == i]) for i in range(10)]
    return "  " + "  ".join(f"{s.mean():.2f}->{t.mean():.2f} ({len(s)})" for s, t in cells if len(s))


def bad_last_photo(lawns: int, seed: int) -> None:
    """Print how often a newest photo that is bad in all zones is held out, and how often a good one is."""
    drawn = lawns_of("ordinary", lawns, seed)
    for zones_each in (4, 1):
        for shift in (-BAD_LAST_PCT, BAD_LAST_PCT, 0.0):
            held, said = [], []
            for zones in drawn:
                for n in range(4, 11):
                    # Only a photo that is good by itself, and most zones of which clipping leaves the twenty points.
                    part = zones[:zones_each]
                    last = truth_on(part, n - 1)
                    light = np.nanmedian([zone.photo_pct[n - 1] for zone in zones] - truth_on(zones, n - 1))
                    left = np.mean((last + shift >= 0) & (last + shift <= 100))
                    fair = left >= LEFT_SHARE and abs(light) < 10
                    fits = fits_of(part, n, shift=shift) if fair else None
                    if fits:
                        held.append(np.mean([fit.held_out[-1] for fit in fits]) >= 0.5)
                        said.append(np.mean([fit.held_out[-1] or fit.surprising for fit in fits]) >= 0.5)
            what = f"bad by {shift:+.0f}" if shift else "as it is"
            print(f"{zones_each} zones, newest photo {what}: held out {np.mean(held):.3f}, "
                  f"held out or said {np.mean(said):.3f} ({len(held)})")  # fmt: skip


def truth_on(zones: list[SimulatedZone], photo: int) -> np.ndarray:
    """Return the zones' true covers on the day of a photo [%]."""
    return np.array([zone.true_cover(zone.photo_day[photo]) for zone in zones])


def together_and_alone(names: list[str], lawns: int, seed: int) -> None:
    """Print the CRPS of zones fitted together and each alone."""
    for n in (3, 4, 5, 7, 10):
        both: list[list[float]] = [[], []]
        for name in names:
            for zones in lawns_of(name, lawns, seed):
                ways = (fits_of(zones, n), [f for z in zones for f in fits_of([z], n) or []])
                if all(fits and len(fits) == len(zones) for fits in ways):
                    for scores, fits in zip(both, ways, strict=True):
                        for zone, fit in zip(zones, fits or [], strict=True):
                            ahead = float(fit.day[-1]) + AHEAD_DAYS
                            draws = fit.bank.at(ahead)[0][fit.draws]
                            scores.append(crps(draws, zone.true_cover(ahead)))
        gain = (np.array(both[1]) - both[0]).reshape(-1, 4).mean(axis=1)
        error = gain.std(ddof=1) / np.sqrt(len(gain))
        print(f"{n} photos: CRPS together {np.mean(both[0]):.2f}, alone {np.mean(both[1]):.2f}; "
              f"alone worse by {gain.mean():.2f} (standard error over lawns {error:.2f})")  # fmt: skip


def main() -> None:
    """Read the options, run, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--lawns", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--family", choices=(*MIXES, *FAMILIES), action="append")
    options = parser.parse_args()
    begun = time.perf_counter()
    names = options.family or [*MIXES, *FAMILIES]
    run(names, options.lawns, options.seed)
    bad_last_photo(options.lawns, options.seed)
    together_and_alone([name for name in names if name != "7/14/28"], options.lawns, options.seed)
    print(f"{time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()

"""Invented lawns whose true recovery is known, for scoring the forecast.

In two lawns of three the truth is one of the four families that the forecast averages; in the third it is something
that it does not hold, each as likely: most zones stall, most die back, a cool spell holds the growth up, every fifth
photo is bad, or the growth has another form (Richards' curve, a patchwork of a quick and a late part, a ramp between
two kinks). The mix "curves" fills that third with other forms and cool spells alone. In every lawn one zone in ten has
trouble of its own, drawn with other ranges than the forecast's. The photos err together (light) and singly (leaf and
shade), some are bad, some zones are missed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from swardmark.bank import curves

LAST_DAY = 90
FITTED = ("logistic", "gompertz", "weibull", "log-logistic")
OTHER_CURVES = ("richards", "patchwork", "ramp", "cool spell")
FOREIGN = {"all": ("stalls", "die-back", "bad photos", *OTHER_CURVES), "curves": OTHER_CURVES}
TROUBLES = ("ceiling", "crawls", "stops", "dies back", "dies back and recovers")
BAD_PHOTO_SHARE, MISSED_SHARE, TROUBLE_SHARE = 0.04, 0.04, 0.1
MANY_BAD_PHOTOS, MANY_TROUBLES = 0.2, 0.6
TROUBLES_OF = {"stalls": ("ceiling", "stops"), "die-back": ("dies back", "dies back and recovers")}

Curve = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class SimulatedZone:
    """A zone's true cover on every tenth of a day, and what the photos showed (NaN where it was missed).

    `change_day` is the day on which the whole lawn changes its course; inf where it never does.
    """

    family: str
    trouble: str
    truth_pct: np.ndarray
    photo_day: np.ndarray
    photo_pct: np.ndarray
    change_day: float = float("inf")

    def true_cover(self, day: float) -> float:
        """Return the true cover on a day [%]."""
        return float(np.interp(day, GRID, self.truth_pct))

    def true_day(self, level_pct: float) -> float:
        """Return the first day at or above a cover, inf if never in 90 days."""
        above = np.flatnonzero(self.truth_pct >= level_pct)
        return float(GRID[above[0]]) if len(above) else float("inf")


GRID = np.round(np.arange(0, LAST_DAY + 0.05, 0.1), 1)


def simulate_lawn(
    rng: np.random.Generator,
    *,
    foreign: bool,
    zones: int = 4,
    mix: str = "all",
    pace_days: float = 9.0,
    lawns_apart: float = 0.38,
) -> list[SimulatedZone]:
    """Draw one lawn: its zones share pace, weather, photo days and the light of each photo."""
    family = str(rng.choice(FOREIGN[mix] if foreign else FITTED))
    pace = pace_days * np.exp(rng.normal(0, lawns_apart))
    spell = (rng.uniform(3, 18), rng.uniform(4, 9), rng.uniform(0.05, 0.4))
    day = np.concatenate([[rng.integers(0, 3)], rng.integers(2, 6, size=11)]).cumsum().astype(float)
    light = rng.normal(0, 1.8, len(day))
    bad = rng.random(len(day)) < (MANY_BAD_PHOTOS if family == "bad photos" else BAD_PHOTO_SHARE)
    light = np.where(bad, light + rng.choice([-1, 1], len(day)) * rng.uniform(12, 28, len(day)), light)
    return [_zone(rng, family, pace * np.exp(rng.normal(0, 0.28)), spell, day, light) for _ in range(zones)]


def _zone(
    rng: np.random.Generator,
    family: str,
    t50: float,
    spell: tuple[float, float, float],
    day: np.ndarray,
    light: np.ndarray,
) -> SimulatedZone:
    kinds = TROUBLES_OF.get(family, TROUBLES)
    trouble = (
        str(rng.choice(kinds))
        if rng.random() < (MANY_TROUBLES if family in TROUBLES_OF else TROUBLE_SHARE)
        else ""
    )
    if trouble == "crawls":
        t50 *= rng.uniform(1.8, 4.5)
    ceiling = rng.uniform(20, 80) if trouble == "ceiling" else 100 - rng.gamma(1.5, 1.8)
    time = held_up(GRID, *spell) if family == "cool spell" else GRID
    growth = (
        family if family in (*FITTED, *OTHER_CURVES) and family != "cool spell" else str(rng.choice(FITTED))
    )
    truth = curve_of(rng, growth, t50, ceiling)(time)
    truth = np.clip(troubled(rng, trouble, truth), 0, 100)
    noise = 2.8 * rng.standard_t(5, len(day)) / np.sqrt(5 / 3)
    seen = np.clip(np.interp(day, GRID, truth) + light + noise, 0, 100)
    seen[rng.random(len(day)) < MISSED_SHARE] = np.nan
    return SimulatedZone(family, trouble, truth, day, seen)


def curve_of(rng: np.random.Generator, family: str, t50: float, ceiling: float) -> Curve:
    """Return a growth curve of a family, its other numbers drawn."""
    slope, start = 2.4 * np.exp(rng.normal(0, 0.3)), min(rng.uniform(2, 16), ceiling / 4)
    if family == "gompertz":
        return lambda t: curves.gompertz(t, t50, slope, ceiling)
    if family == "weibull":
        return lambda t: curves.weibull_offset(t, t50, slope, ceiling, start)
    if family == "log-logistic":
        return lambda t: curves.log_logistic_offset(t, t50, slope, ceiling, start)
    if family == "richards":
        nu = np.exp(rng.uniform(np.log(0.3), np.log(4)))
        shift = np.log(2**nu - 1)
        return lambda t: ceiling * (1 + np.exp(shift - slope * (t / t50 - 1))) ** (-1 / nu)
    if family == "patchwork":
        share, late = rng.uniform(0.2, 0.5), t50 * rng.uniform(1.4, 2.2)
        quick = t50 * rng.uniform(0.5, 0.9)
        parts = ((1 - share, quick), (share, late))
        return lambda t: sum(ceiling * part / (1 + np.exp(-1.3 * slope * (t / at - 1))) for part, at in parts)
    if family == "ramp":
        lag, end = t50 * rng.uniform(0.1, 0.5), t50 * rng.uniform(1.5, 2.0)
        return lambda t: np.interp(t, [0, lag, end, 2 * end], [start, start + 2, ceiling - 4, ceiling])
    return lambda t: curves.logistic(t, t50, slope, ceiling)


def held_up(time: np.ndarray, begin: float, length: float, rate: float) -> np.ndarray:
    """Let the clock of growth run slowly for some days."""
    during = np.clip(time - begin, 0, length)
    return time - (1 - rate) * during


def troubled(rng: np.random.Generator, trouble: str, truth: np.ndarray) -> np.ndarray:
    """Let a recovery stop, or die back, from a drawn day on."""
    begin = rng.uniform(5, 26)
    held = float(np.interp(begin, GRID, truth))
    after = begin <= GRID
    if trouble == "stops":
        creep = held + rng.uniform(0, 0.3) * (GRID - begin)
        return np.where(after, np.minimum(creep, np.maximum(truth, held)), truth)
    if trouble.startswith("dies back"):
        floor, pace = held * rng.uniform(0.15, 0.75), rng.uniform(3, 9)
        fallen = floor + (held - floor) * np.exp(-(GRID - begin).clip(0) / pace)
        if trouble == "dies back":
            return np.where(after, fallen, truth)
        turn, rate = begin + rng.uniform(8, 16), rng.uniform(0.05, 0.2)
        low = float(np.interp(turn, GRID, fallen))
        back = 97 / (1 + (97 / max(low, 2.0) - 1) * np.exp(-rate * (GRID - turn).clip(0)))
        return np.where(turn <= GRID, back, np.where(after, fallen, truth))
    return truth

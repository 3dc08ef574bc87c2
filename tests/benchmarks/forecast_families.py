"""Invented lawns that surprise: each family breaks one thing that an ordinary recovery lets expect.

`forecast_lawns.py` mixes troubles of single zones; here the whole lawn shares one: growth pauses and goes on, the
season ends, all zones brown as they go dormant, cover truly closes, or levels off at 60 to 80 %, the newest photo is
bad in all zones, there are photos on days 7, 14 and 28 alone, the first mow takes ten points. Paces, light, errors,
missed zones and zones in trouble of their own are those of an ordinary lawn in every family.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from forecast_lawns import (
    BAD_PHOTO_SHARE,
    FITTED,
    GRID,
    MISSED_SHARE,
    TROUBLE_SHARE,
    TROUBLES,
    SimulatedZone,
    curve_of,
    held_up,
    troubled,
)

# The zones' truths, and the day on which the lawn changes its course.
Grown = tuple[list[np.ndarray], float]
BAD_LAST_PCT = 20.0
SHORT_SERIES = np.array([7.0, 14.0, 28.0])
MOW_AT_PCT = 70.0


def ordinary(rng: np.random.Generator, zones: int) -> Grown:
    """Zones that fill in: shared pace, one of the four curves."""
    return _grown(rng, zones, GRID), np.inf


def pause(rng: np.random.Generator, zones: int) -> Grown:
    """All zones all but stand still for six to sixteen days, then go on."""
    begin = rng.uniform(4, 20)
    clock = held_up(GRID, begin, rng.uniform(6, 16), rng.uniform(0, 0.15))
    return _grown(rng, zones, clock), begin


def season_end(rng: np.random.Generator, zones: int) -> Grown:
    """Growth runs out within one or two weeks and does not come back."""
    begin, fade = rng.uniform(8, 25), rng.uniform(5, 15)
    rate = np.clip(1.0 - (GRID - begin) / fade, 0.0, 1.0)
    clock = np.concatenate([[0.0], np.cumsum(rate[1:] * np.diff(GRID))])
    return _grown(rng, zones, clock), begin


def dormancy(rng: np.random.Generator, zones: int) -> Grown:
    """All zones stop and brown from the same day on."""
    begin, days, lost = rng.uniform(10, 28), rng.uniform(8, 20), rng.uniform(0.4, 0.95)
    clock = held_up(GRID, begin, GRID[-1], 0.0)
    brown = np.clip((GRID - begin) / days, 0.0, 1.0)
    lost_of = np.clip(lost + rng.normal(0, 0.05, zones), 0.2, 1.0)
    grown = _grown(rng, zones, clock)
    return [truth * (1.0 - share * brown) for truth, share in zip(grown, lost_of, strict=True)], begin


def closing(rng: np.random.Generator, zones: int) -> Grown:
    """Cover reaches 99 to 100 % without a long tail: a curve with a higher ceiling, cut off."""
    top = rng.uniform(99, 100)
    return [
        np.minimum(truth, top) for truth in _grown(rng, zones, GRID, ceiling=rng.uniform(104, 112))
    ], np.inf


def leveling_off(rng: np.random.Generator, zones: int) -> Grown:
    """Cover levels off at 60 to 80 %, all over the lawn."""
    return _grown(rng, zones, GRID, ceiling=rng.uniform(60, 80), ceiling_sd=3.0), np.inf


def first_mow(rng: np.random.Generator, zones: int) -> Grown:
    """The first mow, at 70 % in the mean, takes ten points, which are back within five to ten days."""
    grown = _grown(rng, zones, GRID)
    reached = np.flatnonzero(np.mean(grown, axis=0) >= MOW_AT_PCT)
    if not len(reached):
        return grown, np.inf
    since, days = GRID - GRID[reached[0]], rng.uniform(5, 10)
    taken = np.where(since >= 0, 10.0 * np.clip(1.0 - since / days, 0.0, 1.0), 0.0)
    return [np.maximum(truth - taken, 0.0) for truth in grown], float(GRID[reached[0]])


FAMILIES: dict[str, Callable[[np.random.Generator, int], Grown]] = {
    "ordinary": ordinary,
    "pause": pause,
    "season end": season_end,
    "dormancy": dormancy,
    "closing": closing,
    "leveling off": leveling_off,
    "7/14/28": ordinary,
    "first mow": first_mow,
}


def simulate_family(rng: np.random.Generator, name: str, *, zones: int = 4) -> list[SimulatedZone]:
    """Draw one lawn of a family."""
    truths, change_day = FAMILIES[name](rng, zones)
    day = np.concatenate([[rng.integers(0, 3)], rng.integers(2, 6, size=11)]).cumsum().astype(float)
    if name == "7/14/28":
        day = SHORT_SERIES
    light = rng.normal(0, 1.8, len(day))
    bad = rng.random(len(day)) < BAD_PHOTO_SHARE
    light = np.where(bad, light + rng.choice([-1, 1], len(day)) * rng.uniform(12, 28, len(day)), light)
    return [_photographed(rng, name, truth, day, light, change_day) for truth in truths]


def _photographed(
    rng: np.random.Generator,
    name: str,
    truth: np.ndarray,
    day: np.ndarray,
    light: np.ndarray,
    change_day: float,
) -> SimulatedZone:
    trouble = str(rng.choice(TROUBLES)) if rng.random() < TROUBLE_SHARE else ""
    if trouble == "ceiling":
        truth = truth * rng.uniform(0.2, 0.8)
    elif trouble == "crawls":
        truth = np.interp(GRID / rng.uniform(1.8, 4.5), GRID, truth)
    truth = np.clip(troubled(rng, trouble, truth), 0.0, 100.0)
    noise = 2.8 * rng.standard_t(5, len(day)) / np.sqrt(5 / 3)
    seen = np.clip(np.interp(day, GRID, truth) + light + noise, 0, 100)
    seen[rng.random(len(day)) < MISSED_SHARE] = np.nan
    return SimulatedZone(name, trouble, truth, day, seen, change_day)


def _grown(
    rng: np.random.Generator,
    zones: int,
    clock: np.ndarray,
    *,
    ceiling: float | None = None,
    ceiling_sd: float = 0.0,
) -> list[np.ndarray]:
    family, pace = str(rng.choice(FITTED)), 9.0 * np.exp(rng.normal(0, 0.38))
    truths = []
    for _ in range(zones):
        top = 100 - rng.gamma(1.5, 1.8) if ceiling is None else ceiling + ceiling_sd * rng.normal()
        truths.append(curve_of(rng, family, pace * np.exp(rng.normal(0, 0.28)), top)(clock))
    return truths

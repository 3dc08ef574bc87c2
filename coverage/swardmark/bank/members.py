"""The numbers of a plausible recovery, and the cover they give on any day.

A member is a kind of recovery, a family of curves, and seven numbers that are standard normal before any photo: pace,
shape, ceiling, start, and three whose meaning depends on the kind (how slow; when the trouble begins, how long it
lasts, how much it takes). Everything about its curve follows from these, so a bank can be refined by new members
anywhere between the old ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from swardmark.bank import curves
from swardmark.bank import priors as p

NUMBERS = 7
PACE, SHAPE, CEILING, START, FIRST, SECOND, THIRD = range(NUMBERS)
FAMILIES = 4
KIND = {kind.name: number for number, kind in enumerate(p.KINDS)}
TROUBLED = tuple(KIND[name] for name in ("stops", "pauses", "dies back", "dies back and recovers"))
IS_TROUBLED, FALLS, IS_LATE = (
    np.isin(np.arange(len(p.KINDS)), of)
    for of in (
        TROUBLED,
        (KIND["dies back"], KIND["dies back and recovers"]),
        (KIND["slow"], KIND["partly covered"]),
    )
)
CURVE_NUMBERS, BEGIN_NUMBERS = ("t50", "shape", "ceiling", "start"), ("begin", "second", "third")
# Closed turf shows up to so much ground between its blades [points].
CLOSED_GAP_PCT = 1.5
# The ceiling is read from a table over the normal score, from -6 to 6.
_SCORES = np.linspace(-6.0, 6.0, 601)


@dataclass(frozen=True, eq=False)
class Members:
    """Plausible recoveries by their numbers.

    Attributes
    ----------
    kind, family : ndarray of int, shape (members,)
        Which row of `priors.KINDS`, which of the four curves.
    score : ndarray, shape (7, members)
        Standard normal scores of the numbers.
    """

    kind: np.ndarray
    family: np.ndarray
    score: np.ndarray

    def __getitem__(self, index: np.ndarray | slice) -> Members:
        return Members(self.kind[index], self.family[index], self.score[:, index])


def cover_of(members: Members, day: np.ndarray, prior: p.GrassPrior) -> np.ndarray:
    """Return the cover of members on days [%].

    Parameters
    ----------
    members : Members
    day : ndarray, shape (days, 1) or (days, members)
        Days since leveling.
    prior : GrassPrior
        The grass's row.

    Returns
    -------
    ndarray, shape (days, members), float32
    """
    numbers = _numbers(members, prior)
    day = np.asarray(day, np.float32)
    grown = day + numbers["shift"]
    troubled, falls = (np.flatnonzero(of[members.kind]) for of in (IS_TROUBLED, FALLS))
    if len(troubled):
        grown[:, troubled] = _clock(*_some(troubled, day, members.kind, numbers, BEGIN_NUMBERS))
    cover = np.empty_like(grown)
    for family in range(FAMILIES):
        of = np.flatnonzero(members.family == family)
        if len(of):
            cover[:, of] = _curve(family, grown[:, of], {name: numbers[name][of] for name in CURVE_NUMBERS})
    if len(falls):
        names = (*BEGIN_NUMBERS, *CURVE_NUMBERS)
        cover[:, falls] = _fallen(cover[:, falls], *_some(falls, day, members.kind, numbers, names))
    return np.minimum(cover, numbers["top"], out=cover)


def paces_days(members: Members, prior: p.GrassPrior) -> np.ndarray:
    """Return the half-way day of each member, before any trouble [days]."""
    return np.asarray(prior.t50_days * np.exp(prior.t50_log_sd * members.score[PACE]))


def share_of(score: np.ndarray) -> np.ndarray:
    """Return the probability of a normal score, between 0 and 1."""
    from scipy.special import ndtr

    return np.asarray(ndtr(score))


def _numbers(members: Members, prior: p.GrassPrior) -> dict[str, np.ndarray]:
    score, kind = members.score, members.kind
    first, second, third = (share_of(score[i]) for i in (FIRST, SECOND, THIRD))
    t50 = paces_days(members, prior)
    late = IS_LATE[kind]
    low, high = np.log(p.SLOW_FACTOR)
    t50 = np.where(late, t50 * np.exp(low + (high - low) * first), t50)
    shape = prior.shape * np.exp(prior.shape_log_sd * score[SHAPE])
    gap = np.interp(score[CEILING], _SCORES, _ceiling_gaps(prior.ceiling_gap_shape))
    ceiling = np.maximum(100.0 - prior.ceiling_gap_scale_pct * gap, p.CEILING_FLOOR_PCT)
    ceiling = np.where(kind == KIND["levels off"], _between(p.LOW_CEILING_PCT, first), ceiling)
    ceiling = np.where(kind == KIND["closes"], _between(p.CLOSING_PCT, first), ceiling)
    start = np.clip(prior.start_pct * np.exp(prior.start_log_sd * score[START]), *p.START_PCT)
    start = np.minimum(start, 0.4 * ceiling)
    numbers = {
        "t50": t50,
        "shape": shape,
        "ceiling": ceiling,
        "start": start,
        "shift": np.where(kind == KIND["partly covered"], _between(p.HEAD_START, second) * t50, 0.0),
        "top": 100.0 - CLOSED_GAP_PCT * third**2,
        "begin": _between(p.TROUBLE_DAY, first),
        "second": second,
        "third": third,
    }
    return {name: value.astype(np.float32) for name, value in numbers.items()}


def _some(
    of: np.ndarray, day: np.ndarray, kind: np.ndarray, numbers: dict[str, np.ndarray], names: Sequence[str]
) -> tuple[np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """Return days, kinds and numbers of some members."""
    at = day[:, of] if day.shape[1] > 1 else day
    return at, kind[of], {name: numbers[name][of] for name in names}


def _curve(family: int, day: np.ndarray, n: dict[str, np.ndarray]) -> np.ndarray:
    if family == 0:
        return curves.logistic(day, n["t50"], n["shape"], n["ceiling"])
    if family == 1:
        return curves.gompertz(day, n["t50"], n["shape"], n["ceiling"])
    formula = curves.weibull_offset if family == 2 else curves.log_logistic_offset
    return formula(day, n["t50"], n["shape"], n["ceiling"], n["start"])


def _clock(day: np.ndarray, kind: np.ndarray, n: dict[str, np.ndarray]) -> np.ndarray:
    """Return the day up to which a troubled member has grown: its clock stops, runs out or pauses."""
    since = np.maximum(day - n["begin"], 0.0)
    fade = np.maximum(_between(p.FADE_DAYS, n["second"]), np.float32(0.1))
    shortest, longest = np.log(p.PAUSE_DAYS)
    length = np.exp(_between((shortest, longest), n["second"]))
    rate = _between(p.PAUSE_RATE, n["third"])
    spent = np.minimum(since, fade)
    after = np.where(kind == KIND["stops"], spent - spent**2 / (2.0 * fade), 0.0)
    paused = since - (1.0 - rate) * np.minimum(since, length)
    after = np.where(kind == KIND["pauses"], paused, after)
    return np.asarray(np.minimum(day, n["begin"]) + after)


def _fallen(cover: np.ndarray, day: np.ndarray, kind: np.ndarray, n: dict[str, np.ndarray]) -> np.ndarray:
    """Return the cover of members that die back, and of those that then grow on."""
    lost, days = _between(p.DIE_BACK_SHARE, n["second"]), _between(p.DIE_BACK_DAYS, n["third"])
    since = day - n["begin"]
    left = cover * (1.0 - lost * np.clip(since / days, 0.0, 1.0))
    rate = np.float32(p.REGROWTH_SHARE) * n["shape"] / n["t50"]
    bare = n["ceiling"] / np.maximum(left, 1.0) - 1.0
    back = np.maximum(n["ceiling"] / (1.0 + bare * np.exp(-rate * np.maximum(since - days, 0.0))), left)
    return np.where(kind == KIND["dies back and recovers"], back, left)


@lru_cache(maxsize=8)
def _ceiling_gaps(shape: float) -> np.ndarray:
    from scipy.special import gammaincinv

    return np.asarray(gammaincinv(shape, share_of(_SCORES)))


def _between(ends: tuple[float, float], share: np.ndarray) -> np.ndarray:
    return np.asarray(np.float32(ends[0]) + np.float32(ends[1] - ends[0]) * share)

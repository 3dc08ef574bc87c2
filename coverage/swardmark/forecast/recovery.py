"""The recovery of a zone: the curve bank, weighed by what the photos showed (weigh.py).

Every answer - which day, how sure, what cover next week - is a weighted share or quantile of the bank.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from swardmark.bank import priors as p
from swardmark.bank.bank import CurveBank

DRAWS = 512


@dataclass(frozen=True)
class Band:
    """Cover over days: median and the limits of the 80 % and 95 % bands [%]; `day` counts from leveling."""

    day: np.ndarray
    median: np.ndarray
    low80: np.ndarray
    high80: np.ndarray
    low95: np.ndarray
    high95: np.ndarray


@dataclass(frozen=True)
class Crossing:
    """When a cover is first reached, given that it is this season: median and 80 % window [days], and the chance.

    The days are NaN where no likely member of the bank gets there.
    """

    day: float
    earliest: float
    latest: float
    chance: float


@dataclass(frozen=True, eq=False)
class Recovery:
    """A zone's weighed curve bank.

    Attributes
    ----------
    bank : CurveBank
        The plausible recoveries.
    weight : ndarray, shape (members,)
        Share of belief in each of them; sums to 1.
    day, observed_pct : ndarray, shape (photos,)
        What the photos showed [days since leveling, %].
    held_out : ndarray of bool, shape (photos,)
        A last photo far outside its band, not used until the next one confirms it.
    surprising : bool
        Whether the last photo lies far outside the band of the earlier ones, held out or not.
    history : ndarray, shape (photos, members), optional
        The zone's own weights of the shared bank after each of its photos; of its thinned one where zones are many.
    scale_pct : float
        Expected scale of a photo's error [points].
    """

    bank: CurveBank
    weight: np.ndarray
    day: np.ndarray
    observed_pct: np.ndarray
    held_out: np.ndarray
    scale_pct: float
    surprising: bool = False
    history: np.ndarray | None = None

    def cover(self, day: np.ndarray | float) -> Band:
        """Return median, 80 % and 95 % band of the true cover on the given days."""
        days = np.atleast_1d(np.asarray(day, dtype=float))
        values = np.sort(self.bank.at(days, self.draws), axis=1)
        at = (np.array([0.5, 0.1, 0.9, 0.025, 0.975]) * (values.shape[1] - 1)).round().astype(int)
        return Band(days, *(values[:, i].astype(float) for i in at))

    @cached_property
    def draws(self) -> np.ndarray:
        """Evenly spread members of the weighed bank (their numbers, repeated by weight)."""
        total = np.cumsum(self.weight)
        return np.searchsorted(total, (np.arange(DRAWS) + 0.5) / DRAWS * total[-1])

    @property
    def effective_members(self) -> float:
        """How many members carry the weight: 1 over the sum of squared weights (Kish 1965)."""
        return float(self.weight.sum() ** 2 / (self.weight @ self.weight))

    @property
    def season_ends(self) -> float:
        """Until when a cover may be reached and count [days]."""
        newest = float(self.day[-1]) if len(self.day) else 0.0
        return max(self.bank.season_days, newest + p.LEAST_AHEAD_DAYS)

    def chance_by(self, cover_pct: float, day: float) -> float:
        """Return the chance that a cover has been reached by a day."""
        return float(self.weight @ (self.bank.first_day(cover_pct)[0] <= day))

    def chance_above(self, cover_pct: float, day: float) -> float:
        """Return the chance that the cover on a day is at least `cover_pct`."""
        return float(self.weight @ (self.bank.at(day)[0] >= cover_pct))

    def given(self, members: np.ndarray) -> Recovery:
        """Return the recovery given that it is one of some members, shape (members,) of bool."""
        weight = self.weight * members
        return replace(self, weight=weight / weight.sum())

    def crossing(self, cover_pct: float, *, ends: float = np.inf) -> Crossing:
        """Return when a cover is first reached this season: conditional median, 80 % window, and the chance.

        `ends` is the day on which growth ends, where that is known.
        """
        days, order = self.bank.first_day(cover_pct)
        until = min(self.season_ends, ends)
        sure = np.cumsum(self.weight[order[: np.searchsorted(days, until, side="right", sorter=order)]])
        chance = float(min(sure[-1], 1.0)) if len(sure) else 0.0
        if chance < 0.005:
            return Crossing(np.nan, np.nan, np.nan, chance)
        at = np.minimum(np.searchsorted(sure, np.array([0.5, 0.1, 0.9]) * sure[-1]), len(sure) - 1)
        middle, earliest, latest = (float(d) for d in days[order[at]])
        return Crossing(middle, earliest, latest, chance)

    def gain_pct_per_day(self, day: float, *, span_days: float = 5.0) -> float:
        """Return the expected gain per day over the `span_days` before a day [points per day]."""
        start = max(day - span_days, 0.0)
        rows = self.bank.at(np.array([start, day]))
        return float(self.weight @ (rows[1] - rows[0])) / max(day - start, 1e-9)


@lru_cache(maxsize=16)
def _best_until(bank: CurveBank, row: int) -> np.ndarray:
    return np.asarray(bank.cover_pct[: row + 1].max(axis=0))


class Belief(NamedTuple):
    """What a weighed bank says of one day: the cover expected, and four chances."""

    cover_pct: float
    full_now: float
    full_in_time: float
    full_late: float
    fallen: float


def beliefs(
    weight: np.ndarray,
    bank: CurveBank,
    day: float,
    *,
    full_pct: float,
    in_time: float,
    late: float,
    points: float,
) -> list[Belief]:
    """Return what each zone's weights say of a day, all zones at once.

    Parameters
    ----------
    weight : ndarray, shape (zones, members)
        Rows sum to 1.
    bank : CurveBank
        What is weighed.
    day : float
        The day, on the model's days like `in_time` and `late`.
    full_pct : float
        The cover that counts as full.
    in_time, late : float
        Days by which full cover is in time, and late.
    points : float
        How far below its earlier best a zone has fallen.
    """
    now, first = bank.at(day)[0], bank.first_day(full_pct)[0]
    best = _best_until(bank, max(int(np.ceil(day / bank.step_days)), 1))
    table = np.stack([now, now >= full_pct, first <= in_time, first <= late, best - now > points])
    return [Belief(*row) for row in (weight @ table.T.astype(float)).tolist()]


def coupled_draws(recoveries: Sequence[Recovery], *, count: int = DRAWS) -> list[np.ndarray]:
    """Return members of each zone's bank, drawn together: one draw is one course of the lawn, shape (count,) each.

    The zones' fortunes are coupled by a Gaussian copula (0.6). Within a zone the members are ranked by their cover ten
    days after the newest photo; good draws of one zone go with good draws of the others, as weather and care are
    shared. Each zone's draws are evenly spread over its members.
    """
    noise = np.random.default_rng(20240607).standard_normal((len(recoveries) + 1, count))
    luck = np.sqrt(p.ZONE_COUPLING) * noise[0] + np.sqrt(1 - p.ZONE_COUPLING) * noise[1:]
    ranks = np.empty_like(luck)
    np.put_along_axis(ranks, np.argsort(luck, axis=1), (np.arange(count) + 0.5)[None] / count, axis=1)
    newest = max((float(r.day[-1]) for r in recoveries if len(r.day)), default=0.0)
    draws = []
    for recovery, rank in zip(recoveries, ranks, strict=True):
        order = np.argsort(recovery.bank.at(newest + 10.0)[0])
        ladder = np.cumsum(recovery.weight[order])
        draws.append(order[np.minimum(np.searchsorted(ladder / ladder[-1], rank), len(order) - 1)])
    return draws


def whole_lawn(recoveries: Sequence[Recovery], areas: Sequence[float], *, count: int = DRAWS) -> Recovery:
    """Return the recovery of the area-weighted total, the zones drawn together."""
    share = np.asarray(areas, float) / np.sum(areas)
    season = recoveries[0].bank.season_days
    total = np.zeros((count, round(recoveries[0].bank.horizon_days) + 1), dtype=np.float32)
    draws = coupled_draws(recoveries, count=count)
    for recovery, part, members in zip(recoveries, share, draws, strict=True):
        bank = recovery.bank
        daily = np.ascontiguousarray(np.float32(part) * bank.cover_pct[:: round(1 / bank.step_days)].T)
        total += daily[members]
    scale = float(np.mean([r.scale_pct for r in recoveries]))
    day, cover, held = _area_mean(recoveries, share)
    even = np.full(count, 1.0 / count)
    bank = CurveBank(np.ascontiguousarray(total.T), even, 1.0, season)
    return Recovery(bank, even, day, cover, held, scale)


def _area_mean(
    recoveries: Sequence[Recovery], share: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the days on which nine tenths of the area were seen, the mean cover there, and whether held out."""
    days = np.unique(np.concatenate([r.day for r in recoveries]))
    seen, total, held = (np.zeros(len(days)) for _ in range(3))
    for recovery, part in zip(recoveries, share, strict=True):
        at = np.searchsorted(days, recovery.day)
        seen[at] += part
        total[at] += part * recovery.observed_pct
        held[at] += part * recovery.held_out
    enough = seen > 0.9
    return days[enough], total[enough] / seen[enough], held[enough] > 0.5

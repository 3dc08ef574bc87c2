"""The curve bank: four thousand plausible recoveries, drawn once from the stated priors.

A bank is a table of cover over days since leveling, one column per member, with each member's prior weight. It knows
nothing of photos; recovery.py weighs its members by them.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np

from swardmark.bank import priors as p
from swardmark.bank.members import FAMILIES, Members, cover_of
from swardmark.bank.sobol import sobol_points

MEMBERS = 4096
STEP_DAYS = 0.5
HORIZON_DAYS = 120.0
THIN = 4
# A probability no margin can reach in 4096 points, so that the normal quantiles stay finite.
_EDGE = 1e-6


@dataclass(frozen=True, eq=False)
class CurveBank:
    """Plausible recoveries on a grid of days.

    Attributes
    ----------
    cover_pct : ndarray, shape (days, members), float32
        Cover of every member at every step [%].
    prior : ndarray, shape (members,)
        Weight of each member before any photo; sums to 1.
    step_days : float
        Distance of the rows [days].
    season_days : float
        Until when a cover may be reached and count [days].
    members : Members, optional
        The numbers behind the curves.
    row : GrassPrior, optional
        The grass's prior they are drawn from.
    """

    cover_pct: np.ndarray
    prior: np.ndarray
    step_days: float = STEP_DAYS
    season_days: float = HORIZON_DAYS
    members: Members | None = None
    row: p.GrassPrior | None = None
    _levels: dict[float, tuple[np.ndarray, np.ndarray]] = field(default_factory=dict, repr=False)

    @property
    def horizon_days(self) -> float:
        """The last day of the table [days]."""
        return (len(self.cover_pct) - 1) * self.step_days

    def at(self, day: np.ndarray | float, members: np.ndarray | slice = slice(None)) -> np.ndarray:
        """Return the cover of all or some members on the given days, interpolated [%], shape (days, members)."""
        row = np.clip(
            np.atleast_1d(np.asarray(day, dtype=float)) / self.step_days, 0, len(self.cover_pct) - 1
        )
        low = np.floor(row).astype(int)
        part = (row - low).astype(np.float32)[:, None]
        rows = self.cover_pct[low][:, members]
        if not part.any():
            return rows
        high = np.minimum(low + 1, len(self.cover_pct) - 1)
        return rows + part * (self.cover_pct[high][:, members] - rows)

    @cached_property
    def log_prior(self) -> np.ndarray:
        """Log of `prior`, float32."""
        return np.log(self.prior).astype(np.float32)

    @cached_property
    def thinned(self) -> CurveBank:
        """Every fourth member: enough for an expectation."""
        few = slice(None, None, THIN)
        weight = self.prior[few] / self.prior[few].sum()
        members = None if self.members is None else self.members[few]
        return CurveBank(
            np.ascontiguousarray(self.cover_pct[:, few]),
            weight,
            self.step_days,
            self.season_days,
            members,
            self.row,
        )

    def first_day(self, level_pct: float) -> tuple[np.ndarray, np.ndarray]:
        """Return each member's first day at or above a cover (inf if never), and the members in that order."""
        if level_pct not in self._levels:
            days = _first_day(self.cover_pct, level_pct, self.step_days)
            self._levels[level_pct] = days, np.argsort(days, kind="stable")
        return self._levels[level_pct]


@lru_cache(maxsize=16)
def draw_bank(grass: str = "other warm-season", slower: float = 1.0) -> CurveBank:
    """Draw the bank of a grass, its half-way day times `slower`; the same arguments always give the same bank."""
    row = p.prior_of(grass)
    row = replace(row, t50_days=row.t50_days * slower)
    points = sobol_points(MEMBERS, 8).T
    kind, weight = _kinds(points[1])
    family = np.minimum((points[0] * FAMILIES).astype(int), FAMILIES - 1)
    score = _scores(np.stack([*points[2:], points[0] * FAMILIES % 1.0]))
    bank = bank_of(Members(kind, family, score), weight, row)
    order = np.argsort(bank.cover_pct[: int(45 / STEP_DAYS)].mean(axis=0))
    cover = np.ascontiguousarray(bank.cover_pct[:, order])
    assert bank.members is not None
    return replace(bank, cover_pct=cover, prior=weight[order], members=bank.members[order])


def bank_of(
    members: Members,
    weight: np.ndarray,
    row: p.GrassPrior,
    *,
    step_days: float = STEP_DAYS,
    late_days: tuple[float, int] = (HORIZON_DAYS, 1),
) -> CurveBank:
    """Return the bank of given members under a grass's prior, on days `step_days` apart.

    From the first of `late_days` on, only every so many steps are computed and the steps between lie on straight lines.
    """
    day = np.arange(0, HORIZON_DAYS + step_days, step_days, dtype=np.float32)[:, None]
    late, every = int(late_days[0] / step_days), late_days[1]
    ends = np.arange(late, len(day), every)
    some = np.concatenate([np.arange(late), ends])
    cover = cover_of(members, day[some], row)
    if every > 1:
        cover = np.concatenate([cover[:late], _between_ends(cover[late:], every)])
    season = min(p.SEASON_PER_T50 * row.t50_days, HORIZON_DAYS)
    return CurveBank(cover, weight, step_days, season, members, row)


def _between_ends(rows: np.ndarray, every: int) -> np.ndarray:
    """Return rows with straight lines drawn between them, in so many steps."""
    part = np.linspace(0.0, 1.0, every, endpoint=False, dtype=np.float32)[None, :, None]
    filled = rows[:-1, None] + part * (rows[1:] - rows[:-1])[:, None]
    return np.concatenate([filled.reshape(-1, rows.shape[1]), rows[-1:]])


def mix_banks(one: CurveBank, other: CurveBank, share: float) -> CurveBank:
    """Return the members of two banks of one grass and one step, the first with a share of the weight."""
    assert one.members is not None and other.members is not None
    prior = np.concatenate([share * one.prior, (1.0 - share) * other.prior])
    members = Members(
        np.concatenate([one.members.kind, other.members.kind]),
        np.concatenate([one.members.family, other.members.family]),
        np.concatenate([one.members.score, other.members.score], axis=1),
    )
    cover = np.concatenate([one.cover_pct, other.cover_pct], axis=1)
    return CurveBank(cover, prior, one.step_days, one.season_days, members, one.row)


def _kinds(u: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return each member's kind and its prior weight."""
    drawn = np.array([kind.drawn_share for kind in p.KINDS])
    edges = np.concatenate([[0.0], np.cumsum(drawn)])
    kind = np.clip(np.searchsorted(edges, u, side="right") - 1, 0, len(drawn) - 1)
    weight = np.array([k.prior_share for k in p.KINDS])[kind] / np.bincount(kind, minlength=len(drawn))[kind]
    return kind, weight / weight.sum()


def _scores(u: np.ndarray) -> np.ndarray:
    """Return the standard normal quantiles of probabilities."""
    from scipy.special import ndtri

    return np.asarray(ndtri(np.clip(u, _EDGE, 1 - _EDGE)))


def _first_day(cover: np.ndarray, level: float, step: float) -> np.ndarray:
    """Return the first crossing of a level, interpolated between rows [days]."""
    above = cover >= level
    row = above.argmax(axis=0)
    member = np.arange(cover.shape[1])
    high, low = cover[row, member], cover[np.maximum(row - 1, 0), member]
    rise = np.where(high > low, high - low, 1.0)
    day = (row - np.where(row > 0, (high - level) / rise, 0.0)) * step
    return np.where(above[row, member], day, np.inf)

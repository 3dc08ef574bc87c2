"""The curve bank: four thousand plausible recoveries, drawn once from the stated priors.

A bank is a table of cover over days since leveling, one column per member, with each member's prior weight. It knows
nothing of photos; recovery.py weighs its members by them.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np

from swardmark.forecast import curves
from swardmark.forecast import priors as p
from swardmark.forecast.sobol import sobol_points

MEMBERS = 4096
STEP_DAYS = 0.5
HORIZON_DAYS = 120.0
FAMILIES = 4
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
    pace, form : ndarray, shape (members,), optional
        Log of the half-way day before any trouble, in standard deviations from the grass's median; number of the
        family.
    """

    cover_pct: np.ndarray
    prior: np.ndarray
    step_days: float = STEP_DAYS
    season_days: float = HORIZON_DAYS
    pace: np.ndarray | None = None
    form: np.ndarray | None = None
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

    def first_day(self, level_pct: float) -> tuple[np.ndarray, np.ndarray]:
        """Return each member's first day at or above a cover (inf if never), and the members in that order."""
        if level_pct not in self._levels:
            days = _first_day(self.cover_pct, level_pct, self.step_days)
            self._levels[level_pct] = days, np.argsort(days, kind="stable")
        return self._levels[level_pct]


@lru_cache(maxsize=16)
def draw_bank(grass: str = "other warm-season", slower: float = 1.0) -> CurveBank:
    """Draw the bank of a grass, its half-way day times `slower`; the same arguments always give the same bank."""
    points = sobol_points(MEMBERS, 8).T
    kind, weight = _kinds(points[1])
    prior = p.prior_of(grass)
    prior = replace(prior, t50_days=prior.t50_days * slower)
    t50, shape, ceiling, start, cap = _numbers(prior, points, kind)
    day = np.arange(0, HORIZON_DAYS + STEP_DAYS, STEP_DAYS, dtype=np.float32)[:, None]
    shift = np.where(kind == _number("partly covered"), _between(p.HEAD_START, points[7]) * t50, 0.0)
    family = np.minimum((points[0] * FAMILIES).astype(int), FAMILIES - 1)
    cover = np.empty((len(day), MEMBERS), dtype=np.float32)
    for index in range(FAMILIES):
        of = family == index
        shown = (v[of].astype(np.float32) for v in (t50, shape, ceiling, start, shift))
        cover[:, of] = _family(index, day, *shown)
    troubled = np.flatnonzero(np.isfinite(cap))
    cover[:, troubled] = _with_trouble(
        cover[:, troubled], day, kind[troubled], cap[troubled], points[7][troubled],
        _between(p.DIE_BACK_DAYS, points[0][troubled] * FAMILIES % 1.0),
        *(v[troubled] for v in (ceiling, shape / t50)),
    )  # fmt: skip
    order = np.argsort(cover[: int(45 / STEP_DAYS)].mean(axis=0))
    season = min(p.SEASON_PER_T50 * prior.t50_days, HORIZON_DAYS)
    return CurveBank(
        np.ascontiguousarray(cover[:, order]),
        weight[order],
        season_days=season,
        pace=_scores(points[2])[order],
        form=family[order],
    )


def _kinds(u: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return each member's kind and its prior weight."""
    drawn = np.array([kind.drawn_share for kind in p.KINDS])
    edges = np.concatenate([[0.0], np.cumsum(drawn)])
    kind = np.clip(np.searchsorted(edges, u, side="right") - 1, 0, len(drawn) - 1)
    weight = np.array([k.prior_share for k in p.KINDS])[kind] / np.bincount(kind, minlength=len(drawn))[kind]
    return kind, weight / weight.sum()


def _numbers(prior: p.GrassPrior, points: np.ndarray, kind: np.ndarray) -> tuple[np.ndarray, ...]:
    """Return half-way day, shape, ceiling, start and the day of trouble (inf where there is none)."""
    from scipy.special import gammaincinv

    u = np.clip(points, _EDGE, 1 - _EDGE)
    t50 = prior.t50_days * np.exp(prior.t50_log_sd * _scores(u[2]))
    shape = prior.shape * np.exp(prior.shape_log_sd * _scores(u[3]))
    ceiling = 100.0 - prior.ceiling_gap_scale_pct * gammaincinv(prior.ceiling_gap_shape, u[4])
    slow = np.isin(kind, [_number("slow"), _number("partly covered")])
    t50 = np.where(slow, t50 * np.exp(_between(tuple(np.log(p.SLOW_FACTOR)), u[6])), t50)
    ceiling = np.where(kind == _number("low ceiling"), _between(p.LOW_CEILING_PCT, u[6]), ceiling)
    ceiling = np.where((kind != _number("low ceiling")), np.maximum(ceiling, p.CEILING_FLOOR_PCT), ceiling)
    start = np.clip(prior.start_pct * np.exp(prior.start_log_sd * _scores(u[5])), *p.START_PCT)
    start = np.minimum(start, 0.4 * ceiling)
    troubled = np.isin(kind, [_number(n) for n in ("stops", "dies back", "dies back and recovers")])
    return t50, shape, ceiling, start, np.where(troubled, _between(p.TROUBLE_DAY, u[6]), np.inf)


def _scores(u: np.ndarray) -> np.ndarray:
    """Return the standard normal quantiles of probabilities."""
    from scipy.special import ndtri

    return np.asarray(ndtri(np.clip(u, _EDGE, 1 - _EDGE)))


def _family(
    index: int,
    day: np.ndarray,
    t50: np.ndarray,
    shape: np.ndarray,
    ceiling: np.ndarray,
    start: np.ndarray,
    shift: np.ndarray,
) -> np.ndarray:
    if index == 0:
        return curves.logistic(day + shift, t50, shape, ceiling)
    if index == 1:
        return curves.gompertz(day + shift, t50, shape, ceiling)
    formula = curves.weibull_offset if index == 2 else curves.log_logistic_offset
    return formula(day + shift, t50, shape, ceiling, start)


def _with_trouble(
    cover: np.ndarray,
    day: np.ndarray,
    kind: np.ndarray,
    trouble_day: np.ndarray,
    u: np.ndarray,
    fall_days: np.ndarray,
    ceiling: np.ndarray,
    rate: np.ndarray,
) -> np.ndarray:
    """Let curves stop, fall, or fall and recover from their day of trouble on."""
    member = np.arange(cover.shape[1])
    held = cover[np.round(trouble_day / STEP_DAYS).astype(int), member]
    lost = np.where(kind == _number("stops"), 0.0, _between(p.DIE_BACK_SHARE, u))
    fall = np.clip((day - trouble_day) / fall_days, 0.0, 1.0)
    left = held * (1.0 - lost * fall)
    since = np.maximum(day - trouble_day - fall_days, 0.0)
    back = ceiling - (ceiling - left) * np.exp(-rate * since)
    after = np.where(kind == _number("dies back and recovers"), back, left)
    return np.where(day < trouble_day, cover, after).astype(np.float32)


def _first_day(cover: np.ndarray, level: float, step: float) -> np.ndarray:
    """Return the first crossing of a level, interpolated between rows [days]."""
    above = cover >= level
    row = above.argmax(axis=0)
    member = np.arange(cover.shape[1])
    high, low = cover[row, member], cover[np.maximum(row - 1, 0), member]
    rise = np.where(high > low, high - low, 1.0)
    day = (row - np.where(row > 0, (high - level) / rise, 0.0)) * step
    return np.where(above[row, member], day, np.inf)


def _between(ends: tuple[float, float], u: np.ndarray) -> np.ndarray:
    return ends[0] + (ends[1] - ends[0]) * u


def _number(name: str) -> int:
    return next(i for i, kind in enumerate(p.KINDS) if kind.name == name)

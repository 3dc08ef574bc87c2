"""Which spots first: the exact optimum within a budget, season by season.

Filling a spot is worth its area times its severity times the seasons in which it was seen. A spot is filled
whole, or staged in thin passes over one or several seasons. For each season the passes that are worth most
within the money and the volume are found exactly, as a mixed-integer linear program (scipy.optimize.milp;
HiGHS, Huangfu and Hall 2018, Mathematical Programming Computation 10:119-142); what is left is planned for
the next season with the same budget.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from swardmark.common.errors import SwardmarkError, UsageError, check_argument
from swardmark.common.units import LITRE_M3

MOST_SEASONS = 20
TINY = 1e-9


@dataclass(frozen=True)
class Job:
    """One spot to fill: the sand that it takes, in how many equal passes, and what that is worth."""

    key: int
    volume_m3: float
    passes: int
    benefit: float

    @property
    def pass_m3(self) -> float:
        """Sand for one pass, in cubic meters."""
        return self.volume_m3 / self.passes

    @property
    def benefit_per_litre(self) -> float:
        """What a litre of sand is worth here; the order of priority."""
        return self.benefit / max(self.volume_m3 * 1000, TINY)


@dataclass(frozen=True)
class Budget:
    """What one season may take; None is no limit.

    Attributes
    ----------
    money : float or None
        In the keeper's currency.
    price_per_m3, delivery_price : float
        Price of sand, and of each delivery; every pass of a season is one delivery.
    volume_m3 : float or None
        The most sand of a season, in cubic meters.
    passes : int
        The most passes of a season over the same ground.
    sold_by_m3 : float or None
        The least amount that is sold (a loader scoop, a bag); orders are rounded up to it.
    """

    money: float | None = None
    price_per_m3: float = 0.0
    delivery_price: float = 0.0
    volume_m3: float | None = None
    passes: int = 2
    sold_by_m3: float | None = None

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if value is not None:
                check_argument(value, int, float, name=name, where="Budget", remedy="Give a number")
        numbers = [self.money, self.price_per_m3, self.delivery_price, self.volume_m3]
        if any(n is not None and not 0 <= n < math.inf for n in numbers) or self.passes < 1:
            remedy = "Give amounts of zero or more, and at least one pass a season"
            raise UsageError("a budget, price or volume below zero cannot be", where="budget", remedy=remedy)
        if self.money is not None and self.price_per_m3 == 0 and self.delivery_price == 0:
            remedy = "Give --price-per-yard, or price_per_m3 under [sand] in lawn.toml"
            raise UsageError("a budget needs the price of sand", where="budget", remedy=remedy)


@dataclass(frozen=True)
class SeasonPlan:
    """The passes of one season: how many each spot gets, and what they take."""

    passes: dict[int, int]
    volume_m3: float
    order_m3: float
    deliveries: int
    cost: float
    benefit: float


@dataclass(frozen=True)
class SpendingPlan:
    """The seasons in order, and the spots that no season's budget can reach."""

    seasons: tuple[SeasonPlan, ...]
    out_of_reach: tuple[int, ...]

    @property
    def chosen(self) -> tuple[int, ...]:
        """Spots that get sand in the coming season."""
        return tuple(self.seasons[0].passes) if self.seasons else ()


def plan_spending(jobs: Sequence[Job], budget: Budget, *, whole_only: bool = False) -> SpendingPlan:
    """Plan the coming season at its exact optimum, then the seasons after it.

    Parameters
    ----------
    jobs : sequence of Job
        Spots to fill.
    budget : Budget
        What each season may take.
    whole_only : bool
        Begin a spot only where all its passes fit the season.
    """
    left = {job.key: job for job in jobs}
    seasons: list[SeasonPlan] = []
    while left and len(seasons) < MOST_SEASONS:
        season = best_season(list(left.values()), budget, whole_only=whole_only)
        if not season.passes:
            break
        seasons.append(season)
        left = _after(left, season)
    return SpendingPlan(tuple(seasons), tuple(left))


def best_season(jobs: Sequence[Job], budget: Budget, *, whole_only: bool = False) -> SeasonPlan:
    """Choose the passes of one season that are worth most within the budget.

    The unknowns are the passes of each spot, the deliveries of the season (as many as the most passes of
    any spot), and the units of sand that are bought. Among equals the one with less sand is taken. Without a limit of
    money or sand each spot gets all the passes that a season allows.

    Raises
    ------
    SwardmarkError
        The solver did not reach the optimum.
    """
    useful = [job for job in jobs if job.benefit > 0 and not (whole_only and job.passes > budget.passes)]
    if not useful:
        return SeasonPlan({}, 0.0, 0.0, 0, 0.0, 0.0)
    step = np.array([job.passes if whole_only else 1 for job in useful], float)
    most = np.array([1 if whole_only else min(job.passes, budget.passes) for job in useful], float)
    if budget.money is None and budget.volume_m3 is None:
        return _season(useful, (most * step).astype(int), budget)
    sand = np.array([job.pass_m3 / LITRE_M3 for job in useful]) * step
    worth = np.array([job.benefit / job.passes for job in useful]) * step
    return _season(useful, _optimum(sand, worth, step, most, budget), budget)


def _optimum(
    sand: np.ndarray, worth: np.ndarray, step: np.ndarray, most: np.ndarray, budget: Budget
) -> np.ndarray:
    from scipy.optimize import Bounds, LinearConstraint, milp

    rows, low, high = _limits(sand, step, budget)
    thrift = 1e-6 * float(worth.min()) / max(float(sand.sum()) * budget.passes, TINY)
    solution = milp(
        np.concatenate([thrift * sand - worth, [0.0, 0.0]]),
        constraints=LinearConstraint(rows, low, high),
        bounds=Bounds(0, np.concatenate([most, [budget.passes, np.inf]])),
        integrality=np.concatenate([np.ones(len(sand) + 1), [1 if budget.sold_by_m3 else 0]]),
        options={"mip_rel_gap": 0.0},
    )
    if solution.x is None or solution.status != 0:
        raise SwardmarkError(f"the plan could not be solved ({solution.message})", where="budget")
    return np.asarray((np.rint(solution.x[: len(sand)]) * step).astype(int))


def _limits(sand: np.ndarray, step: np.ndarray, budget: Budget) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Constraints on (passes of each spot, deliveries, units or litres bought); sand in litres."""
    spots = len(sand)
    unit = (budget.sold_by_m3 or LITRE_M3) / LITRE_M3
    rows = [np.concatenate([sand, [0.0, -unit]])]
    high = [0.0]
    for spot in range(spots):
        row = np.zeros(spots + 2)
        row[spot], row[spots] = step[spot], -1.0
        rows.append(row)
        high.append(0.0)
    if budget.money is not None:
        rows.append(
            np.concatenate([np.zeros(spots), [budget.delivery_price, budget.price_per_m3 * unit * LITRE_M3]])
        )
        high.append(budget.money)
    if budget.volume_m3 is not None:
        rows.append(np.concatenate([np.zeros(spots), [0.0, unit]]))
        high.append(budget.volume_m3 / LITRE_M3)
    return np.array(rows), np.full(len(rows), -np.inf), np.array(high)


def _season(jobs: Sequence[Job], counts: np.ndarray, budget: Budget) -> SeasonPlan:
    passes = {job.key: int(n) for job, n in zip(jobs, counts, strict=True) if n > 0}
    volume = sum(job.pass_m3 * n for job, n in zip(jobs, counts, strict=True))
    unit = budget.sold_by_m3
    order = math.ceil(volume / unit - TINY) * unit if unit else volume
    deliveries = max(passes.values(), default=0)
    return SeasonPlan(
        passes,
        volume_m3=float(volume),
        order_m3=float(order),
        deliveries=deliveries,
        cost=float(order * budget.price_per_m3 + deliveries * budget.delivery_price),
        benefit=float(sum(job.benefit / job.passes * n for job, n in zip(jobs, counts, strict=True))),
    )


def _after(left: dict[int, Job], season: SeasonPlan) -> dict[int, Job]:
    """Return what remains to be filled after a season."""
    remaining = {}
    for key, job in left.items():
        still = job.passes - season.passes.get(key, 0)
        if still > 0:
            share = still / job.passes
            remaining[key] = Job(key, job.volume_m3 * share, still, job.benefit * share)
    return remaining

"""One sand order for many lawns: the measured spots of all compete for one budget, and one delivery serves them.

The spots are chosen as those of one lawn are (relevel/budget.py): exactly, by what a litre is worth. Sand that is left
in the truck at one lawn fills the next, so only the whole order is rounded up to what is sold.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from swardmark.common.phrases import plural
from swardmark.common.text import clean
from swardmark.lawn.toml import Lawn
from swardmark.lawns import sentences as say
from swardmark.relevel.budget import Budget, Job, SeasonPlan, plan_spending
from swardmark.relevel.order_words import about_volume, order_lines
from swardmark.relevel.plan import RelevelPlan
from swardmark.relevel.planning import budget_of, job_of
from swardmark.relevel.sand import SandOrder, order_of_volume, with_receipts


@dataclass(frozen=True, eq=False)
class LawnSpots:
    """One lawn's part of the plan.

    Attributes
    ----------
    folder : Path
        The lawn folder.
    lawn : Lawn
        The keeper's lawn.
    jobs : tuple of Job
        Its measured low spots, by their numbers.
    unprobed : int
        Spots that wait to be measured.
    passes : dict of int to int
        Passes of the coming season by spot.
    """

    folder: Path
    lawn: Lawn
    jobs: tuple[Job, ...]
    unprobed: int
    passes: dict[int, int]

    @property
    def sand_m3(self) -> float:
        """Sand for the coming season, settling included, in cubic meters."""
        return sum(job.pass_m3 * self.passes.get(job.key, 0) for job in self.jobs)

    @property
    def worth(self) -> float:
        """What a litre of the coming season's sand is worth here: who is served first."""
        got = sum(job.benefit / job.passes * self.passes.get(job.key, 0) for job in self.jobs)
        return got / self.sand_m3 if self.sand_m3 else 0.0


@dataclass(frozen=True, eq=False)
class LawnsPlan:
    """The coming season's sand for many lawns.

    Attributes
    ----------
    lawns : tuple of LawnSpots
        Every lawn, the one that gains most by its sand first.
    order : SandOrder
        What is ordered for all.
    deliveries : int
        Loads that come on days of their own: as many as the most passes over one spot.
    prices_differ : bool
        Whether the lawns name more than one price.
    """

    lawns: tuple[LawnSpots, ...]
    order: SandOrder
    deliveries: int
    prices_differ: bool


def spots_of(folder: Path, plan: RelevelPlan) -> LawnSpots:
    """Return what a lawn brings into the common plan; nothing is chosen yet."""
    jobs = tuple(job_of(spot) for spot in plan.spots if spot.passes)
    return LawnSpots(folder, plan.lawn, jobs, sum(spot.needs_measuring for spot in plan.spots), {})


def plan_lawns(
    lawns: Sequence[LawnSpots],
    *,
    money: float | None = None,
    volume_m3: float | None = None,
    price_per_m3: float | None = None,
    delivery_price: float | None = None,
    whole_only: bool = False,
) -> LawnsPlan:
    """Choose among the measured spots of all lawns within one budget.

    Parameters
    ----------
    lawns : sequence of LawnSpots
        At least one.
    money, volume_m3 : float, optional
        The most to spend, and the most sand, in the coming season.
    price_per_m3, delivery_price : float, optional
        Prices; by default the highest that a lawn names.
    whole_only : bool
        Begin a spot only where all its passes fit the season.

    Raises
    ------
    UsageError
        A budget without a price.
    """
    dearest, prices = _dearest(lawns)
    budget = replace(
        budget_of(
            dearest,
            money=money,
            volume_m3=volume_m3,
            price_per_m3=price_per_m3,
            delivery_price=delivery_price,
        ),
        passes=min(one.lawn.sand.passes_per_season for one in lawns),
    )
    owners = [(number, job) for number, one in enumerate(lawns) for job in one.jobs]
    jobs = [replace(job, key=key) for key, (_, job) in enumerate(owners)]
    season = _coming(jobs, budget, whole_only=whole_only)
    passes: list[dict[int, int]] = [{} for _ in lawns]
    for key, count in season.passes.items():
        number, job = owners[key]
        passes[number][job.key] = count
    chosen = [replace(one, passes=own) for one, own in zip(lawns, passes, strict=True)]
    chosen.sort(key=lambda one: (-one.worth, one.folder))
    settings = with_receipts(dearest.sand, dearest.receipt)[0].model_copy(
        update={
            "settling_pct": 0.0,
            "price_per_m3": budget.price_per_m3 or None,
            "delivery_price": budget.delivery_price,
        }
    )
    order = order_of_volume(season.volume_m3, settings=settings)
    cost = season.cost if budget.price_per_m3 else None
    differ = price_per_m3 is None and len(prices) > 1
    count = season.deliveries if budget.delivery_price else 0
    order = replace(order, cost=cost, deliveries=count, settling_pct=dearest.sand.settling_pct)
    return LawnsPlan(tuple(chosen), order, season.deliveries, differ)


def plan_lines(plan: LawnsPlan) -> Iterator[str]:
    """Say the plan in lines: what is filled from how many deliveries, where each part goes, and the order."""
    served = [one for one in plan.lawns if one.passes]
    units = plan.lawns[0].lawn.units
    if not any(one.jobs for one in plan.lawns):
        yield say.NO_SAND
    elif not served:
        yield say.NOTHING_FITS
    else:
        template = plural(plan.deliveries, say.ONE_DELIVERY, say.DELIVERIES)
        spots = sum(len(one.passes) for one in served)
        yield template.format(
            spots=_count(spots, say.SPOTS), lawns=_count(len(served), say.LAWNS), count=plan.deliveries
        )
        for one in served:
            volume = about_volume(one.sand_m3, units=one.lawn.units)
            where = f"{clean(one.lawn.name, most=40)} ({one.folder.name})"
            yield say.DROP.format(lawn=where, volume=volume, spots=_count(len(one.passes), say.SPOTS))
        yield from order_lines(plan.order, units=units, is_estimate=True)
    if plan.prices_differ:
        yield say.PRICES_DIFFER
    waiting = sum(job.key not in one.passes for one in plan.lawns for job in one.jobs)
    if waiting and served:
        yield say.WAITING.format(spots=_count(waiting, say.SPOTS))
    unprobed = [one for one in plan.lawns if one.unprobed]
    if unprobed:
        waits = _count(sum(one.unprobed for one in unprobed), say.SPOTS)
        yield say.UNPROBED.format(spots=waits, lawns=_count(len(unprobed), say.LAWNS))


def _coming(jobs: Sequence[Job], budget: Budget, *, whole_only: bool) -> SeasonPlan:
    seasons = plan_spending(jobs, budget, whole_only=whole_only).seasons
    return seasons[0] if seasons else SeasonPlan({}, 0.0, 0.0, 0, 0.0, 0.0)


def _dearest(lawns: Sequence[LawnSpots]) -> tuple[Lawn, set[float]]:
    """Return the lawn that names the highest price of sand, and all prices that are named."""
    priced = [(with_receipts(one.lawn.sand, one.lawn.receipt)[0].price_per_m3, one.lawn) for one in lawns]
    named = [(price, lawn) for price, lawn in priced if price is not None]
    if not named:
        return lawns[0].lawn, set()
    return max(named, key=lambda pair: pair[0])[1], {price for price, _ in named}


def _count(count: int, templates: tuple[str, str]) -> str:
    return plural(count, *templates).format(count=count)

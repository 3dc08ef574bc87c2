"""The re-level plan: from the stacks of ground maps, the lawn and the measured dips to a RelevelPlan.

Read from the top: spots are found at each photo point (spots.py) and matched with the seasons before
(seasons.py); measured heights, depths and probes give each its cause (causes.py); the depth of low ground gives sand
and passes (sand.py); the budget chooses (budget.py). A photo sees cover, not height: a spot that nobody has probed
costs nothing and stands first among what to measure.

Season and interval: sand goes on growing turf only, and the next pass waits until the first is grown
through; one extension example is June and again in mid-August (C. Waltz, University of Georgia; D. Gill,
LSU AgCenter: April to September in Louisiana, never on dormant grass). The soil temperatures of the window
are common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import LeafScale
from swardmark.common.units import LITRE_M3
from swardmark.lawn.grasses import grass_row
from swardmark.lawn.level_notes import Probe
from swardmark.lawn.toml import Lawn, SandSettings
from swardmark.level.review import LevelReview
from swardmark.measure.points import PointReview, evenly
from swardmark.relevel.budget import Budget, Job, SpendingPlan, plan_spending
from swardmark.relevel.causes import LOW, REACH_M, Finding, findings
from swardmark.relevel.plan import Dip, RelevelPlan, SpotPlan
from swardmark.relevel.sand import (
    MOST_DEPTH_MM,
    WARN_DEPTH_MM,
    SandOrder,
    order_of_volume,
    passes_for,
    unit_m3,
    with_receipts,
)
from swardmark.relevel.seasons import compare_seasons, count_seasons
from swardmark.relevel.spots import LEAF_HEIGHT_MM, Spot, SpotSearch, find_spots

MOST_PLAN_DAYS, NEWEST_PLAN_DAYS = 60, 10
"""Spots are found from one photo a day, at most this many days, always the newest; more days add nothing."""


@dataclass(frozen=True, eq=False)
class PointMaps:
    """One photo point in one season: its ground maps, their days since the leveling, and its scale."""

    point: str
    maps: tuple[GroundMap, ...]
    days: tuple[float, ...]
    scale: LeafScale
    camera_m: tuple[float, float, float] | None = None


def search_seasons(seasons: Sequence[Sequence[PointMaps]], lawn: Lawn) -> tuple[tuple[SpotSearch, ...], ...]:
    """Find the spots of several seasons, oldest first; what was green in any of them is lawn."""
    return tuple(
        search_season(season, lawn, others=[p for other in seasons if other is not season for p in other])
        for season in seasons
    )


def search_season(
    points: Sequence[PointMaps], lawn: Lawn, *, others: Sequence[PointMaps] = ()
) -> tuple[SpotSearch, ...]:
    """Find the spots of one season at every photo point, numbered through.

    `others` are the points of other seasons: what was green in any of them is lawn.
    """
    searches: list[SpotSearch] = []
    number = 1
    for place in points:
        search = find_spots(
            place.maps,
            place.days,
            scale=place.scale,
            other_seasons=[m for other in others if other.point == place.point for m in other.maps],
            point=place.point,
            zones=lawn.zones_of(place.point),
            outline_m=lawn.lawn_outline_m,
            camera_m=place.camera_m,
            leaf_height_mm=lawn.mowing.target_height_mm or LEAF_HEIGHT_MM,
        )
        spots = tuple(replace(spot, number=n) for n, spot in enumerate(search.spots, start=number))
        searches.append(replace(search, spots=spots))
        number += len(spots)
    return tuple(searches)


def season_maps(lawn: Lawn, point: PointReview, zero: dt.date, first: dt.date) -> PointMaps | None:
    """Gather one photo point's maps of the season that began at `zero`."""
    by_day: dict[int, int] = {}
    for number, entry in enumerate(point.entries):
        if entry.taken_at and (lawn.leveled_before(entry.taken_at.date()) or first) == zero:
            by_day[(entry.taken_at.date() - zero).days] = number
    if not by_day:
        return None
    days = _thinned(sorted(by_day))
    entries = [point.entries[by_day[day]] for day in days]
    maps = tuple(point.maps[by_day[day]] for day in days)
    camera = entries[-1].facts.camera_m
    return PointMaps(point.name, maps, tuple(float(day) for day in days), point.threshold, camera)


def plan_from_searches(
    searches: Sequence[SpotSearch],
    lawn: Lawn,
    *,
    dips: Sequence[Dip] = (),
    earlier: Sequence[Sequence[SpotSearch]] = (),
    budget: Budget | None = None,
    whole_only: bool = False,
    level: LevelReview | None = None,
    probes: Sequence[Probe] | None = None,
) -> RelevelPlan:
    """Plan the next leveling of a lawn from the spots that were found.

    Parameters
    ----------
    searches : sequence of SpotSearch
        This season's, one for each photo point.
    lawn : Lawn
        The keeper's lawn.
    dips : sequence of Dip
        Measured depths.
    earlier : sequence of sequence of SpotSearch
        The seasons before, oldest first.
    budget : Budget, optional
        What each season may take; by default `budget_of(lawn)`.
    whole_only : bool
        Begin a spot only where all its passes fit the coming season.
    level : LevelReview, optional
        How level the ground was measured to be; maps from before the last sand do not count.
    probes : sequence of Probe, optional
        The keeper's answers that count; by default all of the lawn.
    """
    budget = budget or budget_of(lawn)
    settings = with_receipts(lawn.sand, lawn.receipt)[0].model_copy(
        update={"price_per_m3": budget.price_per_m3 or None, "delivery_price": budget.delivery_price}
    )
    counted = count_seasons([*earlier, searches])
    spots = [spot for search in counted for spot in search.spots]
    owner = [_spot_of(dip, spots) for dip in dips]
    depths = [[d.depth_mm for d, n in zip(dips, owner, strict=True) if n == spot.number] for spot in spots]
    probes = lawn.probe if probes is None else probes
    known, more = findings(spots, depths, probes=probes, maps=level.current if level else ())
    jobs_found = [*zip(spots, known, strict=True), *more]
    plans = [_plan_spot(spot, finding, settings, lawn) for spot, finding in jobs_found]
    jobs = [job_of(plan) for plan in plans if plan.passes]
    spending = plan_spending(jobs, budget, whole_only=whole_only)
    plans = _scheduled(plans, jobs, spending)
    now = spending.seasons[0] if spending.seasons else None
    all_m3 = _leveled_m3(plans)
    area = lawn.ground_m2
    lawn_m3 = None if area is None else area * lawn.pass_mm * LITRE_M3
    now_order = order_of_volume(
        (now.order_m3 if now else 0.0), settings=settings.model_copy(update={"settling_pct": 0.0})
    )
    return RelevelPlan(
        lawn=lawn,
        spots=tuple(plans),
        searches=counted,
        spots_order=_in_deliveries(order_of_volume(all_m3, settings=settings), plans, settings),
        now_order=replace(now_order, cost=now.cost if now and budget.price_per_m3 else None),
        lawn_order=None if lawn_m3 is None else order_of_volume(lawn_m3, settings=settings),
        both_order=None
        if lawn_m3 is None
        else _in_deliveries(order_of_volume(lawn_m3 + all_m3, settings=settings), plans, settings),
        spending=spending,
        budget=budget,
        comparison=compare_seasons(earlier[-1], counted) if earlier else None,
        loose_dips=tuple(dip for dip, n in zip(dips, owner, strict=True) if n is None),
        outdated=_outdated(level) if level else (),
    )


def budget_of(
    lawn: Lawn,
    *,
    money: float | None = None,
    volume_m3: float | None = None,
    price_per_m3: float | None = None,
    delivery_price: float | None = None,
    sold_by_m3: float | None = None,
) -> Budget:
    """Return a budget with the lawn's own prices, or those of its newest receipt, where none are given here."""
    own, _ = with_receipts(lawn.sand, lawn.receipt)
    price = own.price_per_m3 if price_per_m3 is None else price_per_m3
    return Budget(
        money=money,
        price_per_m3=price or 0.0,
        delivery_price=own.delivery_price if delivery_price is None else delivery_price,
        volume_m3=volume_m3,
        passes=lawn.sand.passes_per_season,
        sold_by_m3=unit_m3(own) if sold_by_m3 is None and price else sold_by_m3,
    )


def _outdated(level: LevelReview) -> tuple[tuple[dt.date, dt.date], ...]:
    """Return the days of the maps that do not count, each with the sand that was laid on them since."""
    days = {one.date for one in level.maps}
    return tuple((day, sand) for day, sand in level.outdated if day in days)


def _spot_of(dip: Dip, spots: Sequence[Spot]) -> int | None:
    """Return the number of the spot a dip belongs to: as written, else the nearest within reach at its photo point."""
    from shapely import Point

    if dip.spot is not None:
        return dip.spot if any(spot.number == dip.spot for spot in spots) else None
    if dip.x_m is None or dip.y_m is None:
        return None
    place = Point(dip.x_m, dip.y_m)
    here = [spot for spot in spots if dip.point in ("", spot.point)]
    distance, number = min(
        ((spot.polygon.distance(place), spot.number) for spot in here), default=(math.inf, 0)
    )
    return number if distance <= REACH_M else None


def _plan_spot(spot: Spot, finding: Finding, settings: SandSettings, lawn: Lawn) -> SpotPlan:
    """Return what a spot takes: sand on measured low ground alone, in as many passes as its deepest place needs."""
    depth = finding.depth_mm if finding.cause == LOW and not finding.is_shared else None
    if depth is None or depth > MOST_DEPTH_MM:
        return SpotPlan(spot, finding, order_of_volume(0.0, settings=settings), 0.0, 0.0, 0)
    orders = [
        order_of_volume(finding.area_m2 * mm * LITRE_M3, settings=settings)
        for mm in (depth, finding.low_mm, finding.high_mm)
    ]
    least, most = (one.volume_m3 / LITRE_M3 for one in orders[1:])
    passes = passes_for(finding.deepest_mm or depth, pass_depth_mm=spot_pass_mm(lawn))
    return SpotPlan(spot, finding, orders[0], least, most, passes)


def spot_pass_mm(lawn: Lawn) -> float:
    """Return the depth of one pass over a single spot [mm]: what the grass stands there, at least a usual pass."""
    return min(max(lawn.sand.pass_depth_mm, grass_row(lawn.grass).spot_mm.value), WARN_DEPTH_MM)


def job_of(plan: SpotPlan) -> Job:
    """Return a spot's job: worth its area times what is missing there, of the cover or of the level."""
    missing = (plan.depth_mm or 0.0) / WARN_DEPTH_MM
    worth = min(1.0, missing) if plan.is_green else plan.spot.severity
    return Job(
        plan.spot.number,
        plan.order.volume_m3,
        plan.passes,
        plan.finding.area_m2 * worth * plan.spot.seasons_seen,
    )


def _scheduled(plans: Sequence[SpotPlan], jobs: Sequence[Job], spending: SpendingPlan) -> list[SpotPlan]:
    """Enter priority, the season in which each spot is first filled, and the coming season's passes."""
    ranked = sorted(jobs, key=lambda job: (-job.benefit_per_litre, -job.benefit, job.key))
    rank = {job.key: n for n, job in enumerate(ranked, start=1)}
    first: dict[int, int] = {}
    for n, season in enumerate(spending.seasons, start=1):
        for key in season.passes:
            first.setdefault(key, n)
    now = spending.seasons[0].passes if spending.seasons else {}
    return [
        replace(
            plan,
            priority=rank.get(plan.spot.number),
            season=first.get(plan.spot.number),
            passes_now=now.get(plan.spot.number, 0),
        )
        for plan in plans
    ]


def _in_deliveries(order: SandOrder, plans: Sequence[SpotPlan], settings: SandSettings) -> SandOrder:
    """Return an order whose sand comes in as many deliveries as its spots need passes."""
    count = max((plan.passes for plan in plans), default=0)
    if order.cost is None or order.deliveries == 0 or count < 2:
        return order
    return replace(order, cost=order.cost + (count - 1) * settings.delivery_price, deliveries=count)


def _leveled_m3(plans: Sequence[SpotPlan]) -> float:
    """Volume in place, before the settling allowance."""
    return sum(plan.finding.area_m2 * (plan.depth_mm or 0.0) * LITRE_M3 for plan in plans if plan.passes)


def _thinned(days: list[int]) -> list[int]:
    """Return at most MOST_PLAN_DAYS days: the newest ones that the outcome is read from, the others evenly spread."""
    before, newest = days[:-NEWEST_PLAN_DAYS], days[-NEWEST_PLAN_DAYS:]
    return [*evenly(before, MOST_PLAN_DAYS - NEWEST_PLAN_DAYS), *newest]

"""The re-level plan in words: sentences, season window, each caution by its action."""

from __future__ import annotations

import math
from collections.abc import Sequence

from swardmark.common.cautions import (
    BLADE_CAUTION,
    DORMANT_CAUTION,
    DRAINAGE_CAUTION,
    DUST_CAUTION,
    FIRST_MOW_CAUTION,
    HEAT_CAUTION,
    LIDS_CAUTION,
    LOAD_CAUTION,
    PILE_CAUTION,
    STAKES_CAUTION,
)
from swardmark.common.phrases import date_words, percent, plural
from swardmark.common.units import (
    CUBIC_YARD_M3,
    LITRE_M3,
    format_area,
    format_depth,
    format_temperature,
    format_volume,
)
from swardmark.lawn.grasses import grass_row
from swardmark.lawn.toml import Lawn
from swardmark.mowing.suitability import month_name, said
from swardmark.relevel import sentences as say
from swardmark.relevel.order_words import about_volume, lift_caution, money, order_lines
from swardmark.relevel.plan import RelevelPlan, SpotPlan
from swardmark.relevel.sand import check_depth, with_receipts, yards_per_1000_sqft
from swardmark.relevel.spots import whereabouts
from swardmark.relevel.why import why_none

MOSTLY_DELIVERY = 0.5
MOST_PLACES = 6
FEW_BAGS = 20
"""More bags than this are a load of their own (our judgment)."""
MOST_SPOT_SHARE = 1 / 3
"""With more of the ground low than this, a pass over all of it is less work than single spots (our judgment)."""


def where_is(plan: SpotPlan, lawn: Lawn) -> str:
    """Say where a spot's center lies from the square, in the lawn's units."""
    spot = plan.spot
    return whereabouts(spot.x_m, spot.y_m, square_side_m=lawn.side_of(spot.point), units=lawn.units)


def sand_of(plan: SpotPlan, lawn: Lawn) -> str:
    """Say the sand for one spot: `4.7 L`, or `1.8 L to 3.9 L` while its depth is not measured."""
    if not plan.passes:
        return say.MEASURE_FOR_SAND if plan.needs_measuring else say.NO_SAND_HERE
    own = about_volume(plan.litres * LITRE_M3, units=lawn.units)
    if plan.most_litres <= plan.litres:
        return own
    ends = about_volume(plan.least_litres * LITRE_M3, plan.most_litres * LITRE_M3, units=lawn.units)
    return say.SAND_RANGE.format(own=own, ends=ends)


def plan_sentences(plan: RelevelPlan) -> tuple[str, ...]:
    """Say the plan in sentences, the most important first."""
    notes = (
        *_outdated(plan),
        *_left_out(plan),
        *(why_none(search, several=len(plan.searches) > 1) for search in plan.searches if search.note),
    )
    if not plan.spots:
        return (_nothing_to_do(plan), *_seasons(plan), *notes)
    return (
        _found(plan),
        *_causes(plan),
        *_measure_first(plan),
        *_sand(plan),
        *_whole_lawn(plan),
        *_choice(plan),
        *_bags_instead(plan),
        *_price(plan),
        *_seasons(plan),
        say.LEVEL_WHEN.format(window=season_window(plan.lawn), interval=_interval(plan.lawn)),
        *_overseed(plan),
        *_loose_dips(plan),
        *notes,
    )


def plan_head(plan: RelevelPlan) -> tuple[str, ...]:
    """Return the sentences of a plan that answer: season against season, what was found, why, and the sand to order."""
    if not plan.spots:
        return plan_sentences(plan)[:1]
    return (
        *_seasons(plan)[:1],
        _found(plan),
        *_causes(plan),
        *_measure_first(plan)[:1],
        *_sand(plan)[:1],
        *_choice(plan),
    )


def season_window(lawn: Lawn) -> str:
    """Say when in the year this grass is leveled; the soil temperatures are those of the table of the grasses."""
    row = grass_row(lawn.grass)
    low, high = (format_temperature(c, units=lawn.units) for c in row.soil_c.value)
    return (say.WARM_WINDOW if row.is_warm else say.COOL_WINDOW).format(low=low, high=high)


def _interval(lawn: Lawn) -> str:
    """Say how long the next pass waits, with days that are in the season of the grass here."""
    example = say.INTERVAL_COOL
    if grass_row(lawn.grass).is_warm:
        first, second = (month_name(month, lawn.first_frost) for month in (6, 8))
        example = say.INTERVAL_WARM.format(first=first, second=second)
    return say.INTERVAL.format(example=example)


def cautions(plan: RelevelPlan) -> tuple[tuple[str, str], ...]:
    """Return (action, caution) pairs for what this plan asks the keeper to do; none where it asks nothing."""
    if not plan.spots:
        return ()
    lawn = plan.lawn
    deep = tuple((say.STEP_DEPTH, text) for text in check_depth(lawn.sand.pass_depth_mm, units=lawn.units))
    return (
        (say.STEP_DAY, DORMANT_CAUTION),
        (say.STEP_MARK, STAKES_CAUTION),
        (say.STEP_HAUL, f"{LOAD_CAUTION} {PILE_CAUTION}"),
        (say.STEP_CARRY, lift_caution(lawn.sand.bucket_litres, units=lawn.units)),
        (say.STEP_SPREAD, f"{DUST_CAUTION} {HEAT_CAUTION} {say.TIPS}"),
        *deep,
        (say.STEP_EDGES, f"{DRAINAGE_CAUTION} {LIDS_CAUTION}"),
        (say.STEP_TREES, say.TREES),
        (say.STEP_FIRST, f"{FIRST_MOW_CAUTION} {BLADE_CAUTION}"),
    )


def spot_list(plans: Sequence[SpotPlan]) -> str:
    """Name spots: `spot 4`, or `spots 1, 2 and 5`."""
    return _spots([plan.spot.number for plan in plans])


def _nothing_to_do(plan: RelevelPlan) -> str:
    ground = sum(search.ground_m2 for search in plan.searches if not search.note)
    return say.NOTHING if ground else say.TOO_EARLY


def _found(plan: RelevelPlan) -> str:
    units = plan.lawn.units
    seen = [item for item in plan.spots if not item.is_green]
    if not seen:
        return say.NONE_BARE
    area = sum(item.spot.area_m2 for item in seen)
    ground = sum(search.ground_m2 for search in plan.searches)
    return plural(len(seen), *say.FOUND).format(
        count=len(seen),
        area=format_area(area, units=units),
        share=percent(area / ground if ground else math.nan),
    )


def _causes(plan: RelevelPlan) -> tuple[str, ...]:
    """Say which spots have which cause, those that have one."""
    said = []
    for cause, template in say.CAUSES.items():
        spots = [s for s in plan.spots if cause == (say.TOO_DEEP_CAUSE if s.is_too_deep else s.cause)]
        if spots:
            said.append(template.format(spots=spot_list(spots)))
    return tuple(said)


def _measure_first(plan: RelevelPlan) -> tuple[str, ...]:
    open_spots = [item for item in plan.spots if item.needs_measuring]
    if not open_spots:
        return ()
    return say.MEASURE_FIRST.format(spots=spot_list(open_spots)), say.MEASURE_UNTIL


def _sand(plan: RelevelPlan) -> tuple[str, ...]:
    if plan.spots_order.volume_m3 == 0:
        known = sum(not item.needs_measuring for item in plan.spots)
        return (plural(known, *(say.NO_OTHER_NEEDS if plan.measure_first else say.NONE_NEEDS)),) * bool(known)
    first, *others = order_lines(plan.spots_order, units=plan.lawn.units, is_estimate=True)
    return (say.ALL_SPOTS.format(order=f"{first[0].lower()}{first[1:]}"), *others)


def _whole_lawn(plan: RelevelPlan) -> tuple[str, ...]:
    if plan.lawn_order is None or plan.both_order is None:
        return ()
    units = plan.lawn.units
    alone, both = (about_volume(o.volume_m3, units=units) for o in (plan.lawn_order, plan.both_order))
    depth_mm = plan.lawn.pass_mm
    return (
        say.WHOLE_LAWN.format(
            depth=format_depth(depth_mm, units=units),
            alone=alone,
            trade=say.TRADE.format(yards=yards_per_1000_sqft(depth_mm)) if units == "us" else "",
            both=say.HARDLY_MORE if both == alone else both,
        ),
        *_worth(plan),
    )


def _worth(plan: RelevelPlan) -> tuple[str, ...]:
    """Say whether spots or the whole lawn come first, by their ground; only where low ground was measured."""
    low = [spot for spot in plan.spots if spot.passes]
    ground = plan.lawn.ground_m2
    if not low or not ground or plan.lawn_order is None:
        return ()
    units, share = plan.lawn.units, min(1.0, sum(spot.finding.area_m2 for spot in low) / ground)
    template = say.SPOTS_FIRST if share <= MOST_SPOT_SHARE else say.LAWN_FIRST
    orders = {"spots": plan.spots_order, "lawn": plan.lawn_order}
    costs = {
        f"{name}_cost": ""
        if order.cost is None
        else say.FOR_COST.format(cost=money(order.cost, order.currency))
        for name, order in orders.items()
    }
    volumes = {name: about_volume(order.volume_m3, units=units) for name, order in orders.items()}
    depth = format_depth(plan.lawn.pass_mm, units=units)
    return (template.format(share=100 * share, depth=depth, **volumes, **costs),)


def _choice(plan: RelevelPlan) -> tuple[str, ...]:
    said = []
    if plan.chosen:
        order = plan.now_order
        cost = "" if order.cost is None else say.FOR_COST.format(cost=money(order.cost, order.currency))
        volume = about_volume(plan.spending.seasons[0].volume_m3, units=plan.lawn.units)
        said.append(say.NOW.format(spots=spot_list(plan.chosen), volume=volume, cost=cost))
    later = [item for item in plan.waiting if item.season is not None]
    never = [item for item in plan.waiting if item.season is None]
    for template, spots in ((say.UNFINISHED, plan.unfinished), (say.LATER, later), (say.NEVER, never)):
        if spots:
            said.append(template.format(spots=spot_list(spots)))
    return tuple(said)


def _bags_instead(plan: RelevelPlan) -> tuple[str, ...]:
    """Say from which price on bags are cheaper, where most of the cost is delivery and bags are few."""
    order = plan.now_order if plan.chosen else plan.spots_order
    deliveries = max((item.passes_now for item in plan.chosen), default=order.deliveries)
    delivery = plan.budget.delivery_price * deliveries
    needed_m3 = plan.spending.seasons[0].volume_m3 if plan.chosen else order.volume_m3
    count = math.ceil(needed_m3 / order.bag_m3 - 1e-9)
    if not order.cost or delivery < MOSTLY_DELIVERY * order.cost or not 0 < count <= FEW_BAGS:
        return ()
    return (
        say.BAGS_INSTEAD.format(
            delivery=money(delivery, order.currency),
            cost=money(order.cost, order.currency),
            bags=plural(count, *say.BAG_COUNT).format(count=count),
            size=format_volume(order.bag_m3, units=plan.lawn.units),
            s="s" if count == 1 else "",
            most=money(order.cost / count, order.currency),
        ),
    )


def _price(plan: RelevelPlan) -> tuple[str, ...]:
    """Say from which receipt the price comes, where neither lawn.toml nor the budget sets one."""
    settings, receipt = with_receipts(plan.lawn.sand, plan.lawn.receipt)
    if receipt is None or plan.budget.price_per_m3 != settings.price_per_m3:
        return ()
    lawn, per_m3 = plan.lawn, plan.budget.price_per_m3
    price = per_m3 * (CUBIC_YARD_M3 if lawn.units == "us" else 1.0)
    day = date_words(receipt.date, lawn.date_form, year=True)
    return (
        say.FROM_RECEIPT.format(day=day, price=money(price, lawn.sand.currency), per=say.PER[lawn.units]),
    )


def _seasons(plan: RelevelPlan) -> tuple[str, ...]:
    """Say season against season: the covers of one day, what became of the old spots, what cannot be compared."""
    seen = plan.comparison
    if seen is None:
        return ()
    still = {(old.point, old.number) for old, _ in seen.still_there}
    mended, new = len(seen.mended), len(seen.new)
    old_spots = mended + len(still)
    this, last = (say.THIS_SAND, say.LAST_SAND) if plan.is_second_sand else (say.THIS_SEASON, say.LAST_SEASON)
    spots = (say.OLD_SPOTS if old_spots else say.NO_OLD_SPOTS).format(
        mended=mended, seen=old_spots, last=last, are="is" if mended == 1 else "are", new=new,
        new_are="is" if new == 1 else "are",
    )  # fmt: skip
    said, against = [], plan.against
    if against is not None and against.then_pct is not None:
        template = say.AGAINST if seen.is_judged else say.AGAINST_COVERS
        now, then = against.now_pct, against.then_pct
        said.append(template.format(day=against.day, now=now, then=then, spots=spots, this=this, last=last))
    elif seen.is_judged:
        said.append(say.AGAINST_SPOTS.format(spots=f"{spots[0].upper()}{spots[1:]}"))
    if against is not None and against.then_pct is None:
        said.append(say.NO_SAME_DAY.format(days=against.within_days, day=against.day, last=last))
    lawn = plan.lawn
    places = [
        whereabouts(old.x_m, old.y_m, square_side_m=lawn.side_of(old.point), units=lawn.units)
        for old in seen.mended[:MOST_PLACES]
    ]
    if places:
        more = say.AND_MORE if mended > MOST_PLACES else ""
        said.append(say.MENDED_WHERE.format(places="; ".join(places), more=more))
    if still:
        stayed = sorted({now.number for _, now in seen.still_there})
        said.append(say.STILL_WHERE.format(spots=_spots(stayed)))
    if new:
        said.append(say.NEW_WHERE.format(spots=_spots([spot.number for spot in seen.new])))
    if seen.unjudged:
        said.append(plural(len(seen.unjudged), *say.UNJUDGED).format(count=len(seen.unjudged)))
    if seen.not_seen:
        said.append(plural(len(seen.not_seen), *say.UNSEEN).format(count=len(seen.not_seen), this=this))
    return tuple(said)


def _left_out(plan: RelevelPlan) -> tuple[str, ...]:
    from shapely import Polygon

    lawn = plan.lawn
    places = [
        whereabouts(middle.x, middle.y, square_side_m=lawn.side_of(search.point), units=lawn.units)
        for search in plan.searches
        for middle in (Polygon(ring).centroid for ring in search.left_out_m)
    ]
    return (say.LEFT_OUT.format(places="; ".join(places)),) if places else ()


def _outdated(plan: RelevelPlan) -> tuple[str, ...]:
    form = plan.lawn.date_form
    return tuple(
        say.OUTDATED.format(day=date_words(day, form, year=True), sand=date_words(sand, form, year=True))
        for day, sand in plan.outdated
    )


def _overseed(plan: RelevelPlan) -> tuple[str, ...]:
    name = said(plan.lawn.grass)
    needed = grass_row(plan.lawn.grass).needs_seed
    return (say.OVERSEED.format(grass=f"{name[0].upper()}{name[1:]}"),) if needed else ()


def _loose_dips(plan: RelevelPlan) -> tuple[str, ...]:
    count = len(plan.loose_dips)
    return (plural(count, *say.LOOSE).format(count=count),) if count else ()


def _spots(numbers: Sequence[int]) -> str:
    *first, last = [str(number) for number in numbers]
    one, many = say.SPOT_NUMBERS
    return many.format(first=", ".join(first), last=last) if first else one.format(last=last)

"""The re-level plan in words and as a table: sentences, season window, each caution by its action."""

from __future__ import annotations

import math
from collections.abc import Sequence

from swardmark.common.cautions import DORMANT_CAUTION, DUST_CAUTION, STAKES_CAUTION
from swardmark.common.units import LITRE_M3, Units, format_area, format_depth, format_volume
from swardmark.lawn.toml import Lawn
from swardmark.relevel.plan import LEVEL_WITHIN_MM, UNMEASURED_MM, RelevelPlan, SpotPlan
from swardmark.relevel.sand import (
    MOST_DEPTH_MM,
    STONES_CAUTION,
    TREES_CAUTION,
    about_volume,
    check_depth,
    lift_caution,
    yards_per_1000_sqft,
)
from swardmark.relevel.spots import whereabouts

SPOT_COLUMNS = (
    "spot", "point", "zone", "x_m", "y_m", "area_m2", "cover_pct", "lag_days", "depth_mm", "sand_litres",
    "passes", "priority", "seasons_seen", "why",
)  # fmt: skip
WIDE_SPOT_M2 = 3.0
"""A wider place is rather a matter of shade, water or depth of sand than of a dip."""

MOSTLY_DELIVERY = 0.5
MOST_PLACES = 6
FEW_BAGS = 20
"""More bags than this are a load of their own (our judgment)."""

WARM_WINDOW = (
    "once the grass is fully green and the soil is at {low} and warming, and at least six to eight weeks "
    "before it goes dormant (soil near {dormant})"
)
COOL_WINDOW = "in early autumn or in spring, with the soil between {low} and {high}"
INTERVAL = (
    "Wait with the next pass until the grass has grown through the first, about two months, "
    "for example early June and again in mid-August."
)


def spots_table(plan: RelevelPlan) -> list[dict[str, object]]:
    """Return one row for each spot: the columns of spots.csv, then what the JSON document adds to them.

    None is an empty cell. `SPOT_COLUMNS` come first; beyond them stand the place in words, the outline in
    meters as well-known text (OGC Simple Features), the most sand in litres where the dip is not measured,
    and the season and passes of the plan.
    """
    return [_row(spot, plan.lawn.units) | _more(spot, plan.lawn) for spot in plan.spots]


def where_is(plan: SpotPlan, lawn: Lawn) -> str:
    """Say where a spot's center lies from the square, in the lawn's units."""
    spot = plan.spot
    return whereabouts(spot.x_m, spot.y_m, square_side_m=lawn.side_of(spot.point), units=lawn.units)


def sand_of(plan: SpotPlan, lawn: Lawn) -> str:
    """Say the sand for one spot: `4.7 L`, or `1.8 L to 3.9 L` while its dip is not measured."""
    if not plan.passes:
        return "none"
    return about_volume(plan.litres * LITRE_M3, plan.most_litres * LITRE_M3, units=lawn.units)


def why_of(plan: SpotPlan, *, units: Units = "metric") -> str:
    """Say in a sentence or two why a place is a spot and what stands against plain sand there."""
    spot = plan.spot
    lag = f"{spot.lag_days:.0f} days behind the lawn" if math.isfinite(spot.lag_days) else "behind the lawn"
    parts = [f"{'still bare' if spot.is_bare else 'slow'}, {lag}; {spot.cover_pct:.0f} % where the lawn has "
             f"{spot.lawn_cover_pct:.0f} %"]  # fmt: skip
    if spot.seasons_seen > 1:
        parts.append(f"seen {spot.seasons_seen} seasons running")
    if spot.at_edge:
        parts.append("reaches the edge of the ground in view and may go on beyond it")
    if plan.is_too_deep:
        most = format_depth(MOST_DEPTH_MM, units=units)
        parts.append(f"deeper than {most}: lift the turf and fill below it, sand on top would smother it")
    elif plan.is_level:
        least = format_depth(LEVEL_WITHIN_MM, units=units)
        parts.append(
            f"no dip over {least}: sand is not what it lacks, look for shade, dryness, roots or pests"
        )
    if spot.area_m2 >= WIDE_SPOT_M2:
        parts.append("a wide place: look for shade, dryness or sand too deep before adding more")
    return "; ".join(parts)


def plan_sentences(plan: RelevelPlan) -> tuple[str, ...]:
    """Say the plan in sentences, the most important first."""
    notes = (
        *_left_out(plan),
        *(f"{search.point}: {search.note}." for search in plan.searches if search.note),
    )
    if not plan.spots:
        return (_nothing_to_do(plan), *_seasons(plan), *notes)
    return (
        _found(plan),
        *_measure_first(plan),
        *_sand(plan),
        *_whole_lawn(plan),
        *_choice(plan),
        *_bags_instead(plan),
        *_seasons(plan),
        f"Level {season_window(plan.lawn)}. {INTERVAL}",
        *_loose_dips(plan),
        *notes,
    )


def season_window(lawn: Lawn) -> str:
    """Say when in the year this grass is leveled; the soil temperatures are common practice, no source."""
    degrees = {18: "65 °F", 10: "50 °F"} if lawn.units == "us" else {18: "18 °C", 10: "10 °C"}
    if lawn.is_warm_season:
        return WARM_WINDOW.format(low=degrees[18], dormant=degrees[10])
    return COOL_WINDOW.format(low=degrees[10], high=degrees[18])


def cautions(plan: RelevelPlan) -> tuple[tuple[str, str], ...]:
    """Return (action, caution) pairs for what this plan asks the keeper to do; none where it asks nothing."""
    if not plan.spots:
        return ()
    lawn = plan.lawn
    deep = tuple(("depth of a pass", text) for text in check_depth(lawn.sand.pass_depth_mm, units=lawn.units))
    return (
        ("marking the spots", STAKES_CAUTION),
        ("choosing the day", DORMANT_CAUTION),
        ("carrying sand", lift_caution(lawn.sand.bucket_litres, units=lawn.units)),
        ("spreading sand", f"{DUST_CAUTION} Leaf tips must stay visible."),
        *deep,
        ("near trees", TREES_CAUTION),
        ("the first mow after", STONES_CAUTION),
    )


def _row(plan: SpotPlan, units: Units) -> dict[str, object]:
    spot = plan.spot
    values = (
        spot.number,
        spot.point,
        spot.zone,
        round(spot.x_m, 2),
        round(spot.y_m, 2),
        round(spot.area_m2, 3),
        round(spot.cover_pct, 1),
        round(spot.lag_days, 1) if math.isfinite(spot.lag_days) else None,
        None if plan.depth_mm is None else round(plan.depth_mm, 1),
        round(plan.litres, 1),
        plan.passes,
        plan.priority,
        spot.seasons_seen,
        why_of(plan, units=units),
    )
    return dict(zip(SPOT_COLUMNS, values, strict=True))


def _more(plan: SpotPlan, lawn: Lawn) -> dict[str, object]:
    from shapely import to_wkt

    return {
        "where": where_is(plan, lawn),
        "outline_wkt": to_wkt(plan.spot.polygon, rounding_precision=3),
        "most_litres": round(plan.most_litres, 1),
        "season": plan.season,
        "passes_now": plan.passes_now,
    }


def _nothing_to_do(plan: RelevelPlan) -> str:
    ground = sum(search.ground_m2 for search in plan.searches if not search.note)
    if ground == 0:
        return "It is too early to name spots."
    area = format_area(ground, units=plan.lawn.units)
    return (
        f"Nothing to level again: on the {area} of lawn in view no place stayed bare or lagged. Well grown."
    )


def _found(plan: RelevelPlan) -> str:
    units = plan.lawn.units
    area = sum(item.spot.area_m2 for item in plan.spots)
    ground = sum(search.ground_m2 for search in plan.searches)
    count = len(plan.spots)
    stayed = f"{count} spots, together" if count > 1 else "One spot of"
    share = 100 * area / ground if ground else math.nan
    return (
        f"{stayed} {format_area(area, units=units)}, stayed bare or lagged: "
        f"{share:.1f} % of the {format_area(ground, units=units)} in view."
    )


def _measure_first(plan: RelevelPlan) -> tuple[str, ...]:
    open_spots = [item for item in plan.spots if item.depth_mm is None]
    if not open_spots:
        return ()
    units = plan.lawn.units
    low, high = (format_depth(mm, units=units) for mm in UNMEASURED_MM)
    least, most = sum(item.litres for item in open_spots), sum(item.most_litres for item in open_spots)
    return (
        f"Measure these first: {spot_list(open_spots)}. A photo sees cover, not height: lay a straightedge "
        "or string line over each and note the dip at several places.",
        f"Until then they are reckoned at {low} to {high}: "
        f"{about_volume(least * LITRE_M3, most * LITRE_M3, units=units)} of sand.",
    )


def _sand(plan: RelevelPlan) -> tuple[str, ...]:
    if plan.spots_order.volume_m3 == 0:
        return ("None of them needs sand.",)
    first, *others = plan.spots_order.lines(units=plan.lawn.units, is_estimate=True)
    return (f"All spots: {first[0].lower()}{first[1:]}", *others)


def _whole_lawn(plan: RelevelPlan) -> tuple[str, ...]:
    if plan.lawn_order is None or plan.both_order is None:
        return ()
    units = plan.lawn.units
    alone, both = (about_volume(o.volume_m3, units=units) for o in (plan.lawn_order, plan.both_order))
    depth = format_depth(plan.lawn.sand.pass_depth_mm, units=units)
    trade = f" ({yards_per_1000_sqft(plan.lawn.sand.pass_depth_mm):.2f} cu yd on 1000 sq ft)"
    return (
        f"One pass of {depth} over the whole lawn would take {alone}{trade if units == 'us' else ''}, "
        f"{'hardly more' if both == alone else both} with all spots.",
    )


def _choice(plan: RelevelPlan) -> tuple[str, ...]:
    said = []
    if plan.chosen:
        cost = "" if plan.now_order.cost is None else f" for {plan.now_order.cost:.2f}"
        volume = about_volume(plan.now_order.volume_m3, units=plan.lawn.units)
        said.append(f"In the coming season: {spot_list(plan.chosen)}, with {volume} of sand{cost}.")
    if plan.unfinished:
        said.append(f"Begun now and finished later in thin passes: {spot_list(plan.unfinished)}.")
    later = [item for item in plan.waiting if item.season is not None]
    if later:
        said.append(f"Waiting for a later season: {spot_list(later)}.")
    never = [item for item in plan.waiting if item.season is None]
    if never:
        said.append(f"Beyond what any one season's budget and passes allow: {spot_list(never)}.")
    return tuple(said)


def _bags_instead(plan: RelevelPlan) -> tuple[str, ...]:
    """Say from which price on bags are cheaper, where most of the cost is delivery and bags are few."""
    order = plan.now_order if plan.chosen else plan.spots_order
    delivery = plan.budget.delivery_price * max((item.passes_now for item in plan.chosen), default=1)
    if not order.cost or delivery < MOSTLY_DELIVERY * order.cost or order.bags > FEW_BAGS:
        return ()
    bag = format_volume(order.bag_m3, units=plan.lawn.units)
    bags = "one bag" if order.bags == 1 else f"{order.bags} bags"
    return (
        f"{delivery:.2f} of {order.cost:.2f} is delivery: {bags} of {bag} hold{'s' if order.bags == 1 else ''} "
        f"this sand and would be cheaper up to {order.cost / order.bags:.2f} a bag.",
    )


def _seasons(plan: RelevelPlan) -> tuple[str, ...]:
    seen = plan.comparison
    if seen is None:
        return ()
    still = {(old.point, old.number) for old, _ in seen.still_there}
    stayed = sorted({now.number for _, now in seen.still_there})
    lawn = plan.lawn
    places = [
        whereabouts(old.x_m, old.y_m, square_side_m=lawn.side_of(old.point), units=lawn.units)
        for old in seen.mended[:MOST_PLACES]
    ]
    said = [
        f"Of last season's spots {len(seen.mended)} mended, {len(still)} still there{_in_brackets(stayed)}; "
        f"{len(seen.new)} new{_in_brackets([spot.number for spot in seen.new])}. "
        f"{100 * seen.sound_share:.0f} % of the lawn in view is sound."
    ]
    if places:
        more = ", and more" if len(seen.mended) > MOST_PLACES else ""
        said.append(f"Mended: {'; '.join(places)}{more}.")
    if not math.isnan(seen.mended_share):
        said.append(f"{100 * seen.mended_share:.0f} % of last season's spot area has mended.")
    if seen.not_seen:
        said.append(f"{len(seen.not_seen)} of last season's spots lie outside this season's photos.")
    return tuple(said)


def _left_out(plan: RelevelPlan) -> tuple[str, ...]:
    from shapely import Polygon

    lawn = plan.lawn
    places = [
        whereabouts(middle.x, middle.y, square_side_m=lawn.side_of(search.point), units=lawn.units)
        for search in plan.searches
        for middle in (Polygon(ring).centroid for ring in search.left_out_m)
    ]
    if not places:
        return ()
    return (
        f"Left out as a path, a bed or a fence's foot, because it is bare and the edge of the view cuts it off: "
        f"{'; '.join(places)}. If it is lawn, photograph it from nearer or draw a zone over it in lawn.toml.",
    )


def _loose_dips(plan: RelevelPlan) -> tuple[str, ...]:
    if not plan.loose_dips:
        return ()
    count = len(plan.loose_dips)
    said = (
        "1 measured dip lies in no spot and is"
        if count == 1
        else f"{count} measured dips lie in no spot and are"
    )
    return (f"{said} left out.",)


def spot_list(plans: Sequence[SpotPlan]) -> str:
    """Name spots by number: `spot 4`, or `spots 1, 2 and 5`."""
    return _spots([plan.spot.number for plan in plans])


def _spots(numbers: Sequence[int]) -> str:
    names = [str(number) for number in numbers]
    return f"spot {names[0]}" if len(names) == 1 else f"spots {', '.join(names[:-1])} and {names[-1]}"


def _in_brackets(numbers: Sequence[int]) -> str:
    return f" ({_spots(numbers)})" if numbers else ""

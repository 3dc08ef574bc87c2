"""A sand order in words: what to order, what it weighs, how it is sold and hauled, what it costs."""

from __future__ import annotations

import math

from swardmark.common.errors import UsageError
from swardmark.common.phrases import plural
from swardmark.common.units import (
    CUBIC_FOOT_M3,
    CUBIC_YARD_M3,
    FOOT_M,
    INCH_M,
    LITRE_M3,
    Units,
    format_area,
    format_depth,
    format_mass,
    format_volume,
)
from swardmark.lawn.settings import SandSettings
from swardmark.relevel import sentences as say
from swardmark.relevel.sand import (
    BULKING,
    DRY_KG_M3,
    FULL_ROUNDING,
    LEAST_BULKING,
    LIFT_LIMIT_KG,
    MOST_BULKING,
    MOST_DEPTH_MM,
    WET_KG_M3,
    SandOrder,
    passes_for,
    unit_m3,
)

LEAST_SHARE = 0.2
"""Less than this share of a scoop or a load is not worth its line."""
LEAST_SAID = 0.1
THIN_MM = 2.0
"""A thinner layer fills between the leaves and levels nothing (our judgment)."""
BULK_M3 = 0.5
BULKING_PCT = {"least": 100 * (LEAST_BULKING - 1), "most": 100 * (MOST_BULKING - 1)}
FEW_BAGS = 4
MOST_BUCKET_LOADS = 10


def order_lines(
    order: SandOrder,
    *,
    units: Units = "metric",
    is_estimate: bool = False,
    is_bought: bool = False,
    area_m2: float | None = None,
    has_options: bool = False,
) -> tuple[str, ...]:
    """Say an order in short lines, with the caution beside what is lifted.

    Parameters
    ----------
    order : SandOrder
        The order.
    units : {"metric", "us"}
        Units shown first.
    is_estimate : bool
        Say it with two figures: no straightedge measures a mean depth better than that.
    is_bought : bool
        The volume is that in the truck, and no more is to be delivered for it.
    area_m2 : float, optional
        The ground it is spread on, for the grid of loads.
    has_options : bool
        What is missing is an option of the command, and not a setting of lawn.toml.
    """
    if order.volume_m3 == 0:
        return (say.NO_SAND,)
    other: Units = "metric" if units == "us" else "us"
    own, same = (
        about_volume(order.volume_m3, units=u) if is_estimate else format_volume(order.volume_m3, units=u)
        for u in (units, other)
    )
    dry, wet = (format_mass(mass, units=units) for mass in order.mass_kg)
    return (
        (say.ORDER_ABOUT if is_estimate else say.ORDER).format(own=own, other=same),
        say.WEIGHS.format(dry=dry, wet=wet),
        *_sold(order, units),
        *([] if is_bought else _bulked(order, units)),
        *_hauled(order, units, has_options),
        *_loads(order, units, area_m2),
        *_buckets(order, units),
        *_cost(order, units),
    )


def depth_sentence(
    amount: str, depth_mm: float, *, area_m2: float, settings: SandSettings, units: Units
) -> str:
    """Judge the depth that an amount gives: `2 cu yd on 1500 sq ft is 0.43 in deep: 2 passes of 0.22 in, ...`."""
    most = MOST_DEPTH_MM
    passes = passes_for(depth_mm, pass_depth_mm=settings.pass_depth_mm)
    if depth_mm > most:
        judged = say.TOO_DEEP.format(most=format_depth(most, units=units))
    elif depth_mm < THIN_MM:
        judged = say.TOO_THIN
    elif passes == 1:
        judged = say.ONE_PASS
    else:
        judged = say.SOME_PASSES.format(count=passes, each=fine_depth(depth_mm / passes, units=units))
    area = format_area(area_m2, units=units)
    return say.DEPTH_OF.format(
        amount=amount, area=area, depth=fine_depth(depth_mm, units=units), judged=judged
    )


def bulked_depth(
    amount_m3: float, depth_mm: float, *, settings: SandSettings, units: Units
) -> tuple[str, ...]:
    """Say what depth is left of sand that was measured loose; nothing where it is little, or counted in."""
    if amount_m3 < BULK_M3 or settings.sold_as == "bags" or _counts_bulking(settings.settling_pct):
        return ()
    low, high = (fine_depth(depth_mm / times, units=units) for times in (MOST_BULKING, LEAST_BULKING))
    return (say.BULKED_DEPTH.format(**BULKING_PCT, low=low, high=high),)


def fine_depth(depth_mm: float, *, units: Units) -> str:
    """Print a computed depth: `11 mm`, `0.43 in`."""
    return f"{depth_mm / 1000 / INCH_M:.2f} in" if units == "us" else format_depth(depth_mm, units=units)


def volume_within(budget: float, settings: SandSettings, *, units: Units = "metric") -> float:
    """Return the most sand that a budget buys, in whole units [m3].

    Raises
    ------
    UsageError
        There is no price, or the budget buys none.
    """
    if not settings.price_per_m3:
        remedy = "Give --price-per-yard or --price-per-m3"
        raise UsageError("a budget needs the price of sand", where="--budget", remedy=remedy)
    unit = unit_m3(settings)
    one = unit * settings.price_per_m3
    count = math.floor((budget - settings.delivery_price) / one + FULL_ROUNDING)
    if count < 1:
        what = say.BUDGET_TOO_SMALL.format(
            budget=money(budget, settings.currency),
            sold=sold_words(1, settings.sold_as, unit, units=units),
            cost=money(one + settings.delivery_price, settings.currency),
        )
        remedy = say.RAISE_BUDGET if settings.sold_as == "bags" else say.RAISE_BUDGET_OR_BAGS
        raise UsageError(what, where="--budget", remedy=remedy)
    return count * unit


def money(amount: float, currency: str) -> str:
    """Print an amount of money: `$52.50`, `52.50 EUR`, `52.50`; whole amounts without their zeros."""
    shown = f"{amount:,.0f}" if abs(amount - round(amount)) < 0.005 else f"{amount:,.2f}"
    if len(currency) == 1 and not currency.isalpha():
        return f"{currency}{shown}"
    return f"{shown} {currency}".rstrip()


def sold_words(count: int, sold_as: str, unit_m3: float, *, units: Units = "metric") -> str:
    """Say what is bought: `2 loader scoops of 0.4 m³`."""
    one, many = say.SOLD_UNIT[sold_as]
    return (one if count == 1 else many).format(count=count, size=_size(unit_m3, units))


def about_volume(volume_m3: float, most_m3: float | None = None, *, units: Units = "metric") -> str:
    """Print a volume, or a range of volumes, whose depth is an estimate: `6.9 L`, `0.24 cu ft to 0.5 cu ft`.

    Two figures are printed, and no less than a tenth of a litre or cubic foot.
    """
    least, most = (_two_figures(v, units) for v in (volume_m3, volume_m3 if most_m3 is None else most_m3))
    return least if least == most else f"{least} to {most}"


def lift_caution(bucket_litres: float, *, units: Units = "metric") -> str:
    """Say what a bucketful of sand weighs against the limit for one person."""
    dry, wet = (bucket_litres * LITRE_M3 * density for density in (DRY_KG_M3, WET_KG_M3))
    shown = say.LIFT.format(dry=format_mass(dry, units=units), wet=format_mass(wet, units=units))
    if wet <= LIFT_LIMIT_KG:
        return shown + say.LIFT_EASY
    part = next((name for least, name in say.PARTS[1:] if LIFT_LIMIT_KG / wet >= least), say.LEAST_PART)
    return shown + say.LIFT_HEAVY.format(limit=format_mass(LIFT_LIMIT_KG, units=units), part=part)


def pile_spacing_m(order: SandOrder, area_m2: float) -> float:
    """Return the side of the squares of a grid with one wheelbarrow load in each [m]."""
    return math.sqrt(area_m2 / order.barrow_loads)


def _sold(order: SandOrder, units: Units) -> list[str]:
    bags = plural(order.bags, *say.BAG_COUNT).format(count=order.bags)
    if _is_small(order):
        return [say.BAGS_DO.format(bags=bags, size=_size(order.bag_m3, units))]
    lines = [say.SOLD.format(sold=sold_words(order.sold, order.sold_as, order.unit_m3, units=units))]
    if order.sold_as != "bags" and order.volume_m3 < BULK_M3:
        lines.append(say.BAGS.format(bags=bags, size=_size(order.bag_m3, units)))
    return lines


def _is_small(order: SandOrder) -> bool:
    """Whether a few bags do, and a scoop would be far too much."""
    return (
        order.sold_as != "bags" and order.bags <= FEW_BAGS and order.volume_m3 < LEAST_SHARE * order.unit_m3
    )


def _hauled(order: SandOrder, units: Units, has_options: bool) -> list[str]:
    if order.sold_as == "bags" or order.scoops < LEAST_SHARE:
        return []
    if order.payload_kg is None:
        return [say.ASK_PAYLOAD.format(give=say.GIVE_OPTION if has_options else say.GIVE_SETTING[units])]
    if order.trips is None:
        return [say.NO_PAYLOAD]
    lines = []
    payload, scoop_kg = format_mass(order.payload_kg, units=units), order.scoop_m3 * WET_KG_M3
    if scoop_kg > order.payload_kg:
        lines.append(say.SCOOP_TOO_HEAVY.format(scoop=format_mass(scoop_kg, units=units), payload=payload))
    if order.bought_m3 * WET_KG_M3 >= LEAST_SHARE * order.payload_kg:
        lines.append(say.TRIPS.format(payload=payload, count=order.trips))
    return lines


def _bulked(order: SandOrder, units: Units) -> list[str]:
    """Say what has to be delivered, because damp sand lies loose, where the settling does not count it in."""
    if order.sold_as == "bags" or order.volume_m3 < BULK_M3 or _counts_bulking(order.settling_pct):
        return []
    in_place = order.volume_m3 / (1 + order.settling_pct / 100)
    low, high = (_two_figures(in_place * times, units) for times in (LEAST_BULKING, MOST_BULKING))
    return [say.BULKING.format(**BULKING_PCT, usual=100 * (BULKING - 1), low=low, high=high)]


def _counts_bulking(settling_pct: float) -> bool:
    return 1 + settling_pct / 100 >= LEAST_BULKING


def _loads(order: SandOrder, units: Units, area_m2: float | None) -> list[str]:
    share = order.load_share
    if order.volume_m3 <= share * order.barrow_m3:
        return []
    part = next((name for least, name in say.PARTS if share == least), say.LEAST_PART)
    mass = format_mass(share * order.barrow_m3 * WET_KG_M3, units=units)
    loads = say.LOADS.format(part=part, mass=mass, count=order.barrow_loads).replace(",  full", ", full")
    if area_m2 is None or order.barrow_loads < 4:
        return [loads]
    return [loads, say.PILES.format(spacing=_spacing(pile_spacing_m(order, area_m2), units))]


def _spacing(meters: float, units: Units) -> str:
    return f"{round(2 * meters / FOOT_M) / 2:g} ft" if units == "us" else f"{meters:.1f} m"


def _buckets(order: SandOrder, units: Units) -> list[str]:
    """Say the buckets of a small order; nobody carries more than a few wheelbarrows of sand in buckets."""
    if order.barrow_loads > MOST_BUCKET_LOADS:
        return []
    if order.volume_m3 <= order.bucket_m3 and order.mass_kg[1] <= LIFT_LIMIT_KG:
        return [say.ONE_BUCKET]
    lift = lift_caution(order.bucket_m3 / LITRE_M3, units=units)
    return [say.BUCKETS.format(count=order.buckets, lift=lift)]


def _cost(order: SandOrder, units: Units) -> list[str]:
    if order.cost is None:
        return []
    sold = sold_words(order.sold, order.sold_as, order.unit_m3, units=units)
    delivery = say.NO_DELIVERY
    if order.deliveries:
        delivery = plural(order.deliveries, *say.WITH_DELIVERY).format(count=order.deliveries)
    template = say.COST_LOOSE if _is_small(order) else say.COST
    return [template.format(cost=money(order.cost, order.currency), sold=sold, delivery=delivery)]


def _size(volume_m3: float, units: Units) -> str:
    """Print what a unit holds; half a yard as such."""
    if units == "us" and abs(volume_m3 / CUBIC_YARD_M3 - 0.5) < 0.005:
        return "half a yard"
    return format_volume(volume_m3, units=units)


def _two_figures(volume_m3: float, units: Units) -> str:
    factor = LITRE_M3
    if units == "us":
        factor = CUBIC_FOOT_M3 if volume_m3 < CUBIC_YARD_M3 / 4 else CUBIC_YARD_M3
    count = volume_m3 / factor
    if 0 < count < LEAST_SAID:
        return say.LESS_THAN.format(volume=format_volume(LEAST_SAID * factor, units=units))
    return format_volume(float(f"{count:.2g}") * factor, units=units)

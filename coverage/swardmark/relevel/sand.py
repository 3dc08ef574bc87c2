"""How much sand: depth rules, and an order as volume, mass, containers, trips and cost.

Volume is area times depth, exactly; 1 litre per square meter is 1 mm. Mass is given as a range from dry to
wet sand, 1555 to 1905 kg/m3 (97 and 119 lb/ft3; Engineering ToolBox, Dirt and Mud - Densities,
https://www.engineeringtoolbox.com/dirt-mud-densities-d_1727.html). A cubic yard is often spoken of as one
ton; by these figures it is 1.3 to 1.6 short tons.

Depths: 1/8 to 1/4 in a pass is C. Waltz's advice (University of Georgia), never more than 2 in of fill over
living turf is D. Gill's (LSU AgCenter); the warning above 1/2 in is our judgment between the two.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from swardmark.common.errors import UsageError
from swardmark.common.units import (
    CUBIC_FOOT_M3,
    CUBIC_YARD_M3,
    INCH_M,
    LITRE_M3,
    SHORT_TON_KG,
    TONNE_KG,
    Units,
    format_depth,
    format_mass,
    format_volume,
)
from swardmark.lawn.toml import SandSettings

DRY_KG_M3 = 1555.0
WET_KG_M3 = 1905.0
WARN_DEPTH_MM = 13.0
"""Half an inch, to the whole millimeter."""
MOST_DEPTH_MM = 51.0
"""Two inches, to the whole millimeter."""
LIFT_LIMIT_KG = 23.0
"""NIOSH's limit under ideal conditions, 51 lb (OSHA eTool, Poultry Processing, NIOSH lifting equation)."""

STONES_CAUTION = (
    "Fresh sand hides stones that a mower throws, and it dulls the blade: rake and pick stones out first, "
    "keep people and pets away, wear eye and ear protection and closed shoes."
)
TREES_CAUTION = (
    "Keep sand thin over tree roots and off the trunk; ask an arborist before laying more than a little."
)
PASS_SLACK = 1.1
FULL_ROUNDING = 1e-9
BARROW_FILL = 1 / 3
"""A wheelbarrow is loaded a third full: wet sand to the brim weighs several times a person (our judgment)."""
LEAST_LOAD_SHARE = 0.25
"""Scoops and trips are not spoken of for less than a quarter of one."""

LEAST_SAID = 0.1


@dataclass(frozen=True)
class SandOrder:
    """An amount of sand in every measure that it is sold, carried or spoken of in.

    Attributes
    ----------
    volume_m3 : float
        Volume to order, with the settling allowance.
    cost : float or None
        Price of the sand and its delivery, in the keeper's currency; None where no price is known.
    has_delivery : bool
        Whether a price of the delivery is in the cost.
    """

    volume_m3: float
    scoop_m3: float
    bag_m3: float
    bucket_m3: float
    barrow_m3: float
    payload_kg: float
    cost: float | None = None
    has_delivery: bool = False

    @property
    def volume_yd3(self) -> float:
        """Volume in cubic yards."""
        return self.volume_m3 / CUBIC_YARD_M3

    @property
    def mass_kg(self) -> tuple[float, float]:
        """Mass dry and wet, in kilograms."""
        return self.volume_m3 * DRY_KG_M3, self.volume_m3 * WET_KG_M3

    @property
    def mass_tonnes(self) -> tuple[float, float]:
        """Mass dry and wet, in metric tonnes."""
        return self.mass_kg[0] / TONNE_KG, self.mass_kg[1] / TONNE_KG

    @property
    def mass_short_tons(self) -> tuple[float, float]:
        """Mass dry and wet, in short tons of 2000 lb."""
        return self.mass_kg[0] / SHORT_TON_KG, self.mass_kg[1] / SHORT_TON_KG

    @property
    def scoops(self) -> float:
        """Loader scoops, to be rounded by the yard that sells them."""
        return self.volume_m3 / self.scoop_m3

    @property
    def bags(self) -> int:
        """Whole bags."""
        return _whole(self.volume_m3 / self.bag_m3)

    @property
    def buckets(self) -> int:
        """Whole 5-gallon buckets."""
        return _whole(self.volume_m3 / self.bucket_m3)

    @property
    def barrows(self) -> int:
        """Whole wheelbarrows."""
        return _whole(self.volume_m3 / self.barrow_m3)

    @property
    def trips(self) -> int:
        """Trips of the keeper's own vehicle by its payload, with the sand wet."""
        return _whole(self.mass_kg[1] / self.payload_kg)

    def as_dict(self) -> dict[str, float | int | None]:
        """Return the order as plain numbers with the unit in each name."""
        return {
            "volume_m3": round(self.volume_m3, 4),
            "volume_yd3": round(self.volume_yd3, 4),
            "mass_dry_tonnes": round(self.mass_tonnes[0], 3),
            "mass_wet_tonnes": round(self.mass_tonnes[1], 3),
            "mass_dry_short_tons": round(self.mass_short_tons[0], 3),
            "mass_wet_short_tons": round(self.mass_short_tons[1], 3),
            "scoops": round(self.scoops, 2),
            "bags": self.bags,
            "buckets": self.buckets,
            "barrows": self.barrows,
            "trips": self.trips,
            "cost": None if self.cost is None else round(self.cost, 2),
        }

    def lines(self, *, units: Units = "metric", is_estimate: bool = False) -> tuple[str, ...]:
        """Say the order in short lines, with the caution beside what is lifted.

        An estimate is said with two figures: no straightedge measures a mean depth better than that.
        """
        if self.volume_m3 == 0:
            return ("No sand is needed.",)
        other: Units = "metric" if units == "us" else "us"
        own, same = (
            about_volume(self.volume_m3, units=u) if is_estimate else format_volume(self.volume_m3, units=u)
            for u in (units, other)
        )
        dry, wet = (format_mass(m, units=units) for m in self.mass_kg)
        lines = [
            f"Order {'about ' if is_estimate else ''}{own} ({same}).",
            f"It weighs {dry} dry to {wet} wet.",
            self._as_sold(units),
            self._in_buckets(units),
        ]
        if self.mass_kg[1] >= LEAST_LOAD_SHARE * self.payload_kg:
            lines.append(
                f"Trips of a vehicle that may carry {format_mass(self.payload_kg, units=units)}: {self.trips}."
            )
        if self.cost is not None:
            delivery = "one delivery" if self.has_delivery else "no delivery counted"
            lines.append(f"Cost, with {delivery}: {self.cost:.2f}.")
        return tuple(lines)

    def _as_sold(self, units: Units) -> str:
        """Scoops and barrows only where the amount comes near to one of them."""
        parts = [f"Bags: {self.bags}."]
        if self.scoops >= LEAST_LOAD_SHARE:
            parts.insert(0, f"Loader scoops: {self.scoops:.1f}.")
        if self.volume_m3 > BARROW_FILL * self.barrow_m3:
            loads = _whole(self.volume_m3 / (BARROW_FILL * self.barrow_m3))
            load = format_mass(BARROW_FILL * self.barrow_m3 * WET_KG_M3, units=units)
            parts.append(f"Wheelbarrow loads, a third full and {load} wet each: {loads}.")
        return " ".join(parts)

    def _in_buckets(self, units: Units) -> str:
        if self.volume_m3 <= self.bucket_m3 and self.mass_kg[1] <= LIFT_LIMIT_KG:
            return "One bucket holds it, and one person can carry that; bend your knees and do not twist."
        return f"In full buckets: {self.buckets}. {lift_caution(self.bucket_m3 / LITRE_M3, units=units)}"


def sand_order(
    *,
    area_m2: float,
    depth_mm: float,
    settings: SandSettings | None = None,
    price_per_m3: float | None = None,
    delivery_price: float | None = None,
) -> SandOrder:
    """Turn an area and a depth into an order.

    Parameters
    ----------
    area_m2, depth_mm : float
        Area in square meters and mean depth in millimeters.
    settings : SandSettings, optional
        Containers, settling allowance and prices of the lawn.
    price_per_m3, delivery_price : float, optional
        Prices that replace those of `settings`, in the keeper's currency per cubic meter and per delivery.

    Raises
    ------
    UsageError
        The area is negative, or the depth is beyond what living turf stands.
    """
    if not area_m2 >= 0 or not math.isfinite(area_m2):
        raise UsageError(
            f"an area of {area_m2} m2 cannot be", where="area", remedy="Give the area that is to be sanded"
        )
    check_depth(depth_mm)
    return order_of_volume(
        area_m2 * depth_mm * LITRE_M3,
        settings=settings,
        price_per_m3=price_per_m3,
        delivery_price=delivery_price,
    )


def order_of_volume(
    leveled_m3: float,
    *,
    settings: SandSettings | None = None,
    price_per_m3: float | None = None,
    delivery_price: float | None = None,
) -> SandOrder:
    """Turn a volume in place into an order; the settling allowance of `settings` is added."""
    own = settings or SandSettings()
    volume = leveled_m3 * (1 + own.settling_pct / 100)
    price = own.price_per_m3 if price_per_m3 is None else price_per_m3
    delivery = own.delivery_price if delivery_price is None else delivery_price
    cost = None if price is None else volume * price + (delivery if volume > 0 else 0.0)
    return SandOrder(
        volume,
        scoop_m3=own.scoop_m3,
        bag_m3=own.bag_litres * LITRE_M3,
        bucket_m3=own.bucket_litres * LITRE_M3,
        barrow_m3=own.barrow_litres * LITRE_M3,
        payload_kg=own.payload_kg,
        cost=cost,
        has_delivery=delivery > 0,
    )


def check_depth(depth_mm: float, *, units: Units = "metric") -> tuple[str, ...]:
    """Judge a depth of sand that is spread in one pass.

    Returns
    -------
    tuple of str
        Warnings; none up to half an inch.

    Raises
    ------
    UsageError
        The depth is not positive, or above two inches.
    """
    if not 0 < depth_mm < math.inf:
        remedy = "Give the mean depth of sand, 6 mm (1/4 in) a pass is usual"
        raise UsageError(f"a depth of {depth_mm:g} mm cannot be", where="depth", remedy=remedy)
    if depth_mm > MOST_DEPTH_MM:
        shown, most = format_depth(depth_mm, units=units), format_depth(MOST_DEPTH_MM, units=units)
        what = f"{shown} of sand smothers living turf; {most} is the most that is ever laid over it"
        raise UsageError(
            what, where="depth", remedy="Plan several thin passes, or lift the turf and fill below it"
        )
    if depth_mm > WARN_DEPTH_MM:
        shown, limit = format_depth(depth_mm, units=units), format_depth(WARN_DEPTH_MM, units=units)
        return (
            f"{shown} in a pass is deep: above {limit} grass may not grow through. Keep leaf tips visible.",
        )
    return ()


def passes_for(depth_mm: float, *, pass_depth_mm: float) -> int:
    """Return how many passes of `pass_depth_mm` fill a depth; a tenth over is not worth another."""
    return max(1, _whole(depth_mm / (pass_depth_mm * PASS_SLACK)))


def yards_per_1000_sqft(depth_mm: float) -> float:
    """Return the trade's measure, cubic yards on 1000 square feet, of a depth."""
    inches = depth_mm * 0.001 / INCH_M
    return inches / 12 * 1000 / 27


def about_volume(volume_m3: float, most_m3: float | None = None, *, units: Units = "metric") -> str:
    """Print a volume, or a range of volumes, whose depth is an estimate: `6.9 L`, `0.24 cu ft to 0.5 cu ft`.

    Two figures are printed, and no less than a tenth of a litre or cubic foot.
    """
    least, most = (_two_figures(v, units) for v in (volume_m3, volume_m3 if most_m3 is None else most_m3))
    return least if least == most else f"{least} to {most}"


def lift_caution(bucket_litres: float, *, units: Units = "metric") -> str:
    """Say what a bucketful of sand weighs against the limit for one person."""
    bucket_m3 = bucket_litres * LITRE_M3
    dry, wet = bucket_m3 * DRY_KG_M3, bucket_m3 * WET_KG_M3
    limit = format_mass(LIFT_LIMIT_KG, units=units)
    shown = f"A full bucket weighs {format_mass(dry, units=units)} dry to {format_mass(wet, units=units)} wet"
    if wet <= LIFT_LIMIT_KG:
        return f"{shown}; bend your knees and do not twist."
    part = LIFT_LIMIT_KG / wet
    return (
        f"{shown}, over the {limit} one person should lift: fill it {_fraction(part)} at most, do not twist."
    )


def _two_figures(volume_m3: float, units: Units) -> str:
    factor = LITRE_M3
    if units == "us":
        factor = CUBIC_FOOT_M3 if volume_m3 < CUBIC_YARD_M3 / 4 else CUBIC_YARD_M3
    count = volume_m3 / factor
    if 0 < count < LEAST_SAID:
        return f"less than {format_volume(LEAST_SAID * factor, units=units)}"
    return format_volume(float(f"{count:.2g}") * factor, units=units)


def _fraction(share: float) -> str:
    steps = ((3 / 4, "three quarters"), (2 / 3, "two thirds"), (1 / 2, "half"), (1 / 3, "a third"))
    return next((name for least, name in steps if share >= least), "a quarter")


def _whole(count: float) -> int:
    """Round up, forgiving the last digit of a float."""
    return math.ceil(count - FULL_ROUNDING * max(1.0, abs(count)))

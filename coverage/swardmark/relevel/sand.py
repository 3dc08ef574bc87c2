"""How much sand: depth rules, and an order as volume, mass, containers, trips and cost.

Volume is area times depth, exactly; 1 litre per square meter is 1 mm. Mass is given as a range from dry to
wet sand, 1555 to 1905 kg/m3 (97 and 119 lb/ft3; Engineering ToolBox, Dirt and Mud - Densities,
https://www.engineeringtoolbox.com/dirt-mud-densities-d_1727.html). A cubic yard is often spoken of as one
ton; by these figures it is 1.3 to 1.6 short tons.

Depths: 1/8 to 1/4 in a pass is C. Waltz's advice (University of Georgia), never more than 2 in of fill over
living turf is D. Gill's (LSU AgCenter); the warning above 1/2 in is our judgment between the two.

A cost is that of what is sold: whole scoops, whole bags or half yards.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from swardmark.common.errors import UsageError, check_argument
from swardmark.common.units import (
    CUBIC_YARD_M3,
    INCH_M,
    LITRE_M3,
    SHORT_TON_KG,
    TONNE_KG,
    Units,
    format_depth,
)
from swardmark.lawn.settings import Receipt, SandSettings
from swardmark.relevel import sentences as say

DRY_KG_M3 = 1555.0
WET_KG_M3 = 1905.0
WARN_DEPTH_MM = 13.0
"""Half an inch, to the whole millimeter."""
MOST_DEPTH_MM = 51.0
"""Two inches, to the whole millimeter."""
LIFT_LIMIT_KG = 23.0
"""NIOSH's limit under ideal conditions, 51 lb (OSHA eTool, Poultry Processing, NIOSH lifting equation)."""
LOAD_LIMIT_KG = 120.0
"""The most wet sand in a wheelbarrow (our judgment): 2 cu ft in one of 6 cu ft."""
BULKING, LEAST_BULKING, MOST_BULKING = 1.25, 1.15, 1.40
"""Damp sand lies 15 to 40 % looser than in place, about a quarter (from memory; no authority gives a figure)."""
PASS_SLACK = 1.1
"""A tenth more than a pass is not worth another one: tape and rake are no finer."""
FULL_ROUNDING = 1e-9


@dataclass(frozen=True)
class SandOrder:
    """An amount of sand in every measure that it is sold, carried or spoken of in.

    Attributes
    ----------
    volume_m3 : float
        Volume to order, with the settling allowance.
    scoop_m3, bag_m3, bucket_m3, barrow_m3 : float
        What each holds [m3].
    payload_kg : float or None
        What the vehicle may carry besides people and tools [kg]; None while that is not known.
    unit_m3 : float
        The least that is sold [m3].
    sold_as : str
        How it is sold: scoops, bags or half yards.
    currency : str
        Printed with amounts of money.
    cost : float or None
        Price of what is sold and its delivery, in the keeper's currency; None where no price is known.
    deliveries : int
        How many deliveries are in the cost.
    settling_pct : float
        The settling allowance in the volume [%].
    """

    volume_m3: float
    scoop_m3: float
    bag_m3: float
    bucket_m3: float
    barrow_m3: float
    payload_kg: float | None
    unit_m3: float
    sold_as: str = "scoops"
    currency: str = ""
    cost: float | None = None
    deliveries: int = 0
    settling_pct: float = 0.0

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
    def sold(self) -> int:
        """Whole units as it is sold."""
        return _whole(self.volume_m3 / self.unit_m3)

    @property
    def bought_m3(self) -> float:
        """Volume of the whole units that are bought [m3]."""
        return self.sold * self.unit_m3

    @property
    def scoops(self) -> float:
        """Loader scoops, exactly."""
        return self.volume_m3 / self.scoop_m3

    @property
    def bags(self) -> int:
        """Whole bags."""
        return _whole(self.volume_m3 / self.bag_m3)

    @property
    def buckets(self) -> int:
        """Whole buckets."""
        return _whole(self.volume_m3 / self.bucket_m3)

    @property
    def load_share(self) -> float:
        """How full a wheelbarrow is loaded, 0..1: as full as one person wheels it wet."""
        return load_share(self.barrow_m3)

    @property
    def barrow_loads(self) -> int:
        """Wheelbarrow loads, as full as `load_share` says."""
        return _whole(self.volume_m3 / (self.load_share * self.barrow_m3))

    @property
    def trips(self) -> int | None:
        """Trips of the keeper's vehicle by its payload, for what is bought, wet; None where none is known or left."""
        return _whole(self.bought_m3 * WET_KG_M3 / self.payload_kg) if self.payload_kg else None

    def as_dict(self) -> dict[str, float | int | str | None]:
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
            "barrows": self.barrow_loads,
            "trips": self.trips,
            "sold_as": self.sold_as,
            "sold": self.sold,
            "bought_m3": round(self.bought_m3, 4),
            "cost": None if self.cost is None else round(self.cost, 2),
            "currency": self.currency,
        }


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
    for name, value in (("area_m2", area_m2), ("depth_mm", depth_mm)):
        check_argument(value, int, float, name=name, where="sand_order", remedy="Give a number")
    _check_area(area_m2)
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
    unit = unit_m3(own)
    bought = _whole(volume / unit) * unit
    return SandOrder(
        volume,
        scoop_m3=own.scoop_m3,
        bag_m3=own.bag_litres * LITRE_M3,
        bucket_m3=own.bucket_litres * LITRE_M3,
        barrow_m3=own.barrow_litres * LITRE_M3,
        payload_kg=None if own.payload_kg is None else max(own.payload_kg - own.aboard_kg, 0.0),
        unit_m3=unit,
        sold_as=own.sold_as,
        currency=own.currency,
        cost=None if price is None else bought * price + (delivery if volume > 0 else 0.0),
        deliveries=1 if delivery > 0 else 0,
        settling_pct=own.settling_pct,
    )


def load_share(barrow_m3: float) -> float:
    """Return how full one person wheels a wheelbarrow of wet sand, 0..1, by what it holds."""
    full_kg = barrow_m3 * WET_KG_M3
    return next((part for part, _ in say.PARTS if part * full_kg <= LOAD_LIMIT_KG), 1 / 4)


def unit_m3(settings: SandSettings) -> float:
    """Return the least that is sold [m3]."""
    units = {"bags": settings.bag_litres * LITRE_M3, "half yards": CUBIC_YARD_M3 / 2}
    return units.get(settings.sold_as, settings.scoop_m3)


def depth_of_volume(volume_m3: float, *, area_m2: float, settings: SandSettings) -> float:
    """Return the mean depth that an ordered volume levels on an area [mm], after settling."""
    _check_area(area_m2)
    if area_m2 == 0:
        raise UsageError(say.NO_AREA.format(area=0), where="area", remedy=say.NO_AREA_REMEDY)
    return volume_m3 / (1 + settings.settling_pct / 100) / area_m2 / LITRE_M3


def with_receipts(settings: SandSettings, receipts: Sequence[Receipt]) -> tuple[SandSettings, Receipt | None]:
    """Fill a price that is not set from the newest receipt, and return that receipt too."""
    if settings.price_per_m3 is not None or not receipts:
        return settings, None
    newest = max(receipts, key=lambda one: one.date)
    own: dict[str, float] = {"price_per_m3": newest.price / newest.volume_m3}
    if not settings.delivery_price:
        own["delivery_price"] = newest.delivery
    return settings.model_copy(update=own), newest


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
        raise UsageError(say.NO_DEPTH.format(depth=depth_mm), where="depth", remedy=say.NO_DEPTH_REMEDY)
    shown = format_depth(depth_mm, units=units)
    if depth_mm > MOST_DEPTH_MM:
        what = say.SMOTHERS.format(depth=shown, most=format_depth(MOST_DEPTH_MM, units=units))
        raise UsageError(what, where="depth", remedy=say.SMOTHERS_REMEDY)
    if depth_mm > WARN_DEPTH_MM:
        return (say.DEEP_PASS.format(depth=shown, limit=format_depth(WARN_DEPTH_MM, units=units)),)
    return ()


def passes_for(depth_mm: float, *, pass_depth_mm: float) -> int:
    """Return how many passes of `pass_depth_mm` fill a depth; a tenth over is not worth another."""
    return max(1, _whole(depth_mm / (pass_depth_mm * PASS_SLACK)))


def yards_per_1000_sqft(depth_mm: float) -> float:
    """Return the trade's measure, cubic yards on 1000 square feet, of a depth."""
    inches = depth_mm * 0.001 / INCH_M
    return inches / 12 * 1000 / 27


def _check_area(area_m2: float) -> None:
    if not area_m2 >= 0 or not math.isfinite(area_m2):
        raise UsageError(say.NO_AREA.format(area=area_m2), where="area", remedy=say.NO_AREA_REMEDY)


def _whole(count: float) -> int:
    """Round up, forgiving the last digit of a float."""
    return math.ceil(count - FULL_ROUNDING * max(1.0, abs(count)))

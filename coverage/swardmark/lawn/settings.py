"""The tables of lawn.toml as checked values, each setting with its range and its default.

A keeper in the United States may write inches, square feet, yards and pounds: a name that ends in `_in` means the
setting of the same name in `_mm`, and so on (common/units.py). A field's description is its line in docs/files.md.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    field_validator,
    model_validator,
)

from swardmark.common.text import INVISIBLE, UNSHOWABLE
from swardmark.common.units import CUBIC_FOOT_M3, CUBIC_YARD_M3, US_GALLON_M3, metric_settings
from swardmark.lawn.photos import MAIN_POINT
from swardmark.lawn.tables import Day


def _can_be_shown(name: str) -> str:
    if UNSHOWABLE.search(name):
        raise ValueError("contains characters that cannot be shown, such as a line break")
    if INVISIBLE.search(name) or (name and not name.strip("\u200c\u200d\ufe0e\ufe0f \u2800")):
        raise ValueError("contains characters that cannot be seen: type the name anew")
    return name


def _number_as_text(value: Any) -> Any:
    return f"{value:.12g}" if isinstance(value, int | float) and not isinstance(value, bool) else value


def _checked_outline(outline: Corners) -> Corners:
    from shapely import Polygon
    from shapely.validation import explain_validity

    if len(outline) > 1 and outline[0] == outline[-1]:
        outline = outline[:-1]
    if len(outline) < 3:
        raise ValueError(f"an outline needs at least three corners, this one has {len(outline)}")
    if any(not abs(value) < 1000 for corner in outline for value in corner):
        raise ValueError("corners are meters from the square and lie within 1000 m")
    shape = Polygon(outline)
    if not shape.is_valid:
        raise ValueError(f"the outline crosses itself ({explain_validity(shape)}): list its corners in order")
    if shape.area < 0.01:
        raise ValueError(
            f"the outline encloses {shape.area * 1e4:.0f} cm2; the least that can be measured is 100"
        )
    return outline


Corners = tuple[tuple[float, float], ...]
Outline = Annotated[Corners, AfterValidator(_checked_outline)]
Name = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_can_be_shown)]
Label = Annotated[str, BeforeValidator(_number_as_text), Field(max_length=200), AfterValidator(_can_be_shown)]
"""A name that may be written as a number, such as a block."""
Length = Annotated[float, Field(ge=0, lt=1000)]


class Table(BaseModel):
    """A table of lawn.toml: no unknown setting, nothing that changes, US units turned into metric ones."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    @model_validator(mode="before")
    @classmethod
    def _metric(cls, table: Any) -> Any:
        return metric_settings(table, frozenset(cls.model_fields)) if isinstance(table, dict) else table

    @field_validator("*", mode="before")
    @classmethod
    def _no_setting_is_yes_or_no(cls, value: Any) -> Any:
        if isinstance(value, bool):
            raise ValueError(f"{str(value).lower()} does not fit here: write a number or text")
        return value


class Leveling(Table):
    """One leveling with sand: its day, and the mean depth that was spread or the sand that it took."""

    date: Day = Field(description="the day on which the sand was spread")
    depth_mm: float | None = Field(default=None, gt=0, le=51, description="its mean depth [mm]")
    sand_m3: float | None = Field(
        default=None, gt=0, le=1e5, description="or the sand that it took [m³], spread over `area_m2`"
    )
    note: str = Field(default="", description="anything you want to remember")


class PhotoPoint(Table):
    """A fixed place from which the same ground is photographed each time."""

    name: Name = Field(
        default=MAIN_POINT,
        description="a place from which you photograph; also the name of its folder in photos/",
    )
    square_side_m: float | None = Field(
        default=None, ge=0.2, le=5, description="the side of the square used there, if it is another one [m]"
    )
    note: str = Field(default="", description="anything you want to remember, such as where to stand")

    @field_validator("name")
    @classmethod
    def _is_a_folder_name(cls, name: str) -> str:
        if re.search(r'[/\\:*?"<>|\x00-\x1f]', name) or name.startswith("."):
            raise ValueError(
                "a photo point's name is also its folder's: no dot first, and no / \\ : * ? \" < > |"
            )
        return name


class Zone(Table):
    """A part of the ground, as an outline in meters from the square's corner mark 0; with a treatment, a trial plot."""

    name: Name = Field(description="what you call this part of the lawn, or this plot")
    outline_m: Outline = Field(
        description="its corners in order, as `[[x, y], ...]` in meters from the square's corner 0"
    )
    point: Name = Field(default=MAIN_POINT, description="the photo point from which it is seen")
    treatment: Label | None = Field(
        default=None,
        description="what this plot of a trial was given; zones of one name at several photo points are one plot",
    )
    block: Label | None = Field(default=None, description="the block that the plot lies in")

    @property
    def area_m2(self) -> float:
        """Ground area inside the outline, in square meters."""
        from shapely import Polygon

        return float(Polygon(self.outline_m).area)


class MeasureSettings(Table):
    """How photos are read; a change here makes the photos be measured again."""

    point_spacing_mm: float = Field(
        default=10.0, ge=5, le=100, description="distance between the points that are read on the ground [mm]"
    )
    max_view_deg: float = Field(
        default=75.0,
        ge=10,
        le=80,
        description="ground seen flatter than this, in degrees from the vertical, is left out",
    )
    max_footprint_mm: float = Field(
        default=15.0,
        gt=0,
        le=200,
        description="ground of which one pixel sees more than this is left out [mm]",
    )
    damping: float = Field(
        default=100.0,
        ge=0,
        le=1000,
        description="k of the index, added to the sum of the 8-bit values; 0 leaves deep shade as noisy as it is",
    )
    threshold: float | Literal["auto"] = Field(
        default="auto", description="the index of a pixel that is half leaf, or auto"
    )

    @field_validator("threshold")
    @classmethod
    def _in_range(cls, value: float | str) -> float | str:
        if not isinstance(value, str) and not -0.2 <= value <= 0.6:
            raise ValueError('the threshold must be an excess-green value between -0.2 and 0.6, or "auto"')
        return value


class OutlookSettings(Table):
    """What counts as ready and full, and how days are weighed by warmth."""

    first_mow_cover_pct: float = Field(
        default=70.0, gt=0, lt=100, description="lawn cover at which the first mow is considered [%]"
    )
    full_cover_pct: float = Field(default=90.0, gt=0, lt=100, description="cover that counts as full [%]")
    ready_ground_pct: float = Field(
        default=60.0,
        gt=0,
        le=100,
        description="share of the ground that must have that cover before the lawn is mown [%]",
    )
    mow_at_times_target: Literal[1.5, 1.33] = Field(  # type: ignore[valid-type]
        default=1.5, description="mow when the leaf is this many times the target height"
    )
    base_temperature_c: float | None = Field(
        default=None,
        ge=-5,
        le=20,
        description="temperature below which the grass does not grow [°C]; used with weather.csv",
    )


class Mowing(Table):
    """Heights of cut, for the way down before the sand and the way back after it."""

    usual_height_mm: float | None = Field(
        default=None, gt=0, le=200, description="height of cut the lawn is usually kept at [mm]"
    )
    target_height_mm: float | None = Field(
        default=None, gt=0, le=200, description="height of cut of the first mow [mm]"
    )
    scalp_height_mm: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="height of cut right before the sand [mm]; raised to what the grass stands",
    )
    notch_mm: float = Field(default=6.35, ge=1, le=50, description="one notch of the mower [mm] (1/4 in)")
    notches_mm: tuple[Annotated[float, Field(gt=0, le=200)], ...] = Field(
        default=(), description="or the heights that the mower has, as a list [mm]"
    )


class SandSettings(Table):
    """Depths and containers for the sand order; densities and sources are in docs/how-it-works."""

    pass_depth_mm: float = Field(
        default=6.0, gt=0, le=51, description="depth of one pass [mm]; lowered to what the grass stands"
    )
    settling_pct: float = Field(
        default=0.0,
        ge=0,
        le=50,
        description="how much more to order because sand settles [%]; no authority gives a figure",
    )
    passes_per_season: int = Field(
        default=2, ge=1, le=12, description="the most passes over one spot in a season"
    )
    scoop_m3: float = Field(
        default=0.4,
        ge=0.01,
        le=20,
        description="what a loader's scoop holds [m³]; half a cubic yard with US units",
    )
    bag_litres: float = Field(
        default=16.0, ge=1, le=2000, description="what a bag holds [l]; half a cubic foot with US units"
    )
    bucket_litres: float = Field(
        default=14.0, ge=1, le=1000, description="what a bucket holds [l]; 5 US gallons with US units"
    )
    barrow_litres: float = Field(
        default=90.0, ge=1, le=1000, description="what a wheelbarrow holds [l]; 6 cubic feet with US units"
    )
    payload_kg: float | None = Field(
        default=None,
        ge=1,
        le=100_000,
        description="what your vehicle may carry, from the label on its door frame [kg]",
    )
    aboard_kg: float = Field(
        default=100.0, ge=0, le=10_000, description="people and tools that ride along [kg]"
    )
    sold_as: Literal["scoops", "bags", "half yards"] = Field(
        default="scoops", description="how sand is sold: scoops, bags or half yards; costs are of whole ones"
    )
    currency: str = Field(
        default="", max_length=8, description="sign or code printed with money; $ with US units"
    )
    price_per_m3: float | None = Field(
        default=None, ge=0, le=1e6, description="price of a cubic meter of sand, in your currency"
    )
    delivery_price: float = Field(default=0.0, ge=0, le=1e6, description="price of each delivery")


US_SAND = {
    "pass_depth_mm": 6.35, "scoop_m3": CUBIC_YARD_M3 / 2, "bag_litres": 500 * CUBIC_FOOT_M3,
    "bucket_litres": 5000 * US_GALLON_M3, "barrow_litres": 6000 * CUBIC_FOOT_M3, "currency": "$",
}  # fmt: skip
"""What is sold and carried in the United States: a half-yard scoop, bags of 0.5 cu ft, 5-gallon buckets, 6 cu ft
wheelbarrows. The metric defaults are a small loader's 0.4 m3, bags of 25 kg, 14 L buckets and 90 L wheelbarrows (all
common practice, no source)."""


def sand_settings(units: str, **settings: Any) -> SandSettings:
    """Return the sand settings of a system of units, with the keeper's own where given."""
    own = metric_settings(settings, frozenset(SandSettings.model_fields))
    return SandSettings(**((US_SAND if units == "us" else {}) | own))


class Receipt(Table):
    """What was paid for sand, for next year's price: the sand alone and its delivery."""

    date: Day = Field(description="the day on which you bought sand")
    volume_m3: float = Field(gt=0, le=1e5, description="how much [m³]")
    price: float = Field(
        ge=0, le=1e7, description="what it cost, without the delivery; the next price where [sand] gives none"
    )
    delivery: float = Field(default=0.0, ge=0, le=1e6, description="what its delivery cost")
    note: str = Field(default="", description="anything you want to remember")


class Confirmed(Table):
    """The keeper's own checks on the ground before the first mow, each with the day it was made."""

    dry: Day | None = Field(default=None, description="day on which you found the surface dry")
    firm: Day | None = Field(default=None, description="day on which you found the ground firm underfoot")
    tug_test_passed: Day | None = Field(default=None, description="day on which a tug did not lift the turf")
    no_loose_ridges: Day | None = Field(
        default=None, description="day on which no loose ridge of sand was left"
    )

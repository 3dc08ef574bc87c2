"""The tables of lawn.toml as checked values, each setting with its range and its default.

A keeper in the United States may write inches, square feet, yards and pounds: a name that ends in `_in` means the
setting of the same name in `_mm`, and so on; the factors are exact (units.py).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
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

from swardmark.common.text import UNSHOWABLE
from swardmark.common.units import (
    CUBIC_FOOT_M3,
    CUBIC_YARD_M3,
    INCH_M,
    POUND_KG,
    SQUARE_FOOT_M2,
    US_GALLON_M3,
)
from swardmark.lawn.photos import MAIN_POINT
from swardmark.lawn.tables import Day

ENDINGS: tuple[tuple[str, str, float], ...] = (
    ("square_side_in", "square_side_m", INCH_M),
    ("_in", "_mm", 1000 * INCH_M),
    ("_sqft", "_m2", SQUARE_FOOT_M2),
    ("price_per_yard", "price_per_m3", 1 / CUBIC_YARD_M3),
    ("_yd3", "_m3", CUBIC_YARD_M3),
    ("_lb", "_kg", POUND_KG),
)


def _can_be_shown(name: str) -> str:
    if UNSHOWABLE.search(name):
        raise ValueError("contains characters that cannot be shown, such as a line break")
    return name


def _number_as_text(value: Any) -> Any:
    return f"{value:g}" if isinstance(value, int | float) and not isinstance(value, bool) else value


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

    date: Day
    depth_mm: float | None = Field(default=None, gt=0, le=51)
    sand_m3: float | None = Field(default=None, gt=0, le=1e5)
    note: str = ""


class PhotoPoint(Table):
    """A fixed place from which the same ground is photographed each time."""

    name: Name = MAIN_POINT
    square_side_m: float | None = Field(default=None, ge=0.2, le=5)
    note: str = ""

    @field_validator("name")
    @classmethod
    def _is_a_folder_name(cls, name: str) -> str:
        if re.search(r'[/\\:*?"<>|\x00-\x1f]', name) or name.strip(". ") == "":
            raise ValueError("a photo point's name is also its folder's name: leave out / \\ : * ? \" < > |")
        return name


class Zone(Table):
    """A part of the ground, as an outline in meters from the square's corner mark 0; with a treatment, a trial plot."""

    name: Name
    outline_m: Outline
    point: Name = MAIN_POINT
    treatment: Label | None = None
    block: Label | None = None

    @property
    def area_m2(self) -> float:
        """Ground area inside the outline, in square meters."""
        from shapely import Polygon

        return float(Polygon(self.outline_m).area)


class MeasureSettings(Table):
    """How photos are read; a change here makes the photos be measured again."""

    point_spacing_mm: float = Field(default=10.0, ge=5, le=100)
    max_view_deg: float = Field(default=75.0, ge=10, le=80)
    max_footprint_mm: float = Field(default=15.0, gt=0, le=200)
    damping: float = Field(default=100.0, ge=0, le=1000)
    threshold: float | Literal["auto"] = "auto"

    @field_validator("threshold")
    @classmethod
    def _in_range(cls, value: float | str) -> float | str:
        if not isinstance(value, str) and not -0.2 <= value <= 0.6:
            raise ValueError('the threshold must be an excess-green value between -0.2 and 0.6, or "auto"')
        return value


class OutlookSettings(Table):
    """What counts as ready and full, and how days are weighed by warmth."""

    first_mow_cover_pct: float = Field(default=70.0, gt=0, lt=100)
    full_cover_pct: float = Field(default=90.0, gt=0, lt=100)
    ready_ground_pct: float = Field(default=60.0, gt=0, le=100)
    mow_at_times_target: Literal[1.5, 1.33] = 1.5  # type: ignore[valid-type]
    base_temperature_c: float | None = Field(default=None, ge=-5, le=20)


class Mowing(Table):
    """Heights of cut, for the way down before the sand and the way back after it."""

    usual_height_mm: float | None = Field(default=None, gt=0, le=200)
    target_height_mm: float | None = Field(default=None, gt=0, le=200)
    scalp_height_mm: float | None = Field(default=None, gt=0, le=200)
    notch_mm: float = Field(default=6.35, ge=1, le=50)
    notches_mm: tuple[Annotated[float, Field(gt=0, le=200)], ...] = ()


class SandSettings(Table):
    """Depths and containers for the sand order; densities and sources are in docs/how-it-works."""

    pass_depth_mm: float = Field(default=6.0, gt=0, le=51)
    settling_pct: float = Field(default=0.0, ge=0, le=50)
    passes_per_season: int = Field(default=2, ge=1, le=12)
    scoop_m3: float = Field(default=0.4, ge=0.01, le=20)
    bag_litres: float = Field(default=16.0, ge=1, le=2000)
    bucket_litres: float = Field(default=14.0, ge=1, le=1000)
    barrow_litres: float = Field(default=90.0, ge=1, le=1000)
    payload_kg: float | None = Field(default=None, ge=1, le=100_000)
    aboard_kg: float = Field(default=100.0, ge=0, le=10_000)
    sold_as: Literal["scoops", "bags", "half yards"] = "scoops"
    currency: str = Field(default="", max_length=8)
    price_per_m3: float | None = Field(default=None, ge=0, le=1e6)
    delivery_price: float = Field(default=0.0, ge=0, le=1e6)


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

    date: Day
    volume_m3: float = Field(gt=0, le=1e5)
    price: float = Field(ge=0, le=1e7)
    delivery: float = Field(default=0.0, ge=0, le=1e6)
    note: str = ""


class Confirmed(Table):
    """The keeper's own checks on the ground before the first mow, each with the day it was made."""

    dry: Day | None = None
    firm: Day | None = None
    tug_test_passed: Day | None = None
    no_loose_ridges: Day | None = None


def metric_settings(table: dict[str, Any], known: frozenset[str]) -> dict[str, Any]:
    """Return a table of settings with those in US units turned into the known metric ones.

    Raises
    ------
    ValueError
        A setting is given in both.
    """
    metric: dict[str, Any] = {}
    for name, value in table.items():
        of, factor = _metric_of(name, known)
        if of != name and of in table:
            raise ValueError(f"both {name} and {of} are given; keep one of them")
        metric[of] = _times(value, factor)
    return metric


def us_names(name: str) -> Iterator[str]:
    """Yield the names in US units of a metric setting."""
    for us, metric, _ in ENDINGS:
        if name.endswith(metric):
            yield name.removesuffix(metric) + us


def _metric_of(name: str, known: frozenset[str]) -> tuple[str, float]:
    if name not in known:
        for us, metric, factor in ENDINGS:
            if name.endswith(us) and name.removesuffix(us) + metric in known:
                return name.removesuffix(us) + metric, factor
    return name, 1.0


def _times(value: Any, factor: float) -> Any:
    if factor == 1.0 or isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return value * factor
    return [_times(part, factor) for part in value] if isinstance(value, list) else value

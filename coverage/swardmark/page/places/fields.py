"""The settings that the page offers, each with its name in the lawn's file, its words, and the unit it is shown in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Literal, get_args

from swardmark.common.errors import UsageError
from swardmark.common.numbers import number_alone
from swardmark.common.units import CUBIC_YARD_M3, POUND_KG, SQUARE_FOOT_M2, format_length, parse_length
from swardmark.lawn.grasses import Grass
from swardmark.lawn.toml import Lawn
from swardmark.page.places import sentences

Kind = Literal["text", "choice", "number", "height", "heights", "area", "mass", "price", "side", "day"]
FACTORS: dict[Kind, tuple[str, float, str, float]] = {
    "height": ("mm", 1.0, "in", 25.4),
    "heights": ("mm", 1.0, "in", 25.4),
    "area": ("m²", 1.0, "sq ft", SQUARE_FOOT_M2),
    "mass": ("kg", 1.0, "lb", POUND_KG),
    "price": ("per m³", 1.0, "per cubic yard", 1 / CUBIC_YARD_M3),
}
"""The metric and the US unit of each kind, and what one of it is in the file's unit."""
BETWEEN = {
    "metric": re.compile(r"\s*;\s*|,\s+|(?<=/\d)\s+|(?<=/\d\d)\s+|\s+(?!\d+/)"),
    "us": re.compile(r"\s*[;,]\s*|(?<=/\d)\s+|(?<=/\d\d)\s+|\s+(?!\d+/)"),
}
"""What stands between two heights: a comma without a space is a decimal comma in metric units alone."""


@dataclass(frozen=True)
class Setting:
    """One setting of the page.

    Attributes
    ----------
    name : str
        Its name in lawn.toml, with its table before the dot.
    label, hint : str
        What it is called, and what is said below it.
    kind : str
        What is entered.
    options : tuple of (value, words)
        For a choice.
    """

    name: str
    label: str
    hint: str = ""
    kind: Kind = "text"
    options: tuple[tuple[str, str], ...] = ()

    def titled(self, lawn: Lawn) -> str:
        """Return the label with the unit in which the keeper enters it."""
        unit = self._unit(lawn)
        return sentences.WITH_UNIT.format(label=self.label, unit=unit) if unit else self.label

    def shown(self, lawn: Lawn) -> str:
        """Return the value as it stands, as it is entered; empty where it is not set."""
        value: Any = lawn
        for part in self.name.split("."):
            value = getattr(value, part)
        if value is None or value == ():
            return ""
        if self.kind == "side":
            return format_length(float(value), units=lawn.units)
        if self.kind == "heights":
            return ", ".join(number_text(one / self._factor(lawn)) for one in value)
        if self.kind in FACTORS or self.kind == "number":
            return number_text(float(value) / self._factor(lawn))
        return str(value)

    def read(self, text: str, lawn: Lawn) -> object:
        """Return what was entered in the file's unit; None where the field was emptied.

        Raises
        ------
        UsageError
            It is no number or no length.
        """
        text = text.strip()
        if not text:
            return None
        if self.kind == "side":
            return parse_length(text, bare="m", where=self.label)
        if self.kind == "heights":
            return [self._read_number(part, lawn) for part in BETWEEN[lawn.units].split(text) if part]
        if self.kind in FACTORS or self.kind == "number":
            return self._read_number(text, lawn)
        return text

    def _read_number(self, text: str, lawn: Lawn) -> float:
        is_height = self.kind in ("height", "heights")
        bare = text.removesuffix(self._unit(lawn))
        number = read_number(bare, where=self.label, thousands=not is_height)
        return round(number * self._factor(lawn), 3)

    def _unit(self, lawn: Lawn) -> str:
        metric, _, us, _ = FACTORS.get(self.kind, ("", 1.0, "", 1.0))
        return us if lawn.units == "us" else metric

    def _factor(self, lawn: Lawn) -> float:
        _, metric, _, us = FACTORS.get(self.kind, ("", 1.0, "", 1.0))
        return us if lawn.units == "us" else metric


def read_number(text: str, *, where: str, thousands: bool = False) -> float:
    """Return a number as a keeper writes it: 12.5, 12,5 or 1 1/2, and 1,500 where there may be thousands.

    Raises
    ------
    UsageError
        It is none; `where` names the field.
    """
    text = text.strip()
    value = number_alone(text.removeprefix("-"), thousands=thousands)
    if value is None:
        raise UsageError(f"{text!r:.60} is not a number", where=where, remedy="Write digits alone")
    return -value if text.startswith("-") else value


def number_text(value: float) -> str:
    """Return a number as it is entered: with two decimals at most, but a sixteenth of an inch whole."""
    sixteenths = round(value * 16)
    if abs(value * 16 - sixteenths) < 2e-3:
        return f"{sixteenths / 16:.4f}".rstrip("0").rstrip(".")
    return f"{value:.2f}".rstrip("0").rstrip(".")


def read_leveling_depth(text: str, lawn: Lawn, *, was_mm: float | None) -> float | None:
    """Return the depth of a leveling [mm]; one that still stands as it was shown is not rounded.

    Raises
    ------
    UsageError
        It is no number.
    """
    if not text.strip():
        return None
    if text == leveling_depth_text(was_mm, lawn):
        return was_mm
    unit, factor = ("in", 25.4) if lawn.units == "us" else ("mm", 1.0)
    return read_number(text, where=sentences.LEVELING_DEPTH.format(unit=unit)) * factor


def leveling_depth_text(depth_mm: float | None, lawn: Lawn) -> str:
    """Return the depth of a leveling as it is entered; empty where it is not given."""
    return "" if depth_mm is None else number_text(depth_mm / (25.4 if lawn.units == "us" else 1.0))


def _of(table: str, kind: Kind, *names: str) -> tuple[Setting, ...]:
    prefix = f"{table}." if table else ""
    return tuple(_setting(prefix + name, kind) for name in names)


def _setting(name: str, kind: Kind) -> Setting:
    label, hint = sentences.SETTINGS[name]
    return Setting(name, label, hint, kind, _OPTIONS.get(name, ()))


_OPTIONS: dict[str, tuple[tuple[str, str], ...]] = {
    "grass": tuple((name, name) for name in get_args(Grass)),
    "units": tuple(sentences.UNITS.items()),
    "dates": tuple(sentences.DATES.items()),
    "sand.sold_as": tuple((name, name) for name in ("scoops", "bags", "half yards")),
}
GROUPS: dict[str, tuple[Setting, ...]] = {
    "lawn": (
        *_of("", "text", "name"),
        *_of("", "choice", "grass", "units", "dates"),
        *_of("", "side", "square_side_m"),
        *_of("", "area", "area_m2"),
        *_of("", "day", "first_frost"),
    ),
    "mowing": (
        *_of("mowing", "height", "usual_height_mm", "target_height_mm", "scalp_height_mm", "notch_mm"),
        *_of("mowing", "heights", "notches_mm"),
        *_of("outlook", "number", "first_mow_cover_pct", "ready_ground_pct", "full_cover_pct"),
    ),
    "sand": (
        *_of("sand", "height", "pass_depth_mm"),
        *_of("sand", "price", "price_per_m3"),
        *_of("sand", "number", "delivery_price"),
        *_of("sand", "text", "currency"),
        *_of("sand", "choice", "sold_as"),
        *_of("sand", "mass", "payload_kg", "aboard_kg"),
        *_of("sand", "number", "settling_pct", "passes_per_season"),
    ),
}
"""The settings by group, in the order in which they are shown."""


def whole_number(setting: Setting, value: Any) -> Any:
    """Return passes as a whole number; other values, and none, as they are."""
    is_whole = setting.name.endswith("passes_per_season") and isinstance(value, float) and value.is_integer()
    return int(value) if is_whole else value

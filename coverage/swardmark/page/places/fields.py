"""The settings that the page offers, each with its name in the lawn's file, its words, and the unit it is shown in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Literal, get_args

from swardmark.common.errors import UsageError
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
        unit = FACTORS[self.kind][2 if lawn.units == "us" else 0] if self.kind in FACTORS else ""
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
            return ", ".join(_number(one / self._factor(lawn)) for one in value)
        if self.kind in FACTORS or self.kind == "number":
            return _number(float(value) / self._factor(lawn))
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
            return [self._read_number(part, lawn) for part in re.split(r"[;,]\s+|\s+|;", text) if part]
        if self.kind in FACTORS or self.kind == "number":
            return self._read_number(text, lawn)
        return text

    def _read_number(self, text: str, lawn: Lawn) -> float:
        try:
            return round(float(text.replace(",", ".")) * self._factor(lawn), 3)
        except ValueError:
            raise UsageError(
                f"{text!r} is not a number", where=self.label, remedy="Write digits alone"
            ) from None

    def _factor(self, lawn: Lawn) -> float:
        _, metric, _, us = FACTORS.get(self.kind, ("", 1.0, "", 1.0))
        return us if lawn.units == "us" else metric


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


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
    """Return passes as a whole number; other values as they are."""
    return int(value) if setting.name.endswith("passes_per_season") and value == int(value) else value

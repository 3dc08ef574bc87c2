"""Lengths, areas, volumes and masses: read with their unit, printed with honest digits.

Inside swardmark a length is in meters, an area in square meters, a volume in cubic meters and a mass in
kilograms. The factors are exact: 1 yard = 0.9144 m and 1 pound = 0.453 592 37 kg by the international
agreement of 1959, 1 US gallon = 231 cubic inches, 1 short ton = 2000 lb (NIST Special Publication 811, 2008
edition, appendix B).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Any, Literal

from swardmark.common.errors import UsageError
from swardmark.common.numbers import leading_number, number_alone

Units = Literal["metric", "us"]
Kind = Literal["length", "area", "volume", "mass"]

YARD_M = 0.9144
FOOT_M = 0.3048
INCH_M = 0.0254
SQUARE_FOOT_M2 = 0.09290304
CUBIC_FOOT_M3 = 0.028316846592
CUBIC_YARD_M3 = 0.764554857984
US_GALLON_M3 = 0.003785411784
POUND_KG = 0.45359237
SHORT_TON_KG = 907.18474
TONNE_KG = 1000.0
LITRE_M3 = 0.001

ENDINGS: tuple[tuple[str, str, float], ...] = (
    ("square_side_in", "square_side_m", INCH_M),
    ("_in", "_mm", 1000 * INCH_M),
    ("_sqft", "_m2", SQUARE_FOOT_M2),
    ("price_per_yard", "price_per_m3", 1 / CUBIC_YARD_M3),
    ("_yd3", "_m3", CUBIC_YARD_M3),
    ("_lb", "_kg", POUND_KG),
    ("_ft", "_m", FOOT_M),
)
"""Endings of settings' names: in US units, in metric ones, and how many of the second one of the first is."""

_FACTORS: dict[Kind, dict[float, str]] = {
    "length": {
        0.001: "mm millimeter millimeter",
        0.01: "cm centimeter centimeter",
        1.0: "m meter meter",
        INCH_M: 'in inch inches " ″ ”',
        FOOT_M: "ft foot feet ' ′ ’",
        YARD_M: "yd yard",
    },
    "area": {
        0.0001: "cm2 sqcm",
        1.0: "m2 sqm squaremeter squaremeter",
        10_000.0: "ha hectare",
        SQUARE_FOOT_M2: "ft2 sqft sf squarefoot squarefeet",
        YARD_M * YARD_M: "yd2 sqyd squareyard",
        43_560 * SQUARE_FOOT_M2: "ac acre",
    },
    "volume": {
        LITRE_M3: "l liter litre dm3",
        1.0: "m3 cubicmeter cubicmeter cum",
        CUBIC_FOOT_M3: "ft3 cuft cf cubicfoot cubicfeet",
        CUBIC_YARD_M3: "yd3 cuyd cy cubicyard yard yd",
        US_GALLON_M3: "gal gallon",
    },
    "mass": {
        1.0: "kg kilogram",
        TONNE_KG: "t tonne",
        POUND_KG: "lb lbs pound",
        SHORT_TON_KG: "shortton",
    },
}
_UNITS: dict[Kind, dict[str, float]] = {
    kind: {name: factor for factor, names in factors.items() for name in names.split()}
    for kind, factors in _FACTORS.items()
}
_EXAMPLES: dict[Kind, str] = {
    "length": "6mm, 3.2m, 1/4in or 12ft",
    "area": "60 m² or 1500sqft",
    "volume": "1.5m3, 40L, 2yd3 or 10cuft",
    "mass": "700kg, 1.2t or 1500lb",
}


def parse_length(text: str, *, bare: str | None = None, where: str = "") -> float:
    """Read a length such as `6 mm`, `1/4 in`, `1 1/2 in` or `3.2m`, in meters.

    Parameters
    ----------
    text : str
        The number and its unit; the number as in `common.numbers`.
    bare : str, optional
        The unit of a number that comes without one; by default such a number is refused.
    where : str, optional
        The option or file and line that an error names.

    Raises
    ------
    UsageError
        The text is not a positive number or zero with a known unit.
    """
    return _parse(text, "length", bare, where)


def parse_depth(text: str, *, where: str = "") -> float:
    """Read a depth such as `6 mm` or `1/4 in`, in meters; one without its unit is refused with both readings.

    Raises
    ------
    UsageError
        As `parse_length`; a bare number may be inches or millimeters.
    """
    clean = text.strip()
    value = number_alone(clean)
    if value is not None:
        what = f"'{clean}' has no unit"
        raise UsageError(what, where=where, remedy=f"Write {clean}in or {_figures(value, 2)}mm")
    return _parse(text, "length", None, where)


def parse_area(text: str, *, bare: str | None = None, where: str = "") -> float:
    """Read an area such as `60m2` or `1,500 sq ft`, in square meters; options as in `parse_length`."""
    return _parse(text, "area", bare, where)


def parse_volume(text: str, *, bare: str | None = None, where: str = "") -> float:
    """Read a volume such as `2 yd3`, `1.5 m3` or `40 L`, in cubic meters; options as in `parse_length`."""
    return _parse(text, "volume", bare, where)


def parse_mass(text: str, *, bare: str | None = None, where: str = "") -> float:
    """Read a mass such as `700 kg` or `1500 lb`, in kilograms; options as in `parse_length`.

    A plain `ton` is refused, because it means 907 kg to some and 1000 kg to others.
    """
    return _parse(text, "mass", bare, where)


def format_length(meters: float, *, units: Units = "metric", digits: int = 2) -> str:
    """Print a length on the ground, to a tenth of its unit at most: `32 cm`, `3.2 m`, `10.5 ft`."""
    if units == "us":
        return _pick(meters, [(FOOT_M, INCH_M, "in"), (math.inf, FOOT_M, "ft")], digits)
    return _pick(meters, [(0.01, 0.001, "mm"), (1.0, 0.01, "cm"), (math.inf, 1.0, "m")], digits)


def format_depth(millimeters: float, *, units: Units = "metric") -> str:
    """Print a depth or height as a ruler shows it: whole millimeters, or inches to the nearest sixteenth."""
    if units == "metric":
        return f"{_figures(millimeters, 2 if millimeters < 10 else 0)} mm"
    if millimeters < 0:
        return f"-{format_depth(-millimeters, units=units)}"
    inches = millimeters / 1000 / INCH_M
    sixteenths = Fraction(round(inches * 16), 16)
    if sixteenths == 0 and inches > 0:
        return f"{_figures(inches, 1)} in"
    whole, part = divmod(sixteenths, 1)
    return " ".join(str(n) for n in (whole, part) if n) + " in" if sixteenths else "0 in"


def format_cut(leaf_mm: float, cut_mm: float, *, units: Units = "metric") -> tuple[str, str]:
    """Print the height of the leaf and that of the cut; what is printed takes off no larger share than the two do."""
    step = 1.0 if units == "metric" else 1000 * INCH_M / 16
    leaf, cut = math.floor(leaf_mm / step + 1e-6) * step, math.ceil(cut_mm / step - 1e-6) * step
    return format_depth(leaf, units=units), format_depth(cut, units=units)


def format_area(square_meters: float, *, units: Units = "metric") -> str:
    """Print an area with two figures, whole units from 10 on: `0.42 m²`, `3.2 m²`, `1500 sq ft`."""
    return f"{_figures(square_meters / (SQUARE_FOOT_M2 if units == 'us' else 1.0))} {area_unit(units)}"


def area_unit(units: Units) -> str:
    """Return the printed unit of areas: `m²` or `sq ft`."""
    return "sq ft" if units == "us" else "m²"


def format_volume(cubic_meters: float, *, units: Units = "metric") -> str:
    """Print a volume of sand: litres or cubic feet when small, cubic meters or cubic yards when large."""
    if units == "us":
        return _pick(
            cubic_meters, [(CUBIC_YARD_M3 / 4, CUBIC_FOOT_M3, "cu ft"), (math.inf, CUBIC_YARD_M3, "cu yd")], 3
        )
    return _pick(cubic_meters, [(0.1, LITRE_M3, "L"), (math.inf, 1.0, "m³")], 3)


def format_temperature(celsius: float, *, units: Units = "metric") -> str:
    """Print a temperature in whole degrees: `18 °C`, `65 °F`; Fahrenheit to the nearest five, as it is spoken."""
    return f"{5 * round((celsius * 9 / 5 + 32) / 5)} °F" if units == "us" else f"{celsius:.0f} °C"


def format_mass(kilograms: float, *, units: Units = "metric") -> str:
    """Print a mass: `18 kg`, `1.2 t`, `65 lb`, `1.4 short tons`."""
    if units == "us":
        shown = _pick(kilograms, [(SHORT_TON_KG, POUND_KG, "lb"), (math.inf, SHORT_TON_KG, "short tons")])
        return shown.removesuffix("s") if shown == "1 short tons" else shown
    return _pick(kilograms, [(TONNE_KG, 1.0, "kg"), (math.inf, TONNE_KG, "t")])


def _parse(text: str, kind: Kind, bare: str | None, where: str) -> float:
    clean = " ".join(text.strip().replace("²", "2").replace("³", "3").split())
    found = leading_number(clean)
    if found is None:
        raise _not_read(text, kind, where)
    value, unit = found[0], found[1].strip() or (bare or "")
    if not unit:
        remedy = f"Write the unit with it: {_EXAMPLES[kind]}"
        raise UsageError(f"'{text}' has no unit", where=where, remedy=remedy)
    if re.fullmatch(r"tons?", unit, re.IGNORECASE):
        raise UsageError(
            f"'{text}' may be metric or short tons", where=where, remedy="Write t, or short tons, or lb"
        )
    factor = _factor(unit, kind)
    if factor is None or not math.isfinite(value * factor):
        raise _not_read(text, kind, where)
    return value * factor


def _not_read(text: str, kind: Kind, where: str) -> UsageError:
    return UsageError(
        f"'{text:.60}' is not a {kind} with its unit", where=where, remedy=f"Write {_EXAMPLES[kind]}"
    )


def _factor(unit: str, kind: Kind) -> float | None:
    word = re.sub(r"[\s.^]", "", unit.lower())
    known = _UNITS[kind]
    return known.get(word) or known.get(word.removesuffix("s"))


def _pick(value: float, ladder: list[tuple[float, float, str]], digits: int = 2) -> str:
    """Print in the first unit of the ladder (upper limit, factor, name) whose limit lies above the value."""
    factor, name = next(
        (factor, name) for limit, factor, name in ladder if abs(value) < limit or limit == math.inf
    )
    return f"{_figures(value / factor, digits)} {name}"


def _figures(value: float, figures: int = 2) -> str:
    """Round to this many figures, never past the decimal point: 0.4234 -> 0.42, 3.24 -> 3.2, 1237.5 -> 1238."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    places = max(0, figures - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{places}f}".rstrip("0").rstrip(".") if places else f"{value:.0f}"


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

"""Numbers as people write them: 12.5, 12,5, .5, 1,500, 1/4, 1 1/2 and 1-1/2.

One reader serves the command line, the page and the tables. A comma before three digits parts thousands, where there
may be thousands; any other comma is a decimal comma, also one behind a leading zero (0,500 is a half). Signs, powers of
ten and words such as nan are left to whoever reads: they are no part of a number here.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

MOST_CHARACTERS = 60
_FRACTION = r"(?:(?P<whole>[0-9]+)[ -]+)?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
_THOUSANDS = r"(?P<thousands>[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]*)?)(?![0-9])"
_DECIMAL = r"(?P<decimal>[0-9]+(?:\.[0-9]*|,[0-9]+)?|[.,][0-9]+)"
_PLAIN = re.compile(f"{_FRACTION}|{_DECIMAL}")
_WITH_THOUSANDS = re.compile(f"{_FRACTION}|{_THOUSANDS}|{_DECIMAL}")


def leading_number(text: str, *, thousands: bool = True) -> tuple[float, str] | None:
    """Return the number that a text begins with, and what follows it.

    Parameters
    ----------
    text : str
        What was entered, without blanks before it.
    thousands : bool
        Whether a comma before three digits parts thousands.

    Returns
    -------
    (float, str) or None
        None where the text begins with no number, is longer than a number and its unit can be, or divides by zero.

    Examples
    --------
    >>> leading_number("1 1/2 in")
    (1.5, ' in')
    >>> leading_number("6,350"), leading_number("6,350", thousands=False)
    ((6350.0, ''), (6.35, ''))
    """
    match = (_WITH_THOUSANDS if thousands else _PLAIN).match(text)
    if match is None or len(text) > MOST_CHARACTERS:
        return None
    value = _value(match.groupdict())
    return (value, text[match.end() :]) if math.isfinite(value) else None


def number_alone(text: str, *, thousands: bool = True) -> float | None:
    """Return a text that is a number and nothing else; None where it is not."""
    found = leading_number(text.strip(), thousands=thousands)
    return None if found is None or found[1] else found[0]


def _value(part: dict[str, str | None]) -> float:
    if part["decimal"] is not None:
        return float(part["decimal"].replace(",", "."))
    if part.get("thousands") is not None:
        return float(str(part["thousands"]).replace(",", ""))
    top, bottom = int(part["top"] or 0), int(part["bottom"] or 0)
    return float(int(part["whole"] or 0) + Fraction(top, bottom)) if bottom else math.nan

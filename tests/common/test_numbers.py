"""Numbers as people write them are read in one way: decimals with point or comma, thousands, fractions.

The decimal sign is a comma or a point (ISO 80000-1, from memory). Commas that part thousands: common practice in the
United States, no source.
"""

from __future__ import annotations

import pytest

from swardmark.common.numbers import leading_number, number_alone


@pytest.mark.parametrize(
    ("text", "value", "without_thousands"),
    [
        ("12", 12.0, 12.0),
        ("12.5", 12.5, 12.5),
        ("12,5", 12.5, 12.5),
        (".5", 0.5, 0.5),
        (",5", 0.5, 0.5),
        ("5.", 5.0, 5.0),
        ("1,500", 1500.0, 1.5),
        ("1,500.25", 1500.25, None),
        ("1,234,567", 1234567.0, None),
        ("0,500", 0.5, 0.5),
        ("1,5000", 1.5, 1.5),
        ("12,50", 12.5, 12.5),
        ("1/4", 0.25, 0.25),
        ("1 1/2", 1.5, 1.5),
        ("1-1/2", 1.5, 1.5),
    ],
)
def test_a_comma_parts_thousands_or_is_a_decimal_comma(text, value, without_thousands):
    assert number_alone(f" {text} ") == value
    assert number_alone(text, thousands=False) == without_thousands


@pytest.mark.parametrize(
    "text",
    [
        "",
        "-1",
        "+1",
        "nan",
        "inf",
        "1e3",
        "1/0",
        "0/0",
        "1,2,3",
        "1.500,5",
        "1,500,25",
        "12,",
        "1_0",
        "9" * 61,
    ],
)
def test_what_is_no_number_is_none(text):
    assert number_alone(text) is None


def test_the_unit_is_left():
    assert leading_number("1 1/2 in") == (1.5, " in")
    assert leading_number("6mm") == (6.0, "mm")
    assert leading_number("12, 15 mm") == (12.0, ", 15 mm")
    assert leading_number("9" * 59) == (float("9" * 59), "")
    assert leading_number("1" + "0" * 5000 + "/1") is None

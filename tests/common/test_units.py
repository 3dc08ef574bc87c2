"""Quantities with units: read, printed, and read again."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.common import units
from swardmark.common.errors import UsageError

SIZES = st.floats(min_value=1e-3, max_value=1e5)
PARSERS = {
    "length": units.parse_length,
    "area": units.parse_area,
    "volume": units.parse_volume,
    "mass": units.parse_mass,
}


@pytest.mark.parametrize(
    ("text", "meters"),
    [
        ("6 mm", 0.006),
        ("6mm", 0.006),
        ("1/4 in", 0.00635),
        ("0.25in", 0.00635),
        ("0,25 in", 0.00635),
        ("3,2 m", 3.2),
        ("1 1/2 inches", 0.0381),
        ("1-1/2 in", 0.0381),
        ('1/4"', 0.00635),
        ("3.2m", 3.2),
        ("12 ft", 3.6576),
        ("5'", 1.524),
        ("1 yd", 0.9144),
        (" 32 CM ", 0.32),
        (".5 m", 0.5),
        ("2 meters", 2.0),
        ("1,200 mm", 1.2),
        ("10 feet", 3.048),
    ],
)
def test_lengths_are_read(text, meters):
    assert units.parse_length(text) == pytest.approx(meters, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "square_meters"),
    [
        ("60m2", 60),
        ("60 m²", 60),
        ("60 m^2", 60),
        ("60 sq m", 60),
        ("1500 sqft", 139.35456),
        ("1,500 sq. ft.", 139.35456),
        ("1500 square feet", 139.35456),
        ("0.1 acre", 404.68564224),
        ("1 yd2", 0.83612736),
        ("0.5 ha", 5000),
    ],
)
def test_areas_are_read(text, square_meters):
    # 1 ft2 = 9.290304e-2 m2, 1 yd2 = 8.361274e-1 m2: NIST SP 811 (2008), appendix B.8
    assert units.parse_area(text) == pytest.approx(square_meters, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "cubic_meters"),
    [
        ("2 yd3", 1.529109715968),
        ("2 cubic yards", 1.529109715968),
        ("1/2 yard", 0.382277428992),
        ("40 L", 0.04),
        ("0.5 cu ft", 0.014158423296),
        ("5 gal", 0.01892705892),
        ("1.5 m³", 1.5),
        ("3 litres", 0.003),
    ],
)
def test_volumes_are_read(text, cubic_meters):
    assert units.parse_volume(text) == pytest.approx(cubic_meters, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kilograms"),
    [
        ("700 kg", 700),
        ("1.2t", 1200),
        ("1500 lb", 680.388555),
        ("2 short tons", 1814.36948),
        ("80lbs", 36.28738960),
    ],
)
def test_masses_are_read(text, kilograms):
    assert units.parse_mass(text) == pytest.approx(kilograms, rel=1e-9)


def test_one_short_ton_is_one():
    assert units.format_mass(910, units="us") == "1 short ton"
    assert units.format_mass(1000, units="us") == "1.1 short tons"


@pytest.mark.parametrize(
    "text", ["", "m", "six mm", "-3 mm", "6 parsec", "1/0 in", "6 m2", "nan m", "1,25,5 in", "1e3 m"]
)
def test_what_is_not_a_length_is_refused_in_one_line_with_the_remedy(text):
    with pytest.raises(UsageError, match="Write") as caught:
        units.parse_length(text, where="--depth")
    assert str(caught.value).startswith("--depth: ")
    assert "\n" not in str(caught.value)


def test_a_bare_number_needs_a_unit_unless_one_is_agreed():
    with pytest.raises(UsageError, match="has no unit"):
        units.parse_length("6")
    assert units.parse_length("6", bare="mm") == pytest.approx(0.006)


def test_a_plain_ton_is_refused_because_there_are_two():
    with pytest.raises(UsageError, match="metric or short tons"):
        units.parse_mass("2 tons")


@given(
    value=SIZES,
    unit=st.sampled_from([(kind, name) for kind, names in units._UNITS.items() for name in names]),
)
def test_every_unit_reads_back_the_number_that_was_written(value, unit):
    kind, name = unit
    one = PARSERS[kind](f"1 {name}")
    assert PARSERS[kind](f"{value:.12f} {name}") == pytest.approx(value * one, rel=1e-6)


@given(value=SIZES, system=st.sampled_from(["metric", "us"]))
def test_what_is_printed_reads_back_within_the_printed_figures(value, system):
    # two figures are within 5 %, three within 0.5 %
    assert units.parse_length(units.format_length(value, units=system)) == pytest.approx(value, rel=0.051)
    assert units.parse_area(units.format_area(value, units=system)) == pytest.approx(value, rel=0.051)
    assert units.parse_volume(units.format_volume(value, units=system)) == pytest.approx(value, rel=0.0051)
    assert units.parse_mass(units.format_mass(value, units=system)) == pytest.approx(value, rel=0.051)


@given(millimeters=st.floats(min_value=1.0, max_value=200))
def test_a_depth_is_printed_as_a_ruler_shows_it(millimeters):
    metric = units.parse_length(units.format_depth(millimeters)) * 1000
    us = units.parse_length(units.format_depth(millimeters, units="us")) * 1000
    assert abs(metric - millimeters) <= 0.5 + 1e-9
    assert abs(us - millimeters) <= 25.4 / 32 + 1e-9  # half of a sixteenth


@pytest.mark.parametrize(
    ("printed", "expected"),
    [
        (units.format_length(3.24), "3.2 m"),
        (units.format_length(0.321), "32 cm"),
        (units.format_length(24.3), "24 m"),
        (units.format_length(0.006), "6 mm"),
        (units.format_length(3.2, units="us"), "10 ft"),
        (units.format_length(0.25, units="us"), "9.8 in"),
        (units.format_length(0.0), "0 mm"),
        (units.format_depth(6.0), "6 mm"),
        (units.format_depth(6.35, units="us"), "1/4 in"),
        (units.format_depth(25.4, units="us"), "1 in"),
        (units.format_depth(38.1, units="us"), "1 1/2 in"),
        (units.format_depth(0, units="us"), "0 in"),
        (units.format_depth(-6.35, units="us"), "-1/4 in"),
        (units.format_area(139.35, units="us"), "1500 sq ft"),
        (units.format_area(0.423), "0.42 m²"),
        (units.format_volume(0.635), "0.635 m³"),
        (units.format_volume(0.0424), "42.4 L"),
        (units.format_volume(1.529, units="us"), "2 cu yd"),
        (units.format_mass(29.5, units="us"), "65 lb"),
        (units.format_mass(1200.0), "1.2 t"),
    ],
)
def test_printed_digits_are_honest(printed, expected):
    assert printed == expected


def test_the_factors_agree_with_scipys_table():
    # reference library: scipy.constants, CODATA and NIST SP 811
    from scipy import constants

    assert math.isclose(units.CUBIC_YARD_M3, constants.yard**3, rel_tol=1e-12)
    assert math.isclose(units.SQUARE_FOOT_M2, constants.foot**2, rel_tol=1e-12)
    assert math.isclose(units.CUBIC_FOOT_M3, constants.foot**3, rel_tol=1e-12)
    assert math.isclose(units.US_GALLON_M3, constants.gallon, rel_tol=1e-12)
    assert math.isclose(units.POUND_KG, constants.pound, rel_tol=1e-12)
    assert math.isclose(units.SHORT_TON_KG, constants.short_ton, rel_tol=1e-12)
    assert math.isclose(units.parse_area("1 acre"), constants.acre, rel_tol=1e-12)


@given(st.floats(6, 150), st.floats(0, 1 / 3), st.sampled_from(["metric", "us"]))
def test_a_printed_cut_takes_off_no_larger_share_than_the_cut_itself(leaf, share, system):
    """The one-third rule must hold of what the keeper reads: 37.5 mm cut to 25 mm is not 38 mm cut to 25 mm."""
    printed = units.format_cut(leaf, leaf * (1 - share), units=system)
    before, after = (units.parse_length(text) for text in printed)
    assert (before - after) / before <= share + 1e-6
    assert abs(before * 1000 - leaf) <= 1.6 and abs(after * 1000 - leaf * (1 - share)) <= 1.6

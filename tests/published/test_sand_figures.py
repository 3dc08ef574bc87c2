"""Sand figures against published densities, the yard's definition, and the trade's spoken figures."""

import pytest

from swardmark.common.units import (
    CUBIC_FOOT_M3,
    CUBIC_YARD_M3,
    POUND_KG,
    parse_area,
    parse_length,
    parse_volume,
)
from swardmark.lawn.settings import sand_settings
from swardmark.relevel.sand import order_of_volume, sand_order, yards_per_1000_sqft

THOUSAND_SQFT = parse_area("1000 sqft")
# Engineering ToolBox, "Dirt and Mud - Densities", sand dry 97 lb/ft3 (1555 kg/m3), sand wet 119 lb/ft3 (1905 kg/m3):
# https://www.engineeringtoolbox.com/dirt-mud-densities-d_1727.html
DRY_LB_FT3, WET_LB_FT3 = 97, 119


@pytest.mark.parametrize(
    ("depth", "yards"),
    [("1/16 in", 0.1929), ("1/8 in", 0.3858), ("1/4 in", 0.7716), ("3/8 in", 1.1574), ("1/2 in", 1.5432),
     ("5/8 in", 1.9290), ("3/4 in", 2.3148), ("1 in", 3.0864), ("2 in", 6.1728)],
)  # fmt: skip
def test_cubic_yards_on_1000_square_feet(depth, yards):
    # exact arithmetic: inches / 12 * 1000 / 27, 27 ft3 being one cubic yard
    meters = parse_length(depth)
    assert yards_per_1000_sqft(meters * 1000) == pytest.approx(yards, abs=5e-5)
    assert THOUSAND_SQFT * meters / CUBIC_YARD_M3 == pytest.approx(yards, abs=5e-5)


def test_a_copied_table_is_off_where_the_arithmetic_says_so():
    # A table in circulation (askvity.info) prints 0.40, 0.77, 1.14 yd3 for 1/8, 1/4, 3/8 in on 1000 ft2: only the
    # middle one is right to its printed digits.
    printed = {"1/8 in": 0.40, "1/4 in": 0.77, "3/8 in": 1.14}
    agrees = [d for d, y in printed.items() if abs(yards_per_1000_sqft(parse_length(d) * 1000) - y) < 0.005]
    assert agrees == ["1/4 in"]


def test_one_cubic_yard_on_1000_square_feet_is_a_third_of_an_inch():
    # exact: 27 * 12 / 1000 in
    order = sand_order(area_m2=THOUSAND_SQFT, depth_mm=0.324 * 25.4)
    assert order.volume_yd3 == pytest.approx(1, abs=1e-9)


def test_a_litre_on_a_square_meter_is_a_millimeter():
    assert sand_order(area_m2=1, depth_mm=1).volume_m3 == pytest.approx(0.001)
    assert sand_order(area_m2=100, depth_mm=6.35).volume_m3 == pytest.approx(0.635)


def test_a_range_in_print_reads_back():
    # "0.5 to 2 yd3 per 1000 ft2 gives 1/8 to 5/8 in" (trendingsimple.com); exactly 0.162 and 0.648 in
    for yards, inches in ((0.5, 0.162), (2.0, 0.648)):
        assert yards_per_1000_sqft(inches * 25.4) == pytest.approx(yards, abs=2e-3)


def test_a_cubic_yard_weighs_as_the_density_table_says():
    dry, wet = order_of_volume(CUBIC_YARD_M3).mass_kg
    # 27 ft3 at 97 and 119 lb; the table's own kg/m3 are rounded, hence a tenth of a percent
    assert dry / POUND_KG == pytest.approx(27 * DRY_LB_FT3, rel=1e-3)
    assert wet / POUND_KG == pytest.approx(27 * WET_LB_FT3, rel=1e-3)


def test_a_cubic_yard_is_not_one_ton():
    # Spoken of as one ton (common practice, no source); 27 ft3 at 97 to 119 lb are 1.31 to 1.61 short tons
    short_tons = order_of_volume(CUBIC_YARD_M3).mass_short_tons
    assert [round(tons, 2) for tons in short_tons] == [1.31, 1.61]
    assert order_of_volume(2 * CUBIC_YARD_M3).mass_short_tons[0] > 2.6


def test_a_quarter_inch_on_1000_square_feet():
    # 0.7716 yd3 at those densities: 2021 to 2479 lb, 0.92 to 1.12 t, 9.9 to 12.1 kg on a square meter
    order = sand_order(area_m2=THOUSAND_SQFT, depth_mm=6.35)
    assert [mass / POUND_KG for mass in order.mass_kg] == pytest.approx([2021, 2479], abs=3)
    assert [round(tonnes, 2) for tonnes in order.mass_tonnes] == [0.92, 1.12]
    assert [round(mass / THOUSAND_SQFT, 1) for mass in order.mass_kg] == [9.9, 12.1]


def test_bags_buckets_and_barrows_full_of_sand():
    # 5 US gallons = 0.668 ft3: 65 to 80 lb; a 0.5 ft3 bag: 48.5 to 59.5 lb; a 6 ft3 barrow: 582 to 714 lb
    settings = sand_settings("us")
    for litres, low, high in (
        (settings.bucket_litres, 64.8, 79.5), (settings.bag_litres, 48.5, 59.5), (settings.barrow_litres, 582, 714)
    ):  # fmt: skip
        masses = [mass / POUND_KG for mass in order_of_volume(litres / 1000).mass_kg]
        assert masses == pytest.approx([low, high], rel=2e-3)
    assert settings.bag_litres / 1000 == pytest.approx(CUBIC_FOOT_M3 / 2, rel=1e-3)
    assert settings.barrow_litres / 1000 == pytest.approx(6 * CUBIC_FOOT_M3, rel=1e-3)


def test_a_loader_scoop_and_two_yards_on_1500_square_feet():
    # common practice, no source: a small loader's scoop is half a cubic yard; 2 yd3 on 1500 ft2 are exactly 0.432 in
    order = sand_order(area_m2=parse_area("1500 sqft"), depth_mm=0.432 * 25.4, settings=sand_settings("us"))
    assert order.volume_m3 == pytest.approx(parse_volume("2 yd3"))
    assert order.scoops == pytest.approx(4.0, abs=0.01)

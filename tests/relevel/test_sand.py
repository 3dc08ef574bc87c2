"""The sand order and the depth rules."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.common.errors import UsageError
from swardmark.lawn.settings import Receipt, SandSettings, sand_settings
from swardmark.relevel.order_words import (
    about_volume,
    depth_sentence,
    lift_caution,
    money,
    order_lines,
    pile_spacing_m,
    volume_within,
)
from swardmark.relevel.sand import (
    check_depth,
    depth_of_volume,
    order_of_volume,
    passes_for,
    sand_order,
    with_receipts,
)

AREAS, DEPTHS = st.floats(0.01, 5000), st.floats(0.5, 51)


@given(area=AREAS, depth=DEPTHS)
def test_volume_is_area_times_depth_and_containers_hold_it_all(area, depth):
    settings = SandSettings(payload_kg=700, aboard_kg=100)
    order = sand_order(area_m2=area, depth_mm=depth, settings=settings)
    assert order.volume_m3 == pytest.approx(area * depth / 1000)
    for count, litres in (
        (order.bags, settings.bag_litres), (order.buckets, settings.bucket_litres),
        (order.barrow_loads, order.load_share * settings.barrow_litres), (order.sold, 1000 * settings.scoop_m3),
    ):  # fmt: skip
        assert count * litres >= order.volume_m3 * 1000 * (1 - 1e-6)
        assert (count - 1) * litres < order.volume_m3 * 1000
    assert (
        (order.trips - 1) * 600  # 700 kg less 100 kg of people and tools
        < 1905 * order.bought_m3
        <= order.trips * 600 * (1 + 1e-6)
    )
    assert order.mass_kg[0] < order.mass_kg[1]


@given(area=AREAS, depth=st.floats(0.5, 25))
def test_twice_the_depth_is_twice_the_sand(area, depth):
    once, twice = sand_order(area_m2=area, depth_mm=depth), sand_order(area_m2=area, depth_mm=2 * depth)
    assert twice.volume_m3 == pytest.approx(2 * once.volume_m3)


def test_settling_and_prices():
    settings = SandSettings(settling_pct=10, price_per_m3=50, delivery_price=60)
    order = sand_order(area_m2=100, depth_mm=6, settings=settings)
    assert order.volume_m3 == pytest.approx(0.66)
    assert order.cost == pytest.approx(2 * 0.4 * 50 + 60)  # two whole scoops of 0.4 m3
    assert sand_order(area_m2=100, depth_mm=6).cost is None
    assert sand_order(area_m2=100, depth_mm=6, price_per_m3=40).cost == pytest.approx(32)


def test_no_sand_costs_nothing_and_is_said():
    nothing = order_of_volume(0.0, settings=SandSettings(price_per_m3=50, delivery_price=60))
    assert nothing.cost == 0
    assert nothing.sold == nothing.bags == 0
    assert order_lines(nothing) == ("No sand is needed.",)


@pytest.mark.parametrize(("depth", "warned"), [(3, False), (6, False), (13, False), (13.5, True), (51, True)])
def test_deep_passes_are_warned_of(depth, warned):
    # C. Waltz, University of Georgia: 1/8 to 1/4 in a pass; D. Gill, LSU AgCenter: never more than 2 in over turf
    assert bool(check_depth(depth)) is warned


@pytest.mark.parametrize("depth", [51.5, 100, 0, -3, float("nan"), float("inf")])
def test_depths_that_smother_or_cannot_be_are_refused(depth):
    with pytest.raises(UsageError):
        sand_order(area_m2=10, depth_mm=depth)


def test_a_negative_area_is_refused():
    with pytest.raises(UsageError, match="area"):
        sand_order(area_m2=-1, depth_mm=6)


@given(depth=st.floats(1, 51), one=st.floats(3, 13))
def test_each_pass_stays_within_a_tenth_of_the_pass_depth(depth, one):
    passes = passes_for(depth, pass_depth_mm=one)
    assert depth / passes <= 1.1 * one * (1 + 1e-6)
    assert passes == 1 or depth / (passes - 1) > 1.1 * one


def test_a_quarter_inch_is_one_pass_of_six_millimeters():
    assert passes_for(6.35, pass_depth_mm=6) == 1
    assert passes_for(13, pass_depth_mm=6) == 2


def test_lines_speak_the_keepers_units_and_warn_of_lifting():
    order = sand_order(area_m2=60, depth_mm=6, price_per_m3=59)
    metric, us = " ".join(order_lines(order)), " ".join(order_lines(order, units="us"))
    assert "Order 0.36 m³ (0.471 cu yd)" in metric
    assert "Order 0.471 cu yd (0.36 m³)" in us
    # 0.36 m3 at 97 to 119 lb/ft3: 560 to 686 kg, 1234 to 1512 lb
    assert "560 kg dry to 686 kg wet" in metric
    assert "1234 lb dry to 1512 lb wet" in us
    assert "23 kg" in metric
    assert "51 lb" in us
    assert "Cost: 23.60 for 1 loader scoop of 0.4 m³" in metric  # a whole scoop, never 21.24


def test_an_estimate_is_said_with_two_figures():
    assert order_lines(order_of_volume(0.00689), is_estimate=True)[0] == "Order about 6.9 L (0.24 cu ft)."
    assert about_volume(0.0069, 0.0149) == "6.9 L to 15 L"
    assert about_volume(0.0001, 0.0004, units="us") == "less than 0.1 cu ft"
    assert about_volume(0.1534) == "0.15 m³"
    assert about_volume(0.0149, units="us") == "0.53 cu ft"
    assert about_volume(1.234, units="us") == "1.6 cu yd"


def test_bulking_is_counted_once_and_never_over_a_budget(run):
    """Damp sand bulks by 15 to 40 % (from memory). By hand: 60 m2 at 12 mm is 0.72 m3, or 0.83 to 1 m3 in the truck."""
    damp = "have 0.83 m³ to 1 m³ delivered"
    usual = order_lines(sand_order(area_m2=60, depth_mm=12))
    assert damp in " ".join(usual)
    little = order_lines(sand_order(area_m2=60, depth_mm=12, settings=SandSettings(settling_pct=10)))
    assert damp in " ".join(little), "ten percent more do not make a third of it"
    counted = order_lines(sand_order(area_m2=60, depth_mm=12, settings=SandSettings(settling_pct=25)))
    assert "Damp sand" not in " ".join(counted) and "As it is sold: 3 loader scoops of 0.4 m³." in counted
    bought = run("sand", "--area", "60m2", "--budget", "60", "--price-per-m3", "50").out
    assert "delivered for it" not in bought, "60 buys 1.2 m3, and no more"
    assert "count on 14 mm to 17 mm of depth" in bought  # 20 mm over 1.40 and 1.15


def test_trips_carry_what_is_bought_and_not_what_is_needed():
    """0.41 m3 are two scoops of 0.4 m3, 1524 kg wet: one trip of 800 kg was once said to do."""
    order = sand_order(area_m2=41, depth_mm=10, settings=SandSettings(payload_kg=900, aboard_kg=100))
    assert (order.sold, order.trips) == (2, 2)


def test_a_load_without_its_unit_is_refused_and_a_budget_speaks_the_keepers_units(run):
    """1500 of a US keeper was once read as 1500 kg, more than twice his payload."""
    bare = run("sand", "--area", "60m2", "--payload", "1500", "--units", "us")
    assert bare.code == 2 and "--payload: '1500' has no unit" in bare.err
    small = ("sand", "--area", "60m2", "--budget", "2", "--price-per-yard", "60", "--units", "us")
    assert "1 loader scoop of half a yard" in run(*small).err
    assert run(*small, "--sold-as", "bags", "--delivery", "9").err.strip().endswith("Raise the budget.")
    asked = run("sand", "--area", "60m2").out
    assert "give --payload" in asked
    assert any(
        "payload_lb under [sand]" in line
        for line in order_lines(sand_order(area_m2=60, depth_mm=6), units="us")
    )


def test_a_vehicle_that_is_full_of_people_carries_no_sand():
    """A payload of 90 kg less 100 kg aboard was once one kilogram, and 686 trips."""
    order = sand_order(area_m2=60, depth_mm=6, settings=SandSettings(payload_kg=90))
    assert order.trips is None
    assert any("have the sand delivered" in line for line in order_lines(order))


def test_a_full_bucket_is_over_one_persons_limit_and_a_small_pail_is_not():
    # NIOSH's ideal-condition limit of 51 lb (23 kg), OSHA eTool
    assert "fill it half at most" in lift_caution(18.93) or "two thirds" in lift_caution(18.93)
    assert "over the 23 kg" in lift_caution(18.93)
    assert "over the" not in lift_caution(10.0)


def test_the_plain_numbers_carry_their_units():
    numbers = sand_order(area_m2=100, depth_mm=6).as_dict()
    assert numbers["volume_m3"] == 0.6
    assert numbers["mass_dry_tonnes"] == 0.933
    assert numbers["cost"] is None


def test_a_small_order_is_said_in_measures_that_fit_it():
    few_litres = " ".join(order_lines(order_of_volume(0.006)))
    assert "1 bag of 16 L will do." in few_litres
    assert "One bucket holds it" in few_litres
    assert not any(word in few_litres for word in ("scoop", "barrow", "Trips", "0.0 "))
    # a third of a 169.9 L barrow is 56.6 L, 108 kg at 1905 kg/m3
    some = " ".join(order_lines(order_of_volume(0.080, settings=sand_settings("us"))))
    assert "In full buckets: 5." in some
    assert "a third full and 108 kg wet each: 2." in some
    assert order_of_volume(0.080, settings=sand_settings("us")).as_dict()["barrows"] == 2  # as the text says


@given(volume=st.floats(1e-4, 5))
def test_no_printed_count_is_nothing(volume):
    said = " ".join(order_lines(order_of_volume(volume)))
    assert not re.search(r"(loads.*each|buckets|carry [^:]*): 0|\b0 (bags|loader)", said)


def test_two_yards_on_1500_square_feet_is_two_passes():
    # exact: 54 ft3 on 1500 ft2 is 0.432 in; common practice: 27 loads of 2 cu ft, one every 7.5 ft
    settings, area = sand_settings("us", payload_lb=1500, aboard_lb=220), 1500 * 0.09290304
    depth = depth_of_volume(2 * 0.764554857984, area_m2=area, settings=settings)
    assert depth == pytest.approx(0.432 * 25.4)
    said = depth_sentence("2 cu yd", depth, area_m2=area, settings=settings, units="us")
    assert said.startswith("2 cu yd on 1500 sq ft is 0.43 in deep: 2 passes")
    order = order_of_volume(2 * 0.764554857984, settings=settings)
    assert order.barrow_loads == 27 and order.sold == 4
    assert pile_spacing_m(order, area) / 0.3048 == pytest.approx(7.5, abs=0.1)
    lines = " ".join(order_lines(order, units="us", area_m2=area))
    assert "every 7.5 ft" in lines and "15 to 40 % looser" in lines
    assert "have 2.3 cu yd to 2.8 cu yd delivered for it" in lines  # 2 cu yd times 1.15 and 1.4
    assert "One wet scoop weighs 1605 lb, more than the 1280 lb" in lines  # half a yard at 119 lb/ft3


@pytest.mark.parametrize(
    ("depth", "word"), [(1.0, "too thin"), (6, "one pass"), (60, "more than living turf")]
)
def test_depths_are_judged(depth, word):
    assert word in depth_sentence("it", depth, area_m2=10, settings=SandSettings(), units="metric")


@given(budget=st.floats(30, 5000), price=st.floats(5, 200), delivery=st.floats(0, 20))
def test_a_budget_buys_whole_units_and_is_never_overdrawn(budget, price, delivery):
    settings = SandSettings(price_per_m3=price, delivery_price=delivery)
    if budget < 0.4 * price + delivery:
        with pytest.raises(UsageError, match="does not buy"):
            volume_within(budget, settings)
        return
    volume = volume_within(budget, settings)
    assert order_of_volume(volume, settings=settings).cost <= budget * (1 + 1e-6)
    assert (volume + 0.4) * price + delivery > budget * (1 - 1e-6)


def test_next_years_price_is_that_of_the_newest_receipt():
    old, new = (
        Receipt(date=f"{year}-06-03", volume_m3=2, price=price, delivery=60)
        for year, price in ((2025, 80), (2026, 100))
    )
    settings, receipt = with_receipts(SandSettings(), (new, old))
    assert receipt == new and settings.price_per_m3 == 50 and settings.delivery_price == 60
    assert with_receipts(SandSettings(price_per_m3=40), (new,)) == (SandSettings(price_per_m3=40), None)


def test_money():
    assert money(52.5, "$") == "$52.50" and money(1200, "EUR") == "1,200 EUR" and money(18.0, "") == "18"

"""Nothing is planned that kills a lawn."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.common.errors import UsageError
from swardmark.lawn.grasses import GRASSES
from swardmark.lawn.toml import Lawn, Leveling, Mowing
from swardmark.mowing.preparation import lawn_preparation
from swardmark.mowing.suitability import (
    check_leveling_day,
    leveling_objections,
    scalp_height,
    scalp_warning,
)

JUNE = dt.date(2026, 6, 3)


def lawn_of(grass="zoysiagrass", *, mowing=None, **settings):
    return Lawn(name="ours", grass=grass, mowing=Mowing(**(mowing or {})), **settings)


@pytest.mark.parametrize("grass", sorted(GRASSES))
def test_no_sand_in_dormancy_nor_in_the_heat_of_a_cool_season_grass(grass):
    with pytest.raises(UsageError):
        check_leveling_day(lawn_of(grass), dt.date(2026, 12, 20))
    july = dt.date(2026, 7, 15)
    if GRASSES[grass].is_warm:
        assert check_leveling_day(lawn_of(grass), july) == ()
    else:
        with pytest.raises(UsageError, match="heat"):
            check_leveling_day(lawn_of(grass), july)


def test_the_edge_of_the_season_is_a_warning():
    (said,) = check_leveling_day(lawn_of(), dt.date(2026, 4, 20))
    assert "18 °C" in said and "zoysiagrass" in said
    (said,) = check_leveling_day(lawn_of("tall fescue", units="us"), dt.date(2026, 3, 20))
    assert "50 °F" in said and "65 °F" in said


def test_eight_weeks_before_the_first_frost():
    lawn = lawn_of(first_frost="10-25")
    assert check_leveling_day(lawn, dt.date(2026, 8, 30)) == ()
    with pytest.raises(UsageError, match="first frost"):
        check_leveling_day(lawn, dt.date(2026, 9, 1))
    assert "54" not in leveling_objections(lawn, dt.date(2026, 9, 1))[0].sentence
    assert "8 weeks before" in leveling_objections(lawn, dt.date(2026, 9, 1))[0].sentence


def test_no_one_is_sent_back_into_the_summer_heat():
    """Eight weeks before a frost of mid-October lie in August, where a cool-season grass is refused as well."""
    (refused,) = leveling_objections(lawn_of("tall fescue", first_frost="10-15"), dt.date(2026, 9, 5))
    assert "Level earlier" not in refused.sentence and refused.sentence.endswith("Wait until spring.")
    refused, *_ = leveling_objections(lawn_of(first_frost="10-25"), dt.date(2026, 9, 1))
    assert refused.sentence.endswith("Level earlier, or wait until spring.")


@pytest.mark.parametrize(
    ("frost", "too_late", "in_spring"),
    [("10-05", dt.date(2026, 10, 10), dt.date(2027, 4, 20)), ("04-20", dt.date(2026, 4, 28), dt.date(2026, 10, 20))],
)  # fmt: skip
def test_after_the_first_frost_it_is_too_late_and_not_early_again(frost, too_late, in_spring):
    """Six to eight weeks of growth before dormancy (from memory): there are fewer left after a frost than before it."""
    lawn = lawn_of("kentucky bluegrass", first_frost=frost)
    with pytest.raises(UsageError, match="after your first frost"):
        check_leveling_day(lawn, too_late)
    assert check_leveling_day(lawn, in_spring) == ()


@pytest.mark.parametrize("frost", [None, "10-05", "05-20"])
def test_no_month_of_the_fall_is_called_spring(frost):
    lawn = lawn_of("tall fescue", first_frost=frost)
    for month in range(1, 13):
        for one in leveling_objections(lawn, dt.date(2026, month, 10)):
            assert "spring (" not in one.sentence


def test_a_second_pass_waits_until_the_first_is_grown_through():
    """About two months, June and again in mid-August (C. Waltz, University of Georgia)."""
    first, soon, later = (Leveling(date=JUNE + dt.timedelta(days=days)) for days in (0, 20, 70))
    (said,) = check_leveling_day(lawn_of(leveling=(first, soon)), soon.date)
    assert "20 days after the sand of 3 June" in said
    assert check_leveling_day(lawn_of(leveling=(first, later)), later.date) == ()


def test_a_pass_is_no_deeper_than_the_grass_stands():
    """Company figures (weak): no heavy topdressing on these two; half of the usual 1/4 in."""
    assert lawn_of("bermudagrass").pass_mm == 6.0
    assert lawn_of("st augustinegrass").pass_mm == pytest.approx(3.175)
    assert lawn_of("centipedegrass", units="us").pass_mm == pytest.approx(3.175)


def test_half_a_year_later_in_the_southern_hemisphere():
    lawn = lawn_of(first_frost="05-20")
    assert check_leveling_day(lawn, dt.date(2026, 12, 20)) == ()
    with pytest.raises(UsageError):
        check_leveling_day(lawn, JUNE)


@given(
    grass=st.sampled_from(sorted(GRASSES)),
    usual=st.floats(5, 120),
    scalp=st.floats(3, 120),
    notch=st.floats(3, 15),
)
def test_no_preparation_cuts_below_what_the_grass_stands(grass, usual, scalp, notch):
    lawn = lawn_of(grass, mowing={"usual_height_mm": usual, "scalp_height_mm": scalp, "notch_mm": notch})
    row = GRASSES[grass]
    for step in lawn_preparation(lawn, JUNE):
        if step.height_mm is not None:
            assert step.height_mm >= row.lowest_mm.value - 1e-9
            if not row.may_scalp.value:
                assert step.height_mm >= row.home_mm.value[0] - notch - 1e-9


def test_only_grasses_with_rhizomes_are_scalped():
    heights = {"usual_height_mm": 90, "scalp_height_mm": 25}
    tall = lawn_of("st augustinegrass", mowing=heights)
    assert scalp_height(tall) == pytest.approx(2.5 * 25.4 - 6.35)
    assert "no rhizomes" in scalp_warning(tall) and "St. Augustinegrass" in scalp_warning(tall)
    assert scalp_height(lawn_of("bermudagrass", mowing=heights)) == 25
    assert scalp_warning(lawn_of("bermudagrass", mowing=heights)) == ""


def test_a_grass_with_rhizomes_is_not_said_to_have_none():
    bluegrass = scalp_warning(lawn_of("kentucky bluegrass", mowing={"scalp_height_mm": 20}))
    assert "Do not scalp Kentucky bluegrass" in bluegrass and "rhizomes" not in bluegrass
    assert "no rhizomes" in scalp_warning(lawn_of("tall fescue", mowing={"scalp_height_mm": 20}))


def test_the_depth_of_a_leveling_is_judged_and_a_volume_over_the_area_is_the_same_statement():
    thin, thick = Leveling(date=JUNE, depth_mm=6), Leveling(date=JUNE, depth_mm=15)
    assert check_leveling_day(lawn_of(leveling=(thin,)), JUNE) == ()
    said = check_leveling_day(lawn_of(leveling=(thick,), mowing={"scalp_height_mm": 12}), JUNE)
    assert any("slower" in text for text in said) and any("no tip would show" in text for text in said)
    # never more than 2 in of fill over living turf (D. Gill, LSU AgCenter); 2.5 m3 on 20 m2 is 125 mm
    grave = Leveling(date=JUNE, sand_m3=2.5)
    with pytest.raises(UsageError, match="125 mm of sand smothers turf; 51 mm is the most"):
        check_leveling_day(lawn_of(leveling=(grave,), area_m2=20), JUNE)
    # 1.5 m3 on 100 m2 is 15 mm exactly
    heap = Leveling(date=JUNE, sand_m3=1.5)
    lawn = lawn_of(leveling=(heap,), area_m2=100, mowing={"scalp_height_mm": 12})
    assert check_leveling_day(lawn, JUNE) == said

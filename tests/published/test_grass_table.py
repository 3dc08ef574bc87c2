"""The table of the grasses against the pages that its cells name, in the units in which those pages print them."""

from __future__ import annotations

from dataclasses import fields

import pytest

from swardmark.lawn.grasses import GRASSES, MOST_FILL_MM, USUAL_PASS_MM, Cell
from swardmark.mowing.third import TIDY_TRIGGER, TRIGGER, highest_leaf
from swardmark.relevel.sand import yards_per_1000_sqft

IN = 25.4


@pytest.mark.parametrize(
    ("grass", "low_in", "high_in"),
    [
        # UF/IFAS LH028 by way of the Tampa Bay Times: 0.5 to 1.5; K-State (cjonline.com, 2014/05/30) 1 to 2
        ("bermudagrass", 0.5, 2.0),
        # UF/IFAS LH028: 1 to 3; UF/IFAS Clay County 2018: 2 to 2.5; K-State: 1 to 2
        ("zoysiagrass", 1.0, 3.0),
        # tampabay.com and UF/IFAS Clay County: 3.5 to 4, dwarf types 2.5 to 3
        ("st augustinegrass", 2.5, 4.0),
        # the same two: 1.5 to 2
        ("centipedegrass", 1.5, 2.0),
        # K-State 2.5 to 3.5; Pennsylvania (blogs.mcall.com, 2018/05) 3 to 4
        ("tall fescue", 2.5, 4.0),
        # K-State and Minnesota 2 to 3, Pennsylvania 2.5 to 3.5
        ("kentucky bluegrass", 2.0, 3.5),
        # Pennsylvania 3 to 4
        ("fine fescue", 3.0, 4.0),
    ],
)
def test_usual_heights_of_cut(grass, low_in, high_in):
    assert GRASSES[grass].home_mm.value == pytest.approx((low_in * IN, high_in * IN))
    assert "from memory" not in GRASSES[grass].home_mm.source


@pytest.mark.parametrize(
    ("grass", "least_in"),
    # University of Tennessee, tolerance of each species: bermudagrass 0.5 to 3 in, zoysiagrass 0.375 to 3,
    # centipedegrass 1 to 3, St. Augustinegrass 2 to 4, tall fescue 1 to 3, Kentucky bluegrass 0.75 to 3, perennial
    # ryegrass 0.25 to 3;
    # greenindustrypros.com/mowing-maintenance/mowing/article/11305773/suggested-mowing-heights
    [("bermudagrass", 0.5), ("zoysiagrass", 0.375), ("centipedegrass", 1), ("st augustinegrass", 2), ("tall fescue", 1),
     ("kentucky bluegrass", 0.75), ("perennial ryegrass", 0.25)],
)  # fmt: skip
def test_lowest_cut(grass, least_in):
    assert GRASSES[grass].lowest_mm.value == pytest.approx(least_in * IN)
    assert "Tennessee" in GRASSES[grass].lowest_mm.source


@pytest.mark.parametrize(
    ("is_warm", "best_f", "stop_f"),
    # NC State turf council, soil at 4 in: cool-season shoots best 60 to 75 F, stop at 40 and 90 F; warm-season shoots
    # best 80 to 90 F, dormant at about 50 F; kentcoopextension.blogspot.com/2007/11/turf-critical-temperatures.html
    [(True, (80, 90), 50), (False, (60, 75), 40)],
)
def test_temperatures_of_growth(is_warm, best_f, stop_f):
    for row in GRASSES.values():
        if row.is_warm == is_warm:
            fahrenheit = [c * 9 / 5 + 32 for c in row.best_c.value]
            assert fahrenheit == pytest.approx(best_f, abs=0.1)
            assert row.stop_c.value[0] * 9 / 5 + 32 == pytest.approx(stop_f, abs=0.1)
    assert GRASSES["tall fescue"].stop_c.value[1] * 9 / 5 + 32 == pytest.approx(90, abs=0.1)


def test_base_temperatures_lie_in_the_measured_range():
    # Unruh, Gaussoin & Wiest 1996, Crop Sci. 36(4):997-999: 0 to 13 C over eight warm-season cultivars
    assert all(0 <= row.base_c.value <= 13 for row in GRASSES.values())


def test_sand_on_living_turf():
    # C. Waltz, University of Georgia: 1/8 to 1/4 in a pass on bermudagrass and zoysiagrass; D. Gill, LSU AgCenter:
    # never more than 2 in of fill; company figures (weak): no heavy topdressing on St. Augustinegrass, centipedegrass
    assert pytest.approx(0.25 * IN) == USUAL_PASS_MM and pytest.approx(2 * IN) == MOST_FILL_MM
    for grass in ("bermudagrass", "zoysiagrass"):
        assert 0.125 * IN <= GRASSES[grass].pass_mm.value <= 0.25 * IN + 1e-9
    for grass in ("st augustinegrass", "centipedegrass"):
        assert GRASSES[grass].pass_mm.value < GRASSES["bermudagrass"].pass_mm.value
    assert all(row.spot_mm.value <= MOST_FILL_MM for row in GRASSES.values())
    # D. Gill: April to September in Louisiana, and never on dormant grass
    assert set(GRASSES["bermudagrass"].outer_months.value) == {4, 5, 6, 7, 8, 9}
    # 1/4 in on 1000 sq ft is 0.7716 cu yd (exact arithmetic)
    assert yards_per_1000_sqft(USUAL_PASS_MM) == pytest.approx(0.7716, abs=5e-5)


def test_growth_of_bermudagrass():
    # C. Waltz, University of Georgia (walterreeves.com): up to 0.33 in within two days when fed
    assert 1.0 <= GRASSES["bermudagrass"].growth_mm.value <= 0.33 * IN / 2


def test_pace_of_recovery():
    # NTEP bg07 table 6C: logistic rates of 0.096 to 0.120 a day for bermudagrass in spring; a curve of shape 2.4 has
    # the rate shape / half-way day, and hot weather is faster than Gainesville's April
    assert 2.4 / GRASSES["bermudagrass"].half_way_days.value > 0.120
    # Trappe et al. 2011: bermudagrass recovers before zoysiagrass
    assert GRASSES["bermudagrass"].half_way_days.value < GRASSES["zoysiagrass"].half_way_days.value


@pytest.mark.parametrize(("cut_in", "leaf_in"), [(1, 1.5), (2, 3), (3, 4.5)])
def test_trigger_heights(cut_in, leaf_in):
    # J. Sorochan, University of Tennessee: 1 -> 1.5 in, 2 -> 3, 3 -> 4.5
    assert highest_leaf(cut_in * IN) == pytest.approx(leaf_in * IN)


def test_the_tidy_reading():
    # A Georgia turf specialist's example: 0.5 -> 0.67 in, 1.5 -> 2.0 in
    assert pytest.approx(0.67 / 0.5, abs=0.02) == TIDY_TRIGGER and TIDY_TRIGGER < TRIGGER
    assert pytest.approx(2.0, abs=0.01) == 1.5 * TIDY_TRIGGER


def test_every_cell_has_its_source():
    for row in GRASSES.values():
        cells = [getattr(row, part.name) for part in fields(row) if part.name != "is_warm"]
        assert all(isinstance(cell, Cell) and cell.source.strip() for cell in cells)

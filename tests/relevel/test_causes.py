"""One list of jobs by cause: which ground gets sand, and which never does."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from functools import cache

import numpy as np
import pytest
from shapely import Point

from swardmark.lawn.heights import Heights
from swardmark.lawn.level_notes import Probe
from swardmark.lawn.toml import Lawn, Leveling
from swardmark.level.review import level_review
from swardmark.relevel.advice import plan_sentences, sand_of
from swardmark.relevel.causes import mean_depth
from swardmark.relevel.outlines import corners_of
from swardmark.relevel.plan import Dip
from swardmark.relevel.planning import plan_from_searches, spot_pass_mm
from swardmark.relevel.sand import passes_for
from swardmark.relevel.spots import Spot, SpotSearch
from swardmark.relevel.why import why_of
from swardmark.words.tables import spots_table

DAY = dt.date(2026, 7, 1)
GROUND = ((-1.0, -1.0), (7.0, -1.0), (7.0, 7.0), (-1.0, 7.0))
HOLLOW, GREEN, MOUND = (1.5, 1.5), (4.5, 4.5), (1.5, 4.5)


def spot(number, at, radius=0.4):
    shape = Point(*at).buffer(radius)
    return Spot(
        number=number, point="main", zone="", outline_m=corners_of(shape), x_m=at[0], y_m=at[1],
        area_m2=shape.area, cover_pct=20.0, lawn_cover_pct=95.0, lag_days=20.0, is_bare=True, at_edge=False,
    )  # fmt: skip


def heights():
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0, 6.01, 0.5), np.arange(0, 6.01, 0.5)))

    def bowl(at, deepest):
        return deepest * np.clip(1 - ((x - at[0]) ** 2 + (y - at[1]) ** 2) / 0.9**2, 0, None)

    z = -15 * y - bowl(HOLLOW, 30) - bowl(GREEN, 24) + bowl(MOUND, 20)
    return Heights(DAY, "main", x, y, z, np.ones(x.size), "string")


@cache
def mapped_ground():
    """Return the review of the heights; it depends on no answer and on no grass."""
    return level_review(Lawn(name="Tern Cottage", grass="zoysiagrass", area_m2=60), more=[heights()])


def plan(*spots, probes=(), dips=(), mapped=False, grass="zoysiagrass"):
    lawn = Lawn(name="Tern Cottage", grass=grass, area_m2=60, probe=tuple(probes))
    review = mapped_ground() if mapped else level_review(lawn)
    search = SpotSearch("main", spots, (GROUND,), 42.0, 95.0, 9.0)
    return plan_from_searches([search], lawn, dips=dips, level=review)


def probe(at=HOLLOW, **answers):
    return Probe(date=DAY, x_m=at[0], y_m=at[1], **answers)


def test_the_map_gives_every_place_its_cause_and_green_low_ground_its_job():
    planned = plan(spot(1, HOLLOW), spot(2, MOUND), spot(3, (4.5, 1.5)), mapped=True)
    assert [p.cause for p in planned.spots] == ["low", "high or buried", "level but bare", "low"]
    low, high, level, green = planned.spots
    assert green.is_green
    assert (green.spot.x_m, green.spot.y_m) == pytest.approx(GREEN, abs=0.3)
    assert low.litres == pytest.approx(math.pi * 0.9**2 * 15, rel=0.25), "the whole hollow, not the bare part"
    assert green.litres == pytest.approx(math.pi * 0.9**2 * 12, rel=0.25)
    assert high.litres == level.litres == 0
    assert planned.spots_order.volume_m3 * 1000 == pytest.approx(low.litres + green.litres)
    assert low.least_litres < low.litres < low.most_litres
    assert "(" in sand_of(low, planned.lawn)
    assert "Low, so that sand helps: spots 1 and 4." in plan_sentences(planned)
    assert "greened over first" in why_of(green)


def test_two_spots_over_one_hollow_count_its_sand_once():
    near = spot(2, (HOLLOW[0] + 0.6, HOLLOW[1]), 0.2)
    planned = plan(spot(1, HOLLOW), near, mapped=True)
    first, second = planned.spots[:2]
    assert (second.cause, second.litres, second.passes) == ("low", 0, 0)
    assert "counted with another number" in why_of(second)
    assert first.litres > 0


@pytest.mark.parametrize(
    ("answers", "cause", "words"),
    [
        ({"ground": "high"}, "high or buried", "never add"),
        ({"ground": "low", "sand_mm": 40}, "high or buried", "buried under 40 mm"),
        ({"ground": "level", "soil": "dry"}, "level but bare", "water longer"),
        ({"ground": "level", "soil": "wet"}, "level but bare", "let water off"),
        ({"ground": "level", "light": "shade"}, "level but bare", "shade"),
        ({"ground": "level", "soil": "moist", "light": "sun"}, "level but bare", "roots or pests"),
        ({"ground": "low"}, "low", "read its depth"),
        ({"soil": "dry"}, "not yet probed", "not yet probed"),
    ],
)
def test_four_questions_decide(answers, cause, words):
    (one,) = plan(spot(1, HOLLOW), probes=[probe(**answers)]).spots
    assert one.cause == cause
    assert words in why_of(one)
    assert one.litres == 0, "no depth was read"


def test_a_spot_is_filled_in_the_passes_that_its_deepest_place_needs():
    """The carry sheet counts them so; by its mean a bowl of 30 mm got twice what the grass stands in its middle."""
    spots = plan(spot(1, HOLLOW), mapped=True).spots
    deepest = {low.letter: low.deepest_mm for low in mapped_ground().maps[0].low}
    per_pass = spot_pass_mm(Lawn(name="ours", grass="zoysiagrass"))
    assert sorted(one.passes for one in spots if one.passes) == sorted(
        passes_for(mm, pass_depth_mm=per_pass) for mm in deepest.values()
    )
    assert all(one.finding.deepest_mm / one.passes <= 1.1 * per_pass for one in spots if one.passes)


def test_heights_from_before_the_sand_order_none_again():
    """The hollows that sand has just filled were once planned, and bought, a second time."""
    sand = Leveling(date=DAY + dt.timedelta(days=1))
    lawn = Lawn(name="Tern Cottage", grass="zoysiagrass", area_m2=60, leveling=(sand,))
    search = SpotSearch("main", (spot(1, HOLLOW),), (GROUND,), 42.0, 95.0, 9.0)

    def planned(days):
        review = level_review(lawn, more=[heights()], as_of=DAY + dt.timedelta(days=days))
        return plan_from_searches([search], lawn, level=review)

    assert planned(1).spots_order.volume_m3 > 0  # on the day of the sand they are what it is laid by
    late = planned(22)
    assert [one.cause for one in late.spots] == ["not yet probed"] and late.spots_order.volume_m3 == 0
    assert any(line.startswith("What was measured on 1 ") for line in plan_sentences(late))


def test_the_newest_probe_counts_and_one_elsewhere_does_not():
    old = Probe(date=dt.date(2026, 5, 1), x_m=1.5, y_m=1.5, ground="high")
    assert plan(spot(1, HOLLOW), probes=[old, probe(ground="low")]).spots[0].cause == "low"
    assert plan(spot(1, HOLLOW), probes=[probe(at=GREEN, ground="low")]).spots[0].cause == "not yet probed"


def test_no_sand_ever_for_a_job_that_is_not_low():
    """Every combination of answers, depths and map: sand means low, measured, and not buried."""
    grounds, sands = (None, "low", "level", "high"), (None, 0.0, 12.0, 40.0)
    for ground, sand, depth, mapped in itertools.product(grounds, sands, (None, 1.0, 20.0), (False, True)):
        probes = [] if ground is None and sand is None else [probe(ground=ground, sand_mm=sand)]
        dips = [] if depth is None else [Dip(depth, spot=1)] * 3
        for one in plan(spot(1, HOLLOW), probes=probes, dips=dips, mapped=mapped).spots:
            if one.cause != "low":
                assert (one.litres, one.most_litres, one.passes, one.priority) == (0, 0, 0, None)
            elif one.litres:
                assert one.depth_mm is not None
                assert one.depth_mm >= 3
                assert one.is_green or (sand or 0) <= 13


def test_what_nobody_has_probed_is_not_said_to_need_no_sand():
    said = " ".join(plan_sentences(plan(spot(1, HOLLOW))))
    assert "Measure these first: spot 1." in said and "gets sand" not in said
    said = plan_sentences(plan(spot(1, HOLLOW), spot(2, GREEN), probes=[probe(at=GREEN, ground="level")]))
    assert "The other one gets no sand." in said


def test_a_hole_too_deep_for_sand_is_not_said_to_be_helped_by_it():
    """More than 2 in of fill smothers living turf (D. Gill, LSU AgCenter)."""
    said = plan_sentences(plan(spot(1, HOLLOW), dips=[Dip(80, spot=1)] * 3))
    assert "Low, but too deep for sand on living turf: spot 1. Lift the turf and fill below it." in said
    assert "It gets no sand." in said and not any("sand helps" in line for line in said)


def test_a_single_reading_is_the_deepest_of_a_bowl():
    assert mean_depth([20.0]) == pytest.approx((10.0, 20 / 3, 15.4))
    assert mean_depth([20.0, 12.0])[0] == 10.0
    assert mean_depth([10.0, 15.0, 20.0])[0] == 15.0


def test_bermudagrass_takes_half_an_inch_in_a_spot():
    passes = {
        grass: plan(spot(1, HOLLOW), dips=[Dip(26, spot=1)] * 3, grass=grass).spots[0].passes
        for grass in ("bermudagrass", "centipedegrass")
    }
    assert passes["bermudagrass"] == 2
    assert passes["centipedegrass"] >= passes["bermudagrass"]


def test_the_table_writes_no_cover_where_none_was_seen():
    rows = spots_table(plan(mapped=True))
    assert [row["cover_pct"] for row in rows] == [None] * len(rows)
    assert {row["cause"] for row in rows} == {"low", "high or buried"}

"""The whole plan: dips, depth, sand, passes, budget, seasons, and what is said of it."""

import re
from dataclasses import replace

import pytest
from drawn_stack import CAMERA, DAYS, SCALE, Disc, draw
from shapely import Point, from_wkt

from swardmark.common.units import CUBIC_YARD_M3
from swardmark.lawn.toml import Lawn, Receipt, SandSettings
from swardmark.relevel.advice import (
    cautions,
    plan_sentences,
    season_window,
    where_is,
)
from swardmark.relevel.outlines import corners_of
from swardmark.relevel.plan import Dip
from swardmark.relevel.planning import PointMaps, budget_of, plan_from_searches, search_seasons
from swardmark.relevel.spots import Spot, SpotSearch
from swardmark.words.tables import SPOT_COLUMNS, spots_table

LAWN = Lawn(name="Tern Cottage", grass="zoysiagrass", area_m2=60)
GROUND = ((-3.0, -1.0), (4.0, -1.0), (4.0, 5.0), (-3.0, 5.0))


def spot(number, x, y, radius, cover=5.0):
    shape = Point(x, y).buffer(radius)
    return Spot(
        number=number, point="main", zone="", outline_m=corners_of(shape), x_m=x, y_m=y, area_m2=shape.area,
        cover_pct=cover, lawn_cover_pct=95.0, lag_days=20.0, is_bare=True, at_edge=False,
    )  # fmt: skip


SPOTS = (spot(1, 2.0, 1.5, 0.5), spot(2, -0.8, 2.0, 0.3, cover=50), spot(3, 0.5, 3.0, 0.2))


def read(depth_mm, *numbers):
    """Three readings of one depth in each spot: their mean is that depth."""
    return [Dip(depth_mm, spot=number) for number in numbers for _ in range(3)]


def plan(*spots, lawn=LAWN, **options):
    return plan_from_searches([SpotSearch("main", spots, (GROUND,), 42.0, 95.0, 9.0)], lawn, **options)


def said(planned):
    return " ".join(plan_sentences(planned))


@pytest.mark.parametrize(
    ("settings", "example"),
    [
        ({"grass": "zoysiagrass"}, "early June and again in mid-August"),
        ({"grass": "zoysiagrass", "first_frost": "05-20"}, "early December and again in mid-February"),
        ({"grass": "tall fescue"}, "one in spring and the next in early fall"),
    ],
)
def test_the_next_pass_lies_in_the_season_of_the_grass(settings, example):
    """June and mid-August are C. Waltz's example for bermudagrass and zoysiagrass; the summer of the south is half a
    year later, and a cool-season grass is not sanded in summer (common practice, no source)."""
    assert f"about two months, for example {example}." in said(
        plan(*SPOTS, lawn=Lawn(name="ours", **settings))
    )


def test_all_spots_cost_what_their_seasons_cost_together():
    """Two passes are two deliveries, in the order of all spots as in the season's; one was once left out."""
    sand = SandSettings(price_per_m3=50, delivery_price=60)
    planned = plan(*SPOTS, lawn=LAWN.model_copy(update={"sand": sand, "area_m2": 30.0}), dips=read(20, 1, 2))
    assert [one.passes for one in planned.chosen] == [2, 2] and len(planned.spending.seasons) == 1
    assert planned.both_order is not None and planned.both_order.cost >= planned.spots_order.cost
    assert planned.spots_order.cost == pytest.approx(planned.now_order.cost)
    assert "2 deliveries in it" in said(planned)


def test_from_maps_to_a_plan_over_two_seasons():
    mended, stays, new = Disc(-0.6, 2.2, 0.3), Disc(1.6, 2.2, 0.35), Disc(0.5, 3.4, 0.25)
    seasons = [
        [PointMaps("main", tuple(draw(discs, seed=seed, patchy=0.1)), DAYS, SCALE, CAMERA)]
        for seed, discs in ((21, [mended, stays]), (22, [stays, new]))
    ]
    earlier, now = search_seasons(seasons, LAWN)
    planned = plan_from_searches(now, LAWN, earlier=[earlier])
    seen = planned.comparison
    assert [(round(s.x_m, 1), round(s.y_m, 1)) for s in seen.mended] == [(-0.6, 2.2)]
    assert [(round(b.x_m, 1), round(b.y_m, 1)) for _, b in seen.still_there] == [(1.6, 2.2)]
    assert [(round(s.x_m, 1), round(s.y_m, 1)) for s in seen.new] == [(0.5, 3.4)]
    assert [p.spot.seasons_seen for p in planned.spots] == [2, 1]
    assert "1 of 2 old spots is mended, 1 is new" in said(planned)
    assert "Still there: spot 1. New: spot 2." in said(planned)
    assert re.search("Mended: 6[01] cm left of the square and 1.2 m beyond it", said(planned))


def test_an_unprobed_spot_costs_nothing_and_stands_first_among_what_to_measure():
    planned = plan(*SPOTS)
    assert planned.measure_first
    assert {p.cause for p in planned.spots} == {"not yet probed"}
    assert planned.spots_order.volume_m3 == planned.now_order.volume_m3 == 0
    assert all((p.litres, p.most_litres, p.passes, p.priority) == (0, 0, 0, None) for p in planned.spots)
    assert "Until then they cost nothing" in said(planned)
    assert "Measure these first: spots 1, 2 and 3" in said(planned)
    assert "straightedge" in said(planned)
    assert all(row["depth_mm"] is None for row in spots_table(planned))


def test_dips_give_depth_sand_and_passes():
    own = [Dip(10, spot=1), Dip(20, x_m=2.1, y_m=1.4), Dip(15, x_m=2.6, y_m=1.5)]
    dips = [*own, Dip(8, x_m=0.5, y_m=0.2), Dip(9, spot=7)]
    planned = plan(*SPOTS, dips=dips)
    first = planned.spots[0]
    assert first.finding.readings == 3, "one as numbered, one inside, one within a hand of the rim"
    assert first.depth_mm == 15.0
    assert first.litres == pytest.approx(SPOTS[0].area_m2 * 15)
    assert first.passes == 2, "13 mm a pass in a spot"
    assert planned.loose_dips == tuple(dips[3:])
    assert "2 measured depths lie in no spot" in said(planned)
    assert "Measure these first: spots 2 and 3" in said(planned)


def test_a_dip_belongs_to_a_spot_of_its_own_photo_point():
    """Each photo point has its own square: the same x and y are two places."""
    here, there = SPOTS[0], replace(SPOTS[0], number=2, point="hedge")
    searches = [SpotSearch(one.point, (one,), (GROUND,), 42.0, 95.0, 9.0) for one in (here, there)]
    dips = [Dip(15, x_m=2.1, y_m=1.4, point="hedge"), Dip(9, x_m=2.1, y_m=1.4, point="gate")]
    planned = plan_from_searches(searches, LAWN, dips=dips)
    assert [one.finding.readings for one in planned.spots] == [0, 1]
    assert planned.loose_dips == (dips[1],)


def test_the_price_of_a_receipt_is_named_only_where_it_is_used():
    lawn = LAWN.model_copy(update={"receipt": (Receipt(date="2025-06-01", volume_m3=2, price=100),)})
    assert "receipt of 1 June 2025: 50 a cubic meter" in said(plan(SPOTS[0], lawn=lawn))
    assert "receipt" not in said(plan(SPOTS[0], lawn=lawn, budget=budget_of(lawn, price_per_m3=70)))


def test_grasses_are_named_as_in_a_sentence():
    assert "A cool-season grass grows in bunches" in said(
        plan(SPOTS[0], lawn=Lawn(name="x", grass="other cool-season"))
    )
    assert "Tall fescue grows in bunches" in said(plan(SPOTS[0], lawn=Lawn(name="x", grass="tall fescue")))


def test_a_level_spot_and_one_too_deep_get_no_sand():
    # D. Gill, LSU AgCenter: never more than 2 in (51 mm) of fill over living turf
    planned = plan(*SPOTS, dips=[*read(1, 1), *read(60, 2), *read(6, 3)])
    level, deep, usual = planned.spots
    assert (level.passes, deep.passes, usual.passes) == (0, 0, 1)
    assert level.litres == deep.litres == 0
    assert planned.spots_order.volume_m3 == pytest.approx(SPOTS[2].area_m2 * 6 / 1000)
    why = [row["why"] for row in spots_table(planned)]
    assert "sand is not what it lacks" in why[0]
    assert "lift the turf" in why[1]


def test_the_budget_chooses_and_names_what_waits():
    # By hand: 0.40 buys 6.8 L. The spots take 4.7, 1.7 and 0.75 L and are worth 0.744, 0.134 and 0.119 (area times
    # the missing share of cover). Spots 1 and 2 (6.4 L, 0.878) beat 1 and 3 (5.5 L, 0.863), although a litre on spot 3
    # is worth more than one on spot 2.
    dips = read(6, 1, 2, 3)
    planned = plan(
        *SPOTS,
        dips=dips,
        budget=budget_of(LAWN, money=0.40, price_per_m3=45 / CUBIC_YARD_M3, sold_by_m3=1e-4),
    )
    assert planned.now_order.cost <= 0.40 + 1e-3
    assert [p.spot.number for p in planned.chosen] == [1, 2]
    assert [p.spot.number for p in planned.waiting] == [3]
    assert [p.priority for p in planned.spots][1] == 3
    assert "Waiting for a later season: spot 3" in said(planned)
    generous = plan(*SPOTS, dips=dips, budget=budget_of(LAWN, money=100, price_per_m3=45))
    assert len(generous.chosen) == 3
    assert generous.waiting == ()


def test_deep_spots_are_staged_over_seasons():
    planned = plan(SPOTS[0], dips=read(40, 1))
    assert planned.spots[0].passes == 3
    assert planned.spots[0].passes_now == 2
    assert len(planned.spending.seasons) == 2
    assert "finished later in thin passes: spot 1" in said(planned)


def test_whole_lawn_and_spots_together():
    planned = plan(*SPOTS, lawn=LAWN.model_copy(update={"sand": SandSettings(settling_pct=10)}))
    assert planned.lawn_order.volume_m3 == pytest.approx(60 * 0.006 * 1.1)
    both = planned.lawn_order.volume_m3 + planned.spots_order.volume_m3
    assert planned.both_order.volume_m3 == pytest.approx(both)
    assert "over the whole lawn would take 0.4 m³, hardly more with all spots" in said(planned)
    assert "Fill the spots first" not in said(planned), "nothing was measured yet"
    measured = said(plan(*SPOTS, dips=read(6, 1, 2, 3)))
    assert "Fill the spots first: they are 2 % of the ground and take" in measured
    small = plan(*SPOTS, dips=read(6, 1, 2, 3), lawn=LAWN.model_copy(update={"area_m2": 3.0}))
    assert "Go over the whole lawn first: low ground is" in said(small)
    us = said(
        plan(*SPOTS, lawn=LAWN.model_copy(update={"units": "us", "sand": SandSettings(pass_depth_mm=6.35)}))
    )
    # exact: a quarter inch on 1000 sq ft is 0.7716 cu yd
    assert "One pass of 1/4 in over the whole lawn would take 0.5 cu yd (0.77 cu yd on 1000 sq ft)" in us
    assert plan(lawn=Lawn(name="no area")).lawn_order is None


def test_an_empty_list_is_a_good_answer_said_kindly():
    planned = plan()
    assert planned.spots == ()
    assert planned.spots_order.volume_m3 == 0
    assert "Nothing to level again" in said(planned)
    assert "Well grown" in said(planned)
    assert cautions(planned) == ()


def test_too_early_is_said_with_its_reason():
    planned = plan_from_searches([SpotSearch("main", note="spots need at least 3 photos over 5 days")], LAWN)
    assert "too early" in said(planned)
    assert "at least 3 photos" in said(planned)


def test_bare_ground_left_out_at_the_edge_is_told():
    search = SpotSearch("main", (), (GROUND,), 42.0, 95.0, 9.0, left_out_m=(GROUND,))
    told = said(plan_from_searches([search], LAWN))
    assert "the edge of the view cuts it off: 1 m beyond the square (about 1 pace)" in told  # center (0.5, 2)
    assert "edge of the view" not in said(plan())


def test_bags_are_named_where_delivery_is_most_of_the_cost():
    # by hand: 0.785 m2 at 6 mm is 4.71 L: one scoop of 0.4 m3 at 50 a cubic meter is 20, with 60 for delivery 80; one
    # bag holds 16 L
    dips, prices = read(6, 1), {"price_per_m3": 50, "delivery_price": 60}
    told = said(plan(SPOTS[0], dips=dips, budget=budget_of(LAWN, **prices)))
    assert "60 of 80 is delivery: 1 bag of 16 L holds this sand and would be cheaper up to 80 a bag." in told
    beyond = said(plan(SPOTS[0], dips=dips, budget=budget_of(LAWN, money=30, **prices)))
    assert "Beyond what any one season's budget and passes allow: spot 1" in beyond
    assert "1 bag of" in beyond
    assert "is delivery" not in said(plan(SPOTS[0], dips=dips, budget=budget_of(LAWN, price_per_m3=50)))
    much = [spot(1, 0.0, 0.0, 5.0)]  # 78.5 m2 at 6 mm is 33 bags
    assert "is delivery" not in said(
        plan(*much, dips=dips, budget=budget_of(LAWN, price_per_m3=50, delivery_price=90))
    )


def test_the_table_has_its_columns_in_order():
    columns = (
        "spot, point, zone, x_m, y_m, area_m2, cover_pct, lag_days, depth_mm, sand_litres, passes, priority, "
        "seasons_seen, why"
    )
    assert ", ".join(SPOT_COLUMNS) == columns
    rows = spots_table(plan(*SPOTS, dips=[Dip(13, spot=1)]))
    assert all(list(row)[: len(SPOT_COLUMNS)] == list(SPOT_COLUMNS) for row in rows)
    assert from_wkt(rows[0]["outline_wkt"]).equals(SPOTS[0].polygon)  # reference library: shapely (GEOS)
    for name, share in (("least_litres", 1 / 3), ("sand_litres", 0.5), ("most_litres", 0.77)):
        assert rows[0][name] == pytest.approx(SPOTS[0].area_m2 * 13 * share, abs=0.05)


def test_cautions_stand_beside_their_action():
    told = dict(cautions(plan(*SPOTS)))
    assert "damp" in told["spreading sand"]
    assert "23 kg" in told["carrying sand"]
    assert "811" in told["marking the spots"]
    assert "dormant" in told["choosing the day"]
    assert "stones" in told["the first mow after"]
    deep = LAWN.model_copy(update={"sand": SandSettings(pass_depth_mm=20)})
    assert "deep" in dict(cautions(plan(*SPOTS, lawn=deep)))["depth of a pass"]


def test_season_and_place_are_said_in_the_lawns_units():
    us = LAWN.model_copy(update={"units": "us"})
    assert "65 °F" in season_window(us)
    assert "early fall" in season_window(Lawn(name="cool", grass="tall fescue"))
    words = "3.3 ft right of the square and 1.6 ft beyond it (about 1 pace)"
    assert where_is(plan(*SPOTS, lawn=us).spots[0], us) == words

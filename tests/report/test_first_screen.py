"""The first screen of the report: one number with its ground and change, the parts not ready, when nothing waits."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from swardmark.lawn.toml import Mowing
from swardmark.mowing.rows import FirstMow, Part
from swardmark.report.content import what_next
from swardmark.report.first_screen import verdict
from swardmark.season import Season


def with_mow(season: Season, **changes: object) -> Season:
    mow: FirstMow = replace(season.outlook.first_mow, **changes)
    return replace(season, outlook=replace(season.outlook, first_mow=mow))


PARTS = (
    Part("main", "by the gate", 80.0, 75.0, 85.0, 3.0, 0.75, ready=True),
    Part("main", "low corner", 9.0, 5.0, 13.0, 1.0, 0.25, ready=False),
)


def test_the_number_says_its_ground_and_what_changed(season: Season) -> None:
    number = verdict(season)["number"]
    assert (number.value, number.change) == ("43 %", "26 → 43 in 4 days")
    assert "2.8 m²" in number.ground


def test_the_range_is_that_of_parts_that_err_together(season: Season) -> None:
    """0.75 x 75 + 0.25 x 5 = 57.5 and 0.75 x 85 + 0.25 x 13 = 67, by hand."""
    ground = verdict(with_mow(season, parts=PARTS))["number"].ground
    assert "(58 to 67 %)" in ground


def test_a_part_that_is_not_ready_stands_there_with_its_state(season: Season) -> None:
    assert verdict(with_mow(season, parts=PARTS))["parts"] == ("low corner 9 %, stalled",)


def test_the_bar_is_green_only_when_nothing_waits(season: Season) -> None:
    ready = PARTS[:1]
    assert verdict(season)["waits"]
    assert verdict(with_mow(season, ready=True, parts=PARTS))["waits"]
    assert not verdict(with_mow(season, ready=True, parts=ready))["waits"]


def test_full_now_is_not_said_beside_parts_that_are_not_ready(season: Season) -> None:
    """The mean may be full while a corner is bare."""
    full = replace(
        season, outlook=replace(season.outlook, whole=replace(season.outlook.whole, status="full"))
    )
    named = {fact.name: fact.value for fact in verdict(with_mow(full, parts=PARTS[:1]))["facts"]}
    assert named["Lawn full"] == "now"
    assert "Lawn full" not in {fact.name for fact in verdict(with_mow(full, parts=PARTS))["facts"]}


def test_a_day_that_has_passed_does_not_lie_in_a_window_from_now_on(season: Season) -> None:
    """It was `1 July (now to 9 July)`, some days after the first of July."""
    one = dt.timedelta(days=1)
    days = {"full_earliest": season.as_of - 3 * one, "full_latest": season.as_of + 5 * one}
    for away in (-1, 1):
        whole = replace(season.outlook.whole, status="filling in", full_on=season.as_of + away * one, **days)
        said = verdict(replace(season, outlook=replace(season.outlook, whole=whole)))["facts"][1].value
        assert ("(now to" in said) == (away > 0)


def test_a_photo_that_is_too_old_to_mow_by_gives_no_window(season: Season) -> None:
    old = with_mow(season, ready=False, mowed_on=None, old_photo=season.as_of)
    assert {fact.name: fact.value for fact in verdict(old)["facts"]}[
        "First mow"
    ] == "once there is a new photo"


def test_the_cuts_before_the_next_sand_stop_where_the_grass_is_not_cut_lower(season: Season) -> None:
    """Table of the grasses: tall fescue is not scalped; one notch of 6 mm below 2.5 in (Kansas State) is 57.5 mm."""
    heights = Mowing(usual_height_mm=90, scalp_height_mm=20, notch_mm=6)
    lawn = season.lawn.model_copy(update={"grass": "tall fescue", "mowing": heights})
    said = [row.cells[1] for row in what_next(replace(season, lawn=lawn))["steps"]]
    assert [text for text in said if text.startswith("Mow at")][-1].startswith("Mow at 58 mm")

"""The report's small curves are whole SVG files, and dots, intervals and bands stand where the values say."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from swardmark.drawing.panels import zone_panel
from swardmark.drawing.plotting import COVER_TICKS, intervals
from swardmark.season import Season

SVG = "{http://www.w3.org/2000/svg}"


def drawn(season, zone):
    return ElementTree.fromstring(zone_panel(season, zone, width_in=3.6))


def covers_at(root, heights):
    """Read heights of the picture as covers, on the scale that its own numbers give."""
    labels = {element.text: float(element.get("y")) for element in root.iter(f"{SVG}text")}
    zero, full = labels["0"], labels["100"]
    return [100 * (zero - 2.8 - y) / (zero - full) for y in heights]


def test_dots_and_intervals_stand_at_their_covers_and_a_held_photo_is_hollow(season: Season) -> None:
    zone = replace(season.outlook.zones[0], held_out=(*season.outlook.zones[0].held_out[:-1], True))
    root = drawn(season, zone)
    dots = list(root.iter(f"{SVG}circle"))
    heights = [float(dot.get("cy")) for dot in dots]
    assert covers_at(root, heights) == pytest.approx(zone.observed_pct, abs=0.2)
    fills = [dot.get("fill") == dot.get("stroke") for dot in dots]
    assert fills == [not held for held in zone.held_out]
    across = [float(dot.get("cx")) for dot in dots]
    steps = [
        (b - a) / (n - m) for a, b, m, n in zip(across, across[1:], zone.day, zone.day[1:], strict=False)
    ]
    assert steps == pytest.approx([steps[0]] * len(steps), abs=0.1)
    (sticks,) = [
        path.get("d") for path in root.iter(f"{SVG}path") if path.get("d").count("M") == len(zone.day)
        and "L" in path.get("d") and path.get("stroke-width") == "1"
    ]  # fmt: skip
    ends = [float(point.split()[1]) for stick in sticks.split("M")[1:] for point in stick.split("L")]
    said = [end for _, low, high in intervals(zone, season) for end in (low, high)]
    assert covers_at(root, ends) == pytest.approx(said, abs=0.2)


def test_a_photo_that_the_forecast_leaves_out_has_no_interval(season: Season) -> None:
    zone = season.outlook.zones[0]
    later = replace(zone, day=zone.day[1:], observed_pct=zone.observed_pct[1:], held_out=zone.held_out[1:])
    assert [day for day, _, _ in intervals(zone, season)] == list(zone.day)
    assert [day for day, _, _ in intervals(later, season)] == list(later.day)


def test_words_stay_inside_the_picture_and_are_text(season: Season) -> None:
    for zone in (season.outlook.whole, *season.outlook.zones):
        root = drawn(season, zone)
        words = [element.text for element in root.iter(f"{SVG}text")]
        assert {str(cover) for cover in COVER_TICKS} <= set(words)
        assert any(word.startswith("first mow") for word in words)
        width, height = (float(number) for number in root.get("viewBox").split()[2:])
        for element in root.iter(f"{SVG}text"):
            x, half = float(element.get("x")), 0.3 * float(element.get("font-size")) * len(element.text)
            left = {"start": x, "middle": x - half, "end": x - 2 * half}[element.get("text-anchor")]
            if not element.get("transform"):
                assert 0 <= left <= left + 2 * half <= width
                assert 0 < float(element.get("y")) < height


def test_a_zone_without_forecast_and_one_without_a_photo_are_drawn(season: Season) -> None:
    zone = replace(season.outlook.zones[0], band=None, courses=())
    assert len(list(drawn(season, zone).iter(f"{SVG}circle"))) == len(zone.day)
    nothing = replace(zone, day=(), observed_pct=(), held_out=())
    assert not list(drawn(season, nothing).iter(f"{SVG}circle"))

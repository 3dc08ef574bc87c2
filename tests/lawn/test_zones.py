"""Zones that share ground: found, and told in the outlook. Areas are checked against shapely, pair by pair."""

from __future__ import annotations

import datetime as dt
from itertools import combinations

import numpy as np
import pytest
import shapely

from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.toml import Lawn, Leveling, Zone
from swardmark.lawn.zones import LEAST_OVERLAP_M2, overlaps
from swardmark.mowing.outlook import outlook


def box(name, left, bottom, right, top, point="main"):
    outline = ((left, bottom), (right, bottom), (right, top), (left, top))
    return Zone(name=name, outline_m=outline, point=point)


def test_plots_numbered_by_year_stay_apart():
    """As 2.0261e+06 two treatments, or two blocks, were one."""
    corners = ((0, 0), (1, 0), (1, 1))
    kept = [Zone(name="a", outline_m=corners, treatment=n, block=n) for n in (2026101, 2026102, 12.5)]
    assert (
        [zone.treatment for zone in kept] == ["2026101", "2026102", "12.5"] == [zone.block for zone in kept]
    )


def test_shared_ground_is_found_and_zones_side_by_side_are_not():
    zones = [
        box("a", 0, 0, 2, 1),
        box("b", 2, 0, 4, 1),
        box("c", 1.5, 0.5, 2.5, 3),
        box("d", 0, 0, 2, 1, "porch"),
    ]
    found = overlaps(zones)
    assert [(one, other) for one, other, _ in found] == [("a", "c"), ("b", "c")]
    assert [area for _, _, area in found] == pytest.approx([0.25, 0.25])
    assert overlaps(zones[:2]) == [] == overlaps([])


@pytest.mark.parametrize("seed", range(5))
def test_the_pairs_are_those_that_shapely_finds_one_by_one(seed):
    rng = np.random.default_rng(seed)
    zones = []
    for number in range(30):
        x, y = rng.uniform(0, 6, 2)
        turn = np.sort(rng.uniform(0, 2 * np.pi, 3)) if rng.random() < 0.5 else np.arange(4) * np.pi / 2
        size = rng.uniform(0.3, 1.5)
        outline = tuple((float(x + size * np.cos(t)), float(y + size * np.sin(t))) for t in turn)
        if shapely.Polygon(outline).area > 0.01:
            zones.append(Zone(name=str(number), outline_m=outline))
    wanted = {}
    for one, other in combinations(zones, 2):
        area = shapely.Polygon(one.outline_m).intersection(shapely.Polygon(other.outline_m)).area
        if area >= LEAST_OVERLAP_M2:
            wanted[one.name, other.name] = area
    found = overlaps(zones)
    assert {(one, other): area for one, other, area in found} == pytest.approx(wanted)
    assert [area for *_, area in found] == sorted((area for *_, area in found), reverse=True)


@pytest.mark.parametrize(("units", "area"), [("metric", "0.25 m²"), ("us", "2.7 sq ft")])
def test_the_outlook_says_that_zones_share_ground(units, area):
    zero = dt.date(2026, 6, 1)
    zones = (box("gate", 0, 0, 2, 1), box("path", 1.5, 0.5, 2.5, 3))
    days = tuple(zero + dt.timedelta(days=day) for day in (2, 6, 10))
    rows = [
        ZoneSeries("main", zone.name, 2.0, days, (10, 30, 50), (5, 25, 45), (15, 35, 55)) for zone in zones
    ]
    lawn = Lawn(name="drawn", leveling=(Leveling(date=zero),), zone=zones, units=units)
    note = f"Zones gate and path overlap by {area}; in the whole lawn that ground counts once."
    assert note in outlook(rows, lawn=lawn, as_of=days[-1]).notes
    apart = lawn.model_copy(update={"zone": zones[:1]})
    assert not any("overlap" in text for text in outlook(rows[:1], lawn=apart, as_of=days[-1]).notes)

"""The lawn is the lawn: whatever zones are drawn, the whole is the same ground, and every part of it counts once.

Maps are drawn, but for the photos of the sample lawn.
"""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import numpy as np
import pytest

from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import value_counts
from swardmark.lawn.toml import REST_OF_LAWN, Lawn, MeasureSettings, Zone, parse_lawn
from swardmark.measure.covers import lawn_covers, measure_covers
from swardmark.measure.survey import Survey
from swardmark.record.facts import packed_counts
from swardmark.record.store import Entry, PhotoFacts, Record
from swardmark.season import season_of

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
BARE, LEAF = 60, 200
SPACING_M = 0.02


@pytest.fixture(scope="module")
def measured_sample(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sample") / "lawn"
    shutil.copytree(SAMPLE, folder)
    measure_covers(folder)
    return folder


@pytest.mark.parametrize("as_of", [None, dt.date(2026, 6, 15)])
def test_three_zones_one_and_none_give_the_same_lawn(measured_sample, as_of):
    toml = measured_sample / "lawn.toml"
    text = (SAMPLE / "lawn.toml").read_text(encoding="utf-8")
    first, second, *_ = (at for at in range(len(text)) if text.startswith("[[zone]]", at))
    end = text.index("#", text.rindex("[[zone]]"))
    found = {}
    for name, kept in (
        ("three", text),
        ("one", text[:second] + text[end:]),
        ("none", text[:first] + text[end:]),
    ):
        toml.write_text(kept, encoding="utf-8")
        season = season_of(measure_covers(measured_sample, as_of=as_of))
        found[name] = (season.outlook.whole.cover_pct, season.outlook.whole.area_m2)
    covers, areas = zip(*found.values(), strict=True)
    assert max(covers) - min(covers) < 1, found
    assert max(areas) - min(areas) < 0.5, found
    assert areas[0] > 10, "the zones alone have 3 square meters"


def drawn(values, day, *, point="main"):
    """One photo's entry and map, drawn: values on a lattice of 2 cm around the square."""
    ground_map = GroundMap(values, -50, -100, SPACING_M)
    facts = PhotoFacts(
        map_counts=packed_counts(value_counts(ground_map)), camera_m=(0.5, -1.5, 1.6), full_index=0.4
    )
    when = dt.datetime(2026, 6, 1, 9) + dt.timedelta(days=day)
    return Entry(f"{point}{day}", "s", point, f"{point}-{day:02}.jpg", when, "camera", facts), ground_map


def lattice():
    """Ground x and y of the drawn maps, meters."""
    return np.meshgrid((np.arange(200) - 100) * SPACING_M, (np.arange(150) - 50) * SPACING_M)


def turf(share, seed):
    return np.where(np.random.default_rng(seed).random((150, 200)) < share, LEAF, BARE).astype(np.uint8)


def covers_of(folder, photos, **lawn):
    folder.mkdir(exist_ok=True)
    with Record(folder / "record.sqlite") as record:
        for entry, ground_map in photos:
            record.put(entry, ground_map)
        settings = MeasureSettings(threshold=0.1)
        lawn = Lawn(name="Drawn", measure=settings, folder=folder, **lawn)
        return lawn_covers(lawn, record, Survey(tuple(entry for entry, _ in photos), 0, ()))


def growing(change=lambda values, day: values, *, days=(0, 7, 14, 21), **known):
    return [drawn(change(turf(0.05 + 0.04 * day, day), day), day, **known) for day in days]


def box(name, left, bottom, right, top, point="main"):
    outline = ((left, bottom), (right, bottom), (right, top), (left, top))
    return Zone(name=name, outline_m=outline, point=point)


def test_what_no_zone_covers_is_the_rest_and_ground_in_two_zones_counts_once(tmp_path):
    zones = (box("all but a strip", -1.49, -2, 3, 3), box("inner", 0.01, 0.01, 1.01, 1.01))
    (point,) = covers_of(tmp_path, growing(), zone=zones).points
    areas = dict(point.parts)
    assert areas["inner"] == pytest.approx(1.0, rel=0.01)
    assert areas["all but a strip"] == pytest.approx(3.48 * 3 - 1, rel=0.01)
    assert areas[REST_OF_LAWN] == pytest.approx(0.52 * 3, rel=0.01)
    assert sum(areas.values()) == pytest.approx(200 * 150 * SPACING_M**2, rel=1e-6)


def test_a_path_in_view_is_no_lawn_but_a_bare_place_inside_is(tmp_path):
    x, y = lattice()

    def with_path(values, day):
        values[x > 1.2] = BARE
        values[np.hypot(x + 0.8, y - 1) < 0.3] = BARE
        return values

    covers = covers_of(tmp_path, growing(with_path))
    (point,) = covers.points
    path_m2 = np.count_nonzero(x > 1.2) * SPACING_M**2
    assert point.ground.left_out_m2 == pytest.approx(path_m2, rel=0.08)
    lawn_alone, all_of_it = (
        season_of(
            covers_of(
                tmp_path / name, growing(with_path), lawn_outline_m=box(name, -3, -3, right, 3).outline_m
            )
        )
        for name, right in (("lawn", 1.2), ("all", 3))
    )
    path_left_out, lawn, everything = (
        season.outlook.whole.observed_pct[-1] for season in (season_of(covers), lawn_alone, all_of_it)
    )
    assert path_left_out == pytest.approx(lawn, abs=2.5), (
        "a strip of some 8 cm along the path is read with the lawn"
    )
    assert everything < lawn - 10
    assert any("path or a bed" in note for note in season_of(covers).outlook.notes)


def test_fresh_sand_all_over_is_lawn_and_no_path(tmp_path):
    (point,) = covers_of(tmp_path, [drawn(turf(0.02, day), day) for day in (0, 3)]).points
    assert point.ground.left_out_m2 == 0


def test_a_path_that_the_keeper_outlines_as_lawn_counts(tmp_path):
    x, _ = lattice()

    def with_path(values, day):
        values[x > 1.2] = BARE
        return values

    outline = ((-1, -0.5), (1.9, -0.5), (1.9, 1.5), (-1, 1.5))
    (point,) = covers_of(tmp_path, growing(with_path), lawn_outline_m=outline).points
    assert point.ground.left_out_m2 == 0
    assert sum(area for _, area in point.parts) == pytest.approx(2.9 * 2.0, rel=0.05), (
        "lattice points on an outline are in no patch"
    )


def test_two_photo_points_of_different_days_add_up_to_one_lawn_on_one_day(tmp_path):
    """Both points grow alike, so the whole on the newest day is what either would show on that day."""
    photos = [
        *growing(days=(0, 4, 8, 12, 16), point="gate"),
        *growing(days=(0, 3, 7, 10, 14), point="shed"),
    ]
    season = season_of(covers_of(tmp_path, photos))
    whole, gate = season.outlook.whole, [z for z in season.outlook.zones if z.point == "gate"]
    assert whole.day[-1] == 16
    assert whole.area_m2 == pytest.approx(2 * 12, rel=0.01)
    alone = sum(z.cover_pct * z.area_m2 for z in gate) / sum(z.area_m2 for z in gate)
    shed = [z for z in season.outlook.zones if z.point == "shed"]
    stale = sum(z.cover_pct * z.area_m2 for z in shed) / sum(z.area_m2 for z in shed)
    assert abs(whole.cover_pct - alone) < abs(whole.cover_pct - stale)
    assert whole.cover_pct == pytest.approx(alone, abs=2.5)


@pytest.mark.parametrize(
    ("area_m2", "said"),
    [(24, "Seen: 50 % of the lawn's 24 m²."), (60, "20 % of the lawn's 60 m². About 4 more photo points")],
)
def test_the_share_of_the_lawn_in_view_is_told_and_how_many_photo_points_would_show_the_rest(
    tmp_path, area_m2, said
):
    season = season_of(covers_of(tmp_path, growing(), area_m2=area_m2))
    assert any(said in note for note in season.outlook.notes), season.outlook.notes
    share = f"({100 * 12 / area_m2:.0f} % of the lawn)"
    assert share in season.outlook.first_mow.sentence


@pytest.mark.parametrize("name", ["rest of the lawn", "whole lawn"])
def test_the_names_of_what_is_added_up_are_reserved(tmp_path, name):
    text = f'name = "a"\n[[zone]]\nname = "{name}"\noutline_m = [[0, 0], [1, 0], [1, 1]]\n'
    with pytest.raises(Exception, match="give the zone another name"):
        parse_lawn(text, folder=tmp_path)

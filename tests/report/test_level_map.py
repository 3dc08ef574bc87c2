"""The maps of level ground: what they add up to, and that the report shows them only where heights were measured."""

from __future__ import annotations

import datetime as dt
import math
import re
from itertools import combinations

import numpy as np
import pytest
from shapely import Polygon

from swardmark.drawing.bare import outlines_of
from swardmark.drawing.figures import figure_bytes
from swardmark.drawing.level_map import bucket_text, level_map, load_map, loads
from swardmark.drawing.maps import relevel_map
from swardmark.drawing.pictures import FolderPhotos
from swardmark.drawing.scenes import scenes
from swardmark.lawn.heights import Heights
from swardmark.lawn.toml import parse_lawn
from swardmark.level.cutfill import CutFill, cut_and_fill
from swardmark.level.review import level_review
from swardmark.measure.covers import measure_covers
from swardmark.report.level_section import _judged_depth, cover_by_depth, level_figures, level_rows
from swardmark.season import season_of


def heights() -> Heights:
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0, 5.01, 0.5), np.arange(0, 5.01, 0.5)))
    z = -30 * np.clip(1 - ((x - 1.6) ** 2 + (y - 3) ** 2) / 0.9**2, 0, None)
    z += 20 * np.clip(1 - ((x - 4) ** 2 + (y - 1) ** 2) / 0.7**2, 0, None)
    return Heights(dt.date(2026, 6, 3), "main", x, y, z, np.ones(x.size), "string")


@pytest.fixture(scope="module")
def one() -> CutFill:
    return cut_and_fill([heights()])


@pytest.mark.parametrize("step", [0.5, 1.0, 1.2192])
def test_the_loads_of_all_squares_are_the_sand(one, step):
    buckets, x0, y0 = loads(one, step_m=step, bucket_litres=14, bulking=1.25)
    assert buckets.sum() * 14 / 1.25 == pytest.approx(one.fill.litres)
    row, col = np.unravel_index(int(buckets.argmax()), buckets.shape)
    assert x0 + (col + 0.5) * step == pytest.approx(1.6, abs=step)
    assert y0 + (row + 0.5) * step == pytest.approx(3.0, abs=step)


def test_buckets_are_said_to_the_half():
    assert [bucket_text(count) for count in (0.3, 0.8, 1.4, 2.0, 3.6)] == ["1/2", "1", "1 1/2", "2", "3 1/2"]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_map_says_heights_letters_and_axes(one, units):
    figure = level_map(one, units=units)
    (axes,) = figure.axes
    said = [text.get_text() for text in axes.texts]
    assert [text for text in said if text.isalpha()] == ["A", "B"], "a circle for the low and the high spot"
    assert axes.get_xlabel().startswith("ft" if units == "us" else "m ")
    levels = [text for text in said if re.fullmatch(r"[+-][0-9 /]+", text)]
    assert levels
    assert figure_bytes(figure, "png").startswith(b"\x89PNG")
    assert load_map(one, bucket_litres=14, bulking=1.25, units=units).axes


def test_rows_and_figures_speak_of_every_spot():
    review = level_review(parse_lawn('name = "x"\nunits = "us"\n'), more=[heights()])
    rows = level_rows(review)
    assert [row.cells[0] for row in rows] == ["low A", "high B"]
    assert rows[0].cells[5].startswith("fill ")
    assert rows[1].cells[5].startswith("take off ")
    assert [title for _, title, *_ in level_figures(review)] == ["Heights, and the spots to fill and to cut",
                                                             "What to carry where"]  # fmt: skip
    assert math.pi * 0.9**2 * 15 == pytest.approx(review.maps[0].fill.litres, rel=0.25)


@pytest.fixture(scope="module")
def sample_season(measured_sample):
    return season_of(measure_covers(measured_sample))


def test_every_job_on_the_list_stands_on_the_map_and_the_photo(sample_season):
    """Also the low ground under green turf; and no number hides another."""
    numbers = {str(item.spot.number) for item in sample_season.relevel.spots}
    assert any(item.is_green for item in sample_season.relevel.spots)
    assert numbers <= {text.get_text() for text in relevel_map(sample_season).axes[0].texts}
    (scene,) = scenes(sample_season, FolderPhotos(sample_season.lawn.folder))
    assert {number for *_, number, _ in scene.newest.marks} == numbers
    for (x, y, *_), (u, v, *_) in combinations(scene.newest.marks, 2):
        assert math.hypot(x - u, y - v) >= 54, "two circles of radius 27 overlap"


def test_a_spot_has_one_shape_on_photo_map_and_list(sample_season):
    """A bare place on the newest photo that is a spot has the spot's outline, and no second line beside it."""
    (point,) = sample_season.points
    rings = outlines_of(sample_season, point, len(point.maps) - 1)
    spots = [item.spot for item in sample_season.relevel.spots if not item.is_green]
    assert len(spots) == 2, "the two places that the practice lawn keeps bare"
    assert [ring[:-1].tolist() for ring in rings[:2]] == [[list(xy) for xy in s.outline_m] for s in spots]
    for ring in rings[2:]:
        assert not any(Polygon(ring).intersects(spot.polygon) for spot in spots)
    earlier = outlines_of(sample_season, point, len(point.maps) - 2)
    for spot in spots:
        (same,) = [r for r in earlier if Polygon(r).intersection(spot.polygon).area > 0.1 * spot.area_m2]
        assert Polygon(same).intersection(spot.polygon).area > 0.75 * spot.area_m2, (
            "the same rule a week before"
        )


def test_the_plan_and_the_verdict_speak_of_the_same_ground(sample_season):
    """What was taken for a path counts as lawn in neither; each sees its edge a little differently."""
    (search,) = sample_season.relevel.searches
    assert search.left_out_m
    assert search.ground_m2 == pytest.approx(sample_season.outlook.whole.area_m2, rel=0.02)


def test_the_report_says_whether_deep_sand_grew_in(sample_season):
    (line,) = cover_by_depth(sample_season)
    deep, rest = (int(number) for number in re.findall(r"(\d+) %", line))
    assert line.startswith("Cover and level: the 2 spots with over 12 mm of sand stand at ")
    assert deep < rest - 5, "the old dip was buried"


@pytest.mark.parametrize(
    ("behind", "says"), [(16, "So much sand"), (10, None), (4, "as fast as elsewhere"), (-3, "as fast")]
)
def test_covers_judge_the_depth_of_the_next_passes(behind, says):
    told = _judged_depth(behind, "12 mm")
    assert (says is None and told == []) or says in told[0]

"""The maps of level ground: what they add up to, and that the report shows them only where heights were measured."""

from __future__ import annotations

import datetime as dt
import math
import re

import numpy as np
import pytest

from swardmark.drawing.figures import figure_bytes
from swardmark.drawing.level_map import bucket_text, level_map, load_map, loads
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
def test_the_map_says_heights_numbers_and_axes(one, units):
    figure = level_map(one, units=units)
    (axes,) = figure.axes
    said = [text.get_text() for text in axes.texts]
    assert said.count("1") == 2, "a circle for the low and one for the high spot"
    assert axes.get_xlabel().startswith("ft" if units == "us" else "m ")
    levels = [text for text in said if re.fullmatch(r"[+-][0-9 /]+", text)]
    assert levels
    assert figure_bytes(figure, "png").startswith(b"\x89PNG")
    assert load_map(one, bucket_litres=14, bulking=1.25, units=units).axes


def test_rows_and_figures_speak_of_every_spot():
    review = level_review(parse_lawn('name = "x"\nunits = "us"\n'), more=[heights()])
    rows = level_rows(review)
    assert [row.cells[0] for row in rows] == ["low 1", "high 1"]
    assert rows[0].cells[5].startswith("fill ")
    assert rows[1].cells[5].startswith("take off ")
    assert [title for _, title, *_ in level_figures(review)] == ["Heights, and the spots to fill and to cut",
                                                             "What to carry where"]  # fmt: skip
    assert math.pi * 0.9**2 * 15 == pytest.approx(review.maps[0].fill.litres, rel=0.25)


def test_the_report_says_whether_deep_sand_grew_in(measured_sample):
    season = season_of(measure_covers(measured_sample))
    (line,) = cover_by_depth(season)
    deep, rest = (int(number) for number in re.findall(r"(\d+) %", line))
    assert line.startswith("Cover and level: the 2 spots with over 12 mm of sand stand at ")
    assert deep < rest - 5, "the old dip was buried"


@pytest.mark.parametrize(
    ("behind", "says"), [(16, "So much sand"), (10, None), (4, "as fast as elsewhere"), (-3, "as fast")]
)
def test_covers_judge_the_depth_of_the_next_passes(behind, says):
    told = _judged_depth(behind, "12 mm")
    assert (says is None and told == []) or says in told[0]

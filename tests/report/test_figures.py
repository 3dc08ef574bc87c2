from __future__ import annotations

import datetime as dt
from dataclasses import fields, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from made_season import ZERO, renamed
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from swardmark.drawing.figures import (
    all_figures,
    cover_curves,
    figure_bytes,
    ground_name,
    ordered_zones,
    save_figures,
    season_means,
    zone_panels,
)
from swardmark.drawing.maps import ground_map_figure
from swardmark.drawing.palette import (
    BARE_DARK,
    DEW_DARK,
    INK,
    LEAF_DARK,
    LEAF_TONE,
    LOOKS,
    PAPER,
    QUIET,
    SAND_DARK,
    SAND_TONE,
    look_of,
    plain_label,
)
from swardmark.drawing.plotting import DOTS, MOST_SHAPES, STICKS, spread_apart, tick_days
from swardmark.forecast.rows import Course, ForecastBand
from swardmark.season import Season


def tick_boxes(figure: Figure) -> list[list]:
    """Return the boxes of the drawn date labels of each axes, left to right."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer = canvas.get_renderer()
    rows = []
    for axes in figure.axes:
        labels = [label for label in axes.get_xticklabels() if label.get_text() and label.get_visible()]
        rows.append(sorted((label.get_window_extent(renderer) for label in labels), key=lambda box: box.x0))
    return rows


@pytest.mark.parametrize("span", [3, 10, 28, 56, 120, 400, 1500])
@pytest.mark.parametrize("draw", [cover_curves, zone_panels])
def test_date_labels_never_touch(season: Season, draw, span: int) -> None:
    days = tuple(np.linspace(0, span, 30))
    flat = tuple([50.0] * 30)
    dates = tuple(ZERO + dt.timedelta(days=float(day)) for day in days)
    band = ForecastBand(dates, days, flat, flat, flat, flat, flat)
    zones = tuple(replace(zone, band=band) for zone in season.outlook.zones)
    wide = replace(
        season, outlook=replace(season.outlook, zones=zones, whole=replace(season.outlook.whole, band=band))
    )
    for boxes in tick_boxes(draw(wide)):
        for left, right in pairwise(boxes):
            assert left.x1 + 2 < right.x0
    assert any(len(boxes) >= 2 for boxes in tick_boxes(draw(wide)))


def test_ticks_are_round_days_since_leveling() -> None:
    assert tick_days(0, 56, most=5) == [0, 14, 28, 42, 56]
    assert tick_days(-3, 30, most=4) == [0, 14, 28]


def test_names_at_the_line_ends_keep_apart() -> None:
    placed = spread_apart([10, 10, 11, 99, 100], gap=5, low=1, high=101)
    assert min(np.diff(placed)) >= 5
    assert placed[0] >= 1 and placed[-1] <= 101


def test_saved_figures_are_svg_and_png_and_the_same_each_time(season: Season, tmp_path: Path) -> None:
    paths = save_figures(season, tmp_path)
    assert {path.suffix for path in paths} == {".svg", ".png"}
    assert {path.stem for path in paths} == {"cover-curves", "zone-panels", "ground"}
    for path in paths:
        if path.suffix == ".png":
            with Image.open(path) as picture:
                picture.load()
                assert picture.width > 300 and not picture.getexif()
        else:
            text = path.read_text(encoding="utf-8")
            assert text.startswith("<?xml") and "<dc:date>" not in text
            assert "http" not in text.replace("http://www.w3.org", "").replace("http://purl.org", "").replace(
                "http://creativecommons.org", ""
            ).replace("https://matplotlib.org/", "")
    assert figure_bytes(cover_curves(season), "svg") == (tmp_path / "cover-curves.svg").read_bytes()


def test_a_second_season_gives_a_comparison(season: Season) -> None:
    moved = tuple(replace(c, taken_at=c.taken_at.replace(year=2025), day=c.day) for c in season.covers)
    levels = (
        season.lawn.leveling[0].model_copy(update={"date": ZERO.replace(year=2025)}),
        *season.lawn.leveling,
    )
    both = replace(
        season, covers=moved + season.covers, lawn=season.lawn.model_copy(update={"leveling": levels})
    )
    both.__dict__["relevel"] = None
    assert [name for name, _, _ in season_means(both)] == ["leveled 2025-06-03", "leveled 2026-06-03"]
    assert figure_bytes(all_figures(both)["seasons"](), "png")[:4] == b"\x89PNG"


def test_photo_points_of_different_days_give_one_mean(season: Season) -> None:
    row = season.covers[0]

    def seen(point: str, day: int, pct: float, m2: float):
        taken = row.taken_at.replace(year=ZERO.year, month=ZERO.month, day=ZERO.day) + dt.timedelta(days=day)
        cover = replace(row.cover, cover_pct=pct, area_m2=m2)
        return replace(row, point=point, zone="all", taken_at=taken, day=day, cover=cover)

    front = [seen("front", day, 20.0 + 5.0 * day, 3.0) for day in (0, 4, 4, 8, 12)]
    back = [seen("back", day, 2.0 * day, 1.0) for day in (2, 6, 10)]
    ((_, days, cover),) = season_means(replace(season, covers=(*front, *back)))
    assert days == [2, 4, 6, 8, 10]
    assert cover == pytest.approx([15.0 + 4.25 * day for day in days])
    assert season_means(replace(season, covers=(front[0], back[2]))) == []


@pytest.mark.parametrize("name", ["$\\frac{1}{2}$ & <script>", "芝生 🌱 garden", "x" * 200, "a\u202eb\ttab"])
def test_any_zone_name_can_be_drawn(season: Season, name: str) -> None:
    odd = renamed(season, zone=name)
    for figure in (zone_panels(odd), cover_curves(odd), ground_map_figure(odd, odd.points[0])):
        assert figure_bytes(figure, "png")[:4] == b"\x89PNG"
    assert len(plain_label(name)) <= 26


def test_a_season_too_early_to_say_draws_too(season: Season) -> None:
    zones = tuple(
        replace(z, status="too early to say", band=None, day=(0.0,), observed_pct=(5.0,), held_out=(False,))
        for z in season.outlook.zones
    )
    early = replace(
        season, outlook=replace(season.outlook, zones=zones, whole=replace(zones[0], zone="whole lawn"))
    )
    for draw in (cover_curves, zone_panels):
        assert figure_bytes(draw(early), "png")[:4] == b"\x89PNG"


def curves_of(axes) -> list:
    """Return the curves among a plot's lines."""
    return [
        line for line in axes.lines if len(line.get_xdata()) > 2 and line.get_label() not in (STICKS, DOTS)
    ]


def test_a_forecast_starts_where_the_estimate_ends(season: Season) -> None:
    """Of each zone the second line begins at the point at which the first one ends."""
    (axes,) = cover_curves(season).axes
    lines = curves_of(axes)
    assert len(lines) == 2 * (len(season.outlook.zones) + 1)
    for behind, ahead in zip(lines[::2], lines[1::2], strict=True):
        assert (behind.get_xdata()[-1], behind.get_ydata()[-1]) == (
            ahead.get_xdata()[0],
            ahead.get_ydata()[0],
        )


def test_every_dot_has_its_interval_also_the_whole_lawns(season: Season) -> None:
    axes = [*cover_curves(season).axes, *zone_panels(season).axes]
    lines = [line for one in axes for line in one.lines if line.get_label() == STICKS]
    shown = ordered_zones(season)
    for zone, line in zip((*shown, season.outlook.whole, *shown), lines, strict=True):
        sticks = line.get_xydata().reshape(-1, 3, 2)[:, :2]
        dots = dict(zip(zone.day, zone.observed_pct, strict=True))
        assert {stick[0][0] for stick in sticks} == set(dots)
        assert all(stick[0][1] <= dots[stick[0][0]] + 1e-9 <= stick[1][1] + 2e-9 for stick in sticks)


def test_thousands_of_dots_are_one_picture_in_the_file(season: Season) -> None:
    """A browser is slow with a shape for each of many photos; the curves stay lines."""
    first = season.outlook.zones[0]
    count = 2 * MOST_SHAPES
    days, covers = tuple(np.linspace(0, 60, count)), tuple(np.linspace(5, 95, count))
    many = replace(first, day=days, observed_pct=covers, held_out=(False,) * count)
    outlook = replace(season.outlook, zones=(many, *season.outlook.zones[1:]))
    few, crowded = (
        figure_bytes(cover_curves(one), "svg") for one in (season, replace(season, outlook=outlook))
    )
    assert (few.count(b"<image"), crowded.count(b"<image")) == (0, 1)
    assert crowded.count(b"<use") < few.count(b"<use") + MOST_SHAPES  # letters, too, are used shapes


def test_a_zone_with_two_courses_forks_from_one_point(season: Season) -> None:
    zone = season.outlook.zones[0]
    assert zone.band is not None
    today = zone.day[-1]
    later = [n for n, day in enumerate(zone.band.day) if day >= today]
    cut = {part.name: tuple(getattr(zone.band, part.name)[n] for n in later) for part in fields(ForecastBand)}
    low = ForecastBand(**{**cut, "median": tuple(20.0 for _ in later)})
    high = ForecastBand(**{**cut, "median": tuple(90.0 for _ in later)})
    forked = replace(zone, courses=(Course("stays", 0.7, low), Course("resumes", 0.3, high)))
    outlook = replace(season.outlook, zones=(forked, *season.outlook.zones[1:]))
    axes = zone_panels(replace(season, outlook=outlook)).axes[ordered_zones(season).index(zone)]
    stays, resumes = curves_of(axes)[1:3]
    assert stays.get_ydata()[0] == resumes.get_ydata()[0]
    assert (stays.get_ydata()[-1], resumes.get_ydata()[-1]) == (20.0, 90.0)
    assert {text.get_text() for text in axes.texts} >= {"stays 70 %", "resumes 30 %"}


def test_the_name_of_the_mow_line_lies_on_no_curve(season: Season) -> None:
    figure = zone_panels(season)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    for axes in figure.axes[: len(season.outlook.zones)]:
        (name,) = [text for text in axes.texts if text.get_text().startswith("first mow")]
        box = name.get_window_extent(canvas.get_renderer())
        for line in curves_of(axes):
            points = axes.transData.transform(np.column_stack([line.get_xdata(), line.get_ydata()]))
            assert not any(box.contains(x, y) for x, y in points)


def test_lines_differ_by_more_than_color() -> None:
    dashes = {(str(look_of(n).dash), look_of(n).marker) for n in range(len(LOOKS))}
    assert len(dashes) == len(LOOKS)
    assert len({(look_of(n).color, str(look_of(n).dash)) for n in range(49)}) == 49


def contrast(one: str, other: str) -> float:
    """Contrast ratio of WCAG 2.2, definition of relative luminance."""

    def luminance(color: str) -> float:
        parts = [int(color[n : n + 2], 16) / 255 for n in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def test_contrast_of_black_and_white_is_21() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)  # WCAG 2.2


def test_leaf_and_bare_on_maps_are_three_to_one_apart() -> None:
    """WCAG 2.2, success criterion 1.4.11, for what is drawn; also where red and green are not told apart."""
    assert contrast(LEAF_TONE, SAND_TONE) >= 3
    for kind in DICHROMATS:
        assert contrast(seen_by(kind, LEAF_TONE), seen_by(kind, SAND_TONE)) >= 3
    assert contrast(SAND_TONE, INK) >= 4.5  # the hatch of what cannot be read, on either ground


# Machado, Oliveira & Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15(6):1291-1298, severity 1.0, on linear RGB
DICHROMATS = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
}


def seen_by(kind: str, color: str) -> str:
    """Return a color as one without the red or the green cones sees it."""
    parts = [int(color[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = np.array([c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts])
    seen = np.clip(np.array(DICHROMATS[kind]) @ linear, 0, 1)
    back = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(255 * c):02x}" for c in back)


def test_what_cannot_be_read_is_hatched(season: Season) -> None:
    (point,) = season.points
    newest = point.maps[-1]
    values = newest.values.copy()
    far = values[values.shape[0] // 2 :]
    far[far > 0] = 1
    dark = replace(point, maps=[*list(point.maps)[:-1], replace(newest, values=values)])
    (with_dark,) = [axes.get_legend() for axes in ground_map_figure(season, dark).axes]
    (plain,) = [axes.get_legend() for axes in ground_map_figure(season, point).axes]
    assert [patch.get_hatch() for patch in plain.get_patches()] == [None, None]
    assert [patch.get_hatch() for patch in with_dark.get_patches()] == [None, None, "////"]


@pytest.mark.parametrize("color", [INK, QUIET, LEAF_DARK, SAND_DARK, DEW_DARK, BARE_DARK])
@pytest.mark.parametrize("ground", [PAPER, "#f4f1e8", "#fdf3dc", "#eef4ec"])
def test_text_colors_reach_aa(color: str, ground: str) -> None:
    assert contrast(color, ground) >= 4.5  # WCAG 2.2, success criterion 1.4.3


def test_photo_points_whose_names_begin_alike_have_pictures_of_their_own(season: Season) -> None:
    far = "behind the hedge at the far end of the lower lawn, seen from the "
    points = [replace(season.points[0], name=far + side) for side in ("left", "right")]
    names = {ground_name(replace(season, points=tuple(points)), point.name) for point in points}
    assert len(names) == 2

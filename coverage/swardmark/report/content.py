"""What the report says, section by section, as plain values for the template."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from swardmark.common.phrases import date_words, plural
from swardmark.common.text import clean
from swardmark.common.units import format_cut
from swardmark.drawing import figures, sentences
from swardmark.drawing.figures import (
    MOST_PANELS,
    Drawn,
    cover_curves,
    figure_bytes,
    ordered_zones,
    season_comparison,
    season_means,
)
from swardmark.drawing.maps import ground_map_figure, relevel_map
from swardmark.drawing.panels import zone_panel
from swardmark.drawing.pictures import data_address
from swardmark.drawing.plotting import diary_key
from swardmark.level.telling import level_sentences
from swardmark.measure.points import evenly
from swardmark.mowing.preparation import lawn_preparation
from swardmark.relevel import advice
from swardmark.relief.telling import relief_sentences
from swardmark.report import level_section
from swardmark.words.calendar import season_calendar
from swardmark.words.counting import counted_lines
from swardmark.words.noted import noted_lines
from swardmark.words.phrases import day_text, next_photo_dates
from swardmark.words.rows import Row, covers_by_photo, mean_view, photo_row, spot_row, status_row, zone_words
from swardmark.words.sentences import PHOTO_HEADS, SPOT_HEADS, WITHOUT_FLAGGED, ZONE_HEADS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.measure.points import PointReview
    from swardmark.mowing.rows import Check
    from swardmark.relevel.plan import RelevelPlan
    from swardmark.season import Season

STATE_SIGNS = {"met": "✓", "not met": "✕", "unknown": "?"}
MOST_PHOTO_ROWS = 60
WHOLE_IN, PANEL_IN = 3.6, 2.9
"""Widths of the curves of lawn and zones, near those at which they are shown, so that letters keep their size."""
LEVEL_LINES = 3
"""Sentences on level ground that stand open: the answer, what to fill, what to cut."""


@dataclass(frozen=True)
class Plot:
    """One figure: its title, its address, its description, and whether it needs a wide screen."""

    title: str
    address: str
    alt: str
    note: str = ""
    wide: bool = False


def head(season: Season) -> dict[str, str]:
    """Return the title line: lawn, grass, day."""
    day = (season.as_of - season.day_zero).days
    counted = (
        sentences.DAY_AFTER_LEVELING if season.lawn.leveled_before(season.as_of) else sentences.DAY_OF_PHOTOS
    )
    photos = sum(len(point.entries) for point in season.points)
    return {
        "title": clean(season.lawn.name),
        "grass": season.lawn.grass,
        "as_of": date_words(season.as_of, season.lawn.date_form, year=True),
        "day": counted.format(day=day),
        "photos": plural(photos, sentences.ONE_PHOTO, sentences.PHOTOS).format(count=photos),
    }


def what_next(season: Season) -> dict[str, object]:
    """Return the next photo's day, the checks before the first mow, what to look at, and the mower's caution."""
    mow, form = season.outlook.first_mow, season.lawn.date_form
    first, *later = next_photo_dates(season)
    days = ", ".join(day_text(day, form) for day in later)
    return {
        "photo": day_text(first, form),
        "later": sentences.LATER_PHOTOS.format(days=days),
        "checks": () if mow.mowed_on else tuple(_check(check) for check in mow.checks),
        "look": tuple((clean(z.zone), z.look_for) for z in ordered_zones(season) if z.flagged and z.look_for),
        "steps": _preparation(season),
        "back": _way_back(season),
    }


def curves(season: Season, drawn: Drawn) -> dict[str, object]:
    """Return the figures over time."""
    whole, zones = season.outlook.whole, ordered_zones(season)
    lawn = whole if len(zones) > 1 else zones[0]
    first = [_zone_plot(lawn, season, width_in=WHOLE_IN)]
    if len(zones) > 1:
        alt = sentences.ALL_ZONES_ALT.format(zones=" ".join(_curve_alt(zone) for zone in zones[:8]))
        address = _svg(drawn.bytes_of(figures.CURVES, "svg", partial(cover_curves, season)))
        first.append(Plot(sentences.ALL_ZONES, address, alt, wide=True))
    if len(season_means(season)) > 1:
        address = _svg(drawn.bytes_of(figures.SEASONS, "svg", partial(season_comparison, season)))
        first.append(Plot(sentences.SEASONS, address, sentences.SEASONS_ALT))
    shown = zones[:MOST_PANELS] if len(zones) > 1 else []
    panels = [_zone_plot(zone, season, width_in=PANEL_IN) for zone in shown]
    signs = diary_key(season)
    return {
        "first": first,
        "panels": panels,
        "columns": panel_columns(len(panels)),
        "hidden": max(0, len(zones) - MOST_PANELS),
        "diary": sentences.DIARY_KEY.format(signs=signs) if signs else "",
    }


def panel_columns(count: int) -> int:
    """Return in how many columns panels are laid so that rows are full, or nearly so: at most four."""
    return min((4, 3, 2), key=lambda columns: (-count % columns, -columns)) if count > 1 else 1


def status(season: Season) -> dict[str, object]:
    """Return the status table: the whole lawn, the same without flagged zones, then every zone."""
    outlook = season.outlook
    rows = [status_row(zone_words(outlook.whole, season), kind="total")]
    if outlook.whole_without_flagged is not None:
        words = zone_words(outlook.whole_without_flagged, season, name=WITHOUT_FLAGGED)
        rows.append(status_row(words, kind="total"))
    rows += [status_row(zone_words(zone, season)) for zone in ordered_zones(season)]
    is_trial = any(zone.treatment is not None for zone in season.lawn.zone)
    return {"heads": ZONE_HEADS, "rows": rows, "is_trial": is_trial}


def relevel(season: Season, drawn: Drawn) -> dict[str, object] | None:
    """Return the re-level plan; None while it is too early for one."""
    plan = season.relevel
    if plan is None:
        return None
    spotted = {item.spot.point for item in plan.spots} | {s.point for s in plan.searches if s.left_out_m}
    spotted |= {old.point for old in plan.comparison.mended} if plan.comparison else set()
    maps = [
        Plot(_of_point(season, point, sentences.SPOTS_FROM_ABOVE, sentences.SPOTS_FROM_POINT),
             _svg(drawn.bytes_of(figures.spots_name(season, point.name), "svg", partial(relevel_map, season, point))),
             sentences.SPOTS_ALT)
        for point in season.points if point.name in spotted
    ]  # fmt: skip
    sentences_of_plan = advice.plan_sentences(plan)
    head_of_plan = advice.plan_head(plan)
    return {
        "sentences": head_of_plan,
        "more": tuple(line for line in sentences_of_plan if line not in head_of_plan),
        "maps": maps,
        "key": _map_key(plan),
        "heads": SPOT_HEADS,
        "spots": [spot_row(item, season) for item in plan.spots],
        "cautions": advice.cautions(plan),
    }


def level(season: Season, drawn: Drawn) -> dict[str, object] | None:
    """Return how level the ground is; None where no height was measured."""
    review = season.level
    if review.is_empty:
        return None
    said = level_sentences(review)
    return {
        "sentences": said[:LEVEL_LINES],
        "more": (*said[LEVEL_LINES:], *level_section.cover_by_depth(season)),
        "maps": [Plot(title, _svg(drawn.bytes_of(name, "svg", draw)), alt, note)
                 for name, title, draw, alt, note in level_section.level_figures(review)],
        "heads": sentences.LEVEL_HEADS,
        "spots": level_section.level_rows(review),
    }  # fmt: skip


def relief(season: Season) -> dict[str, object] | None:
    """Return what photos of the sand and of pegs gave; None where none were measured."""
    if season.relief.is_empty:
        return None
    plots = level_section.relief_figures(season)
    return {
        "sentences": relief_sentences(season.relief, units=season.lawn.units, dates=season.lawn.date_form),
        "maps": [_plot(title, figure, alt, note=note) for title, figure, alt, note in plots],
    }


@dataclass(frozen=True)
class KeptFile:
    """A table or the calendar, held inside the report: its name and its address."""

    name: str
    address: str


def files(season: Season, tables: Mapping[str, str]) -> tuple[KeptFile, ...]:
    """Return the tables and the calendar as addresses inside the file."""
    texts = {name: (text, "text/csv") for name, text in tables.items()}
    texts["lawn.ics"] = season_calendar(season), "text/calendar"
    return tuple(
        KeptFile(name, data_address(text.encode("utf-8"), kind)) for name, (text, kind) in texts.items()
    )


def how_sure(season: Season, drawn: Drawn) -> dict[str, object]:
    """Return what the figures rest on: zones, threshold, view angle, photos refused and copied."""
    entries = [entry for point in season.points for entry in point.entries]
    groups = covers_by_photo(season)
    rows = [
        photo_row(entry, groups.get((entry.point, entry.name), ()), dates=season.lawn.date_form)
        for entry in evenly(entries, MOST_PHOTO_ROWS)
    ]
    refused = [
        {"photo": clean(e.name), "reason": clean(e.refusal), "remedy": clean(e.remedy)}
        for e in season.refused
    ]
    return {
        "lines": _sure_lines(season),
        "heads": PHOTO_HEADS,
        "photos": rows,
        "hidden": len(entries) - len(rows),
        "refused": refused,
        "copies": [
            sentences.COPY.format(copy=clean(copy), first=clean(first)) for copy, first in season.duplicates
        ],
        "maps": [_ground_plot(season, point, drawn) for point in season.points],
    }


def _map_key(plan: RelevelPlan) -> str:
    """Return what the outlines on the map of spots mean; only those that are on it."""
    said = [sentences.KEY_CHOSEN] if plan.chosen else []
    if len(plan.chosen) < len(plan.spots):
        said.append(sentences.KEY_WAITING)
    if any(item.is_green for item in plan.spots):
        said.append(sentences.KEY_GREEN)
    if any(search.left_out_m for search in plan.searches):
        said.append(sentences.KEY_LEFT_OUT)
    if plan.comparison and plan.comparison.mended:
        said.append(sentences.KEY_MENDED)
    return " ".join(said)


def _check(check: Check) -> dict[str, str]:
    return {
        "name": check.name,
        "state": check.state,
        "sign": STATE_SIGNS[check.state],
        "detail": check.detail,
    }


def _preparation(season: Season) -> tuple[Row, ...]:
    lawn = season.lawn
    coming = [day for day in lawn.leveling_dates if day > season.as_of]
    if not coming:
        return ()
    steps = lawn_preparation(lawn, coming[0])
    return tuple(Row((day_text(s.date, lawn.date_form), s.what, s.caution)) for s in steps)


def _way_back(season: Season) -> tuple[Row, ...]:
    """Return the mowings from the first to the usual height of cut; none while the first cannot be dated."""
    units = season.lawn.units
    steps = season.outlook.way_back
    return tuple(
        Row((day_text(s.on, season.lawn.date_form), *format_cut(s.leaf_mm, s.cut_mm, units=units)))
        for s in steps
    )


def _zone_title(zone: ZoneOutlook, season: Season) -> str:
    name = clean(zone.zone, most=60)
    apart = len(season.points) > 1 and zone.point != "all"
    template = sentences.ZONE_TITLE_POINT if apart else sentences.ZONE_TITLE
    point = clean(zone.point, most=40)
    return template.format(zone=f"{name[0].upper()}{name[1:]}", point=point, status=zone.status)


def _zone_plot(zone: ZoneOutlook, season: Season, *, width_in: float) -> Plot:
    note = f"{zone.why} {zone.ahead}".strip()
    panel = zone_panel(season, zone, width_in=width_in)
    return Plot(_zone_title(zone, season), _svg(panel.encode("utf-8")), _curve_alt(zone), note)


def _curve_alt(zone: ZoneOutlook) -> str:
    name, days, cover = clean(zone.zone), zone.day, zone.observed_pct
    if not days:
        return sentences.CURVE_ALT_NO_PHOTO.format(zone=name)
    template = sentences.CURVE_ALT if len(days) > 1 else sentences.CURVE_ALT_FIRST
    parts = {"first": cover[0], "first_day": days[0], "last": cover[-1], "last_day": days[-1]}
    said = template.format(zone=name, **parts)
    if (band := zone.band) is not None:
        end = {"day": band.day[-1], "low": band.low80[-1], "high": band.high80[-1]}
        said = f"{said} {sentences.CURVE_ALT_FORECAST.format(**end)}"
    return said


def _plot(title: str, figure: Figure, alt: str, *, note: str = "") -> Plot:
    return Plot(title, _svg(figure_bytes(figure, "svg")), alt, note)


def _svg(data: bytes) -> str:
    return data_address(data, "image/svg+xml")


def _of_point(season: Season, point: PointReview, alone: str, named: str) -> str:
    return alone if len(season.points) == 1 else named.format(point=clean(point.name))


def _ground_plot(season: Season, point: PointReview, drawn: Drawn) -> Plot:
    names = ", ".join(clean(zone.name, most=40) for zone in point.zones[:12])
    name, draw = figures.ground_name(season, point.name), partial(ground_map_figure, season, point)
    address = data_address(drawn.bytes_of(name, "png", draw), "image/png")
    title = _of_point(season, point, sentences.WHERE_ZONES_LIE, sentences.ZONES_OF)
    return Plot(title, address, sentences.GROUND_MAP_ALT.format(zones=names))


def _sure_lines(season: Season) -> list[str]:
    finite = [c.cover for c in season.covers if math.isfinite(c.cover.view_deg)]
    lines = []
    if finite:
        view = mean_view(finite)
        half = np.mean([(c.high_pct - c.low_pct) / 2 for c in finite])
        angle = sentences.VIEW_ANGLE.format(view=view)
        lines.append(f"{angle} {sentences.VIEW_STEEP}" if view > 55 else angle)
        lines.append(sentences.INTERVAL.format(half=half))
    for point in season.points:
        value, alone = point.threshold, len(season.points) == 1
        fields = {"value": value.value, "source": value.source, "low": value.low, "high": value.high}
        template = sentences.THRESHOLD if alone else sentences.THRESHOLD_AT
        lines.append(template.format(point=clean(point.name), **fields))
        if point.zones_are_patches:
            template = sentences.PATCHES if alone else sentences.PATCHES_AT
            lines.append(template.format(point=clean(point.name)))
    lines.extend((*noted_lines(season.points), *counted_lines(season.points)))
    lines.append(season.outlook.first_mow.footnote)
    lines.append(sentences.TIME_AXIS.format(method=season.outlook.axis_method))
    return lines

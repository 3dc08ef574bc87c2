"""A zone, a spot and a photo in words, each written once: report, terminal and page lay out what stands here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from swardmark.common.phrases import DateForm, percent
from swardmark.common.text import clean
from swardmark.common.units import format_area, format_depth
from swardmark.lawn.toml import Lawn
from swardmark.measure.points import ZoneCover
from swardmark.measure.sentences import PATCHES
from swardmark.relevel import advice
from swardmark.relevel.why import why_of
from swardmark.words import sentences
from swardmark.words.phrases import day_text, full_text, gain_text, mow_text, percent_text

if TYPE_CHECKING:
    from swardmark.canopy.cover import Cover
    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.record.store import Entry
    from swardmark.relevel.planning import SpotPlan
    from swardmark.season import Season

SIGNS = {
    "filling in": "↗", "slow": "→", "stalled": "■", "losing ground": "↘", "full": "●", "too early to say": "○",
}  # fmt: skip


@dataclass(frozen=True)
class ZoneWords:
    """One zone's outlook in words; `point` is empty where the lawn has one photo point only."""

    name: str
    point: str
    status: str
    sign: str
    cover: str
    gain: str
    mow: str
    full: str
    chance: str
    area: str
    why: str
    look_for: str
    flagged: bool


@dataclass(frozen=True)
class SpotWords:
    """One spot of the re-level plan in words."""

    number: str
    where: str
    area: str
    cover: str
    depth: str
    sand: str
    passes: str
    priority: str
    when: str
    why: str
    is_chosen: bool


@dataclass(frozen=True)
class Row:
    """One row of a table; `small` stands beside its first cell, `kind` is its class in the style sheet."""

    cells: tuple[str, ...]
    small: str = ""
    kind: str = ""


def zone_words(zone: ZoneOutlook, season: Season, *, name: str = "") -> ZoneWords:
    """Return a zone's outlook in words, under another name if one is given."""
    units = season.lawn.units
    return ZoneWords(
        name=name or clean(zone.zone),
        point="" if len(season.points) == 1 or zone.point == "all" else clean(zone.point),
        status=zone.status,
        sign=SIGNS[zone.status],
        cover=percent_text(zone.cover_pct),
        gain=gain_text(zone.gain_pct_per_day),
        mow=mow_text(zone, season.lawn.date_form, as_of=season.as_of),
        full=full_text(zone, season.lawn.date_form, as_of=season.as_of),
        chance=percent(zone.chance_full_by_day28),
        area=format_area(zone.area_m2, units=units),
        why=f"{zone.why} {zone.ahead}".strip(),
        look_for=zone.look_for,
        flagged=zone.flagged,
    )


def zones_in_words(season: Season, zones: Sequence[ZoneOutlook] | None = None) -> list[ZoneWords]:
    """Return the zones in words, then the whole lawn, and the lawn without the flagged zones where that differs."""
    outlook = season.outlook
    rows = [zone_words(zone, season) for zone in (outlook.zones if zones is None else zones)]
    if len(outlook.zones) > 1:
        rows.append(zone_words(outlook.whole, season))
    if outlook.whole_without_flagged is not None:
        rows.append(zone_words(outlook.whole_without_flagged, season, name=sentences.WITHOUT_FLAGGED))
    return rows


def spot_words(item: SpotPlan, lawn: Lawn) -> SpotWords:
    """Return a spot in words."""
    spot = item.spot
    return SpotWords(
        number=str(spot.number),
        where=advice.where_is(item, lawn),
        area=format_area(spot.area_m2, units=lawn.units),
        cover=sentences.GREEN if item.is_green else percent_text(spot.cover_pct),
        depth=sentences.MEASURE_IT
        if item.needs_measuring or item.depth_mm is None
        else format_depth(float(round(item.depth_mm)), units=lawn.units),
        sand=advice.sand_of(item, lawn),
        passes=str(item.passes),
        priority="" if item.priority is None else str(item.priority),
        when=_when(item),
        why=why_of(item, units=lawn.units),
        is_chosen=bool(item.passes_now),
    )


def status_row(words: ZoneWords, *, kind: str = "") -> Row:
    """Return a zone's row of the report's table."""
    cells = (
        words.name, f"{words.sign} {words.status}", words.cover, words.gain, words.mow, words.full, words.chance,
        words.area, words.why,
    )  # fmt: skip
    return Row(cells, words.point, kind)


def spot_row(item: SpotPlan, season: Season) -> Row:
    """Return a spot's row of the report's table."""
    words = spot_words(item, season.lawn)
    cells = (
        sentences.SPOT.format(number=words.number), words.where, words.area, words.cover, words.depth, words.sand,
        words.passes, words.priority, words.why,
    )  # fmt: skip
    return Row(cells, "" if len(season.points) == 1 else clean(item.spot.point))


def covers_by_photo(season: Season) -> dict[tuple[str, str], list[ZoneCover]]:
    """Return the covers of each photo, by photo point and name."""
    groups: dict[tuple[str, str], list[ZoneCover]] = {}
    for row in season.covers:
        groups.setdefault((row.point, row.photo), []).append(row)
    return groups


def mean_view(covers: Sequence[Cover]) -> float:
    """Return the mean angle of view from the vertical over the ground of covers [degrees]."""
    return float(np.average([c.view_deg for c in covers], weights=[max(c.area_m2, 1e-9) for c in covers]))


def photo_row(entry: Entry, covers: Sequence[ZoneCover], *, dates: DateForm) -> Row:
    """Return what the measuring of one photo rests on."""
    seen = [row.cover for row in covers if math.isfinite(row.cover.view_deg)]
    assert entry.taken_at is not None
    square, error = entry.facts.square, entry.facts.error_px
    if math.isfinite(error):
        square = sentences.SQUARE_WITH_MISFIT.format(square=square, error=error)
    cells = (
        clean(entry.name, most=60),
        day_text(entry.taken_at.date(), dates),
        entry.taken_from,
        sentences.VIEW.format(degrees=mean_view(seen)) if seen else "",
        percent_text(float(np.mean([row.cover.readable_pct for row in covers]))) if covers else "",
        square,
        clean("; ".join(_notes(entry, covers))),
    )
    return Row(cells)


def _when(item: SpotPlan) -> str:
    if item.passes_now:
        whole = sentences.COMING_SEASON if item.passes == 1 else sentences.COMING_SEASON_ALL
        template = whole if item.passes_now == item.passes else sentences.COMING_SEASON_PART
        return template.format(now=item.passes_now, passes=item.passes)
    if item.season:
        return sentences.LATER_SEASON
    return sentences.BEYOND_A_SEASON if item.passes else sentences.NO_SAND


def _notes(entry: Entry, covers: Sequence[ZoneCover]) -> tuple[str, ...]:
    """Return what was odd about a photo: the notes that all its zones share, besides that of named patches."""
    own = [set(row.notes) for row in covers] or [set(entry.facts.notes)]
    shared = set.intersection(*own)
    first = covers[0].notes if covers else entry.facts.notes
    return tuple(note for note in dict.fromkeys(first) if note in shared and note != PATCHES)

"""The rows of the report's tables: zones, spots and photos in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from swardmark.common.text import clean
from swardmark.common.units import format_area, format_depth
from swardmark.relevel import advice
from swardmark.words.phrases import chance_text, day_text, full_text, gain_text, mow_text, percent_text

if TYPE_CHECKING:
    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.measure.points import ZoneCover
    from swardmark.record.store import Entry
    from swardmark.relevel.planning import SpotPlan
    from swardmark.season import Season

SIGNS = {
    "filling in": "↗", "slow": "→", "stalled": "■", "losing ground": "↘", "full": "●", "too early to say": "○",
}  # fmt: skip
STATUS_HEADS = (
    "Zone", "Status", "Cover", "Gained", "Cover for the first mow", "Full", "Chance full by day 28", "Area", "Why",
)  # fmt: skip
SPOT_HEADS = ("Number", "Where", "Area", "Cover", "Dip", "Sand", "Passes", "Priority", "Why")
PHOTO_HEADS = ("Photo", "Taken", "Date from", "View from the vertical", "Readable", "Square", "Notes")
PATCHES_NOTE = "zones are named patches"


@dataclass(frozen=True)
class Row:
    """One row of a table; `small` stands beside its first cell, `kind` is its class in the style sheet."""

    cells: tuple[str, ...]
    small: str = ""
    kind: str = ""


def status_row(zone: ZoneOutlook, season: Season, *, name: str = "", kind: str = "") -> Row:
    """Return a zone's row of the status table, under another name if one is given."""
    units = season.lawn.units
    cells = (
        name or clean(zone.zone),
        f"{SIGNS[zone.status]} {zone.status}",
        percent_text(zone.cover_pct),
        gain_text(zone.gain_pct_per_day),
        mow_text(zone, units),
        full_text(zone, units),
        chance_text(zone.chance_full_by_day28),
        format_area(zone.area_m2, units=units),
        zone.why,
    )
    point = "" if len(season.points) == 1 or zone.point == "all" else clean(zone.point)
    return Row(cells, point, kind)


def spot_row(item: SpotPlan, season: Season) -> Row:
    """Return a spot's row of the re-level table."""
    lawn, spot = season.lawn, item.spot
    depth = "measure it" if item.depth_mm is None else format_depth(item.depth_mm, units=lawn.units)
    cells = (
        f"spot {spot.number}",
        advice.where_is(item, lawn),
        format_area(spot.area_m2, units=lawn.units),
        percent_text(spot.cover_pct),
        depth,
        advice.sand_of(item, lawn),
        str(item.passes),
        "" if item.priority is None else str(item.priority),
        advice.why_of(item, units=lawn.units),
    )
    return Row(cells, "" if len(season.points) == 1 else clean(spot.point))


def covers_by_photo(season: Season) -> dict[tuple[str, str], list[ZoneCover]]:
    """Return the covers of each photo, by photo point and name."""
    groups: dict[tuple[str, str], list[ZoneCover]] = {}
    for row in season.covers:
        groups.setdefault((row.point, row.photo), []).append(row)
    return groups


def photo_row(entry: Entry, covers: Sequence[ZoneCover], *, units: str) -> Row:
    """Return what one photo's measuring rests on."""
    seen = [row.cover.view_deg for row in covers if math.isfinite(row.cover.view_deg)]
    assert entry.taken_at is not None
    error = f", misfit {entry.facts.error_px:.1f} px" if math.isfinite(entry.facts.error_px) else ""
    cells = (
        clean(entry.name, most=60),
        day_text(entry.taken_at.date(), units),
        entry.taken_from,
        f"{np.mean(seen):.0f}°" if seen else "",
        f"{np.mean([row.cover.readable_pct for row in covers]):.0f} %" if covers else "",
        f"{entry.facts.square}{error}",
        clean("; ".join(_notes(entry, covers))),
    )
    return Row(cells)


def _notes(entry: Entry, covers: Sequence[ZoneCover]) -> tuple[str, ...]:
    """Return what was odd about a photo: the notes that all its zones share, besides that of named patches."""
    own = [set(row.notes) for row in covers] or [set(entry.facts.notes)]
    shared = set.intersection(*own)
    first = covers[0].notes if covers else entry.facts.notes
    return tuple(note for note in dict.fromkeys(first) if note in shared and note != PATCHES_NOTE)

"""One photo point drawn together: its maps, its one threshold, its zones, and every zone's cover in every photo."""

from __future__ import annotations

import datetime as dt
from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, TypeVar

import numpy as np

from swardmark.canopy.blades import Edges
from swardmark.canopy.cells import CELL_M
from swardmark.canopy.cover import LEAST_SHARE, Cover, speaking_for
from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import BLADE_MM, LeafScale, leaf_scale
from swardmark.common.crew import ALONE, Crew
from swardmark.lawn.counts import read_counts
from swardmark.lawn.toml import REST_OF_LAWN, Lawn, Zone
from swardmark.measure import sentences
from swardmark.measure.check import against_history, kept_findings
from swardmark.measure.counting import CountedCover, counted_at, refitted
from swardmark.measure.lawn_ground import LawnGround
from swardmark.measure.odd import Noted, OddGround, noted_photos
from swardmark.measure.zonal import PointNumbers
from swardmark.photo.findings import Finding
from swardmark.record.facts import pooled_counts
from swardmark.record.store import Entry, Record

T = TypeVar("T")
LEAST_SANDS = 3
"""Photos that show sand from which on one of them can be called darker than the others."""


@dataclass(frozen=True)
class ZoneCover:
    """The cover of one zone in one photo: a row of cover.csv."""

    taken_at: dt.datetime
    photo: str
    point: str
    zone: str
    day: int
    cover: Cover
    threshold: float
    notes: tuple[str, ...] = ()


class GroundPart(NamedTuple):
    """A part of the lawn: its name, and its ground in view that is no other part's, square meters."""

    name: str
    area_m2: float


@dataclass(frozen=True, eq=False)
class PointReview:
    """One photo point: its photos, maps and zones.

    Attributes
    ----------
    entries : tuple of Entry
        The measured photos, oldest first.
    maps : sequence of GroundMap
        Their ground maps, each read from the record when it is used.
    zones : tuple of Zone
        The keeper's zones, or the named patches.
    zones_are_patches : bool
        Whether the zones are the tool's own named patches.
    ground : LawnGround or None
        Which ground is lawn; None where the zones are all that is known.
    counted : tuple of CountedCover
        What was counted by eye on its photos, beside what this scale measures.
    noted : tuple of Noted
        The photos with something odd on their ground, oldest first.
    """

    name: str
    side_m: float
    entries: tuple[Entry, ...]
    maps: Sequence[GroundMap]
    threshold: LeafScale
    zones: tuple[Zone, ...]
    zones_are_patches: bool
    ground: LawnGround | None = None
    counted: tuple[CountedCover, ...] = ()
    noted: tuple[Noted, ...] = ()

    @property
    def parts(self) -> tuple[GroundPart, ...]:
        """The parts of the lawn at this photo point: its zones, then the rest where there is any."""
        if self.ground is None:
            return tuple(GroundPart(zone.name, zone.area_m2) for zone in self.zones)
        rest = [GroundPart(REST_OF_LAWN, self.ground.rest_m2)] if self.ground.has_rest else []
        own = zip(self.zones, self.ground.zones_m2, strict=True)
        return (*(GroundPart(zone.name, area_m2) for zone, area_m2 in own), *rest)


def read_point(
    lawn: Lawn, record: Record, entries: Sequence[Entry], *, keep: bool = True, crew: Crew = ALONE
) -> tuple[PointReview, list[ZoneCover]]:
    """Draw one photo point together from its measured photos, oldest first.

    Parameters
    ----------
    lawn : Lawn
        The keeper's lawn.
    record : Record
        Where the maps are, and what was computed of them before.
    entries : sequence of Entry
        The photos, at least one.
    keep : bool
        Keep what had to be computed, in the place of what was kept; not wanted where photos were left out.
    crew : Crew
        Who works on the maps.
    """
    numbers, point = PointNumbers(record, entries, crew), entries[0].point
    side_m, zones = lawn.side_of(point), lawn.zones_of(point)
    scale = leaf_scale(
        pooled_counts(entries, record=record.path),
        full_index=[entry.facts.full_index for entry in entries],
        closed=[entry.facts.closed for entry in entries],
        leaf_light=[entry.facts.leaf_light for entry in entries],
        edges=[Edges(*entry.facts.leaf_edges) for entry in entries],
        footprint_mm=_footprint_mm(entries),
        setting=lawn.measure.threshold,
    )
    shown = zones or numbers.patches(side_m)
    ground = numbers.ground(shown, scale, outline_m=lawn.lawn_outline_m, drawn=bool(zones))
    place = PointReview(point, side_m, tuple(entries), numbers.maps, scale, shown, not zones, ground)
    counts = [count for count in read_counts(lawn.folder) if count.point == point]
    if counts:
        place = refitted(place, counts)
        place, scale = replace(place, counted=counted_at(place, counts)), place.threshold
    measured = numbers.covers(shown, scale, ground, drawn=bool(zones))
    window, cells, found = numbers.odd(scale)
    if keep:
        numbers.keep()
    rest = (
        ground.rest_cells(shown, window, CELL_M, lawn.measure.point_spacing_mm / 1000) if any(found) else None
    )
    odd = OddGround(window, found, shown, rest, cells=cells, slant=scale.slant)
    names = [part.name for part in place.parts]
    place = replace(place, noted=noted_photos(entries, odd, findings_of(entries), names))
    return place, _rows(lawn, place, measured, odd)


def _rows(
    lawn: Lawn, point: PointReview, measured: Sequence[Sequence[Cover]], odd: OddGround
) -> list[ZoneCover]:
    """Return a photo point's rows of cover.csv: photo by photo, zone by zone."""
    patches = (sentences.PATCHES,) if point.zones_are_patches else ()
    found, rows = findings_of(point.entries), []
    first = min(entry.taken_at.date() for entry in point.entries if entry.taken_at)
    for number, entry in enumerate(point.entries):
        assert entry.taken_at is not None
        day = day_number(lawn, entry.taken_at.date(), first=first)
        notes = (*entry.facts.notes, *(finding.name for finding in found[number]), *patches)
        for at, (part, covers) in enumerate(zip(point.parts, measured, strict=True)):
            own, said = odd.allowed_for(covers[number], photo=number, zone=at)
            seen = (*notes, *said) if own.points else (*notes, sentences.NOT_IN_VIEW)
            share = own.area_m2 / part.area_m2 if part.area_m2 else 1.0
            if own.points and share < LEAST_SHARE and not point.zones_are_patches:
                own, seen = speaking_for(own, share), (*seen, sentences.STRIP.format(share=share))
            scale = point.threshold.value
            rows.append(ZoneCover(entry.taken_at, entry.name, point.name, part.name, day, own, scale, seen))
    return rows


def _footprint_mm(entries: Sequence[Entry]) -> float:
    """Return how much ground a pixel of the photo point's photos sees; that of mixed pixels where unknown."""
    known = [entry.facts.footprint_mm for entry in entries if np.isfinite(entry.facts.footprint_mm)]
    return float(np.median(known)) if known else BLADE_MM


def findings_of(entries: Sequence[Entry]) -> list[tuple[Finding, ...]]:
    """Return what was found wanting in each photo of a photo point, by itself and against the others.

    Sharpness is held against the photos before; the light of the sand against all, so that a first photo on soaked sand
    is told once drier ones follow.
    """
    sharp, sand, findings = PastMedian(), PastMedian(), []
    for entry in entries:
        sand.add(entry.facts.sand_light)
    for facts in (entry.facts for entry in entries):
        odd = against_history(
            facts.sharpness,
            facts.sand_light,
            history=sharp.middle(),
            sand_history=sand.middle() if sand.count >= LEAST_SANDS else (),
        )
        findings.append((*kept_findings(facts.findings), *odd))
        sharp.add(facts.sharpness)
    return findings


class PastMedian:
    """The middle of a growing list; what no median is taken of (NaN, 0 and below) is left out."""

    def __init__(self) -> None:
        self._sorted: list[float] = []

    def add(self, value: float) -> None:
        """Add a value."""
        if np.isfinite(value) and value > 0:
            insort(self._sorted, value)

    @property
    def count(self) -> int:
        """How many values it holds."""
        return len(self._sorted)

    def middle(self) -> list[float]:
        """Return the two or three values in the middle, which have the median of all; fewer if there are no more."""
        half = (len(self._sorted) - 1) // 2
        return (
            self._sorted[half : half + 2]
            if len(self._sorted) % 2 == 0
            else self._sorted[max(half - 1, 0) : half + 2]
        )


def day_number(lawn: Lawn, day: dt.date, *, first: dt.date) -> int:
    """Count days since the leveling before `day`; before the first leveling the count is negative.

    Where lawn.toml names no leveling, days count from `first`, the photo point's first photo.
    """
    dates = lawn.leveling_dates
    zero = lawn.leveled_before(day) or (dates[0] if dates else first)
    return (day - zero).days


def by_zone(covers: Sequence[ZoneCover]) -> dict[tuple[str, str], tuple[ZoneCover, ...]]:
    """Gather covers by photo point and zone, in the order given."""
    gathered: dict[tuple[str, str], list[ZoneCover]] = {}
    for cover in covers:
        gathered.setdefault((cover.point, cover.zone), []).append(cover)
    return {key: tuple(rows) for key, rows in gathered.items()}


def evenly(items: Sequence[T], most: int) -> tuple[T, ...]:
    """Return at most `most` items at even distances, always the first and the last."""
    if len(items) <= most:
        return tuple(items)
    chosen = np.unique(np.linspace(0, len(items) - 1, most).round().astype(int))
    return tuple(items[i] for i in chosen)

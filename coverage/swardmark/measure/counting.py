"""Counting by eye on a measured lawn: points to show, and what the answers in counts.csv say beside the tool.

A count is of what the photo shows (the seen cover). A photo of a zone taken straight down on the same day shows the
cover itself, so that a count of it sets the slant step right, too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.counted import (
    CountedDown,
    CountedGround,
    fitted_to_counts,
    slant_fitted_to_counts,
)
from swardmark.canopy.cover import Cover, zone_cover
from swardmark.canopy.index import FIRST_VALUE, GroundMap, Window
from swardmark.common.errors import UsageError
from swardmark.ground.homography import apply
from swardmark.lawn.counts import LEAF, Count
from swardmark.lawn.toml import REST_OF_LAWN, WHOLE_LAWN, Zone
from swardmark.measure.eye import Answer, EyeCover, count_cover, draw_points
from swardmark.measure.zonal import view_angles
from swardmark.measure.zone_points import ZonePoints, zone_points
from swardmark.record.store import Entry

if TYPE_CHECKING:
    from swardmark.measure.covers import LawnCovers
    from swardmark.measure.points import PointReview

POWER_STEP = 0.1
"""Step of the slant step's power by which its effect on a zone is felt."""
LEAST_TOLD = 20
"""Fewer counted points give no estimate worth printing."""


@dataclass(frozen=True)
class ShownPoint:
    """A point to be counted: where it lies on the ground and in the photo, how it was drawn, the tool's leaf share."""

    x_m: float
    y_m: float
    x_px: float
    y_px: float
    stratum: str
    chance: float
    tool: float = float("nan")


@dataclass(frozen=True)
class CountedCover:
    """The cover of a piece of ground in one photo, counted by eye and measured.

    Of a photo taken straight down (`is_straight_down`), the measured cover beside it is that of the whole zone in the
    photo of the lawn, turned to straight down.
    """

    photo: str
    point: str
    zone: str
    cover: EyeCover
    is_straight_down: bool = False


def points_to_count(
    covers: LawnCovers, *, photo: str = "", zone: str = "", points: int = 100, seed: int = 1
) -> tuple[Entry, tuple[ShownPoint, ...]]:
    """Draw points of the measured ground of a photo, to be counted by eye.

    Parameters
    ----------
    covers : LawnCovers
        The measured lawn.
    photo : str
        The photo's name; by default the newest one.
    zone : str
        Only points of that zone; by default of all measured ground in the photo.
    points : int
        How many.
    seed : int
        The same seed draws the same points.

    Raises
    ------
    UsageError
        There is no such photo or zone, or too little of it is seen.
    """
    place, number = _photo_of(covers, photo, zone)
    entry, ground_map = place.entries[number], place.maps[number]
    rows, cols = np.nonzero(_inside(place, ground_map, zone))
    if len(rows) < points:
        what = f"only {len(rows)} points of {zone or 'the lawn'} are readable in {entry.name}"
        raise UsageError(what, where="count", remedy="Count fewer points, or another photo")
    shares = _leaf_shares(place, ground_map)[rows, cols]
    drawn = draw_points(shares, points=points, seed=seed)
    at = np.array([draw.at for draw in drawn])
    ground = np.column_stack([ground_map.x_m[cols[at]], ground_map.y_m[rows[at]]])
    pixels = places_in(entry, ground)
    shown = (
        ShownPoint(float(x), float(y), float(u), float(v), draw.stratum, draw.chance, float(shares[draw.at]))
        for (x, y), (u, v), draw in zip(ground, pixels, drawn, strict=True)
    )
    return entry, tuple(shown)


def places_in(entry: Entry, ground: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where points of the ground, shape (N, 2), lie in a photo, pixels; those just beyond its rim lie on it."""
    return np.maximum(apply(np.reshape(entry.facts.to_photo, (3, 3)), ground), 0.0)


def tool_mean_of(covers: LawnCovers, *, photo: str, zone: str = "") -> float:
    """Return the mean of the tool's leaf share over all points that a round draws from, 0..1."""
    place, number = _photo_of(covers, photo)
    ground_map = place.maps[number]
    return float(_leaf_shares(place, ground_map)[_inside(place, ground_map, zone)].mean())


def counted_covers(covers: LawnCovers, counts: Sequence[Count]) -> tuple[CountedCover, ...]:
    """Estimate the cover of every photo and zone that was counted by eye, in the order of the photos.

    Counts of photos that are not measured (any more) and those with too few answers are left out.
    """
    return tuple(
        one
        for place in covers.points
        for one in (*counted_at(place, counts), *_straight_down(covers, place, counts))
    )


def counted_at(place: PointReview, counts: Sequence[Count]) -> tuple[CountedCover, ...]:
    """Estimate what was counted on the lawn's own photos at one photo point."""
    return tuple(
        CountedCover(place.entries[number].name, place.name, zone or WHOLE_LAWN, cover)
        for number, zone, cover, _ in _counted(place, counts)
    )


def _straight_down(covers: LawnCovers, place: PointReview, counts: Sequence[Count]) -> list[CountedCover]:
    """Estimate what was counted on photos taken straight down, by the answers alone, beside the zone's own cover."""
    found = []
    for part in place.parts:
        for row in covers.covers_of(place.name, part.name):
            cover = _down_cover(counts, row.photo, part.name) if row.cover.points else None
            if cover is not None:
                beside = replace(cover, tool_pct=row.cover.cover_pct)
                found.append(CountedCover(row.photo, place.name, part.name, beside, is_straight_down=True))
    return found


def refitted(place: PointReview, counts: Sequence[Count]) -> PointReview:
    """Return a photo point with its scale and its slant step re-fitted to all its counts.

    The keeper's own threshold stays as it is.
    """
    if place.threshold.source != "keeper":
        place = replace(place, threshold=fitted_to_counts(place.threshold, _counted_grounds(place, counts)))
    down = _counted_down(place, counts)
    return replace(place, threshold=slant_fitted_to_counts(place.threshold, down))


def _counted_grounds(place: PointReview, counts: Sequence[Count]) -> list[CountedGround]:
    grounds = []
    for number, _, cover, inside in _counted(place, counts):
        values = np.bincount(place.maps[number].values[inside], minlength=256)[FIRST_VALUE:]
        sd = _sd(cover.low_pct, cover.high_pct)
        grounds.append(CountedGround(values, cover.cover_pct / 100, sd, cover.points))
    return grounds


def _counted_down(place: PointReview, counts: Sequence[Count]) -> list[CountedDown]:
    """Return what was counted on photos taken straight down, beside the slant step's cover of the zone that day."""
    found = []
    numbers = {entry.name: number for number, entry in enumerate(place.entries)}
    zones = {part.name for part in place.parts}
    for photo, zone in dict.fromkeys((c.photo, c.zone) for c in counts if c.is_straight_down):
        counted = _down_cover(counts, photo, zone) if photo in numbers and zone in zones else None
        if counted is None:
            continue
        low, here, high = _by_power(place, numbers[photo], zone)
        if here.points:
            found.append(
                CountedDown(
                    cover=counted.cover_pct / 100,
                    sd=_sd(counted.low_pct, counted.high_pct),
                    measured=here.cover_pct / 100,
                    measured_sd=_sd(here.low_pct, here.high_pct),
                    per_power=(high.cover_pct - low.cover_pct) / 100 / (2 * POWER_STEP),
                    points=counted.points,
                )
            )
    return found


def _by_power(place: PointReview, number: int, zone: str) -> list[Cover]:
    """Return a zone's cover in a photo by a power of the slant step a little lower, its own, and a little higher."""
    ground_map, scale = place.maps[number], place.threshold
    inside, view = _inside(place, ground_map, zone), view_angles(ground_map, place.entries[number])
    scales = (replace(scale, slant=scale.slant + turn * POWER_STEP, slant_sd=0.0) for turn in (-1, 0, 1))
    return [zone_cover(ground_map, inside, scale=one, view_deg=view) for one in scales]


def _sd(low_pct: float, high_pct: float) -> float:
    """Return the standard error of which a 95 % interval tells, as a share 0..1."""
    return (high_pct - low_pct) / 100 / (2 * 1.96)


def _down_cover(counts: Sequence[Count], photo: str, zone: str) -> EyeCover | None:
    """Estimate what was counted on the photos taken straight down of a zone on a photo's day, by the answers alone."""
    own = [c for c in counts if c.is_straight_down and (c.photo, c.zone) == (photo, zone)]
    answers = [_answer(lines, 0.0) for lines in _by_place(own)]
    if sum(answer.leaf is not None for answer in answers) < LEAST_TOLD:
        return None
    return count_cover(answers, tool_mean=0.0)


def _counted(
    place: PointReview, counts: Sequence[Count]
) -> list[tuple[int, str, EyeCover, NDArray[np.bool_]]]:
    """Return what was counted at a photo point: photo by number, zone, estimate, and where its points lie."""
    groups: dict[tuple[str, str], list[Count]] = {}
    for count in counts:
        if not count.is_straight_down and count.zone in ("", *(part.name for part in place.parts)):
            groups.setdefault((count.photo, count.zone), []).append(count)
    found = []
    for number, entry in enumerate(place.entries):
        for (photo, zone), own in groups.items():
            if photo == entry.name:
                ground_map = place.maps[number]
                inside = _inside(place, ground_map, zone)
                answers = _answers(own, _leaf_shares(place, ground_map), inside, ground_map)
                if sum(answer.leaf is not None for answer in answers) >= LEAST_TOLD:
                    mean = float(_leaf_shares(place, ground_map)[inside].mean())
                    found.append((number, zone, count_cover(answers, tool_mean=mean), inside))
    return found


def _answers(
    counts: Sequence[Count], shares: NDArray[np.float64], inside: NDArray[np.bool_], ground_map: GroundMap
) -> list[Answer]:
    answers = []
    for lines in _by_place(counts):
        row = round(float(lines[0].y_m or 0) / ground_map.spacing_m) - ground_map.row0
        col = round(float(lines[0].x_m or 0) / ground_map.spacing_m) - ground_map.col0
        if 0 <= row < shares.shape[0] and 0 <= col < shares.shape[1] and inside[row, col]:
            answers.append(_answer(lines, float(shares[row, col])))
    return answers


def _by_place(counts: Sequence[Count]) -> list[list[Count]]:
    places: dict[tuple[object, ...], list[Count]] = {}
    for count in counts:
        places.setdefault(count.place, []).append(count)
    return list(places.values())


def _answer(lines: Sequence[Count], tool: float) -> Answer:
    """Return what was said of one point: the first answer that could be told, and those after it."""
    first, told = lines[0], [line.said == LEAF for line in lines if line.said != "cannot tell"]
    return Answer(first.stratum, first.chance, told[0] if told else None, tool, tuple(told[1:]))


def _photo_of(covers: LawnCovers, photo: str, zone: str = "") -> tuple[PointReview, int]:
    """Return a photo's point and number; by default the newest, of a photo point that has the zone where one has."""
    with_zone = [place for place in covers.points if zone in (part.name for part in place.parts)]
    places = covers.points if photo else with_zone or covers.points
    every = [(place, n) for place in places for n in range(len(place.entries))]
    if not photo:
        return max(every, key=lambda one: str(one[0].entries[one[1]].taken_at))
    for place, number in every:
        if place.entries[number].name == photo:
            return place, number
    known = ", ".join(place.entries[n].name for place, n in every[-3:])
    raise UsageError(f"no measured photo {photo!r}", where="--photo", remedy=f"The newest are: {known}")


def _inside(place: PointReview, ground_map: GroundMap, zone: str) -> NDArray[np.bool_]:
    """Tell which readable points of a map belong to a zone, to the rest, or to the lawn where no zone is named."""
    height, width = ground_map.values.shape
    window = (ground_map.row0, ground_map.col0, height, width)

    def points(zone: Zone, window: Window) -> ZonePoints:
        return zone_points(zone, spacing_m=ground_map.spacing_m, within=window)

    if zone in ("", WHOLE_LAWN, REST_OF_LAWN) and place.ground is not None:
        lawn = place.ground.lawn
        frame = (lawn.row0, lawn.col0, *lawn.inside.shape)
        zones = [points(one, frame) for one in place.zones]
        part = place.ground.rest(zones) if zone == REST_OF_LAWN else lawn
    else:
        named = [one for one in place.zones if one.name == zone]
        if not named:
            known = ", ".join(part.name for part in place.parts)
            raise UsageError(f"no zone {zone!r}", where="--zone", remedy=f"The zones are: {known}")
        part = points(named[0], window)
    rows, cols, inside = part.part_of(ground_map)
    mask = np.zeros((height, width), bool)
    mask[rows, cols] = inside
    return mask & ground_map.is_readable


def _leaf_shares(place: PointReview, ground_map: GroundMap) -> NDArray[np.float64]:
    """Return the leaf share of every point of a map; noise takes it beyond 0 and 1. 0 where it was not read."""
    return np.asarray(place.threshold.shares_of_values()[ground_map.values])

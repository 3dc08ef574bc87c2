"""Lawn and heights to LevelReview: everything that the command, the report and the re-level plan read of level ground.

Three ways of measuring are known, by what they give. Heights above one datum give a map (cutfill.py). Layings of the
straightedge give the sand of the lawn without a map (straightedge.py). A hollow's deepest point and width, or the
outlines of its puddle, give that hollow (shapes.py). Each speaks of its newest day; the map of an earlier day says what
the leveling between did.

How a source of heights is added: measure `swardmark.lawn.heights.Heights` of one photo point and one day, above any one
datum, with a `how` of your own and an honest standard error for each height, and hand them to `level_review` as `more`.
Sources of one point and one day are fitted together, each with its own datum, and with a tilt of its own where it does
not know the fall (joining.py has what each does not know); nothing else needs to know of them. What is read below a
straightedge is no height above a datum and stays in heights.csv.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from swardmark.common.phrases import plural
from swardmark.lawn.heights import (
    TILTLESS_HOWS,
    HeightReading,
    Heights,
    read_heights,
    surface_heights,
)
from swardmark.lawn.level_notes import Puddle
from swardmark.lawn.toml import Lawn
from swardmark.level import sentences
from swardmark.level.cutfill import LEAST_READINGS, CutFill, cut_and_fill
from swardmark.level.ground import Fall
from swardmark.level.joining import joinable
from swardmark.level.remeasure import NOTHING, Volume
from swardmark.level.shapes import bowl_volume, puddle_volume
from swardmark.level.straightedge import StraightedgeEstimate, straightedge_estimates

DRYING_DAYS = 14
"""Outlines of one name that lie further apart are of another rain, or of another year."""


@dataclass(frozen=True)
class Hollow:
    """A hollow known by its deepest point and its size alone.

    Attributes
    ----------
    name : str
        Name of the puddle, or the place's number on the sheet.
    x_m, y_m : float
        Its middle, or where it is deepest, in meters.
    area_m2, deepest_mm : float
        Area in square meters, depth in millimeters.
    volume : Volume
        Fill with its interval.
    how : str
        deepest or puddle.
    """

    date: dt.date
    point: str
    name: str
    x_m: float
    y_m: float
    area_m2: float
    deepest_mm: float
    volume: Volume
    how: str


@dataclass(frozen=True, eq=False)
class LevelReview:
    """How level a lawn is.

    Attributes
    ----------
    maps : tuple of CutFill
        The newest map of each photo point.
    before : tuple of CutFill
        For each of them the map to compare with: the newest from before the last leveling between two maps.
    layings : tuple of StraightedgeEstimate
        The newest straightedge day of each photo point.
    hollows : tuple of Hollow
        Hollows measured singly that lie on no map.
    unfinished : tuple of str
        Why the heights of a day make no map yet, a sentence for each.
    as_of : date or None
        The day that is spoken of; None is today.
    """

    lawn: Lawn
    maps: tuple[CutFill, ...]
    before: tuple[CutFill, ...]
    layings: tuple[StraightedgeEstimate, ...]
    hollows: tuple[Hollow, ...]
    unfinished: tuple[str, ...] = ()
    as_of: dt.date | None = None

    @property
    def current(self) -> tuple[CutFill, ...]:
        """The maps that no sand was laid on since they were measured."""
        return tuple(filter(self.is_current, self.maps))

    def is_current(self, one: CutFill) -> bool:
        """Whether no sand was laid on a map's ground since it was measured."""
        return self.sand_after(one.date, one.hows) is None

    @property
    def outdated(self) -> tuple[tuple[dt.date, dt.date], ...]:
        """Days on which was measured what sand has changed since, each with the day of that sand; oldest first."""
        measured = [(one.date, one.hows) for one in self.maps]
        measured += [(one.date, ()) for one in self.layings] + [(one.date, ()) for one in self.hollows]
        found = {(day, sand) for day, hows in measured if (sand := self.sand_after(day, hows)) is not None}
        return tuple(sorted(found))

    def sand_after(self, measured: dt.date, hows: Collection[str] = ()) -> dt.date | None:
        """Return the last day before the review's on which sand was laid on what had been measured; None without."""
        today = self.as_of or dt.date.today()
        sand = [day for day in self.lawn.leveling_dates if day < today and _lacks(measured, hows, day)]
        return max(sand, default=None)

    @property
    def is_empty(self) -> bool:
        """Whether nothing was measured."""
        return not (self.maps or self.layings or self.hollows)

    @property
    def fill(self) -> Volume | None:
        """Sand in place for all low ground: of maps and single hollows, else of the straightedge; None if unknown."""
        known = [one.fill for one in self.maps] + [one.volume for one in self.hollows]
        if self.maps or not self.layings:
            return _sum(known) if known else None
        area = self.lawn.ground_m2
        return None if area is None else _latest(self.layings).fill(area)

    @property
    def cut(self) -> Volume | None:
        """Ground to take off all high spots; None where there is no map."""
        return _sum([one.cut for one in self.maps]) if self.maps else None

    @property
    def deviation_mm(self) -> tuple[float, float]:
        """Median and 95th percentile of the deviation under the straightedge in mm; NaN if unknown.

        Of several maps the mean by their area.
        """
        if self.maps:
            areas = [one.raster.area_m2 for one in self.maps]
            median, high = (
                sum(one.deviation_mm[n] * area for one, area in zip(self.maps, areas, strict=True))
                / sum(areas)
                for n in range(2)
            )
            return median, high
        return _latest(self.layings).deviation_mm if self.layings else (math.nan, math.nan)


def level_review(
    lawn: Lawn,
    *,
    as_of: dt.date | None = None,
    more: Sequence[Heights] = (),
    straightedge_m: float | None = None,
) -> LevelReview:
    """Review how level a lawn is, from its heights.csv, its puddles, and other sources.

    Parameters
    ----------
    lawn : Lawn
        The keeper's lawn.
    as_of : date, optional
        Leave out what was measured later.
    more : sequence of Heights
        Heights from other sources.
    straightedge_m : float, optional
        Length of the straightedge in meters, over that of lawn.toml.

    Raises
    ------
    FileError
        A line of heights.csv cannot be understood.
    """
    rows = tuple(row for row in read_heights(lawn.folder) if as_of is None or row.date <= as_of)
    heights = [*surface_heights(rows), *(part for part in more if as_of is None or part.date <= as_of)]
    days: dict[str, dict[dt.date, list[Heights]]] = {}
    for part in heights:
        days.setdefault(part.point, {}).setdefault(part.date, []).append(part)
    maps, before, unfinished = [], [], []
    for by_day in days.values():
        whole = []
        for day, parts in sorted(by_day.items()):
            by_day[day], apart = joinable(parts)
            unfinished += [_not_joined(part) for part in apart]
            fault = _makes_no_map(by_day[day])
            (unfinished.append(fault) if fault else whole.append(day))
        if not whole:
            continue
        maps.append(_evaluated(by_day[whole[-1]], lawn, straightedge_m))
        shown = {day: [part.how for part in by_day[day]] for day in whole}
        if (earlier := _day_before(lawn, shown)) is not None:
            before.append(_evaluated(by_day[earlier], lawn, straightedge_m))
    singles = (*_deepest(rows), *_puddles(p for p in lawn.puddle if as_of is None or p.date <= as_of))
    return LevelReview(
        lawn=lawn,
        maps=tuple(maps),
        before=tuple(before),
        layings=_newest(straightedge_estimates(rows)),
        hollows=tuple(one for one in singles if not _is_mapped(one, maps)),
        unfinished=tuple(unfinished),
        as_of=as_of,
    )


def laid_litres(
    lawn: Lawn,
    first: dt.date,
    last: dt.date,
    area_m2: float,
    *,
    hows: tuple[Collection[str], Collection[str]] = ((), ()),
) -> float:
    """Return the sand that was laid on so much ground between two measurements: as noted, else depth times area.

    `hows` says how each was measured: photos show the sand of their own day, other heights are those before it.
    """
    whole = lawn.ground_m2
    share = min(1.0, area_m2 / whole) if whole else 1.0
    laid = 0.0
    for one in lawn.leveling:
        if _lacks(first, hows[0], one.date) and not _lacks(last, hows[1], one.date):
            laid += area_m2 * (one.depth_mm or 0.0) if one.sand_m3 is None else 1000 * share * one.sand_m3
    return laid


def _makes_no_map(parts: Sequence[Heights]) -> str:
    """Say why the heights of a day make no map: too few, or all on one line; "" where they do."""
    places = np.concatenate([np.column_stack([part.x_m, part.y_m]) for part in parts])
    plane = np.column_stack([np.ones(len(places)), places])
    if len(places) >= LEAST_READINGS and np.linalg.matrix_rank(plane) == plane.shape[1]:
        return ""
    template = plural(len(places), *sentences.NO_MAP_YET)
    return template.format(count=len(places), day=parts[0].date.isoformat(), least=LEAST_READINGS)


def _not_joined(part: Heights) -> str:
    template = plural(len(part.height_mm), *sentences.NOT_JOINED)
    return template.format(
        count=len(part.height_mm),
        how=sentences.HOW_MEASURED.get(part.how, part.how),
        day=part.date.isoformat(),
    )


def _evaluated(heights: Sequence[Heights], lawn: Lawn, straightedge_m: float | None) -> CutFill:
    settings = lawn.level
    tiltless = all(part.how in TILTLESS_HOWS for part in heights)
    return cut_and_fill(
        heights,
        straightedge_m=straightedge_m or settings.straightedge_m,
        fall=None if settings.fall is None or tiltless else Fall(*settings.fall, is_designed=True),
        outline_m=lawn.lawn_outline_m,
        kept_low_m=settings.keep_low_m,
    )


def _day_before(lawn: Lawn, days: Mapping[dt.date, Collection[str]]) -> dt.date | None:
    """Return the day to compare the newest with: the last before the newest leveling, else the one before."""
    *earlier, newest = days
    if not earlier:
        return None
    leveled = [day for day in lawn.leveling_dates if not _lacks(newest, days[newest], day)]
    before = [day for day in earlier if leveled and _lacks(day, days[day], leveled[-1])]
    return before[-1] if before else earlier[-1]


def _lacks(measured: dt.date, hows: Collection[str], sand: dt.date) -> bool:
    """Whether sand of a day is not yet in what was measured: photos of heights are taken when the sand is down."""
    return measured < sand or (measured == sand and set(hows) != {"photos"})


def _latest(layings: Sequence[StraightedgeEstimate]) -> StraightedgeEstimate:
    return max(layings, key=lambda one: one.date)


def _newest(estimates: Iterable[StraightedgeEstimate]) -> tuple[StraightedgeEstimate, ...]:
    return tuple({one.point: one for one in estimates}.values())


def _deepest(rows: Sequence[HeightReading]) -> tuple[Hollow, ...]:
    """Return the hollows of which deepest point and width were read, each as it was read last."""
    hollows: list[Hollow] = []
    for row in reversed(rows):
        if row.how != "deepest" or row.width_m is None or row.height_mm >= 0:
            continue
        later = [one for one in hollows if one.point == row.point and one.date > row.date]
        away_m = [math.dist((one.x_m, one.y_m), (row.x_m, row.y_m)) for one in later]
        if min(away_m, default=math.inf) >= row.width_m / 2:
            area = math.pi / 4 * row.width_m**2
            volume = bowl_volume(area, -row.height_mm)
            at = row.x_m, row.y_m, area, -row.height_mm, volume
            hollows.append(Hollow(row.date, row.point, row.place, *at, "deepest"))
    return tuple(reversed(hollows))


def _puddles(puddles: Iterable[Puddle]) -> tuple[Hollow, ...]:
    """Return a hollow for each named puddle of which one depth is known, from its newest drying."""
    from shapely import Polygon

    groups: dict[tuple[str, str], list[Puddle]] = {}
    for one in sorted(puddles, key=lambda one: one.date, reverse=True):
        groups.setdefault((one.point, one.name), []).append(one)
    hollows = []
    for (point, name), every in groups.items():
        group = [one for one in every if (every[0].date - one.date).days <= DRYING_DAYS]
        if all(one.deepest_mm is None for one in group):
            continue
        shapes = [Polygon(one.outline_m) for one in group]
        areas = [float(shape.area) for shape in shapes]
        middle = shapes[areas.index(min(areas))].centroid
        deepest = max(one.deepest_mm or 0.0 for one in group)
        volume = puddle_volume(areas, [one.deepest_mm for one in group])
        date = max(one.date for one in group)
        hollows.append(
            Hollow(date, point, name, float(middle.x), float(middle.y), max(areas), deepest, volume, "puddle")
        )
    return tuple(hollows)


def _is_mapped(hollow: Hollow, maps: Sequence[CutFill]) -> bool:
    """Return whether a hollow lies on a map that is no older."""
    return any(
        one.point == hollow.point and one.date >= hollow.date and one.covers(hollow.x_m, hollow.y_m)
        for one in maps
    )


def _sum(volumes: Sequence[Volume]) -> Volume:
    return sum(volumes, NOTHING)

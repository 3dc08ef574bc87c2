"""Two seasons side by side: which spots are mended, which are still there, which are new.

Spots of two seasons are the same place when they overlap by a quarter of the smaller one. The limit is our
judgment: outlines of the same place differ by a few centimeters from year to year, and a spot that shrinks
stays the same spot.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from swardmark.measure.covers import LawnCovers
from swardmark.relevel.spots import Spot, SpotSearch

SAME_PLACE_SHARE = 0.25
SEEN_SHARE = 0.5
"""An earlier spot is judged when at least half of it lies in the ground searched now."""
SAME_DAY_WITHIN = 3
"""Covers of two seasons are compared on days since the leveling no further apart than this."""

SAME_SEASON = dt.timedelta(days=150)
"""Two levelings that are nearer are two passes of one growing season (our judgment; June and mid-August are usual)."""


@dataclass(frozen=True)
class SeasonComparison:
    """What became of the last season's spots.

    Attributes
    ----------
    mended : tuple of Spot
        Spots of the last season where none is now.
    still_there : tuple of (Spot, Spot)
        Pairs of the last season's spot and this season's.
    new : tuple of Spot
        This season's spots where none was.
    not_seen : tuple of Spot
        Spots of the last season in ground that this season's photos do not show.
    unjudged : tuple of Spot
        Spots of the last season at photo points where it is too early to look for spots now.
    is_judged : bool
        Whether spots were looked for at some photo point in both seasons.
    mended_share : float
        Share 0..1 of the last season's spot area, where it was seen again, that is no longer a spot; NaN
        with none.
    sound_share : float
        Share 0..1 of the ground searched now that is not a spot; NaN where none could be searched.
    """

    mended: tuple[Spot, ...]
    still_there: tuple[tuple[Spot, Spot], ...]
    new: tuple[Spot, ...]
    not_seen: tuple[Spot, ...]
    mended_share: float
    sound_share: float
    unjudged: tuple[Spot, ...] = ()
    is_judged: bool = True


@dataclass(frozen=True)
class SeasonsOnADay:
    """The cover of this season and of the last on the same day since leveling [%]; None where none is near that day."""

    day: int
    now_pct: float
    then_pct: float | None
    within_days: int


def compare_seasons(before: Sequence[SpotSearch], now: Sequence[SpotSearch]) -> SeasonComparison:
    """Match the spots of two seasons by overlap, photo point by photo point.

    A search with a note found nothing because it could not look: what it does not show is neither mended nor new.
    """
    from shapely import Polygon, unary_union

    waits = {search.point for search in now if search.note}
    looked_at = {search.point for search in before if not search.note}
    now = [search for search in now if not search.note]
    mended, pairs, not_seen, unjudged = [], [], [], []
    then_m2 = gone_m2 = 0.0
    for old in _spots(before):
        if old.point in waits:
            unjudged.append(old)
            continue
        ground = unary_union(
            [Polygon(ring) for search in now if search.point == old.point for ring in search.ground_m]
        )
        if old.polygon.intersection(ground).area < SEEN_SHARE * old.area_m2:
            not_seen.append(old)
            continue
        matches = [spot for spot in _spots(now) if is_same_place(old, spot)]
        pairs += [(old, spot) for spot in matches]
        if not matches:
            mended.append(old)
        still = unary_union([spot.polygon for spot in matches]).intersection(old.polygon).area
        then_m2 += old.polygon.area
        gone_m2 += old.polygon.area - still
    known = {(new.point, new.number) for _, new in pairs}
    new = tuple(
        spot for spot in _spots(now) if spot.point in looked_at and (spot.point, spot.number) not in known
    )
    ground_m2 = sum(search.ground_m2 for search in now)
    spot_m2 = sum(spot.area_m2 for spot in _spots(now))
    return SeasonComparison(
        tuple(mended),
        tuple(pairs),
        new,
        tuple(not_seen),
        mended_share=gone_m2 / then_m2 if then_m2 else math.nan,
        sound_share=max(0.0, 1 - spot_m2 / ground_m2) if ground_m2 else math.nan,
        unjudged=tuple(unjudged),
        is_judged=any(search.point in looked_at for search in now),
    )


def is_same_place(one: Spot, other: Spot) -> bool:
    """Whether two spots of different seasons are the same place."""
    if one.point != other.point:
        return False
    a, b = one.polygon, other.polygon
    return bool(a.intersection(b).area >= SAME_PLACE_SHARE * min(a.area, b.area))


def count_seasons(seasons: Sequence[Sequence[SpotSearch]]) -> tuple[SpotSearch, ...]:
    """Return the last season's searches with `seasons_seen` counted over the seasons, oldest first."""
    counted: tuple[SpotSearch, ...] = ()
    for searches in seasons:
        earlier = _spots(counted)
        counted = tuple(
            replace(s, spots=tuple(_counted(spot, earlier) for spot in s.spots)) for s in searches
        )
    return counted


def is_second_sand(leveling_days: Sequence[dt.date]) -> bool:
    """Whether the newest of some levelings, oldest first, is a second pass of the growing season of the one before."""
    before, newest = leveling_days[-2:][0], leveling_days[-1]
    return before < newest < before + SAME_SEASON


def against_last_season(season: LawnCovers) -> SeasonsOnADay | None:
    """Return the lawn's mean cover on its newest day and on the same day of the season before; None without one.

    Both means are of the same zones, weighed by what is seen of them now; each zone's day of the season before is the
    nearest within three. Where no zone has such a day, the cover of that season is None.
    """
    by_zero: dict[dt.date, dict[tuple[str, str], dict[int, list[tuple[float, float]]]]] = {}
    for row in season.covers:
        zero = season.lawn.leveled_before(row.taken_at.date())
        if zero is not None and math.isfinite(row.cover.cover_pct):
            days = by_zero.setdefault(zero, {}).setdefault((row.point, row.zone), {})
            days.setdefault(row.day, []).append((row.cover.cover_pct, row.cover.area_m2))
    if len(by_zero) < 2:
        return None
    *_, then, now = (by_zero[zero] for zero in sorted(by_zero))
    day = max(day for days in now.values() for day in days)
    today = {part: days[day] for part, days in now.items() if day in days}
    both = {}
    for part, covers in today.items():
        near = min(then.get(part, ()), key=lambda other: abs(other - day), default=None)
        if near is not None and abs(near - day) <= SAME_DAY_WITHIN:
            both[part] = _mean(then[part][near]), *_of_a_day(covers)
    if not both:
        now_pct = _mean([_of_a_day(covers) for covers in today.values()])
        return SeasonsOnADay(day, now_pct, None, SAME_DAY_WITHIN)
    then_pct, now_pct = (_mean([(one[at], one[2]) for one in both.values()]) for at in range(2))
    return SeasonsOnADay(day, now_pct, then_pct, SAME_DAY_WITHIN)


def _counted(spot: Spot, earlier: Sequence[Spot]) -> Spot:
    seen = max((old.seasons_seen for old in earlier if is_same_place(old, spot)), default=0)
    return replace(spot, seasons_seen=seen + 1)


def _spots(searches: Sequence[SpotSearch]) -> list[Spot]:
    return [spot for search in searches for spot in search.spots]


def _of_a_day(covers: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return cover and area of one part of the lawn on a day, however many photos show it."""
    return _mean(covers), sum(area for _, area in covers) / len(covers)


def _mean(covers: Sequence[tuple[float, float]]) -> float:
    """Return the mean of covers weighed by their areas [%]."""
    return sum(cover * area for cover, area in covers) / sum(area for _, area in covers)

"""A zone's photos as the forecast uses them: sorted, after the leveling, not after the day of the forecast."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from swardmark.common.phrases import plural
from swardmark.forecast import sentences
from swardmark.forecast.light import photo_keys
from swardmark.forecast.rows import ZoneSeries

# A 95 % interval is 3.92 standard deviations wide. Each serves as the scale of Student's t, whose own interval is 1.4
# times as wide: much of a cover's error is the same on all dates, so that more photos do not take it away.
INTERVAL_SDS = 3.92
# Photos before the sand: how far the cover falls from them to the next one, at least, on several zones and on one. Sand
# covers all zones at once and within days; our judgment. On the leveling day even a small fall is the sand.
DROP_PCT, DROP_LATER_PCT = (9.0, 12.0), (25.0, 30.0)
MOST_DAYS_OFF, FALL_WITHIN_DAYS = 10.0, 7.0
LAST_BEFORE_DAYS, GROWN_PCT = 21, 40.0
"""A photo of the leveling day is held against one from before it of so few days, which shows so much."""
NEVER_SANDED_PCT = 70.0
"""Without such a photo, a day's photos that show more than this are from before the sand: fresh sand covers more."""
ZONES_FALL_SHARE, STAYED_SHARE, SANDED_PCT = 0.8, 0.6, 50.0


@dataclass(frozen=True, eq=False)
class Seen:
    """The photos that count, as arrays over days since leveling; `source` holds the same entries.

    `photo` numbers the photos, the same in all zones of a photo point.
    """

    source: ZoneSeries
    day: np.ndarray
    cover_pct: np.ndarray
    sd_pct: np.ndarray
    photo: np.ndarray
    notes: tuple[str, ...] = ()

    def part(self, of: slice) -> Seen:
        """Return some of the photos."""
        source = replace(
            self.source,
            taken_on=self.source.taken_on[of],
            cover_pct=self.source.cover_pct[of],
            low_pct=self.source.low_pct[of],
            high_pct=self.source.high_pct[of],
        )
        return Seen(source, self.day[of], self.cover_pct[of], self.sd_pct[of], self.photo[of], self.notes)


def seen_after(series: ZoneSeries, *, zero: dt.date, as_of: dt.date) -> Seen:
    """Return the photos of a zone by itself that count, as `seen_zones` does."""
    return seen_zones([series], zero=zero, as_of=as_of)[0]


def seen_zones(
    series: Sequence[ZoneSeries], *, zero: dt.date, as_of: dt.date, is_given: bool = True
) -> list[Seen]:
    """Return each zone's photos from the leveling day to `as_of` on which it was seen, oldest first.

    Photos that were taken before the sand, all zones of a photo point together, are left out and noted: on the leveling
    day, or up to ten days after it where the leveling date is too early. Where no leveling is given, and days count
    from the first photo, nothing says that there was sand on that day.
    """
    seen = [_seen(one, zero=zero, as_of=as_of) for one in series]
    groups: dict[str, list[int]] = {}
    for i, one in enumerate(series):
        groups.setdefault(one.point, []).append(i)
    for group in groups.values():
        first, note = _after_the_sand([seen[i] for i in group], zero)
        if not note and is_given:
            first, note = _not_sanded_yet([seen[i] for i in group], [series[i] for i in group], zero)
        if note:
            for i in group:
                seen[i] = _from_photo(seen[i], first, note)
    return seen


def _seen(series: ZoneSeries, *, zero: dt.date, as_of: dt.date) -> Seen:
    order = sorted(range(len(series.taken_on)), key=lambda i: series.taken_on[i])
    keys = photo_keys(np.array([(series.taken_on[i] - zero).days for i in order], float))
    key_of = dict(zip(order, keys, strict=True))
    keep = [i for i in order if zero <= series.taken_on[i] <= as_of and np.isfinite(series.cover_pct[i])]
    source = replace(
        series,
        taken_on=tuple(series.taken_on[i] for i in keep),
        cover_pct=tuple(series.cover_pct[i] for i in keep),
        low_pct=tuple(series.low_pct[i] for i in keep),
        high_pct=tuple(series.high_pct[i] for i in keep),
    )
    sd = np.maximum(np.array(source.high_pct, float) - np.array(source.low_pct, float), 0.0) / INTERVAL_SDS
    day = np.array([(taken - zero).days for taken in source.taken_on], float)
    photo = np.array([key_of[i] for i in keep])
    return Seen(source, day, np.array(source.cover_pct, float), np.nan_to_num(sd), photo)


def _from_photo(seen: Seen, first: float, note: str) -> Seen:
    return replace(seen.part(slice(int(np.searchsorted(seen.photo, first)), None)), notes=(note,))


def _after_the_sand(seen: Sequence[Seen], zero: dt.date) -> tuple[float, str]:
    """Return which photo of a point is the first after the sand, and what to note; no note where all of them are."""
    photos = np.unique(np.concatenate([one.photo for one in seen]))
    early = int(np.searchsorted(photos, MOST_DAYS_OFF + 1.0))
    if len(photos) < 2 or not early:
        return 0.0, ""
    photos = photos[: early + 1]
    cover = np.full((len(seen), len(photos)), np.nan)
    for row, one in zip(cover, seen, strict=True):
        known = one.photo <= photos[-1]
        row[np.searchsorted(photos, one.photo[known])] = one.cover_pct[known]
    for cut in range(len(photos) - 1, 0, -1):
        if _sand_fell(cover, np.floor(photos), cut):
            last, after = (int(np.floor(photos[i])) for i in (cut - 1, cut))
            return float(photos[cut]), _note(cut, zero, last, after)
    return 0.0, ""


def _not_sanded_yet(seen: Sequence[Seen], series: Sequence[ZoneSeries], zero: dt.date) -> tuple[float, str]:
    """Return as `_after_the_sand` does where no photo was taken after the leveling day: has the cover fallen by then?

    The photos of that day are held against the last one of the weeks before it, or, without one, against what no fresh
    sand lets through.
    """
    photos = np.unique(np.concatenate([one.photo for one in seen]))
    if not len(photos) or photos[-1] >= 1.0:
        return 0.0, ""
    earlier = [day for one in series for day in one.taken_on if 0 < (zero - day).days <= LAST_BEFORE_DAYS]
    before = np.array([_cover_on(one, max(earlier)) if earlier else np.nan for one in series])
    area = np.array([one.area_m2 for one in series], float)
    for number in range(len(photos), 0, -1):
        now = np.array([_cover_of(one, photos[number - 1]) for one in seen])
        if _is_grown(before, now, area):
            return float(np.append(photos, 1.0)[number]), _note(number, zero, 0, 0)
    return 0.0, ""


def _is_grown(before: np.ndarray, now: np.ndarray, area: np.ndarray) -> bool:
    """Tell whether a photo of the leveling day shows the lawn as it was before the sand: zones before it, and on it."""
    both = np.isfinite(before) & np.isfinite(now)
    if not np.isfinite(before).any():
        seen = np.isfinite(now)
        weights = np.maximum(area[seen], 1e-9)
        return bool(seen.any() and np.average(now[seen], weights=weights) > NEVER_SANDED_PCT)
    if not both.any() or np.nanmean(before) < GROWN_PCT:
        return False
    return bool((before - now)[both].mean() <= DROP_PCT[int(both.sum() < 2)])


def _cover_on(series: ZoneSeries, day: dt.date) -> float:
    covers = [cover for taken, cover in zip(series.taken_on, series.cover_pct, strict=True) if taken == day]
    return covers[-1] if covers else np.nan


def _cover_of(seen: Seen, photo: float) -> float:
    covers = seen.cover_pct[seen.photo == photo]
    return float(covers[-1]) if len(covers) else np.nan


def _sand_fell(cover: np.ndarray, day: np.ndarray, cut: int) -> bool:
    """Whether the sand went down between photo `cut - 1` and the next: all zones fall, none had grown till then."""
    if day[cut] - day[cut - 1] > FALL_WITHIN_DAYS:
        return False
    both = np.isfinite(cover[:, cut - 1 : cut + 1]).all(axis=1)
    fall = cover[both, cut - 1] - cover[both, cut]
    later = day[cut - 1] > 0
    least = (DROP_LATER_PCT if later else DROP_PCT)[int(both.sum() < 2)]
    if not both.any() or fall.mean() <= least or np.mean(fall > least / 2.0) < ZONES_FALL_SHARE:
        return False
    # The photos before it show the lawn as high already: sand that is grown through begins low.
    floor = cover[both, cut].mean() + STAYED_SHARE * fall.mean()
    before = cover[both, :cut]
    stayed = all(np.nanmean(column) >= floor for column in before.T if np.isfinite(column).any())
    return bool(stayed and (not later or cover[both, cut].mean() <= SANDED_PCT))


def _note(count: int, zero: dt.date, last: int, after: int) -> str:
    day, next_day = (zero + dt.timedelta(days=days) for days in (last, after))
    several = plural(count, sentences.BEFORE_THE_SAND, sentences.BEFORE_THE_SAND_SEVERAL)
    note = several.format(day=day.isoformat(), count=count)
    if not last:
        return note
    likely = day + dt.timedelta(days=-(-(after - last) // 2))
    when = {"day": day.isoformat(), "after": next_day.isoformat(), "likely": likely.isoformat()}
    return f"{note} {sentences.DATE_TOO_EARLY.format(**when)}"

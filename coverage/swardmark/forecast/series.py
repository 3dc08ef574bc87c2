"""A zone's photos as the forecast uses them: sorted, after the leveling, not after the day of the forecast."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from swardmark.forecast import sentences
from swardmark.forecast.light import photo_keys
from swardmark.forecast.rows import ZoneSeries

# A 95 % interval is 3.92 standard deviations wide.
INTERVAL_SDS = 3.92
BEFORE_SAND_DROP_PCT = 20.0
DATE_OFF_DAYS, LATE_DROP_PCT = 3, 30.0
BEFORE_SAND_DAYS = 7.0
FILLED_SD_PCT = 10.0


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


def seen_after(series: ZoneSeries, *, zero: dt.date, as_of: dt.date) -> Seen:
    """Return the photos from the leveling day to `as_of` on which the zone was seen, oldest first.

    A photo of the leveling day, or of the three days after it, that shows far more cover than the next was taken before
    the sand and is left out.
    """
    order = sorted(range(len(series.taken_on)), key=lambda i: series.taken_on[i])
    keys = photo_keys(np.array([(series.taken_on[i] - zero).days for i in order], float))
    key_of = dict(zip(order, keys, strict=True))
    keep = [i for i in order if zero <= series.taken_on[i] <= as_of and np.isfinite(series.cover_pct[i])]
    notes: tuple[str, ...] = ()
    while len(keep) > 1 and _before_sand(series, keep, zero):
        taken, after = (series.taken_on[i].isoformat() for i in keep[:2])
        late = series.taken_on[keep[0]] > zero
        template = sentences.BEFORE_THE_SAND_LATER if late else sentences.BEFORE_THE_SAND
        notes = (template.format(day=taken, after=after),)
        keep = keep[1:]
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
    return Seen(source, day, np.array(source.cover_pct, float), np.nan_to_num(sd), photo, notes)


def fill_missing(seen: Sequence[Seen]) -> list[Seen]:
    """Fill the dates that a zone misses from the lawn's other zones, with a wide error.

    The zone's own level is kept (on the logit scale, from the dates it shares with the others); only the movement of
    the others on the missing dates is borrowed. Dates that no two other zones saw stay missing.
    """
    days = np.unique(np.concatenate([s.day for s in seen])) if seen else np.zeros(0)
    table = np.full((len(seen), len(days)), np.nan)
    for row, one in zip(table, seen, strict=True):
        row[np.searchsorted(days, one.day)] = one.cover_pct
    if np.isfinite(table).all() or len(seen) < 3:
        return list(seen)
    logit = np.log(np.clip(table, 1, 99) / (100 - np.clip(table, 1, 99)))
    return [_filled(one, i, days, logit) for i, one in enumerate(seen)]


def _filled(one: Seen, index: int, days: np.ndarray, logit: np.ndarray) -> Seen:
    others = np.delete(logit, index, axis=0)
    known = np.isfinite(others).sum(axis=0) >= 2
    own = np.isfinite(logit[index])
    if len(one.day) < 2 or not (known & ~own).any() or not (known & own).any():
        return one
    middle = np.array(
        [np.nanmedian(column) if ok else np.nan for column, ok in zip(others.T, known, strict=True)]
    )
    level = np.median((logit[index] - middle)[known & own])
    at = np.flatnonzero(known & ~own)
    guess = 100.0 / (1.0 + np.exp(-(middle[at] + level)))
    day = np.concatenate([one.day, days[at]])
    order = np.argsort(day, kind="stable")
    cover = np.concatenate([one.cover_pct, guess])[order]
    sd = np.concatenate([one.sd_pct, np.full(len(at), FILLED_SD_PCT)])[order]
    photo = np.concatenate([one.photo, days[at]])[order]
    return replace(one, day=day[order], cover_pct=cover, sd_pct=sd, photo=photo)


def _before_sand(series: ZoneSeries, keep: Sequence[int], zero: dt.date) -> bool:
    first, second = keep[0], keep[1]
    drop = series.cover_pct[first] - series.cover_pct[second]
    days = (series.taken_on[second] - zero).days
    if series.taken_on[first] == zero:
        return drop > BEFORE_SAND_DROP_PCT and days <= BEFORE_SAND_DAYS
    # A leveling date that is a few days too early: sand takes more, and within fewer days, than any trouble does.
    early = (series.taken_on[first] - zero).days <= DATE_OFF_DAYS
    return early and drop > LATE_DROP_PCT and days <= BEFORE_SAND_DAYS

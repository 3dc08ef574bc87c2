"""The outlook of a lawn: what its photos say of the weeks to come.

One function, `forecast`, turns measured series into a LawnForecast. It replays any day and reads nothing dated later.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from statistics import median

import numpy as np

from swardmark.bank.bank import draw_bank
from swardmark.bank.priors import LawnPrior
from swardmark.common.phrases import date_words
from swardmark.common.units import format_area
from swardmark.forecast import sentences
from swardmark.forecast.judge import Frame, Name, judged, stand_then, too_early
from swardmark.forecast.past import PastSeason, expected_of, slower_under
from swardmark.forecast.recovery import Recovery
from swardmark.forecast.rows import LawnForecast, ZoneOutlook, ZoneSeries
from swardmark.forecast.series import Seen, seen_zones
from swardmark.forecast.status import LEAST_PHOTOS, Standing, enough, look_for
from swardmark.forecast.timeaxis import lawn_axis
from swardmark.forecast.total import total, when_ready
from swardmark.forecast.weigh import fit_zones
from swardmark.lawn.readings import DiaryEntry, days_since_water
from swardmark.lawn.toml import Lawn
from swardmark.lawn.weather import Weather
from swardmark.lawn.zones import overlaps

STALE_DAYS = 14
"""Cover that was photographed longer ago says little of today's."""
MANY_ZONES = 200
FALL_DAYS, FALL_PCT = 3.0, (6.0, 10.0)
"""A fall in every zone within three days, by so many points in the mean of several zones, and in one. Our judgment."""
SEASON_SAID_DAYS, FALL_MONTHS = 42, (9, 10, 11)
"""The end of growth is said from six weeks before."""
DORMANT_WITHIN_DAYS, DORMANT_PCT, DORMANT_LEAST_PCT, GREEN_PCT = 14, 8.0, 3.0, 20.0
"""Browning is dormancy from two weeks before it on: by so many points in the mean and in each green zone (judgment)."""


def forecast(
    series: Sequence[ZoneSeries],
    *,
    lawn: Lawn,
    as_of: dt.date,
    diary: Sequence[DiaryEntry] = (),
    weather: Weather | None = None,
    past: Sequence[PastSeason] = (),
) -> LawnForecast:
    """Forecast every zone and the lawn from what was known on a day.

    Parameters
    ----------
    series : sequence of ZoneSeries
        The measured cover of each zone.
    lawn : Lawn
        Grass, leveling dates and settings.
    as_of : date
        The day of the forecast; later photos, diary lines and temperatures are not read.
    diary, weather : optional
        From diary.csv and weather.csv.
    past : sequence of PastSeason, optional
        Past seasons from past.csv; the lawn's own with photos are read from `series`.
    """
    diary = tuple(entry for entry in diary if entry.date <= as_of)
    zero, notes = _day_zero(series, lawn, as_of)
    seen = seen_zones(series, zero=zero, as_of=as_of, is_given=lawn.leveled_before(as_of) is not None)
    axis = lawn_axis(lawn, zero, weather, as_of=as_of)
    dry_days = days_since_water(diary, as_of)
    frame = Frame(
        lawn, axis, draw_bank(lawn.grass, slower_under(lawn, zero)), as_of, dry_days, len(series) > MANY_ZONES
    )
    expected, past_notes = expected_of(lawn, series, past, zero=zero, as_of=as_of, weather=weather)
    fits = _fits(seen, frame, expected)
    usual = _usual_covers(seen, frame)
    stood = _stood(seen, fits, frame, expected)
    dormant = _is_dormant(seen, frame)
    if dormant:
        zones = [_dormant_row(one) for one in seen]
    else:
        rows = zip(seen, fits, stood, strict=True)
        zones = [_zone_row(one, fit, frame, usual, state) for one, fit, state in rows]
    zones, lawn_notes = _most_flagged(zones, frame)
    whole, fit = total(zones, fits, frame)
    if dormant and len(whole.observed_pct):
        whole = replace(whole, why=_why_dormant(np.array(whole.day), np.array(whole.observed_pct)))
    notes += [note for one in seen for note in one.notes] + lawn_notes
    notes += ([] if dormant else _doubt_notes(seen, fits, frame)) + _photo_notes(seen, frame)
    notes += past_notes + _overlap_notes(lawn) + _season_notes(whole, frame) + [sentences.DORMANT] * dormant
    return LawnForecast(
        zones=tuple(zones),
        whole=whole,
        whole_without_flagged=_without_flagged(zones, fits, frame) if fit is not None else None,
        notes=tuple(dict.fromkeys(notes)),
        axis_method=axis.method,
        day_zero=zero,
        as_of=as_of,
        ready=when_ready(zones, fits, frame),
    )


def called(zone: ZoneSeries | ZoneOutlook, several_points: bool) -> str:
    """Return a zone's name, with its photo point where there are several."""
    return sentences.ZONE_OF_POINT.format(zone=zone.zone, point=zone.point) if several_points else zone.zone


def _day_zero(series: Sequence[ZoneSeries], lawn: Lawn, as_of: dt.date) -> tuple[dt.date, list[str]]:
    leveled = lawn.leveled_before(as_of)
    if leveled is not None:
        return leveled, []
    first = min((day for one in series for day in one.taken_on if day <= as_of), default=as_of)
    days = {"day": date_words(as_of, lawn.date_form), "first": date_words(first, lawn.date_form)}
    return first, [sentences.NO_LEVELING_DATE.format(**days)]


def _stood(
    seen: Sequence[Seen], fits: Sequence[Recovery], frame: Frame, expected: LawnPrior
) -> list[Standing | None]:
    """Return how each zone stands, judged photo by photo; None where it has too few.

    Today is judged by the same measure as the days before, so that the next photo finds the status that was said.
    """
    stood: list[Standing | None] = [None] * len(seen)
    days = np.unique(np.concatenate([one.day for one in seen])) if seen else np.zeros(0)
    first = LEAST_PHOTOS - 1 if len(seen) <= MANY_ZONES else max(len(days) - 2, LEAST_PHOTOS - 1)
    for last in map(float, days[first:]):
        ends = [int(np.searchsorted(one.day, last, side="right")) for one in seen]
        shown = [n > 0 and one.day[n - 1] == last for one, n in zip(seen, ends, strict=True)]
        covers = [one.cover_pct[n - 1] for one, n, on in zip(seen, ends, shown, strict=True) if on]
        judged_now = [
            (one.day[:n], one.cover_pct[:n])
            if on and enough(one.day[:n], np.zeros(n)) and not (n == len(one.day) and fit.held_out[-1])
            else None
            for one, fit, n, on in zip(seen, fits, ends, shown, strict=True)
        ]
        usual = _usual_cover(last, covers, frame)
        stood = stand_then(fits, judged_now, last, frame, stood, usual_pct=usual, expected=expected)
    return stood


def _fits(seen: Sequence[Seen], frame: Frame, expected: LawnPrior) -> tuple[Recovery, ...]:
    days = [frame.axis.model_days(one.day) for one in seen]
    covers, sds = [one.cover_pct for one in seen], [one.sd_pct for one in seen]
    points = [one.source.point for one in seen]
    photos = [one.photo for one in seen]
    return fit_zones(
        days, covers, bank=frame.bank, sd_pct=sds, points=points, photos=photos, expected=expected
    )


def _zone_row(
    one: Seen, fit: Recovery, frame: Frame, usual: dict[float, float], stood: Standing | None
) -> ZoneOutlook:
    name = Name(one.source.point, one.source.zone, one.source.area_m2)
    if not enough(one.day, fit.held_out):
        return too_early(name, one.day, one.cover_pct, fit.held_out)
    expected_pct = usual[float(one.day[~fit.held_out][-1])]
    return judged(name, one.day, fit, frame, expected_pct=expected_pct, stood=stood)


def _usual_covers(seen: Sequence[Seen], frame: Frame) -> dict[float, float]:
    """Return the usual cover by day: the grass's median, or the median of all zones where that is higher."""
    by_day: dict[float, list[float]] = {}
    for one in seen:
        for day, cover in zip(one.day[-2:], one.cover_pct[-2:], strict=True):
            by_day.setdefault(float(day), []).append(float(cover))
    return {day: _usual_cover(day, covers, frame) for day, covers in by_day.items()}


def _usual_cover(day: float, covers_pct: Sequence[float], frame: Frame) -> float:
    usual = frame.usual_cover(float(frame.axis.model_days(np.array(day))))
    return max(usual, median(covers_pct)) if len(covers_pct) > 2 else usual


def _season_notes(whole: ZoneOutlook, frame: Frame) -> list[str]:
    """Say when growth ends, where weather or the usual frost tells."""
    ends = frame.axis.growth_ends(frame.as_of)
    if whole.status == "full" or not whole.day:
        return []
    if frame.axis.reached is None:
        return [sentences.NO_END_KNOWN] if frame.as_of.month in FALL_MONTHS else []
    if ends is None or (ends - frame.as_of).days > SEASON_SAID_DAYS:
        return []
    day = date_words(ends, frame.lawn.date_form)
    return [sentences.GROWTH_HAS_ENDED if ends == frame.as_of else sentences.GROWTH_ENDS.format(day=day)]


def _is_dormant(seen: Sequence[Seen], frame: Frame) -> bool:
    """Whether the lawn browns in the cold: all of its zones together, near the end of growth or after it."""
    ends = frame.axis.growth_ends(frame.as_of)
    if ends is None or (ends - frame.as_of).days > DORMANT_WITHIN_DAYS:
        return False
    covers = [one.cover_pct for one in seen if len(one.day) > 2 and one.cover_pct.max() >= GREEN_PCT]
    falls = [float(cover.max() - cover[-1]) for cover in covers]
    return bool(falls and min(falls) > DORMANT_LEAST_PCT and np.mean(falls) > DORMANT_PCT)


def _dormant_row(one: Seen) -> ZoneOutlook:
    name = Name(one.source.point, one.source.zone, one.source.area_m2)
    reason = _why_dormant(one.day, one.cover_pct) if len(one.day) else ""
    return too_early(name, one.day, one.cover_pct, np.zeros(len(one.day), dtype=bool), reason=reason)


def _why_dormant(day: np.ndarray, cover_pct: np.ndarray) -> str:
    return sentences.DORMANT_ZONE.format(cover=cover_pct[-1], day=day[-1], best=cover_pct.max())


def _without_flagged(
    zones: Sequence[ZoneOutlook], fits: Sequence[Recovery], frame: Frame
) -> ZoneOutlook | None:
    kept = [i for i, zone in enumerate(zones) if not zone.flagged]
    if not 0 < len(kept) < len(zones):
        return None
    return total([zones[i] for i in kept], [fits[i] for i in kept], frame)[0]


def _most_flagged(zones: list[ZoneOutlook], frame: Frame) -> tuple[list[ZoneOutlook], list[str]]:
    """Where most zones are flagged, say one thing about the lawn instead of the same thing of each zone.

    Most are three at least and more than two thirds: one good zone of three shows that it is not the whole lawn.
    """
    if frame.axis.growth_ends(frame.as_of) == frame.as_of:  # the season is the cause, and a note says so
        rested = ("slow", "stalled")
        return _said_once([replace(z, look_for="") if z.status in rested else z for z in zones]), []
    flagged = [zone for zone in zones if zone.flagged]
    if len(flagged) < 3 or len(flagged) <= 2 / 3 * len(zones):
        return _said_once(zones), []
    check = look_for("slow", units=frame.lawn.units, dry_days=frame.dry_days)
    note = sentences.MOST_ZONES_BEHIND.format(flagged=len(flagged), zones=len(zones), check=check)
    return [replace(zone, look_for="") if zone.flagged else zone for zone in zones], [note]


def _said_once(zones: list[ZoneOutlook]) -> list[ZoneOutlook]:
    """Name the first zone of the same advice instead of giving the advice again."""
    first: dict[str, str] = {}
    several, rows = len({zone.point for zone in zones}) > 1, []
    for zone in zones:
        name = called(zone, several)
        of = first.setdefault(zone.look_for, name)
        again = zone.look_for and of != name
        rows.append(replace(zone, look_for=sentences.CHECK_AS_IN.format(zone=of)) if again else zone)
    return rows


def _overlap_notes(lawn: Lawn) -> list[str]:
    pairs = overlaps(lawn.zone)
    if not pairs:
        return []
    one, other, area_m2 = pairs[0]
    template = sentences.ZONES_OVERLAP if len(pairs) == 1 else sentences.ZONES_OVERLAP_MORE
    area = format_area(area_m2, units=lawn.units)
    return [template.format(one=one, other=other, area=area, pairs=len(pairs) - 1)]


def _doubt_notes(seen: Sequence[Seen], fits: Sequence[Recovery], frame: Frame) -> list[str]:
    """Say which newest photo is held out or in doubt."""
    notes = []
    held = [one for one, fit in zip(seen, fits, strict=True) if fit.held_out.any()]
    if held:
        day = max(one.source.taken_on[-1] for one in held)
        on = date_words(day, frame.lawn.date_form)
        notes.append(sentences.HELD_OUT.format(day=on, held=len(held), zones=len(seen)))
    several = len({one.source.point for one in seen}) > 1
    doubted = [one for one, fit in zip(seen, fits, strict=True) if fit.surprising and not fit.held_out.any()]
    if len(doubted) > 1 and 2 * len(doubted) >= len(seen):
        on = date_words(max(one.source.taken_on[-1] for one in doubted), frame.lawn.date_form)
        notes.append(sentences.DOUBTFUL_PHOTO.format(day=on))
        doubted = []
    for one in doubted:
        on = date_words(one.source.taken_on[-1], frame.lawn.date_form)
        notes.append(sentences.SURPRISING.format(zone=called(one.source, several), day=on))
    return notes or _fall_notes(seen, frame)


def _fall_notes(seen: Sequence[Seen], frame: Frame) -> list[str]:
    """Ask for another photo where cover fell in every zone of a photo point within days, held out or not."""
    notes = []
    for point in dict.fromkeys(one.source.point for one in seen):
        zones = [one for one in seen if one.source.point == point]
        days = np.unique(np.concatenate([one.day for one in zones]))[-2:]
        both = [one for one in zones if len(one.day) > 2 and list(one.day[-2:]) == list(days)]
        falls = [float(one.cover_pct[-2] - one.cover_pct[-1]) for one in both]
        if not falls or days[1] - days[0] > FALL_DAYS:
            continue
        if min(falls) > 0.0 and np.mean(falls) > FALL_PCT[len(falls) < 2]:
            before, day = (
                date_words(frame.axis.zero + dt.timedelta(days=int(d)), frame.lawn.date_form) for d in days
            )
            template = sentences.FELL_AT_ONCE if len(falls) > 1 else sentences.FELL_AT_ONCE_ONE
            notes.append(template.format(before=before, day=day, points=np.mean(falls)))
    return notes


def _photo_notes(seen: Sequence[Seen], frame: Frame) -> list[str]:
    notes = []
    last = _last_photo(seen)
    if last is not None and (frame.as_of - last).days > STALE_DAYS:
        notes.append(sentences.OLD_PHOTO.format(days=(frame.as_of - last).days))
    if frame.dry_days is not None:
        notes.append(sentences.DRY_DAYS.format(days=frame.dry_days))
    return notes


def _last_photo(seen: Sequence[Seen]) -> dt.date | None:
    return max((one.source.taken_on[-1] for one in seen if one.source.taken_on), default=None)

"""The outlook of a lawn: what its photos say of the weeks to come.

One function, `forecast`, turns measured series into a LawnForecast. It replays any day and reads nothing dated later.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from swardmark.bank.bank import draw_bank
from swardmark.bank.priors import LawnPrior
from swardmark.common.phrases import date_words
from swardmark.common.units import format_area
from swardmark.forecast import sentences
from swardmark.forecast.judge import NAN, Frame, Name, judged, too_early
from swardmark.forecast.past import PastSeason, expected_of, slower_under
from swardmark.forecast.recovery import Recovery
from swardmark.forecast.rows import LawnForecast, ZoneOutlook, ZoneSeries
from swardmark.forecast.series import Seen, fill_missing, seen_zones
from swardmark.forecast.status import enough, look_for
from swardmark.forecast.timeaxis import time_axis
from swardmark.forecast.total import total
from swardmark.forecast.weigh import fit_zones
from swardmark.lawn.readings import DiaryEntry, days_since_water
from swardmark.lawn.toml import Lawn
from swardmark.lawn.weather import Weather
from swardmark.lawn.zones import overlaps

STALE_DAYS = 14
"""Cover that was photographed longer ago says little of today's."""
MANY_ZONES = 200
SEASON_SAID_DAYS, DORMANT_WITHIN_DAYS, DORMANT_PCT = 42, 14, 10.0
"""The end of growth is said from six weeks before; browning by ten points is dormancy from two weeks before it on."""


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
    seen = seen_zones(series, zero=zero, as_of=as_of)
    base = lawn.outlook.base_temperature_c
    axis = time_axis(zero, weather, as_of=as_of, warm_season=lawn.is_warm_season, base_c=base)
    dry_days = days_since_water(diary, as_of)
    frame = Frame(
        lawn, axis, draw_bank(lawn.grass, slower_under(lawn, zero)), as_of, dry_days, len(series) > MANY_ZONES
    )
    expected, past_notes = expected_of(lawn, series, past, zero=zero, as_of=as_of, weather=weather)
    fits = _fits(seen, frame, expected)
    usual = _usual_covers(seen, frame)
    zones = [_zone_row(one, fit, frame, usual) for one, fit in zip(seen, fits, strict=True)]
    zones, lawn_notes = _most_flagged(zones, frame)
    whole, fit = total(zones, fits, frame)
    last = _last_photo(seen)
    reached = NAN
    if fit is not None and last is not None:
        reached = fit.chance_above(lawn.outlook.first_mow_cover_pct, axis.model_day(last))
    notes += [note for one in seen for note in one.notes] + lawn_notes + _photo_notes(seen, fits, frame)
    notes += past_notes + _overlap_notes(lawn) + _season_notes(zones, whole, frame)
    return LawnForecast(
        zones=tuple(zones),
        whole=whole,
        whole_without_flagged=_without_flagged(zones, fits, frame) if fit is not None else None,
        notes=tuple(dict.fromkeys(notes)),
        axis_method=axis.method,
        day_zero=zero,
        as_of=as_of,
        cover_reached=reached,
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


def _fits(seen: Sequence[Seen], frame: Frame, expected: LawnPrior) -> tuple[Recovery, ...]:
    filled = fill_missing(seen)
    days = [frame.axis.model_days(one.day) for one in filled]
    covers, sds = [one.cover_pct for one in filled], [one.sd_pct for one in filled]
    points = [one.source.point for one in filled]
    photos = [one.photo for one in filled]
    return fit_zones(
        days, covers, bank=frame.bank, sd_pct=sds, points=points, photos=photos, expected=expected
    )


def _zone_row(one: Seen, fit: Recovery, frame: Frame, usual: dict[float, float]) -> ZoneOutlook:
    name = Name(one.source.point, one.source.zone, one.source.area_m2)
    complete = len(fit.day) == len(one.day)
    own = slice(None) if complete else np.isin(fit.day, frame.axis.model_days(one.day))
    held = fit.held_out[own]
    if not enough(one.day, held):
        return too_early(name, one.day, one.cover_pct, held)
    history = None if fit.history is None else fit.history[own]
    shown = replace(fit, day=fit.day[own], observed_pct=fit.observed_pct[own], held_out=held, history=history)
    return judged(name, one.day, shown, frame, expected_pct=usual[float(one.day[~held][-1])])


def _usual_covers(seen: Sequence[Seen], frame: Frame) -> dict[float, float]:
    """Return the usual cover by day: the grass's median, or the median of all zones where that is higher."""
    by_day: dict[float, list[float]] = {}
    for one in seen:
        for day, cover in zip(one.day[-2:], one.cover_pct[-2:], strict=True):
            by_day.setdefault(float(day), []).append(float(cover))
    usual = {day: frame.usual_cover(float(frame.axis.model_days(np.array([day]))[0])) for day in by_day}
    others = {day: float(np.median(covers)) for day, covers in by_day.items() if len(covers) > 2}
    return {day: max(usual[day], others.get(day, 0.0)) for day in by_day}


def _season_notes(zones: Sequence[ZoneOutlook], whole: ZoneOutlook, frame: Frame) -> list[str]:
    """Say when growth ends, where the weather tells, and that browning all over in the cold is dormancy."""
    ends = frame.axis.growth_ends(frame.as_of)
    if ends is None or (ends - frame.as_of).days > SEASON_SAID_DAYS:
        return []
    notes = []
    if whole.status != "full":
        day = date_words(ends, frame.lawn.date_form)
        ended = ends == frame.as_of
        notes.append(sentences.GROWTH_HAS_ENDED if ended else sentences.GROWTH_ENDS.format(day=day))
    shown = [zone for zone in zones if len(zone.observed_pct) > 2]
    falls = [max(zone.observed_pct) - zone.observed_pct[-1] > DORMANT_PCT for zone in shown]
    if shown and all(falls) and (ends - frame.as_of).days <= DORMANT_WITHIN_DAYS:
        notes.append(sentences.DORMANT)
    return notes


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


def _photo_notes(seen: Sequence[Seen], fits: Sequence[Recovery], frame: Frame) -> list[str]:
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
    last = _last_photo(seen)
    if last is not None and (frame.as_of - last).days > STALE_DAYS:
        notes.append(sentences.OLD_PHOTO.format(days=(frame.as_of - last).days))
    if frame.dry_days is not None:
        notes.append(sentences.DRY_DAYS.format(days=frame.dry_days))
    return notes


def _last_photo(seen: Sequence[Seen]) -> dt.date | None:
    return max((one.source.taken_on[-1] for one in seen if one.source.taken_on), default=None)

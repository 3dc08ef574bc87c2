"""The outlook of a lawn: what its photos say of the weeks to come.

One function, `outlook`: measured series in, a LawnOutlook out. It replays any day: nothing dated after `as_of` is read.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from swardmark.lawn.lawn import WHOLE_LAWN, Lawn
from swardmark.lawn.readings import DiaryEntry, Reading, days_since_water
from swardmark.lawn.timeaxis import TimeAxis, time_axis
from swardmark.lawn.weather import Weather
from swardmark.outlook.firstmow import UNLIKELY, first_mow
from swardmark.outlook.recovery import CurveBank, Recovery, draw_bank, fit_zones, whole_lawn
from swardmark.outlook.rows import Check, FirstMow, ForecastBand, LawnOutlook, ZoneOutlook, ZoneSeries
from swardmark.outlook.series import Seen, fill_missing, seen_after
from swardmark.outlook.status import (
    LEAST_DAYS,
    LEAST_PHOTOS,
    date_words,
    deadline_day,
    enough,
    look_for,
    measured_gain,
    stand,
    why,
)

__all__ = ["Check", "FirstMow", "ForecastBand", "LawnOutlook", "ZoneOutlook", "ZoneSeries", "outlook"]

WHOLE_POINT = "all"
BAND_AHEAD_DAYS = 28
STALE_DAYS = 14


@dataclass(frozen=True, eq=False)
class _Frame:
    """What all rows of one outlook share."""

    lawn: Lawn
    axis: TimeAxis
    bank: CurveBank
    as_of: dt.date
    dry_days: int | None
    coarse: bool


def outlook(
    series: Sequence[ZoneSeries],
    *,
    lawn: Lawn,
    as_of: dt.date,
    readings: Sequence[Reading] = (),
    diary: Sequence[DiaryEntry] = (),
    weather: Weather | None = None,
) -> LawnOutlook:
    """Forecast every zone and the lawn, as it would have been said on a day.

    Parameters
    ----------
    series : sequence of ZoneSeries
        The measured cover of each zone.
    lawn : Lawn
        Grass, levelling dates and settings.
    as_of : date
        The day of the forecast; later photos, readings, diary lines and temperatures are not read.
    readings, diary, weather : optional
        From readings.csv, diary.csv and weather.csv.
    """
    zero, notes = _day_zero(series, lawn, as_of)
    seen = [seen_after(s, zero=zero, as_of=as_of) for s in series]
    notes += [note for s in seen for note in s.notes]
    axis = time_axis(
        zero, weather, as_of=as_of, warm_season=lawn.is_warm_season, base_c=lawn.outlook.base_temperature_c
    )
    known = tuple(entry for entry in diary if entry.date <= as_of)
    frame = _Frame(
        lawn, axis, draw_bank(lawn.grass), as_of, days_since_water(known, as_of), len(series) > 200
    )
    fits = _fits(seen, frame)
    zones = [
        _zone_row(s, fit, frame, _expected(i, fits, seen, frame))
        for i, (s, fit) in enumerate(zip(seen, fits))
    ]
    zones, more = _most_flagged(zones, frame)
    whole, fit = _total(zones, seen, fits, frame)
    kept = [i for i, zone in enumerate(zones) if not zone.flagged]
    without = None
    if 0 < len(kept) < len(zones) and whole.status != "too early to say":
        without, _ = _total(*([part[i] for i in kept] for part in (zones, seen, fits)), frame)
    reached = float("nan")
    if fit is not None and whole.status != "too early to say":
        reached = fit.chance_above(
            lawn.outlook.first_mow_cover_pct, axis.model_day(_last_photo(seen) or as_of)
        )
    mow = first_mow(
        whole, lawn=lawn, zero=zero, as_of=as_of, readings=readings, diary=known, cover_reached=reached
    )
    notes += more + _photo_notes(seen, fits, frame)
    return LawnOutlook(
        tuple(zones), whole, without, mow, tuple(dict.fromkeys(notes)), axis.method, zero, as_of
    )


def _day_zero(series: Sequence[ZoneSeries], lawn: Lawn, as_of: dt.date) -> tuple[dt.date, list[str]]:
    leveled = lawn.leveled_before(as_of)
    if leveled is not None:
        return leveled, []
    first = min((day for s in series for day in s.taken_on if day <= as_of), default=as_of)
    told = (
        f"days count from the first photo, {first.isoformat()}: no levelling date before it is in lawn.toml"
    )
    return first, [f"{told[0].upper()}{told[1:]}."]


def _fits(seen: Sequence[Seen], frame: _Frame) -> tuple[Recovery, ...]:
    filled = fill_missing(seen)
    days = [frame.axis.model_days(s.day) for s in filled]
    return fit_zones(days, [s.cover_pct for s in filled], bank=frame.bank, sd_pct=[s.sd_pct for s in filled])


def _expected(index: int, fits: Sequence[Recovery], seen: Sequence[Seen], frame: _Frame) -> float:
    """Return the cover a zone should have: the grass's median, or that of the lawn's other zones if it is higher."""
    own = seen[index].day
    if not len(own):
        return float("nan")
    today = frame.axis.model_days(own[-1:])[0]
    bank = frame.bank
    usual = Recovery(bank, bank.prior, own[:0], own[:0], np.zeros(0, bool), 0.0).cover(today).median[0]
    others = [
        s.cover_pct[-1] for i, s in enumerate(seen) if i != index and len(s.day) and s.day[-1] == own[-1]
    ]
    return float(max(usual, np.median(others))) if len(others) > 1 else float(usual)


def _zone_row(seen: Seen, fit: Recovery, frame: _Frame, expected_pct: float) -> ZoneOutlook:
    own = np.isin(fit.day, frame.axis.model_days(seen.day))
    held = fit.held_out[own]
    if not enough(seen.day, held):
        return _too_early(seen, held)
    shown = replace(fit, day=fit.day[own], observed_pct=fit.observed_pct[own], held_out=held)
    return _row(
        seen.source.point, seen.source.zone, seen.source.area_m2, seen.day, shown, frame, expected_pct
    )


def _row(
    point: str, zone: str, area_m2: float, day: np.ndarray, fit: Recovery, frame: _Frame, expected_pct: float
) -> ZoneOutlook:
    lawn, axis = frame.lawn, frame.axis
    gate, full = lawn.outlook.first_mow_cover_pct, lawn.outlook.full_cover_pct
    today = float(day[~fit.held_out][-1])
    by = max(deadline_day(lawn.grass), today + 7.0)
    deadline = (by, float(axis.model_days(np.array([by]))[0]))
    state = stand(fit, day=day, full_pct=full, deadline=deadline, expected_pct=expected_pct)
    mow, mow_chance = _window(fit, gate, axis)
    filled, full_chance = _window(fit, full, axis)
    day28 = float(axis.model_days(np.array([28.0]))[0])
    full_on = date_words(filled[0], lawn.units) if filled[0] is not None else ""
    reason = why(state, full_pct=full, full_on=full_on, chance_full=full_chance)
    return ZoneOutlook(
        point, zone, state.status, state.cover_pct, state.gain_pct_per_day, *mow, *filled, fit.chance_by(full, day28),
        reason, look_for(state.status, units=lawn.units, dry_days=frame.dry_days), area_m2, tuple(map(float, day)),
        tuple(map(float, fit.observed_pct)), tuple(map(bool, fit.held_out)), _band(fit, today, frame),
        mow_chance, full_chance,
    )  # fmt: skip


def _window(fit: Recovery, level: float, axis: TimeAxis) -> tuple[tuple[dt.date | None, ...], float]:
    """Return the date, earliest and latest of a cover, and its chance; no dates where it is unlikely."""
    crossing = fit.crossing(level)
    if crossing.chance < UNLIKELY:
        return (None, None, None), crossing.chance
    days = (crossing.day, crossing.earliest, crossing.latest)
    return tuple(axis.date_of(day) for day in days), crossing.chance


def _band(fit: Recovery, today: float, frame: _Frame) -> ForecastBand:
    last = max(42.0, today + BAND_AHEAD_DAYS)
    days = np.arange(0.0, min(last, frame.bank.horizon_days) + 0.5, 3.0 if frame.coarse else 1.0)
    band = fit.cover(frame.axis.model_days(days))
    dates = tuple(frame.axis.zero + dt.timedelta(days=int(day)) for day in days)
    values = (band.median, band.low80, band.high80, band.low95, band.high95)
    return ForecastBand(dates, tuple(days.tolist()), *(tuple(value.tolist()) for value in values))


def _too_early(seen: Seen, held_out: np.ndarray) -> ZoneOutlook:
    used = seen.cover_pct[~held_out]
    last = float(used[-1]) if len(used) else float("nan")
    gain = measured_gain(seen.day[~held_out], used) if len(used) > 1 else float("nan")
    span = float(np.ptp(seen.day[~held_out])) if len(used) else 0.0
    many = {0: "no photo", 1: "one photo"}.get(len(used), f"{len(used)} photos")
    over = f" over {span:.0f} days" if len(used) > 1 else ""
    reason = f"Only {many}{over} since levelling; a forecast needs {LEAST_PHOTOS} over at least {LEAST_DAYS:.0f} days."
    nothing = (None,) * 6
    return ZoneOutlook(
        seen.source.point, seen.source.zone, "too early to say", last, gain, *nothing, float("nan"), reason, "",
        seen.source.area_m2, tuple(map(float, seen.day)), tuple(map(float, seen.cover_pct)),
        tuple(map(bool, held_out)), None,
    )  # fmt: skip


def _total(
    zones: Sequence[ZoneOutlook], seen: Sequence[Seen], fits: Sequence[Recovery], frame: _Frame
) -> tuple[ZoneOutlook, Recovery | None]:
    """Return the row of several zones together; too early while less than half the area can be forecast."""
    use = [i for i, zone in enumerate(zones) if zone.status != "too early to say"]
    area = sum(zone.area_m2 for zone in zones)
    if not use or sum(zones[i].area_m2 for i in use) < 0.5 * area:
        return _whole_too_early(zones, seen, area), None
    fit = whole_lawn([fits[i] for i in use], [zones[i].area_m2 for i in use])
    day, cover, held = _mean_series([zones[i] for i in use])
    fit = replace(fit, day=frame.axis.model_days(day), observed_pct=cover, held_out=held)
    if not enough(day, held):
        return _whole_too_early(zones, seen, area), None
    bank = frame.bank
    usual = Recovery(bank, bank.prior, day[:0], day[:0], np.zeros(0, bool), 0.0)
    expected = float(usual.cover(fit.day[~held][-1]).median[0])
    return _row(WHOLE_POINT, WHOLE_LAWN, area, day, fit, frame, expected), fit


def _whole_too_early(zones: Sequence[ZoneOutlook], seen: Sequence[Seen], area: float) -> ZoneOutlook:
    if not zones:
        nothing = ZoneSeries(WHOLE_POINT, WHOLE_LAWN, 0.0, (), (), (), ())
        return _too_early(Seen(nothing, np.zeros(0), np.zeros(0), np.zeros(0), ()), np.zeros(0, bool))
    day, cover, held = _mean_series(zones)
    most = max(zones, key=lambda zone: len(zone.day))
    last = float(cover[~held][-1]) if (~held).any() else float("nan")
    early = replace(
        most, point=WHOLE_POINT, zone=WHOLE_LAWN, status="too early to say", cover_pct=last, area_m2=area
    )
    gain = measured_gain(day[~held], cover[~held]) if (~held).sum() > 1 else float("nan")
    series = {
        "day": tuple(day.tolist()),
        "observed_pct": tuple(cover.tolist()),
        "held_out": tuple(held.tolist()),
    }
    dates = dict.fromkeys(("mow_on", "mow_earliest", "mow_latest", "full_on", "full_earliest", "full_latest"))
    unknown = dict.fromkeys(("chance_full_by_day28", "chance_mow", "chance_full"), float("nan"))
    reason = most.why
    if most.status != "too early to say":
        reason = "Less than half of the lawn's area has photos enough for a forecast."
    return replace(
        early, gain_pct_per_day=gain, why=reason, look_for="", band=None, **series, **dates, **unknown
    )


def _mean_series(zones: Sequence[ZoneOutlook]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return days, area-weighted mean cover and held-out marks; zones not in a photo are interpolated.

    A day counts where at least half of the area was photographed, and the rest lies between photos.
    """
    zones = [zone for zone in zones if zone.day]
    days = np.unique([day for zone in zones for day in zone.day])
    area = np.array([zone.area_m2 for zone in zones])
    inter = np.array([np.interp(days, z.day, z.observed_pct, left=np.nan, right=np.nan) for z in zones])
    shot = np.array([np.isin(days, zone.day) for zone in zones])
    held = np.array([np.isin(days, np.array(zone.day)[list(zone.held_out)]) for zone in zones])
    if not len(zones):
        return np.zeros(0), np.zeros(0), np.zeros(0, bool)
    known = np.isfinite(inter)
    weight = area[:, None] * known
    keep = (area @ shot >= 0.5 * area.sum()) & (weight.sum(axis=0) >= 0.9 * area.sum())
    mean = (weight * np.nan_to_num(inter)).sum(axis=0)[keep] / weight.sum(axis=0)[keep]
    return days[keep], mean, (area @ held)[keep] > 0.5 * area.sum()


def _most_flagged(zones: list[ZoneOutlook], frame: _Frame) -> tuple[list[ZoneOutlook], list[str]]:
    """Where most zones are flagged, say one thing about the lawn instead of the same thing of each zone."""
    flagged = [zone for zone in zones if zone.flagged]
    if len(zones) < 3 or len(flagged) <= len(zones) / 2:
        return zones, []
    advice = look_for("slow", units=frame.lawn.units, dry_days=frame.dry_days)
    note = (
        f"{len(flagged)} of {len(zones)} zones are behind, so the cause is likely to lie with the whole lawn (weather, "
        f"water, depth of sand) and not with single places. {advice}"
    )
    return [replace(zone, look_for="") if zone.flagged else zone for zone in zones], [note]


def _photo_notes(seen: Sequence[Seen], fits: Sequence[Recovery], frame: _Frame) -> list[str]:
    notes = []
    held = [s for s, fit in zip(seen, fits, strict=True) if fit.held_out.any()]
    if held:
        day = frame.axis.zero + dt.timedelta(days=float(max(s.day[-1] for s in held)))
        what = (
            "the whole photo"
            if len(held) > 1 and len(held) >= len(seen) / 2
            else ", ".join(s.source.zone for s in held)
        )
        notes.append(
            f"The photo of {date_words(day, frame.lawn.units)} is far outside what was expected ({what}); it is held out "
            f"until the next photo confirms it. Take another one now."
        )
    last = _last_photo(seen)
    if last is not None and (frame.as_of - last).days > STALE_DAYS:
        notes.append(f"The newest photo is {(frame.as_of - last).days} days old; take a new one.")
    if frame.dry_days is not None:
        notes.append(
            f"The diary's last water or rain was {frame.dry_days} days before {frame.as_of.isoformat()}."
        )
    return notes


def _last_photo(seen: Sequence[Seen]) -> dt.date | None:
    return max((s.source.taken_on[-1] for s in seen if s.source.taken_on), default=None)

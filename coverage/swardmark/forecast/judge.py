"""One row of the outlook: a zone, or several zones together, from its weighed curve bank."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from swardmark.bank import priors as p
from swardmark.bank.bank import CurveBank
from swardmark.common.phrases import date_words, percent
from swardmark.forecast import sentences
from swardmark.forecast.recovery import Belief, Recovery, beliefs
from swardmark.forecast.rows import BY_LATEST, Course, ForecastBand, Period, Status, ZoneOutlook
from swardmark.forecast.status import (
    LEAST_DAYS,
    LEAST_PHOTOS,
    LEAST_POINTS,
    Standing,
    deadline_day,
    late_day,
    look_for,
    measured_gain,
    stand,
    why,
)
from swardmark.forecast.timeaxis import TimeAxis
from swardmark.forecast.weigh import hear_each_other
from swardmark.lawn.toml import Lawn

BAND_AHEAD_DAYS = 28
LEAST_BAND_DAYS = 42.0
LATE_AHEAD_DAYS = 21.0
UNLIKELY = 0.5
# Zones that may stay as they are or resume, and how likely either must be to be shown.
FORKED: tuple[Status, ...] = ("stalled", "losing ground")
LEAST_SHARE = 0.05
NAN = float("nan")


@dataclass(frozen=True, eq=False)
class Frame:
    """What all rows of one outlook share."""

    lawn: Lawn
    axis: TimeAxis
    bank: CurveBank
    as_of: dt.date
    dry_days: int | None = None
    coarse: bool = False
    _usual: dict[float, float] = field(default_factory=dict, repr=False)

    def usual_cover(self, model_day: float) -> float:
        """Return the median cover of the grass on a day, before any photo [%]."""
        if model_day not in self._usual:
            none = np.zeros(0)
            prior = Recovery(self.bank, self.bank.prior, none, none, none.astype(bool), 0.0)
            self._usual[model_day] = float(prior.cover(model_day).median[0])
        return self._usual[model_day]


@dataclass(frozen=True)
class Name:
    """Which ground a row is about."""

    point: str
    zone: str
    area_m2: float


def stand_then(
    fits: Sequence[Recovery],
    zones: Sequence[tuple[np.ndarray, np.ndarray] | None],
    day: float,
    frame: Frame,
    before: Sequence[Standing | None],
    *,
    usual_pct: float,
    expected: p.LawnPrior = p.ANY_LAWN,
) -> list[Standing | None]:
    """Return how the zones stood after the photos of a day, all at once; as before where they are not judged.

    That is roughly what was said then: from the members of the bank alone, in the middle scale of the error, and with
    the light of the photos as it is known today.

    Parameters
    ----------
    fits : sequence of Recovery
        Of today.
    zones : sequence of tuple of ndarray
        Calendar days and cover of each zone's photos until then; None where it is not judged.
    day : float
        The calendar day.
    frame : Frame
        The lawn, the time axis and the bank.
    before : sequence of Standing
        How they stood after the photo before.
    usual_pct : float
        The cover that a zone should have by then [%].
    expected : LawnPrior, optional
        What past seasons say of the lawn.
    """
    if all(zone is None for zone in zones):
        return list(before)
    now, deadlines = float(frame.axis.model_days(np.array(day))), _model_deadlines(day, frame)
    whole = all(fit.history is None or fit.history.shape[1] == len(frame.bank.prior) for fit in fits)
    bank = frame.bank if whole else frame.bank.thinned
    seen = [int(np.searchsorted(fit.day, now + 1e-9, side="right")) for fit in fits]
    own = np.stack([
        fit.history[n - 1] if n and fit.history is not None else bank.prior
        for fit, n in zip(fits, seen, strict=True)
    ])  # fmt: skip
    weight = hear_each_other(own, bank, expected)[0]
    told, over = _beliefs(weight, bank, now, deadlines, frame), _time_over(now, deadlines)
    return [
        stood if zone is None else _standing(belief, *zone, over, frame, expected_pct=usual_pct, before=stood)
        for zone, belief, stood in zip(zones, told, before, strict=True)
    ]


def _model_deadlines(day: float, frame: Frame) -> tuple[float, float]:
    """Return the deadlines of a calendar day on the model's days."""
    in_time, late = frame.axis.model_days(np.array(_deadlines(day, frame.lawn)))
    return float(in_time), float(late)


def _time_over(now: float, deadlines: tuple[float, float]) -> float:
    """Return how much of the time in which a zone should be full is over."""
    return now / max(deadlines[0], 1e-9)


def _beliefs(
    weight: np.ndarray, bank: CurveBank, now: float, deadlines: tuple[float, float], frame: Frame
) -> list[Belief]:
    in_time, late = deadlines
    full = frame.lawn.outlook.full_cover_pct
    return beliefs(weight, bank, now, full_pct=full, in_time=in_time, late=late, points=LEAST_POINTS)


def _standing(
    belief: Belief,
    day: np.ndarray,
    cover: np.ndarray,
    time_over: float,
    frame: Frame,
    *,
    expected_pct: float,
    before: Standing | None,
) -> Standing:
    return stand(
        belief,
        day=day,
        cover_pct=cover,
        full_pct=frame.lawn.outlook.full_cover_pct,
        time_over=time_over,
        expected_pct=expected_pct,
        before=before,
    )


def judged(
    name: Name,
    day: np.ndarray,
    fit: Recovery,
    frame: Frame,
    *,
    expected_pct: float,
    stood: Standing | None = None,
) -> ZoneOutlook:
    """Return the row of a zone with photos enough for a forecast.

    Parameters
    ----------
    name : Name
        What the row is about.
    day : ndarray, shape (photos,)
        Calendar days since leveling of the photos in `fit`.
    fit : Recovery
        On the model's days.
    frame : Frame
        The lawn, the time axis and the bank.
    expected_pct : float
        The cover that the zone should have by now [%].
    stood : Standing, optional
        How it stands by its photos one by one; several zones together have only their newest.
    """
    lawn, axis = frame.lawn, frame.axis
    full = lawn.outlook.full_cover_pct
    used = ~fit.held_out
    today, now = float(day[used][-1]), float(fit.day[used][-1])
    by, late = _deadlines(today, lawn)
    deadlines = _model_deadlines(today, frame)
    (belief,) = _beliefs(fit.weight[None], fit.bank, now, deadlines, frame)
    own = belief, day[used], fit.observed_pct[used], _time_over(now, deadlines)
    state = _standing(*own, frame, expected_pct=expected_pct, before=None)
    if stood is None:
        state = _standing(*own, frame, expected_pct=expected_pct, before=state)
    else:
        state = replace(state, status=stood.status)
    mow, chance_mow = _period(fit, lawn.outlook.first_mow_cover_pct, state, frame)
    filled, chance_full = _period(fit, full, state, frame)
    courses = _courses(fit, today, frame) if state.status in FORKED else ()
    full_on, full_by = (date_words(day, lawn.date_form) if day else "" for day in (filled.on, filled.latest))
    chance_by = BY_LATEST * chance_full if filled.latest else chance_full
    due_on, late_on = (date_words(axis.zero + dt.timedelta(days=int(d)), lawn.date_form) for d in (by, late))
    return ZoneOutlook(
        point=name.point,
        zone=name.zone,
        status=state.status,
        cover_pct=state.cover_pct,
        gain_pct_per_day=state.gain_pct_per_day,
        mow_on=mow.on,
        mow_earliest=mow.earliest,
        mow_latest=mow.latest,
        full_on=filled.on,
        full_earliest=filled.earliest,
        full_latest=filled.latest,
        chance_full_by_day28=fit.chance_by(full, float(axis.model_days(np.array([28.0]))[0])),
        why=why(
            state,
            full_pct=full,
            full_on=full_on,
            full_by=full_by,
            chance_by=chance_by,
            due_on=due_on,
            late_on=late_on,
        ),
        look_for=look_for(state.status, units=lawn.units, dry_days=frame.dry_days),
        area_m2=name.area_m2,
        day=tuple(map(float, day)),
        observed_pct=tuple(map(float, fit.observed_pct)),
        held_out=tuple(map(bool, fit.held_out)),
        band=_band(fit, today, frame),
        chance_mow=chance_mow,
        chance_full=chance_full,
        courses=courses,
        ahead=_courses_words(courses),
    )


def _deadlines(today: float, lawn: Lawn) -> tuple[float, float]:
    """Return the calendar days by which a zone should be full, and by which even a slow one is."""
    return (
        max(deadline_day(lawn.grass), today + 7.0),
        max(late_day(lawn.grass), today + LATE_AHEAD_DAYS),
    )


def too_early(
    name: Name, day: np.ndarray, cover: np.ndarray, held_out: np.ndarray, *, reason: str = ""
) -> ZoneOutlook:
    """Return the row of a zone without photos enough: what was measured, and no date."""
    used, days = cover[~held_out], day[~held_out]
    return ZoneOutlook(
        point=name.point,
        zone=name.zone,
        status="too early to say",
        cover_pct=float(used[-1]) if len(used) else NAN,
        gain_pct_per_day=measured_gain(days, used),
        mow_on=None,
        mow_earliest=None,
        mow_latest=None,
        full_on=None,
        full_earliest=None,
        full_latest=None,
        chance_full_by_day28=NAN,
        why=reason or _why_too_early(days),
        look_for="",
        area_m2=name.area_m2,
        day=tuple(map(float, day)),
        observed_pct=tuple(map(float, cover)),
        held_out=tuple(map(bool, held_out)),
        band=None,
    )


def _why_too_early(day: np.ndarray) -> str:
    template = sentences.CLOSE_PHOTOS if len(day) >= LEAST_PHOTOS else sentences.FEW_PHOTOS
    template = {0: sentences.NO_PHOTO, 1: sentences.ONE_PHOTO}.get(len(day), template)
    span = float(np.ptp(day)) if len(day) else 0.0
    return template.format(photos=len(day), span=span, least=LEAST_PHOTOS, days=LEAST_DAYS)


def _period(fit: Recovery, level: float, state: Standing, frame: Frame) -> tuple[Period, float]:
    """Return the dates on which a cover is first reached, and the chance; no dates where it is less than even.

    A stalled zone has no date of a cover that it has not reached, nor has any once growth has ended for the year.
    """
    axis = frame.axis
    ends = axis.growth_ends(frame.as_of)
    crossing = fit.crossing(level, ends=np.inf if ends is None else axis.model_day(ends))
    still = state.status == "stalled" or ends == frame.as_of
    if crossing.chance < UNLIKELY or (still and state.cover_pct < level):
        return Period(), crossing.chance
    on, earliest, latest = (axis.date_of(day) for day in (crossing.day, crossing.earliest, crossing.latest))
    return Period(on, earliest, latest), crossing.chance


def _courses(fit: Recovery, today: float, frame: Frame) -> tuple[Course, ...]:
    """Return the two courses of a zone that stands still; none where one of them is next to certain."""
    now, later = fit.bank.at(frame.axis.model_days(np.array([today, today + BAND_AHEAD_DAYS])))
    resumes = later - now >= LEAST_POINTS
    share = float(fit.weight @ resumes)
    if not LEAST_SHARE <= share <= 1.0 - LEAST_SHARE:
        return ()
    return (
        Course("stays", 1.0 - share, _band(fit.given(~resumes), today, frame, first=today)),
        Course("resumes", share, _band(fit.given(resumes), today, frame, first=today)),
    )


def _courses_words(courses: tuple[Course, ...]) -> str:
    if not courses:
        return ""
    stays, resumes = courses
    return sentences.COURSES.format(
        stays=stays.band.median[-1],
        stays_share=percent(stays.share),
        resumes=resumes.band.median[-1],
        resumes_share=percent(resumes.share),
    )


def _band(fit: Recovery, today: float, frame: Frame, *, first: float = 0.0) -> ForecastBand:
    last = min(max(LEAST_BAND_DAYS, today + BAND_AHEAD_DAYS), max(frame.bank.horizon_days, today))
    days = np.arange(first, last + 0.5, 3.0 if frame.coarse else 1.0)
    band = fit.cover(frame.axis.model_days(days))
    dates = tuple(frame.axis.zero + dt.timedelta(days=int(day)) for day in days)
    values = (band.median, band.low80, band.high80, band.low95, band.high95)
    return ForecastBand(dates, tuple(days.tolist()), *(tuple(value.tolist()) for value in values))

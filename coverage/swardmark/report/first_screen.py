"""The report's first screen as plain values: the sentence, the one number, the parts that are not ready, and today."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from swardmark.common.phrases import percent
from swardmark.common.text import clean
from swardmark.common.units import format_area
from swardmark.drawing import sentences
from swardmark.forecast.rows import BY_LATEST
from swardmark.mowing.parts import whole_interval
from swardmark.words.phrases import day_text, percent_text, window_text

if TYPE_CHECKING:
    from swardmark.season import Season


@dataclass(frozen=True)
class Number:
    """The one large number: cover of the lawn, the ground it speaks of, and what changed since the photo before."""

    value: str
    ground: str
    change: str


@dataclass(frozen=True)
class Fact:
    """What is said at word size: its name and its value."""

    name: str
    value: str


def verdict(season: Season) -> dict[str, object]:
    """Return the sentence, the number, the parts that are not ready, and the days of first mow and full cover."""
    mow = season.outlook.first_mow
    return {
        "sentence": mow.sentence,
        "number": _number(season),
        "parts": tuple(_parts(season)),
        "facts": tuple(_facts(season)),
        "notes": season.outlook.notes,
        "waits": not (mow.ready or mow.mowed_on is not None) or bool(mow.steer_round),
        "footnote": mow.footnote,
    }


def today(season: Season) -> dict[str, object]:
    """Return the card of the day: its phase, and its lines as (what to do, why, what to take care of).

    The sentence of the verdict, which stands above the card, is not said a second time.
    """
    day, mow = day_text(season.as_of, season.lawn.date_form), season.outlook.first_mow
    lines = [
        (
            sentences.MOW_AS_ABOVE if line.do == mow.sentence else clean(line.do, most=400),
            line.why,
            line.careful,
        )
        for line in season.today.lines
        if line.do != mow.sentence or mow.is_due
    ]
    return {"title": sentences.TODAY.format(day=day, phase=season.today.phase), "lines": lines}


def _number(season: Season) -> Number:
    whole = season.outlook.whole
    ground = ""
    if math.isfinite(whole.cover_pct):
        template = sentences.GROUND_RANGE if season.outlook.first_mow.parts else sentences.GROUND
        low, high = whole_interval(season.outlook.first_mow.parts)
        area = format_area(whole.area_m2, units=season.lawn.units)
        ground = template.format(area=area, low=low, high=high)
    return Number(percent_text(whole.cover_pct), ground, _change(season))


def _change(season: Season) -> str:
    whole = season.outlook.whole
    seen = [
        (day, cover)
        for day, cover, held in zip(whole.day, whole.observed_pct, whole.held_out, strict=True)
        if not held and math.isfinite(cover)
    ]
    if len(seen) < 2:
        return ""
    (day, before), (last, now) = seen[-2:]
    return sentences.CHANGE.format(before=before, now=now, days=last - day)


def _parts(season: Season) -> Iterator[str]:
    """Yield the parts that are not ready: name, cover, and their state in a word or three."""
    status = {(zone.point, zone.zone): zone.status for zone in season.outlook.zones}
    for part in season.outlook.first_mow.steer_round:
        state = status.get((part.point, part.name), "")
        template = sentences.PART_WITH_STATUS if state else sentences.PART
        yield template.format(part=clean(part.name, most=40), cover=part.cover_pct, status=state)


def _facts(season: Season) -> Iterator[Fact]:
    whole, form = season.outlook.whole, season.lawn.date_form
    yield Fact(sentences.FIRST_MOW, _first_mow(season))
    if whole.status == "full":
        if season.outlook.first_mow.steer_round:
            return  # the mean is full, but parts are not: "now" beside their list would contradict it
        yield Fact(sentences.LAWN_FULL, sentences.NOW)
    elif whole.full_on is None:
        yield Fact(sentences.LAWN_FULL, sentences.FULL_NOT_IN_SIGHT)
    else:
        to_come = season.as_of if whole.full_on > season.as_of else None
        window = window_text(whole.full_earliest, whole.full_latest, form, as_of=to_come)
        yield Fact(
            sentences.LAWN_FULL, _dated(day_text(whole.full_on, form), window, BY_LATEST * whole.chance_full)
        )


def _first_mow(season: Season) -> str:
    mow, form = season.outlook.first_mow, season.lawn.date_form
    if mow.mowed_on is not None:
        return sentences.MOWED.format(day=day_text(mow.mowed_on, form))
    if mow.ready:
        return sentences.READY
    if mow.mow_on is None:
        return sentences.NO_DATE
    if mow.old_photo is not None:
        return sentences.AFTER_PHOTO
    if mow.days_to_go == 0:
        return sentences.AFTER_CHECKS
    window = window_text(mow.mow_earliest, mow.mow_latest, form, as_of=season.as_of)
    return _dated(day_text(mow.mow_on, form), window, mow.chance)


def _dated(day: str, window: str, chance: float) -> str:
    return sentences.WINDOW_AND_CHANCE.format(day=day, window=window, chance=percent(chance))

"""What a lawn needs of its keeper on a day, in one word and one sentence, so that many lawns can be put in order.

The order is our own judgment: leaf that stands too high is lost by the day; ground that is not filling in is lost by
the week; without a photo nothing is known; a lawn that is ready to mow can wait a day or two.
"""

from __future__ import annotations

import datetime as dt
from typing import Literal, get_args

from swardmark.common.phrases import date_words, plural
from swardmark.common.text import clean
from swardmark.forecast.rows import ZoneOutlook
from swardmark.lawns import sentences as say
from swardmark.mowing.photo_days import next_photo_days
from swardmark.mowing.today import Known, Phase, Today

Need = Literal["leaf overdue", "not filling in", "photo overdue", "due today", "ready to mow", "fine"]
NEEDS: tuple[Need, ...] = get_args(Need)
"""In the order of a day's round: who needs the keeper most comes first."""
LATE_PHOTO_DAYS = 2
"""A photo that is so many days late is overdue."""
GROWING: tuple[Phase, ...] = ("keep it moist", "grow in", "first mow", "raise the cut")
"""The phases in which the lawn fills in and photos are asked for."""


def need_of(known: Known, now: Today) -> tuple[Need, str]:
    """Return what a lawn needs on the day of knowledge, and the sentence that says so.

    Parameters
    ----------
    known : Known
        What is known of the lawn on the day.
    now : Today
        Its phase and lines of that day.
    """
    mow = known.outlook.first_mow if known.outlook is not None else None
    growing = now.phase in GROWING
    if mow is not None and mow.overdue and mow.mowed_on is None and growing:
        return "leaf overdue", mow.sentence
    lost = _not_filling_in(known) if growing else ()
    if lost:
        template = plural(len(lost), say.ONE_NOT_FILLING_IN, say.MORE_NOT_FILLING_IN)
        worst = lost[0]
        return "not filling in", template.format(
            part=clean(worst.zone, most=40), status=worst.status, cover=worst.cover_pct, more=len(lost) - 1
        )
    due = photo_due(known) if growing else None
    if due is not None and (known.as_of - due).days > LATE_PHOTO_DAYS:
        return "photo overdue", _photo_sentence(known, due)
    dated = [line for line in now.lines if not line.is_routine and line.date == known.as_of]
    if now.phase == "first mow" and mow is not None and mow.ready and mow.mowed_on is None:
        return "ready to mow", mow.sentence
    if dated:
        return "due today", dated[0].do
    if mow is not None and growing and mow.mowed_on is None:
        return "fine", mow.sentence
    return "fine", now.lines[0].do if now.lines else say.NOTHING_DUE


def photo_due(known: Known) -> dt.date | None:
    """Return the day on which the next photo was or is due; None before the first leveling."""
    zero = known.zero(known.as_of)
    if zero is None:
        return None
    full = known.outlook is not None and known.outlook.whole.status == "full"
    return next_photo_days(known.last_photo, zero=zero, as_of=zero, is_full=full, count=1)[0]


def is_stale(known: Known, now: Today) -> bool:
    """Whether the newest photo of a growing lawn is too old to say how it stands today."""
    return now.phase in GROWING and known.is_stale


def _not_filling_in(known: Known) -> tuple[ZoneOutlook, ...]:
    """Return the parts that lose ground or stand still, the barest first."""
    zones = known.outlook.zones if known.outlook is not None else ()
    lost = [zone for zone in zones if zone.status in ("stalled", "losing ground")]
    return tuple(sorted(lost, key=lambda zone: zone.cover_pct))


def _photo_sentence(known: Known, due: dt.date) -> str:
    on = date_words(due, known.lawn.date_form)
    if known.last_photo is None:
        return say.NO_PHOTO_YET.format(due=on)
    return say.PHOTO_OVERDUE.format(last=date_words(known.last_photo, known.lawn.date_form), due=on)

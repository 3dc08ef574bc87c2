"""The first mow after levelling: the cover's date, the height of the leaf, and the keeper's own checks.

No published threshold of cover for the first mow over sand exists; 70 % is the tool's own rule, and the sentence says
so. The height follows the one-third rule: never cut off more than a third of the leaf, so wait for 1.5 times the height
of cut (UF/IFAS Extension, Clay County, "Mowing tips", 2018; University of Tennessee mowing heights). Some print 1.33
times; the setting offers it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np

from swardmark.lawn.lawn import Lawn
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.outlook.rows import Check, FirstMow, Period, ZoneOutlook
from swardmark.outlook.status import date_words, percent

CAUTION = (
    "Before the blade turns, walk the lawn and pick up stones: fresh sand hides them and a mower throws them. Closed "
    "shoes, eye and ear protection, nobody near; not on wet or soft ground; follow the mower's manual. Sand dulls the "
    "blade, so check it after the first cuts."
)
READING_DAYS = 7
CONFIRMATIONS = (
    ("dry", "the surface is dry", 2),
    ("firm", "the ground is firm underfoot", 14),
    ("tug_test_passed", "a tug does not lift the turf", 60),
    ("no_loose_ridges", "there are no loose ridges of sand", 60),
)


def first_mow(
    whole: ZoneOutlook,
    *,
    lawn: Lawn,
    zero: dt.date | None,
    as_of: dt.date,
    readings: Sequence[Reading] = (),
    diary: Sequence[DiaryEntry] = (),
    cover_reached: float = float("nan"),
) -> FirstMow:
    """Judge whether the lawn may be mown, and when.

    Parameters
    ----------
    whole : ZoneOutlook
        The lawn's total.
    cover_reached : float
        Chance that the lawn has the cover for the first mow today; NaN when it is too early to say.
    """
    checks = (
        _cover_check(whole, lawn, cover_reached),
        _height_check(lawn, zero, as_of, readings),
        *_confirmations(lawn, zero, as_of, readings),
    )
    mowed = min(
        (e.date for e in diary if e.what == "mowed" and (zero or as_of) < e.date <= as_of), default=None
    )
    missing = tuple(f"{check.name}: {check.detail}" for check in checks if check.state != "met")
    cover, height, *others = (check.state for check in checks)
    ready = cover == "met" and height != "not met" and all(state == "met" for state in others)
    when = _when(whole, as_of, reached=cover == "met")
    return FirstMow(
        ready=ready,
        sentence=_sentence(whole, lawn, checks, when, ready=ready, mowed=mowed),
        mow_on=when.on,
        mow_earliest=when.earliest,
        mow_latest=when.latest,
        days_to_go=(when.on - as_of).days if when.on is not None else None,
        chance=whole.chance_mow,
        checks=checks,
        missing=missing,
        caution=CAUTION,
        mowed_on=mowed,
    )


def _when(whole: ZoneOutlook, as_of: dt.date, *, reached: bool) -> Period:
    """Return the date and its window: today where the cover is there, else tomorrow or later."""
    if reached:
        return Period(as_of, as_of, as_of)
    days, tomorrow = (whole.mow_on, whole.mow_earliest, whole.mow_latest), as_of + dt.timedelta(days=1)
    return Period(*(None if day is None else max(day, tomorrow) for day in days))


def _cover_check(whole: ZoneOutlook, lawn: Lawn, chance: float) -> Check:
    gate = lawn.outlook.first_mow_cover_pct
    if not np.isfinite(chance):
        return Check("cover", "unknown", f"too early to say whether the lawn nears {gate:.0f} %")
    detail = f"{whole.cover_pct:.0f} % of {gate:.0f} % covered"
    there = chance >= 0.5 and whole.cover_pct >= gate
    return Check("cover", "met" if there else "not met", detail)


def _height_check(lawn: Lawn, zero: dt.date | None, as_of: dt.date, readings: Sequence[Reading]) -> Check:
    """Compare the newest leaf heights with the one-third rule."""
    name, target, factor = "leaf height", lawn.mowing.target_height_mm, lawn.outlook.mow_at_times_target
    recent = [r for r in readings if r.height_mm is not None and (zero or as_of) <= r.date <= as_of]
    recent = [r for r in recent if (as_of - r.date).days <= READING_DAYS]
    if target is None:
        return Check(name, "unknown", "set target_height_mm under [mowing] and measure the leaf")
    needed = target * factor
    if not recent:
        return Check(
            name, "unknown", f"measure it; mow at {_length(needed, lawn)} to cut at {_length(target, lawn)}"
        )
    newest = {reading.zone: reading for reading in recent}
    height = float(np.mean([reading.height_mm for reading in newest.values()]))
    detail = f"{_length(height, lawn)} of {_length(needed, lawn)} ({factor:g} times the height of cut)"
    tidy = f"; the 1.33 times rule would do at {_length(target * 1.33, lawn)}" if factor > 1.4 else ""
    if height >= needed:
        return Check(name, "met", detail)
    return Check(name, "not met", detail + (tidy if height >= target * 1.33 else ""))


def _confirmations(
    lawn: Lawn, zero: dt.date | None, as_of: dt.date, readings: Sequence[Reading]
) -> tuple[Check, ...]:
    checks = []
    for name, words, lasts_days in CONFIRMATIONS:
        on = getattr(lawn.confirmed, name)
        firm = [r for r in readings if r.firm is not None and r.date <= as_of] if name == "firm" else []
        if firm and (on is None or firm[-1].date >= on):
            state_on, good = firm[-1].date, all(r.firm for r in firm if r.date == firm[-1].date)
        else:
            state_on, good = on, True
        label = words.removeprefix("the ").removeprefix("there are ")
        if (
            state_on is None
            or state_on > as_of
            or (zero and state_on < zero)
            or (as_of - state_on).days > lasts_days
        ):
            checks.append(
                Check(
                    label,
                    "unknown",
                    f"check that {words}, then note the day under [confirmed]",
                )
            )
        elif good:
            checks.append(Check(label, "met", f"confirmed on {date_words(state_on, lawn.units)}"))
        else:
            checks.append(Check(label, "not met", f"noted as not so on {date_words(state_on, lawn.units)}"))
    return tuple(checks)


def _sentence(
    whole: ZoneOutlook,
    lawn: Lawn,
    checks: Sequence[Check],
    when: Period,
    *,
    ready: bool,
    mowed: dt.date | None,
) -> str:
    gate, units = lawn.outlook.first_mow_cover_pct, lawn.units
    rule = f"(The {gate:.0f} % rule is swardmark's own; no published one exists.)"
    cover = f"{whole.cover_pct:.0f} % covered"
    if mowed is not None:
        return f"The first mow was on {date_words(mowed, units)}; the lawn is {cover} now."
    if whole.status == "too early to say":
        return f"Too early to say when to mow: {whole.why[0].lower()}{whole.why[1:]}"
    if ready:
        return f"Ready for the first mow: {cover}, and your checks are done. {rule}"
    if checks[0].state == "met":
        if checks[1].state == "not met":
            return f"Almost ready for the first mow: {cover}, but the leaf is still short ({checks[1].detail}). {rule}"
        return (
            f"The lawn has the cover for its first mow ({cover}); do the checks below before you mow. {rule}"
        )
    if when.on is None or when.earliest is None or when.latest is None:
        odds = percent(whole.chance_mow)
        return f"No date for the first mow: {cover}, and the chance of reaching {gate:.0f} % is only {odds}. {rule}"
    window = f"between {date_words(when.earliest, units)} and {date_words(when.latest, units)} in four cases of five"
    if when.earliest == when.latest:
        window = "give or take a day"
    day, odds = date_words(when.on, units), percent(whole.chance_mow)
    return (
        f"The first mow is likely on {day}, {window}; the chance that the lawn reaches {gate:.0f} % cover is {odds}. "
        f"{rule}"
    )


def _length(mm: float, lawn: Lawn) -> str:
    return f"{mm / 25.4:.2g} in" if lawn.units == "us" else f"{mm:.0f} mm"

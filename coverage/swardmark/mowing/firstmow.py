"""The first mow after leveling: the cover's date, the height of the leaf, and the keeper's own checks.

No published threshold of cover for the first mow over sand exists; 70 % is the tool's own rule, and the sentence says
so. The height follows the one-third rule: never cut off more than a third of the leaf, so wait for 1.5 times the height
of cut (UF/IFAS Extension, Clay County, "Mowing tips", 2018; University of Tennessee mowing heights). Some print 1.33
times; the setting offers it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np

from swardmark.forecast.rows import Period, ZoneOutlook
from swardmark.forecast.status import date_words, percent
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn
from swardmark.mowing.rows import Check, FirstMow

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
    cover, height, *others = (check.state for check in checks)
    ready = cover == "met" and height != "not met" and all(state == "met" for state in others)
    when = _when(whole, as_of, reached=cover == "met")
    return FirstMow(
        ready=ready,
        sentence=_sentence(
            whole, lawn, checks, when, _overdue(whole, zero, as_of, lawn.units), ready=ready, mowed=mowed
        ),
        mow_on=when.on,
        mow_earliest=when.earliest,
        mow_latest=when.latest,
        days_to_go=(when.on - as_of).days if when.on is not None else None,
        chance=whole.chance_mow,
        checks=checks,
        missing=_missing(checks),
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
    if not np.isfinite(whole.cover_pct):
        return Check("cover", "unknown", f"not measured yet; {gate:.0f} % is wanted")
    detail = f"{whole.cover_pct:.0f} % of {gate:.0f} % covered"
    if not np.isfinite(chance):
        return Check("cover", "unknown", f"{detail}; too early for a date")
    there = chance >= 0.5 and whole.cover_pct >= gate
    return Check("cover", "met" if there else "not met", detail)


def _height_check(lawn: Lawn, zero: dt.date | None, as_of: dt.date, readings: Sequence[Reading]) -> Check:
    """Compare the newest leaf heights with the one-third rule."""
    name, target, factor = "leaf height", lawn.mowing.target_height_mm, lawn.outlook.mow_at_times_target
    recent = [r for r in readings if r.height_mm is not None and (zero or as_of) <= r.date <= as_of]
    recent = [r for r in recent if (as_of - r.date).days <= READING_DAYS]
    if target is None:
        return Check(name, "unknown", "set target_height_mm under [mowing], and note heights in readings.csv")
    needed = target * factor
    if not recent:
        heights = f"{_length(needed, lawn)} is high enough to cut it to {_length(target, lawn)}"
        return Check(name, "unknown", f"measure it and note it in readings.csv; {heights}")
    newest = {reading.zone: reading for reading in recent}
    height = float(np.mean([reading.height_mm for reading in newest.values()]))
    detail = f"{_length(height, lawn)} of {_length(needed, lawn)} ({factor:g} times the height of cut)"
    tidy = f"; enough by the 1.33 times rule ({_length(target * 1.33, lawn)})" if factor > 1.4 else ""
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
        if state_on is None or state_on > as_of or (zero and state_on < zero):
            checks.append(Check(label, "unknown", f"not confirmed; {_note_it(name)}"))
        elif (as_of - state_on).days > lasts_days:
            said = f"last confirmed on {date_words(state_on, lawn.units)}; look again and {_note_it(name)}"
            checks.append(Check(label, "unknown", said))
        elif good:
            checks.append(Check(label, "met", f"confirmed on {date_words(state_on, lawn.units)}"))
        else:
            checks.append(Check(label, "not met", f"noted as soft on {date_words(state_on, lawn.units)}"))
    return tuple(checks)


def _note_it(name: str) -> str:
    return f"note the day as {name} under [confirmed] in lawn.toml"


def _missing(checks: Sequence[Check]) -> tuple[str, ...]:
    """Return what is not met, one line each; what the keeper has yet to look at is one line together."""
    cover, height, *own = checks
    looks = ", ".join(check.name for check in own if check.state == "unknown")
    lines = [f"{check.name}: {check.detail}" for check in (cover, height) if check.state != "met"]
    lines += [f"{check.name}: {check.detail}" for check in own if check.state == "not met"]
    if looks:
        lines.append(f"your own look: {looks}; note the day of each under [confirmed] in lawn.toml")
    return tuple(lines)


def _sentence(
    whole: ZoneOutlook,
    lawn: Lawn,
    checks: Sequence[Check],
    when: Period,
    overdue: str,
    *,
    ready: bool,
    mowed: dt.date | None,
) -> str:
    gate, units = lawn.outlook.first_mow_cover_pct, lawn.units
    rule = f"(The {gate:.0f} % rule is swardmark's own; no published one exists.)"
    cover = f"{whole.cover_pct:.0f} % covered"
    if mowed is not None:
        now = f"; the lawn is {cover} now" if np.isfinite(whole.cover_pct) else ""
        return f"The first mow was on {date_words(mowed, units)}{now}."
    if whole.status == "too early to say":
        return f"Too early to say when to mow: {whole.why[0].lower()}{whole.why[1:]}"
    if checks[0].state == "met":
        return f"{_with_cover(cover, checks, ready=ready)} {rule}"
    odds = percent(whole.chance_mow)
    if when.on is None or when.earliest is None or when.latest is None:
        return f"No date for the first mow: {cover}, and the chance of {gate:.0f} % this season is only {odds}. {rule}"
    if overdue:
        return (
            f"The lawn should have the cover for its first mow by now: the photo of {overdue} put {gate:.0f} % before "
            f"today. Take a new one before you mow. {rule}"
        )
    return (
        f"The first mow is likely on {date_words(when.on, units)}, {_window(when, units)}; the chance that the lawn "
        f"reaches {gate:.0f} % cover this season is {odds}. {rule}"
    )


def _with_cover(cover: str, checks: Sequence[Check], *, ready: bool) -> str:
    """Return the verdict on a lawn that has the cover."""
    height, soft = checks[1], next((c for c in checks[2:] if c.state == "not met"), None)
    enough = f"The lawn has the cover for its first mow ({cover})"
    if ready:
        first = "; measure the leaf before you set the height of cut" if height.state == "unknown" else ""
        return f"Ready for the first mow: {cover}, and your checks are done{first}."
    if height.state == "not met":
        return f"Almost ready for the first mow: {cover}, but the leaf is still short: {height.detail}."
    if soft is not None:
        return f"{enough}, but the ground was {soft.detail}; wait until it is firm."
    return f"{enough}; do the checks below before you mow."


def _overdue(whole: ZoneOutlook, zero: dt.date | None, as_of: dt.date, units: str) -> str:
    """Return the newest photo's day where its forecast window has passed since, else nothing."""
    if zero is None or not whole.day or whole.mow_latest is None or whole.mow_latest > as_of:
        return ""
    last = zero + dt.timedelta(days=int(whole.day[-1]))
    return date_words(last, units) if last < as_of else ""


def _window(when: Period, units: str) -> str:
    """Return a window in words; one that begins on the likely day has nine cases in ten before its end."""
    if when.on is None or when.earliest is None or when.latest is None or when.earliest == when.latest:
        return "give or take a day"
    latest = date_words(when.latest, units)
    if when.earliest == when.on:
        return f"by {latest} in nine cases of ten"
    return f"between {date_words(when.earliest, units)} and {latest} in four cases of five"


def _length(mm: float, lawn: Lawn) -> str:
    return f"{mm / 25.4:.2g} in" if lawn.units == "us" else f"{mm:.0f} mm"

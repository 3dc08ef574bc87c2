"""The lines of a day, phase by phase, in the order of their weight; the days ahead; see today.py for the phases."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

from swardmark.common.cautions import (
    BLADE_CAUTION,
    CORD_CAUTION,
    DRAINAGE_CAUTION,
    DUST_CAUTION,
    FEEDING_CAUTION,
    FIRST_MOW_CAUTION,
    HEAT_CAUTION,
    LIDS_CAUTION,
    LOAD_CAUTION,
    MOWER_CAUTION,
    PILE_CAUTION,
)
from swardmark.common.phrases import date_words
from swardmark.common.units import format_cut, format_depth
from swardmark.lawn.grasses import grass_row, in_months
from swardmark.mowing import sentences as say
from swardmark.mowing.checks import leaf_height
from swardmark.mowing.firstmow import first_cut
from swardmark.mowing.photo_days import next_photo_days
from swardmark.mowing.preparation import lawn_preparation
from swardmark.mowing.suitability import (
    leveling_objections,
    leveling_season,
    said,
    scalp_warning,
    too_late_to_seed,
)
from swardmark.mowing.third import highest_leaf, share_taken
from swardmark.mowing.today import MOST_LINES, Known, Line, Phase, Today, phase_on

DRAG_DAYS, RIDGE_DAYS, EDGE_EVERY, LEAF_EVERY, FEED_DAY = 3, (2, 14), 7, 3, 14
SOIL_DAYS, WEED_DAYS, THATCH_DAYS, HAUL_DAYS = 21, 18, 15, 1
TWO_MONTHS = 60
NEW_PHOTO_DAYS = 2
Triple = tuple[str, str, str]


def today(known: Known) -> Today:
    """Return the phase of the day of knowledge and its lines, five at most, the weightiest first."""
    day = known.as_of
    return Today(phase_on(known, day), tuple(_lines(known, day))[:MOST_LINES])


def days_ahead(known: Known, days: int) -> tuple[Line, ...]:
    """Return what falls due on the days after the day of knowledge, without what is done every day."""
    ahead: list[Line] = []
    for number in range(1, days + 1):
        day = known.as_of + dt.timedelta(days=number)
        ahead += [line for line in _lines(known, day) if not line.is_routine and line.date == day]
    first = {line.key: line for line in reversed(ahead)}
    return tuple(line for line in ahead if first[line.key] is line)


def routines(known: Known, days: int) -> tuple[tuple[Line, dt.date], ...]:
    """Return what is done day after day from the day of knowledge on: its first line and its last day."""
    spans: dict[str, tuple[Line, dt.date]] = {}
    for number in range(days + 1):
        day = known.as_of + dt.timedelta(days=number)
        for line in _lines(known, day):
            if line.is_routine and line.date == day:
                first = spans.get(line.key, (line, day))[0]
                spans[line.key] = first, day
    return tuple(spans.values())


def _lines(known: Known, day: dt.date) -> Iterator[Line]:
    phase = phase_on(known, day)
    yield from PHASES[phase](known, day)


def _line(day: dt.date, key: str, triple: Triple, *, routine: bool = False, **fields: object) -> Line:
    do, why, careful = (part.format(**fields) for part in triple)
    return Line(day, do, why, careful, key, routine)


# The phases, in the order of a season.


def _prepare(known: Known, day: dt.date) -> Iterator[Line]:
    sand_on = known.coming(day)
    assert sand_on is not None
    lawn, left = known.lawn, (sand_on - day).days
    words = date_words(sand_on, lawn.date_form)
    objections = leveling_objections(lawn, sand_on)
    if objections and objections[0].level == "refuse":
        why = objections[0].sentence
        yield _line(day, f"refused {sand_on}", say.REFUSED, routine=True, when=words, why=why)
        return
    warnings = [one.sentence for one in objections] + [scalp_warning(lawn)]
    for number, why in enumerate(text for text in warnings if text):
        yield _line(day, f"plan {sand_on} {number}", say.CHECK_PLAN, routine=True, why=why)
    early = {
        SOIL_DAYS: ("soil", say.SOIL),
        WEED_DAYS: ("weeds", say.WEEDS),
        THATCH_DAYS: ("thatch", say.THATCH),
    }
    if left in early:
        name, triple = early[left]
        yield _line(day, f"before {sand_on} {name}", triple)
    if left == HAUL_DAYS:
        yield _line(day, f"before {sand_on} haul", say.HAUL, care=f"{LOAD_CAUTION} {PILE_CAUTION}")
    steps = [step for step in lawn_preparation(lawn, sand_on) if step.date < sand_on]
    now = [step for step in steps if step.date == day]
    for step in now:
        yield Line(day, step.what, step.why, step.caution, f"before {sand_on} {step.name}")
    later = [step for step in steps if step.date > day]
    if later and later[0] == steps[0] and left not in early:
        first = min([later[0].date, *(sand_on - dt.timedelta(days=n) for n in early if n < left)])
        when = date_words(first, lawn.date_form)
        yield _line(day, f"until {sand_on}", say.BEGIN_LATER, routine=True, when=when)
    elif later and not now and later[0] != steps[0]:
        what = f"{later[0].what[0].lower()}{later[0].what[1:]}"
        on = date_words(later[0].date, lawn.date_form)
        yield _line(day, f"until {sand_on}", say.NEXT_STEP, routine=True, when=on, what=what)


def _sand_day(known: Known, day: dt.date) -> Iterator[Line]:
    lawn = known.lawn
    depths = [lawn.depth_of(level) for level in lawn.leveling if level.date == day]
    depth_mm = next((mm for mm in depths if mm), lawn.pass_mm)
    depth = format_depth(depth_mm, units=lawn.units)
    yield _line(day, f"sand {day} spread", say.SPREAD, depth=depth, care=f"{DUST_CAUTION} {HEAT_CAUTION}")
    yield _line(day, f"sand {day} tips", say.TIPS)
    yield _line(day, f"sand {day} grade", say.GRADE, care=f"{DRAINAGE_CAUTION} {LIDS_CAUTION}")
    yield _line(day, f"sand {day} water", say.WATER_IN, care=CORD_CAUTION)
    if known.last_photo is None or known.last_photo < day:
        yield _line(day, f"photo {day}", say.FIRST_PHOTO)


def _keep_moist(known: Known, day: dt.date) -> Iterator[Line]:
    zero = known.zero(day)
    assert zero is not None
    number = (day - zero).days
    yield _water(known, day, often=True)
    if number <= DRAG_DAYS:
        yield _line(day, f"{zero} drag", say.DRAG, routine=True)
    yield from _photo(known, day, zero)
    yield _line(day, f"{zero} keep off", say.KEEP_OFF, routine=True)
    if number > DRAG_DAYS:
        yield _line(day, f"{zero} ridges", say.RIDGES, routine=True)


def _grow_in(known: Known, day: dt.date) -> Iterator[Line]:
    zero = known.zero(day)
    assert zero is not None
    number = (day - zero).days
    yield _water(known, day, often=False)
    yield from _photo(known, day, zero)
    yield from _look_at_parts(known, day)
    yield from _measure_leaf(known, day, zero)
    if number == FEED_DAY and not any(e.what == "fed" and zero < e.date <= known.as_of for e in known.diary):
        yield _line(day, f"{zero} feed", say.FEED, care=FEEDING_CAUTION)
    if number % EDGE_EVERY == EDGE_EVERY // 2 and grass_row(known.lawn.grass).spread.value != "bunches":
        yield _line(day, f"{zero} edge {number}", say.EDGE)
    yield from _seed(known, day)
    if number <= RIDGE_DAYS[1]:
        yield _line(day, f"{zero} ridges", say.RIDGES, routine=True)
    yield _line(day, f"{zero} keep off still", say.KEEP_OFF_STILL, routine=True)


def _first_mow(known: Known, day: dt.date) -> Iterator[Line]:
    zero = known.zero(day)
    assert zero is not None
    ahead = known.forecast_on(day)
    mow = ahead.first_mow if ahead is not None else None
    waits = mow is not None and mow.checks[1].state == "not met"
    before = [*_photo(known, day, zero), *_measure_leaf(known, day, zero)]
    if mow is not None and day == known.as_of and not waits:
        looks = [check for check in mow.checks if check.look and check.state == "unknown"]
        if looks:
            names = ", ".join(check.name for check in looks)
            before.append(_line(day, f"{zero} looks", say.LOOK_AT_GROUND, routine=True, looks=names))
    the_mow = list(_mow_line(known, day, zero))
    now = mow is not None and day == known.as_of and mow.is_due
    checks_come_first = mow is not None and now and (not mow.ready or known.is_stale)
    yield from (*before, *the_mow) if checks_come_first else (*the_mow, *before)
    yield from _look_at_parts(known, day)
    if waits:
        yield _water(known, day, often=False)
    else:
        yield _line(day, f"{zero} note mowing", say.NOTE_MOWING, routine=True)


def _raise_cut(known: Known, day: dt.date) -> Iterator[Line]:
    zero = known.zero(day)
    assert zero is not None
    lawn, ahead = known.lawn, known.forecast_on(day)
    steps = ahead.way_back if ahead is not None else ()
    due = next((step for step in steps if step.on == day), None)
    if due is not None:
        leaf, cut = format_cut(due.leaf_mm, due.cut_mm, units=lawn.units)
        share = 100 * share_taken(due.leaf_mm, due.cut_mm)
        key = f"way up {zero} {len(known.mowed(zero)) + steps.index(due)}"
        step = say.USUAL_HEIGHT if due.cut_mm == lawn.mowing.usual_height_mm else say.ONE_NOTCH
        yield _line(day, key, say.MOW_UP, cut=cut, leaf=leaf, share=share, step=step, care=MOWER_CAUTION)
    elif steps and steps[-1].on > day:
        coming = next(one for one in steps if one.on > day)
        cut = format_cut(coming.leaf_mm, coming.cut_mm, units=lawn.units)[1]
        on = date_words(coming.on, lawn.date_form)
        triple = say.MOWED_TODAY if known.noted(day, "mowed") else say.MOW_NEXT
        yield _line(day, f"{zero} next mowing", triple, routine=True, when=on, cut=cut)
    elif lawn.mowing.usual_height_mm is None or lawn.mowing.target_height_mm is None:
        yield _line(day, f"{zero} usual", say.SET_USUAL, routine=True)
    else:
        on = date_words(known.mowed(zero)[-1], lawn.date_form)
        yield _line(day, f"{zero} note mowing", say.NOTE_MISSED, routine=True, when=on)
    yield from _photo(known, day, zero)
    yield from _look_at_parts(known, day)
    yield _water(known, day, often=False)
    yield from _seed(known, day)


def _next_leveling(known: Known, day: dt.date) -> Iterator[Line]:
    lawn, zero = known.lawn, known.zero(day)
    if zero is None:
        yield _line(day, "set date", say.SET_DATE, routine=True)
    elif known.spots:
        yield _line(day, f"{zero} probe", say.PROBE, routine=True, spots=known.spots)
    else:
        yield _line(day, f"{zero} probe", say.PROBE_ALL, routine=True)
    fields = {"season": leveling_season(lawn), "grass": said(lawn.grass)}
    rested = zero is None or (day - zero).days >= TWO_MONTHS
    now = not leveling_objections(lawn, day + dt.timedelta(days=14))
    triple = say.LEVEL_AGAIN if rested and now else say.LEVEL_NEXT_SEASON
    if rested or not now:
        yield _line(day, f"{zero} level again", triple, routine=True, **fields)
    yield from _seed(known, day)
    yield _line(day, f"{zero} mow as usual", say.MOW_AS_USUAL, routine=True)
    if zero is not None:
        yield from _look_at_parts(known, day)
        yield from _photo(known, day, zero)


PHASES: dict[Phase, Callable[[Known, dt.date], Iterator[Line]]] = {
    "prepare": _prepare,
    "sand day": _sand_day,
    "keep it moist": _keep_moist,
    "grow in": _grow_in,
    "first mow": _first_mow,
    "raise the cut": _raise_cut,
    "next leveling": _next_leveling,
}


# Lines that several phases share.


def _water(known: Known, day: dt.date, *, often: bool) -> Line:
    zero = known.zero(day)
    if day == known.as_of and known.noted(day, "watered", "rain"):
        return _line(day, f"{zero} watered", say.WATERED, routine=True)
    if not often:
        return _line(day, f"{zero} water less", say.WATER_LESS, routine=True)
    hot = day == known.as_of and known.is_hot
    return _line(day, f"{zero} water", say.WATER_HOT if hot else say.WATER_OFTEN, routine=True)


def _photo(known: Known, day: dt.date, zero: dt.date) -> Iterator[Line]:
    if known.last_photo == day:
        return
    ahead = known.forecast_on(day)
    full = ahead is not None and ahead.whole.status == "full"
    count = 2 + max(0, (day - known.as_of).days) // 3
    days = next_photo_days(known.last_photo, zero=zero, as_of=known.as_of, is_full=full, count=count)
    if day not in days:
        return
    if day == known.as_of and known.is_stale:
        assert known.last_photo is not None
        yield _line(
            day, f"photo {day}", say.PHOTO_STALE, last=date_words(known.last_photo, known.lawn.date_form)
        )
    else:
        yield _line(day, f"photo {day}", say.PHOTO)


def _measure_leaf(known: Known, day: dt.date, zero: dt.date) -> Iterator[Line]:
    """Ask for the leaf's height where none was read in the last three days."""
    target = known.lawn.mowing.target_height_mm
    newest = max((r.date for r in known.readings if r.height_mm is not None and r.date >= zero), default=None)
    if newest is not None and (day - newest).days < LEAF_EVERY:
        return
    times, units = known.lawn.outlook.mow_at_times_target, known.lawn.units
    due = ""
    if target is not None:
        shown = (format_depth(mm, units=units) for mm in (times * target, target))
        due = say.DUE_AT.format(due=next(shown), target=next(shown))
    yield _line(day, f"{zero} leaf", say.MEASURE_LEAF, routine=True, due=due)


def _look_at_parts(known: Known, day: dt.date) -> Iterator[Line]:
    """Name the first part that is not filling in, with what to look at there, while the photo that shows it is new."""
    new = known.last_photo is not None and (day - known.last_photo).days < NEW_PHOTO_DAYS
    if known.outlook is None or day != known.as_of or not new:
        return
    part = next((zone for zone in known.outlook.zones if zone.flagged and zone.look_for), None)
    if part is not None:
        yield _line(day, f"look at {part.point} {part.zone}", say.LOOK_AT, routine=True, part=part.zone,
                    look=part.look_for, why=part.why)  # fmt: skip


def _seed(known: Known, day: dt.date) -> Iterator[Line]:
    lawn = known.lawn
    if not grass_row(lawn.grass).needs_seed:
        return
    late = too_late_to_seed(lawn, day)
    now = not late and in_months(day, (9, 10), first_frost=lawn.first_frost)
    key = f"{known.zero(day)} {'seed' if now else 'seed later'}"
    name = said(lawn.grass)
    triple = say.OVERSEED if now else say.SEED_NEXT_FALL if late else say.SEED_LATER
    yield _line(day, key, triple, routine=True, grass=f"{name[0].upper()}{name[1:]}")


def _mow_line(known: Known, day: dt.date, zero: dt.date) -> Iterator[Line]:
    care = f"{FIRST_MOW_CAUTION} {BLADE_CAUTION}"
    target = known.lawn.mowing.target_height_mm
    ahead = known.forecast_on(day)
    if ahead is not None and ahead.whole.day:
        mow = ahead.first_mow
        if day == known.as_of:
            yield _line(day, f"first mow {zero}", say.FIRST_MOW, routine=True, what=mow.sentence,
                        why=say.WHY_FIRST_MOW, care=care)  # fmt: skip
        elif day == mow.mow_on:
            yield _line(day, f"first mow {zero}", say.FIRST_MOW_AHEAD, why=mow.sentence, care=care)
        return
    if target is None:
        yield _line(day, f"first mow {zero}", say.FIRST_MOW_NO_TARGET, routine=True, care=care)
        return
    leaf = leaf_height(known.readings, since=zero, as_of=known.as_of)
    cut = first_cut(known.lawn, leaf) or target
    if leaf is not None and leaf >= highest_leaf(target):
        stands, at = format_cut(leaf, cut, units=known.lawn.units)
        what = say.MOW_THE_LEAF.format(leaf=stands, cut=at)
        yield _line(
            day, f"first mow {zero}", say.FIRST_MOW, routine=True, what=what, why=say.WHY_FIRST_MOW, care=care
        )
        return
    due, at = (format_depth(mm, units=known.lawn.units) for mm in (highest_leaf(target), cut))
    yield _line(day, f"first mow {zero}", say.FIRST_MOW_UNSEEN, routine=True, due=due, target=at, care=care)

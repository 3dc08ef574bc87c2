"""Whether a leveling suits the grass: its day, its depth, and how low the grass may be cut before it.

Nothing is planned that kills a lawn: no sand in the months of dormancy, in the summer heat of a cool-season grass, or
within eight weeks of the first frost; no scalp of a grass without rhizomes; no cut below what the grass stands. What is
past is a fact and gets a warning at most. Figures and sources stand in the table of the grasses.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from swardmark.common.errors import UsageError
from swardmark.common.phrases import MONTHS, date_words
from swardmark.common.units import format_depth, format_temperature
from swardmark.lawn.grasses import MOST_FILL_MM, PASS_SLACK_MM, grass_row, in_months, last_frost, next_frost
from swardmark.lawn.toml import Lawn
from swardmark.mowing import sentences as say
from swardmark.mowing.third import Mower
from swardmark.mowing.wayup import mower_of

FROST_WEEKS = 8
"""At least six to eight weeks of growth before dormancy (from memory); the longer of the two."""
FALL = (8, 9, 10, 11, 12)
"""Months of the northern hemisphere in which grass that has met its first frost is on its way to dormancy."""
FALL_DAYS = 31 * len(FALL)
SEED_DAYS = 21
"""Seed of cool-season grasses is sown until about three weeks before the first frost: mid-September where that comes in
early October (from memory)."""
LEAST_REST_DAYS = 42
"""Two passes are advised to lie about two months apart (C. Waltz: June, and again in mid-August); nearer than six weeks
the first is hardly grown through (our judgment)."""


@dataclass(frozen=True)
class Objection:
    """What stands against a plan: `refuse` where it would harm the lawn, else `warn`."""

    level: Literal["refuse", "warn"]
    sentence: str


def leveling_objections(lawn: Lawn, day: dt.date) -> tuple[Objection, ...]:
    """Return what stands against leveling a lawn on a day, the gravest first."""
    found = [*_season(lawn, day), *_frost(lawn, day), *_rest(lawn, day), *_depth(lawn, day)]
    return tuple(sorted(found, key=lambda one: one.level != "refuse"))


def check_leveling_day(lawn: Lawn, day: dt.date) -> tuple[str, ...]:
    """Return warnings against a leveling that is yet to come.

    Raises
    ------
    UsageError
        Leveling on that day would harm the lawn.
    """
    objections = leveling_objections(lawn, day)
    if objections and objections[0].level == "refuse":
        what, _, remedy = objections[0].sentence.rstrip(".").rpartition(". ")
        raise UsageError(what or remedy, where="leveling", remedy=remedy if what else "")
    return tuple(one.sentence for one in objections)


def leveling_warnings(lawn: Lawn, today: dt.date) -> tuple[str, ...]:
    """Return what stands against a lawn's levelings; one that is past is a fact and gets a warning at most.

    Raises
    ------
    UsageError
        A leveling yet to come would harm the lawn.
    """
    said: list[str] = []
    for day in lawn.leveling_dates:
        if day > today:
            said += check_leveling_day(lawn, day)
        else:
            said += [one.sentence for one in leveling_objections(lawn, day)]
    return (*said, *([warning] if (warning := scalp_warning(lawn)) else []))


def scalp_height(lawn: Lawn) -> float | None:
    """Return the height of the last cut before the sand [mm]: the keeper's, raised to what the grass stands."""
    asked = lawn.mowing.scalp_height_mm
    return None if asked is None else max(asked, lowest_before_sand(lawn.grass, mower_of(lawn)))


def lowest_before_sand(grass: str, mower: Mower | None = None) -> float:
    """Return the lowest cut before the sand [mm]; grasses without rhizomes go one notch below their range at most."""
    row = grass_row(grass)
    if row.may_scalp.value:
        return row.lowest_mm.value
    return max(row.lowest_mm.value, row.home_mm.value[0] - (mower or Mower()).notch_mm)


def scalp_warning(lawn: Lawn) -> str:
    """Say why the scalp is raised, or nothing where it is not."""
    asked = lawn.mowing.scalp_height_mm
    lowest = lowest_before_sand(lawn.grass, mower_of(lawn))
    if asked is None or asked >= lowest:
        return ""
    row = grass_row(lawn.grass)
    no_scalp = say.NO_SCALP_HEAT if "rhizomes" in row.spread.value else say.NO_SCALP
    template = say.NOT_BELOW if row.may_scalp.value else no_scalp
    shown, given = (format_depth(mm, units=lawn.units) for mm in (lowest, asked))
    return template.format(grass=said(lawn.grass), lowest=shown, asked=given)


def depth_warnings(lawn: Lawn, depth_mm: float, *, leaf_mm: float | None = None) -> tuple[str, ...]:
    """Return what a depth of sand does to the grass: too much for one pass, or no tip left to show."""
    most = grass_row(lawn.grass).pass_mm.value
    depth = format_depth(depth_mm, units=lawn.units)
    found = []
    if depth_mm > most + PASS_SLACK_MM:
        limit = format_depth(most, units=lawn.units)
        found.append(say.DEEP_LAYER.format(depth=depth, grass=said(lawn.grass), most=limit))
    if leaf_mm is not None and depth_mm > leaf_mm / 2:
        found.append(say.BURIED.format(depth=depth, leaf=format_depth(leaf_mm, units=lawn.units)))
    return tuple(found)


def said(grass: str) -> str:
    """Name a grass as it is written in a sentence."""
    known = {"kentucky bluegrass": "Kentucky bluegrass", "st augustinegrass": "St. Augustinegrass"}
    other = grass.startswith("other ")
    return f"a {grass.removeprefix('other ')} grass" if other else known.get(grass, grass)


def leveling_season(lawn: Lawn) -> str:
    """Say when in the year a lawn's grass is leveled: `May to August`, `spring or early fall`."""
    row = grass_row(lawn.grass)
    if not row.is_warm:
        return say.COOL_SEASON
    first, last = (
        month_name(month, lawn.first_frost)
        for month in (min(row.best_months.value), max(row.best_months.value))
    )
    return say.WARM_SEASON.format(first=first, last=last)


def month_name(month: int, first_frost: str | None) -> str:
    """Name the month here that a month of the northern hemisphere is, by the lawn's first frost."""
    here = next(m for m in range(1, 13) if in_months(dt.date(2001, m, 15), (month,), first_frost=first_frost))
    return MONTHS[here - 1]


def too_late_to_seed(lawn: Lawn, day: dt.date) -> bool:
    """Whether seed that is sown on a day of the fall meets the frost before it has rooted."""
    if in_months(day, (11, 12), first_frost=lawn.first_frost):
        return True
    if lawn.first_frost is None or not in_months(day, FALL, first_frost=lawn.first_frost):
        return False
    has_frozen = (day - last_frost(day, lawn.first_frost)).days < FALL_DAYS
    return has_frozen or (next_frost(day, lawn.first_frost) - day).days < SEED_DAYS


def _season(lawn: Lawn, day: dt.date) -> list[Objection]:
    row, frost = grass_row(lawn.grass), lawn.first_frost
    words = {"day": date_words(day, lawn.date_form), "grass": said(lawn.grass)}
    if not in_months(day, row.outer_months.value, first_frost=frost):
        hot = not row.is_warm and in_months(day, (6, 7, 8), first_frost=frost)
        template = say.DORMANT_MONTH if row.is_warm else say.HOT_MONTH if hot else say.DORMANT_MONTH_COOL
        return [Objection("refuse", template.format(**words, season=leveling_season(lawn)))]
    if in_months(day, row.best_months.value, first_frost=frost):
        return []
    low, high = (format_temperature(c, units=lawn.units) for c in row.soil_c.value)
    template = say.EDGE_MONTH if row.is_warm else say.EDGE_MONTH_COOL
    return [Objection("warn", template.format(**words, soil=low, most=high))]


def _frost(lawn: Lawn, day: dt.date) -> list[Objection]:
    if lawn.first_frost is None:
        return []
    shown = date_words(day, lawn.date_form)
    before, after = last_frost(day, lawn.first_frost), next_frost(day, lawn.first_frost)
    if (after - day).days < 7 * FROST_WEEKS:
        frost, weeks = date_words(after, lawn.date_form), _weeks((after - day).days)
        latest, months = after - dt.timedelta(weeks=FROST_WEEKS), grass_row(lawn.grass).outer_months.value
        is_earlier = in_months(latest, months, first_frost=lawn.first_frost)
        remedy = say.EARLIER_OR_SPRING if is_earlier else say.IN_SPRING
        said = say.NEAR_FROST.format(day=shown, weeks=weeks, frost=frost, remedy=remedy)
        return [Objection("refuse", said)]
    if (day - before).days < FALL_DAYS and in_months(day, FALL, first_frost=lawn.first_frost):
        frost = date_words(before, lawn.date_form)
        return [Objection("refuse", say.AFTER_FROST.format(day=shown, frost=frost))]
    return []


def _weeks(days: int) -> str:
    weeks = round(days / 7)
    return {0: "less than one week", 1: "one week"}.get(weeks, f"{weeks} weeks")


def _rest(lawn: Lawn, day: dt.date) -> list[Objection]:
    """Object to one of the lawn's levelings where it follows another before that can be grown through."""
    before = lawn.leveled_before(day - dt.timedelta(days=1))
    if day not in lawn.leveling_dates or before is None or (day - before).days >= LEAST_REST_DAYS:
        return []
    shown, last = (date_words(one, lawn.date_form) for one in (day, before))
    return [Objection("warn", say.TOO_SOON.format(day=shown, days=(day - before).days, before=last))]


def _depth(lawn: Lawn, day: dt.date) -> list[Objection]:
    found = []
    for level in lawn.leveling:
        depth = lawn.depth_of(level) if level.date == day else None
        if depth is not None and depth > MOST_FILL_MM + PASS_SLACK_MM:
            shown, most = (format_depth(mm, units=lawn.units) for mm in (depth, MOST_FILL_MM))
            found.append(Objection("refuse", say.SMOTHERED.format(depth=shown, most=most)))
        elif depth is not None:
            leaf = scalp_height(lawn)
            found += [Objection("warn", text) for text in depth_warnings(lawn, depth, leaf_mm=leaf)]
    return found

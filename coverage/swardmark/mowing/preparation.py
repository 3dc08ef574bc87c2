"""The two weeks before the sand: the height of cut lowered in steps, with reminders and their cautions.

No cut takes more than a third of the leaf as it stands, with what has grown since the cut before (the
one-third rule; University of Florida IFAS, mowing tips for Clay County,
https://blogs.ifas.ufl.edu/clayco/2018/06/04/mowing-tips-for-clay-county). The shorter the grass, the more of
the third regrowth uses up, so the cuts come at even gaps short enough to gain on it. About two weeks and the
order of the steps are common practice, no source. Feeding and watering are reminders only: the label and the
local rules come first, and no rate is ever given here.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from dataclasses import dataclass, replace

from swardmark.common.cautions import (
    DORMANT_CAUTION,
    DUST_CAUTION,
    FEEDING_CAUTION,
    MARKS_CAUTION,
    MOWER_CAUTION,
    STAKES_CAUTION,
    THIRD_CAUTION,
)
from swardmark.common.errors import UsageError
from swardmark.common.units import Units, format_cut
from swardmark.mowing.wayback import USUAL_GROWTH_MM_PER_DAY

LEAD_DAYS = 14
LONGEST_GAP_DAYS = 4
ONE_THIRD = 1 / 3
SHORT_GROWTH_PER_DAY = 0.2
"""Short grass grows by no more than this share of its height a day (our judgment)."""


@dataclass(frozen=True)
class PreparationStep:
    """One row of the calendar: the day, what is done, and the caution beside it."""

    date: dt.date
    what: str
    caution: str
    height_mm: float | None = None


@dataclass(frozen=True)
class LoweringCut:
    """A cut before the sand: how many days before it, the height of cut and of the leaf it meets [mm]."""

    days_before: int
    height_mm: float
    leaf_mm: float


def lowering_cuts(
    usual_mm: float, scalp_mm: float, *, growth_mm_per_day: float = USUAL_GROWTH_MM_PER_DAY
) -> tuple[LoweringCut, ...]:
    """Return the last cut at the usual height and those that bring it down to the height for the sand.

    The gap between cuts is the longest, up to four days, with which the way fits two weeks. Each cut on the
    way takes the same share of the leaf, the least that gets there: never more than a third.

    Parameters
    ----------
    usual_mm, scalp_mm : float
        The usual height of cut, and the height for the sand, in millimeters.
    growth_mm_per_day : float
        Growth of the leaf, in millimeters a day.

    Returns
    -------
    tuple of LoweringCut
        The last one on the eve of the sand; none where the grass is kept that short already. The leaf that
        the first cut meets is the highest that it may meet by the rule.
    """
    if not (0 < scalp_mm < math.inf and 0 < usual_mm < math.inf):
        raise UsageError(
            "heights of cut are above zero", where="mowing", remedy="Give them in mm under [mowing]"
        )
    if usual_mm <= scalp_mm:
        return ()
    for gap in range(LONGEST_GAP_DAYS, 1, -1):
        for cuts in range(1, (LEAD_DAYS - 1) // gap + 1):
            if _lowest(usual_mm, cuts, gap, growth_mm_per_day) <= scalp_mm:
                return _evened_out(usual_mm, scalp_mm, cuts, gap, growth_mm_per_day)
    cuts = next(n for n in itertools.count(1) if _lowest(usual_mm, n, 1, growth_mm_per_day) <= scalp_mm)
    return _evened_out(usual_mm, scalp_mm, cuts, 1, growth_mm_per_day)


def preparation_calendar(
    leveling_on: dt.date, *, usual_mm: float | None, scalp_mm: float | None, units: Units = "metric"
) -> tuple[PreparationStep, ...]:
    """Lay out the steps before a leveling.

    Parameters
    ----------
    leveling_on : date
        The day on which the sand is to be spread.
    usual_mm, scalp_mm : float or None
        Heights of cut in millimeters; where one is missing the cuts are left out.
    units : {"metric", "us"}
        Units of the printed heights.

    Returns
    -------
    tuple of PreparationStep
        In the order of their days.
    """
    way = lowering_cuts(usual_mm, scalp_mm) if usual_mm and scalp_mm else ()
    cuts = [_mowing(leveling_on, cut, units, is_usual=n == 0) for n, cut in enumerate(way)]
    lead = max([LEAD_DAYS, *(cut.days_before for cut in way)])

    def step(days_before: int, what: str, caution: str) -> PreparationStep:
        return PreparationStep(leveling_on - dt.timedelta(days=days_before), what, caution)

    rows = [
        step(lead, "Look whether the grass is green and growing; order the sand.", DORMANT_CAUTION),
        step(lead, "Reminder: is feeding due before the sand?", FEEDING_CAUTION),
        step(5, "Reminder: will you drive stakes? Have buried lines marked.", STAKES_CAUTION),
        step(
            2, "Reminder: is the ground moist but firm? Water if it is dry.", "Follow local watering rules."
        ),
        *cuts,
        step(1, "After the last cut mark the spots, sprinkler heads and edges.", MARKS_CAUTION),
        step(0, "Spread the sand thin and work it in until leaf tips show everywhere.", DUST_CAUTION),
    ]
    return tuple(sorted(rows, key=lambda row: row.date))


def _way_down(usual_mm: float, share: float, cuts: int, gap: int, growth: float) -> tuple[LoweringCut, ...]:
    """Return the cut at the usual height, then those that each take `share` of the leaf, `gap` days apart."""
    way, height = [LoweringCut(1 + gap * cuts, usual_mm, usual_mm / (1 - ONE_THIRD))], usual_mm
    for left in reversed(range(cuts)):
        leaf = height + gap * min(growth, SHORT_GROWTH_PER_DAY * height)
        height = (1 - share) * leaf
        way.append(LoweringCut(1 + gap * left, height, leaf))
    return tuple(way)


def _lowest(usual_mm: float, cuts: int, gap: int, growth: float) -> float:
    return _way_down(usual_mm, ONE_THIRD, cuts, gap, growth)[-1].height_mm


def _evened_out(
    usual_mm: float, scalp_mm: float, cuts: int, gap: int, growth: float
) -> tuple[LoweringCut, ...]:
    """Return the way with the smallest share that ends at the scalp height, found by halving."""
    low, high = 0.0, ONE_THIRD
    for _ in range(50):
        middle = (low + high) / 2
        if _way_down(usual_mm, middle, cuts, gap, growth)[-1].height_mm > scalp_mm:
            low = middle
        else:
            high = middle
    way = _way_down(usual_mm, high, cuts, gap, growth)
    return (*way[:-1], replace(way[-1], height_mm=float(scalp_mm)))


def _mowing(leveling_on: dt.date, cut: LoweringCut, units: Units, *, is_usual: bool) -> PreparationStep:
    leaf, height = format_cut(cut.leaf_mm, cut.height_mm, units=units)
    why = "the usual height once more" if is_usual else f"the leaf then stands near {leaf}"
    day = leveling_on - dt.timedelta(days=cut.days_before)
    caution = f"{MOWER_CAUTION} {THIRD_CAUTION}" if is_usual else MOWER_CAUTION
    return PreparationStep(day, f"Mow at {height}, {why}; take the clippings off.", caution, cut.height_mm)

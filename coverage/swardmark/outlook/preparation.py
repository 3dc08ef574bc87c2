"""The two weeks before the sand: the height of cut lowered in steps, with reminders and their cautions.

No cut takes more than a third of the leaf (the one-third rule; University of Florida IFAS, mowing tips for
Clay County, https://blogs.ifas.ufl.edu/clayco/2018/06/04/mowing-tips-for-clay-county). About two weeks,
three days between cuts and the order of the steps are common practice, no source. Feeding and watering are
reminders only: the label and the local rules come first, and no rate is ever given here.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from swardmark.errors import UsageError
from swardmark.outlook.sand import DUST_CAUTION
from swardmark.units import Units, format_depth

LEAD_DAYS = 14
LEAST_DAYS_BETWEEN_CUTS = 3
ONE_THIRD = 1 / 3

MOWER_CAUTION = (
    "Clear stones and toys first, mow only dry grass, guards on, bystanders away, eye and ear protection, "
    "closed shoes."
)
FEEDING_CAUTION = "Read the label and the local rules first: some places forbid feeding in some months."
STAKES_CAUTION = (
    "Before driving any stake ask where lines are buried (in the US call 811 a few days ahead), keep 0.6 m "
    "(24 in) from the marks; paint or flat discs are safer, and take all of it up before mowing."
)
DORMANT_CAUTION = "Never on dormant grass: sand only turf that is green and growing."


@dataclass(frozen=True)
class PreparationStep:
    """One row of the calendar: the day, what is done, and the caution beside it."""

    date: dt.date
    what: str
    caution: str
    height_mm: float | None = None


def lowering_heights(usual_mm: float, scalp_mm: float) -> tuple[float, ...]:
    """Return the heights of cut on the way down, each at least two thirds of the one before.

    Parameters
    ----------
    usual_mm, scalp_mm : float
        The usual height of cut, and the height for the sand, in millimetres.

    Returns
    -------
    tuple of float
        The fewest equal steps, ending at `scalp_mm`; none where the grass is that short already.
    """
    if not (0 < scalp_mm < math.inf and 0 < usual_mm < math.inf):
        raise UsageError(
            "heights of cut are above zero", where="mowing", remedy="Give them in mm under [mowing]"
        )
    if usual_mm <= scalp_mm:
        return ()
    cuts = math.ceil(math.log(usual_mm / scalp_mm) / math.log(1 / (1 - ONE_THIRD)) - 1e-9)
    share = (scalp_mm / usual_mm) ** (1 / cuts)
    return (*(usual_mm * share**n for n in range(1, cuts)), float(scalp_mm))


def preparation_calendar(
    leveling_on: dt.date, *, usual_mm: float | None, scalp_mm: float | None, units: Units = "metric"
) -> tuple[PreparationStep, ...]:
    """Lay out the steps before a levelling.

    Parameters
    ----------
    leveling_on : date
        The day on which the sand is to be spread.
    usual_mm, scalp_mm : float or None
        Heights of cut in millimetres; where one is missing the cuts are left out.
    units : {"metric", "us"}
        Units of the printed heights.

    Returns
    -------
    tuple of PreparationStep
        In the order of their days.
    """
    heights = lowering_heights(usual_mm, scalp_mm) if usual_mm and scalp_mm else ()
    days = _cutting_days(len(heights))
    cuts = [_cut(leveling_on - dt.timedelta(days=d), h, units) for d, h in zip(days, heights, strict=True)]
    lead = max([LEAD_DAYS, *days])

    def step(days_before: int, what: str, caution: str) -> PreparationStep:
        return PreparationStep(leveling_on - dt.timedelta(days=days_before), what, caution)

    rows = [
        step(lead, "Look whether the grass is green and growing; order the sand.", DORMANT_CAUTION),
        step(lead, "Reminder: is feeding due before the sand?", FEEDING_CAUTION),
        step(5, "Mark the spots, sprinkler heads and edges.", STAKES_CAUTION),
        step(
            2, "Reminder: is the ground moist but firm? Water if it is dry.", "Follow local watering rules."
        ),
        *cuts,
        step(0, "Spread the sand thin and work it in until leaf tips show everywhere.", DUST_CAUTION),
    ]
    return tuple(sorted(rows, key=lambda row: row.date))


def _cutting_days(cuts: int) -> tuple[int, ...]:
    """Days before the levelling for each cut: over two weeks, three days apart, the last on the eve."""
    if cuts <= 1:
        return (1,) * cuts
    gap = max(float(LEAST_DAYS_BETWEEN_CUTS), (LEAD_DAYS - 1) / (cuts - 1))
    return tuple(round(1 + gap * n) for n in reversed(range(cuts)))


def _cut(day: dt.date, height_mm: float, units: Units) -> PreparationStep:
    what = f"Mow at {format_depth(height_mm, units=units)}; take the clippings off."
    return PreparationStep(day, what, MOWER_CAUTION, height_mm)

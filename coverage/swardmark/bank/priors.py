"""Priors of a recovery, before the first photo: one row per grass, one row per kind of trouble.

No controlled day-by-day cover curve of a home lawn under leveling sand has been published, so the centers are judged
from what has: the spread is wide (a factor of 1.7 either way about the half-way day is still quite usual) and four or
five photos outweigh it. The column `why` names the source, or says that it is our judgment.

Sources
-------
[1] NTEP bermudagrass test bg07, table 6C, Gainesville FL 2009-2010, https://ntep.org/data/bg07/bg07_10-4/bg0710t06c.txt:
    percent living ground cover after traffic; logistic rates 0.096-0.120 per day in spring.
[2] Trappe et al. 2011, Applied Turfgrass Science, doi 10.1094/ATS-2011-0630-02-RS: bermudagrass recovers faster than
    zoysiagrass, with overlap.
[3] Okeyo et al. 2011, HortScience 46(1):113: zoysia stolons 19-65 mm a week.
[4] NC State soil temperatures for shoot growth (warm-season 27-32 C, cool-season 16-24 C), and common practice for
    warm-season lawns in hot weather: close to full after two weeks, full after four.
"""

from __future__ import annotations

from dataclasses import dataclass

from swardmark.lawn import grasses


@dataclass(frozen=True)
class GrassPrior:
    """What is expected of one grass: medians and log standard deviations of its curve's numbers."""

    t50_days: float
    why: str
    t50_log_sd: float = 0.53
    shape: float = 2.4
    shape_log_sd: float = 0.335
    ceiling_gap_shape: float = 1.3
    ceiling_gap_scale_pct: float = 2.2
    start_pct: float = 9.0
    start_log_sd: float = 0.5


@dataclass(frozen=True)
class Kind:
    """A way in which a recovery goes: its share of the prior and its share of the drawn members."""

    name: str
    prior_share: float
    drawn_share: float
    why: str


GRASSES: dict[str, GrassPrior] = {
    name: GrassPrior(
        row.half_way_days.value,
        row.half_way_days.source,
        row.half_way_log_sd.value,
        ceiling_gap_scale_pct=row.gap_scale_pct.value,
    )
    for name, row in grasses.GRASSES.items()
}
"""The half-way days, their spread and the gap that stays, from the table of the grasses."""

# Two zones in five that pause, level off, stop or die back sooner or later are our judgment: no survey of leveled lawns
# exists. With one in five, chances of full cover between 0.6 and 0.8 came true 0.12 less often than said on lawns that
# surprise; with two in five the error on ordinary lawns is the same.
KINDS: tuple[Kind, ...] = (
    Kind("as expected", 0.395, 0.34, "the grass's own row"),
    Kind("closes", 0.16, 0.10, "reaches full cover without a long tail, as dense canopies do"),
    Kind("slow", 0.04, 0.07, "half-way day 1.3 to 5.2 times later: shade, cold, poor soil"),
    Kind("levels off", 0.08, 0.10, "ends at 15 to 92 %: buried too deep, worn, thin turf"),
    Kind("stops", 0.08, 0.10, "growth runs out from some day on: drought, the end of the season"),
    Kind("pauses", 0.10, 0.11, "all but stands still for 4 to 45 days, then goes on: a dry or a cold spell"),
    Kind("dies back", 0.08, 0.08, "loses 20 to 95 % of its cover within 3 to 20 days and keeps the loss"),
    Kind("dies back and recovers", 0.025, 0.05, "the same, then grows on"),
    Kind(
        "partly covered",
        0.04,
        0.05,
        "the leaf stood through the sand from the start, as in the series of [1]",
    ),
)

SLOW_FACTOR = (1.3, 5.2)
LOW_CEILING_PCT = (15.0, 92.0)
# A canopy that closes is a curve with a higher ceiling, cut off at full cover.
CLOSING_PCT = (100.0, 114.0)
TROUBLE_DAY = (4.0, 36.0)
FADE_DAYS = (0.0, 18.0)
PAUSE_DAYS = (4.0, 45.0)  # shorter ones are more likely: even over the log
PAUSE_RATE = (0.0, 0.35)
DIE_BACK_SHARE = (0.2, 0.95)
DIE_BACK_DAYS = (3.0, 20.0)
# What grows back after a loss grows at this share of the first pace; our judgment.
REGROWTH_SHARE = 0.7
HEAD_START = (0.2, 1.1)
START_PCT = (1.0, 30.0)
CEILING_FLOOR_PCT = 60.0

# How far a photo's cover may lie from the curve: Student's t with 4 degrees of freedom and one of these scales.
ERROR_SCALES_PCT = (2.5, 3.5, 5.0)
ERROR_FREEDOM = 4.0
# Older photos weigh less, by the day. With 0.95 stalled zones were promised too much on simulated lawns (70 % cover at
# a chance of 0.52 where 0.43 got there); with 0.98 they are not (0.44), at the same errors of the dates.
WEIGHT_PER_DAY = 0.98
TEMPER = 0.9
# What the zones of a photo err together is this share of the variance of its error. Our judgment; from 0.2 to 0.4 the
# forecast of simulated lawns (where it is 0.29) hardly changes. One photo in thirty is bad: glare, dusk, a moved
# square. Again our judgment, as is how bad; with 0.02 to 0.05 and 15 to 25 points the forecast hardly changes.
LIGHT_SHARE = 0.3
BAD_PHOTO_SHARE = 0.03
BAD_PHOTO_SD_PCT = 20.0
# How often the whole lawn browns between two photos, and by how much on the newest; our judgment. A newest photo that
# is low in all zones is a bad one or the lawn, and only the next one tells which.
LAWN_FALL_SHARE = 0.002
LAWN_FALL_PCT, LAWN_FALL_SD_PCT = 18.0, 12.0
# One photo far out can be the lawn: so much belief stays with it while it is held out, at least. Our judgment.
LEAST_TRUST = 0.08
# How much of the variance of the (log) pace lies between lawns and not between the zones of one, and the share of zones
# that follow their lawn's form of growth. Our judgment: grass and weather are shared, shade and depth of sand are not.
LAWN_PACE_SHARE = 0.65
LAWN_FORM_SHARE = 0.75
# A date is that of the recoveries that get there this season: within this many half-way days of the grass (60 days for
# bermudagrass), or within four weeks of the newest photo. A recovery of four months is no date to plan by.
SEASON_PER_T50 = 60.0 / 9.0
LEAST_AHEAD_DAYS = 28.0
ZONE_COUPLING = 0.6
# How often the whole lawn shares its trouble, or closes, and the share of its zones that then follow. Our judgment;
# with half of these shares chances were too high on lawns that surprise.
LAWN_STATES: dict[str, float] = {
    "closes": 0.16,
    "levels off": 0.09,
    "stops": 0.09,
    "pauses": 0.11,
    "dies back": 0.08,
}
LAWN_STATE_SHARE = 0.85
# The zones of a lawn are no independent witnesses of its state: each counts for this share. Our judgment.
STATE_TEMPER = 0.6


@dataclass(frozen=True)
class LawnPrior:
    """What is expected of a lawn as a whole before its first photo; past seasons may say more (forecast/past.py).

    Attributes
    ----------
    pace : float
        Its log pace, in standard deviations of the grass's zones about the grass's half-way day.
    pace_variance : float
        Squared standard deviation of that, in the same unit.
    times : tuple of float
        How many times likelier each state of `LAWN_STATES` is than on any lawn, in its order, for the lawn and for each
        of its zones; growth as usual comes last.
    """

    pace: float = 0.0
    pace_variance: float = LAWN_PACE_SHARE
    times: tuple[float, ...] = (1.0,) * (len(LAWN_STATES) + 1)


ANY_LAWN = LawnPrior()


def prior_of(grass: str) -> GrassPrior:
    """Return the row of a grass; a grass that is not in the table counts as another warm-season one."""
    return GRASSES.get(grass, GRASSES["other warm-season"])

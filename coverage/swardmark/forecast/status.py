"""The state of a zone in one word, the reason in one sentence, and what to check on the ground.

    too early to say   fewer than three photos, or less than five days between the first and the last
    full               more likely than not at the cover that counts as full, and measured within three points of it
    losing ground      more likely than not over ten points below its earlier best, or the last two photos together
                       fifteen points below it (ten, and five for the noise)
    stalled            not filling in, more likely than not short of full cover even by day 60 (bermudagrass), and over
                       three weeks from it at its present gain, early eight
    slow               not filling in, but likely to be full by then
    filling in         everything else

"Not filling in" is a low chance of full cover by the day by which the grass should be full (day 35 for bermudagrass,
later for slower grasses), with at least four photos. How low depends on the time that is left: early, when much can
still happen, only next to no chance is low; near that day an even one is. A status has a memory: it starts from the one
that was said after the photo before. One photo raises or drops a flag only where it leaves little doubt, else two
photos running must agree; and what was said stays until there is strong evidence for the opposite. No zone is called
slow or stalled while it is less than twelve points behind: trials need 10 to 15 points to tell two plots apart (NTEP
bermudagrass test bg07, table 6C, https://ntep.org/data/bg07/bg07_10-4/bg0710t06c.txt).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from swardmark.bank.priors import prior_of
from swardmark.common.phrases import MONTHS as MONTHS
from swardmark.common.phrases import date_words as date_words
from swardmark.common.phrases import percent as percent
from swardmark.forecast import sentences
from swardmark.forecast.recovery import Belief
from swardmark.forecast.rows import FLAGGED, Status

LEAST_PHOTOS, LEAST_DAYS = 3, 5.0
FLAG_PHOTOS = 4
LEAST_POINTS, LEAST_BEHIND = 10.0, 12.0
NOISE_PCT, FULL_SLACK_PCT = 5.0, 3.0
FULL, FULL_STAY = 0.5, 0.05
FALLEN, FALLEN_STAY = 0.6, 0.1
# The chance of full cover in time below which a zone is not filling in on two photos running: until so much of the time
# is over, and from so much on. One photo alone needs this share of it. The same for stalled, by the day by which even a
# slow zone is full; then, too, it is so many days from full cover at its present gain.
TIME_OVER = (0.35, 0.8)
NOT_FILLING = (0.25, 0.5)
STALLED, STALLED_DAYS = 0.5, (56.0, 21.0)
ONCE_SHARE = 0.6
# And the chances above which it is filling in again, on two photos running and on one alone.
AGAIN = (0.9, 0.97)
STALL_FROM_DAY = 14.0
DEADLINE_PER_T50, LATE_PER_T50 = 35.0 / 9.0, 60.0 / 9.0
LONGEST_DRY_DAYS = 3


@dataclass(frozen=True)
class Standing:
    """A zone's state today, as the sentences need it; days are calendar days since leveling."""

    status: Status
    day: float
    cover_pct: float
    gain_pct_per_day: float
    behind_pct: float
    chance_full_now: float
    chance_full_in_time: float
    chance_full_late: float
    best_pct: float


def enough(day: np.ndarray, held_out: np.ndarray) -> bool:
    """Whether there are photos enough for a forecast: three that count, over at least five days."""
    used = np.asarray(day)[~np.asarray(held_out, dtype=bool)]
    return len(used) >= LEAST_PHOTOS and float(used[-1] - used[0]) >= LEAST_DAYS


def deadline_day(grass: str) -> float:
    """Return the calendar day by which a grass should be full: 35 for bermudagrass, in proportion for the others."""
    return float(round(DEADLINE_PER_T50 * prior_of(grass).t50_days))


def late_day(grass: str) -> float:
    """Return the calendar day by which even a slow zone is full: 60 for bermudagrass, as `deadline_day`."""
    return float(round(LATE_PER_T50 * prior_of(grass).t50_days))


def measured_gain(day: np.ndarray, cover_pct: np.ndarray) -> float:
    """Return the gain over the latest photos [points per day]: four of them and at least a week, where there are."""
    days, covers = np.asarray(day, float).tolist(), np.asarray(cover_pct, float).tolist()
    first = len(days) - 1
    while first > 0 and (len(days) - first < 4 or days[-1] - days[first] < 7.0):
        first -= 1
    if first < 0 or days[-1] == days[first]:
        return float("nan")
    middle = sum(days[first:]) / (len(days) - first)
    span = [at - middle for at in days[first:]]
    moved = sum(at * seen for at, seen in zip(span, covers[first:], strict=True))
    return moved / sum(at * at for at in span)


def stand(
    belief: Belief,
    *,
    day: np.ndarray,
    cover_pct: np.ndarray,
    full_pct: float,
    time_over: float,
    expected_pct: float,
    before: Standing | None = None,
) -> Standing:
    """Judge one zone.

    Parameters
    ----------
    belief : Belief
        What its weighed bank says of its newest photo's day.
    day, cover_pct : ndarray, shape (photos,)
        Calendar days of the photos that count, and their cover.
    full_pct : float
        The cover that counts as full.
    time_over : float
        How much of the time in which it should be full is over, 0 to 1.
    expected_pct : float
        Cover that the zone should have today.
    before : Standing, optional
        How it stood after the photo before.
    """
    state = Standing(
        "filling in",
        float(day[-1]),
        float(cover_pct[-1]),
        measured_gain(day, cover_pct),
        expected_pct - belief.cover_pct,
        belief.full_now,
        belief.full_in_time,
        belief.full_late,
        float(cover_pct.max()),
    )
    return replace(state, status=_status(state, belief.fallen, cover_pct, full_pct, time_over, before))


def _status(
    state: Standing,
    chance_fallen: float,
    cover: np.ndarray,
    full_pct: float,
    time_over: float,
    before: Standing | None,
) -> Status:
    said = None if before is None else before.status
    if _is_full(state, chance_fallen, cover, full_pct, before):
        return "full"
    flagged = said in FLAGGED
    if len(cover) < FLAG_PHOTOS or state.behind_pct < (0.0 if flagged else LEAST_BEHIND):
        return "filling in"
    fallen = said != "full" and cover[:-2].max() - cover[-2:].mean() > LEAST_POINTS + NOISE_PCT
    if fallen or chance_fallen >= (FALLEN_STAY if said == "losing ground" else FALLEN):
        return "losing ground"
    limit, days = (float(np.interp(time_over, TIME_OVER, ends)) for ends in (NOT_FILLING, STALLED_DAYS))
    in_time = (state.chance_full_in_time, 1.0 if before is None else before.chance_full_in_time)
    if not _low(in_time, limit, flagged):
        return "filling in"
    late = (state.chance_full_late, 1.0 if before is None else before.chance_full_late)
    far = said == "stalled" or full_pct - cover[-1] > days * max(state.gain_pct_per_day, 0.0)
    return (
        "stalled"
        if far and state.day >= STALL_FROM_DAY and _low(late, STALLED, said == "stalled")
        else "slow"
    )


def _is_full(
    state: Standing, chance_fallen: float, cover: np.ndarray, full_pct: float, before: Standing | None
) -> bool:
    if before is not None and before.status == "full":
        chance = max(state.chance_full_now, before.chance_full_now)
        return chance >= FULL_STAY and chance_fallen < FALLEN
    measured = max(cover[-1], cover[-2:].mean())
    return bool(state.chance_full_now >= FULL and measured >= full_pct - FULL_SLACK_PCT)


def _low(chances: tuple[float, float], limit: float, was: bool) -> bool:
    """Return whether a chance is low, given those after the newest photo and the one before, and whether it was."""
    newest = chances[0]
    if was:
        return not (newest > AGAIN[1] or min(chances) > AGAIN[0])
    return newest < ONCE_SHARE * limit or max(chances) < limit


def why(
    state: Standing,
    *,
    full_pct: float,
    full_on: str,
    full_by: str,
    chance_by: float,
    due_on: str,
    late_on: str,
) -> str:
    """Return the reason for a status in one sentence.

    Parameters
    ----------
    state : Standing
        The zone today.
    full_pct : float
        The cover that counts as full.
    full_on, full_by : str
        The likely date of full cover and the end of its window in words; empty where there is none.
    chance_by : float
        The chance of full cover by the end of that window.
    due_on, late_on : str
        The deadline's date in words, and the day by which even a slow zone is full.
    """
    fields = {
        "cover": state.cover_pct,
        "day": state.day,
        "best": state.best_pct,
        "behind": state.behind_pct,
        "gain": state.gain_pct_per_day,
        "full": full_pct,
        "full_on": full_on,
        "full_by": full_by,
        "chance_by": percent(chance_by),
        "due_on": due_on,
        "late_on": late_on,
        "late_odds": percent(state.chance_full_late),
        "odds": percent(state.chance_full_in_time),
        "weak": sentences.WEAK_SIGN if state.day < STALL_FROM_DAY else "",
    }
    return _why_template(state, bool(full_on)).format(**fields)


def _why_template(state: Standing, dated: bool) -> str:
    if state.status == "full":
        return sentences.FULL
    if state.status == "losing ground":
        return sentences.LOSING_GROUND
    if state.status == "stalled":
        return sentences.STALLED_FLAT if state.gain_pct_per_day < 0.05 else sentences.STALLED
    if state.status == "slow":
        return sentences.SLOW
    return sentences.FILLING_IN if dated else sentences.FILLING_IN_UNDATED


def look_for(status: Status, *, units: str, dry_days: int | None) -> str:
    """Return what to check on the ground; never a product, never a rate."""
    checks = {
        "stalled": sentences.CHECK_STALLED,
        "slow": sentences.CHECK_SLOW,
        "losing ground": sentences.CHECK_LOSING_GROUND,
    }
    deep = sentences.BURIED_DEPTH_US if units == "us" else sentences.BURIED_DEPTH
    dry = dry_days is not None and dry_days > LONGEST_DRY_DAYS
    water = sentences.NO_WATER.format(days=dry_days) if dry else ""
    return checks.get(status, "").format(deep=deep, water=water)

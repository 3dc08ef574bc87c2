"""The state of a zone in one word, the reason in one sentence, and what to check on the ground.

    too early to say   fewer than three photos, or less than five days between the first and the last
    full               more likely than not at the cover that counts as full, and measured within three points of it
    losing ground      more likely than not over ten points below its earlier best, or the last two photos together
                       fifteen points below it (ten, and five for the noise)
    stalled            not filling in, and more than six weeks from full cover at its present gain
    slow               not filling in, but gaining; or little more than an even chance of filling in time
    filling in         everything else

"Not filling in" is a chance below 0.3 of full cover by the day by which the grass should be full (day 35 for
bermudagrass, later for slower grasses), with at least four photos. No zone is called slow or stalled while it is less
than ten points behind: trials need 10 to 15 points to tell two plots apart (NTEP bermudagrass test bg07, table 6C,
https://ntep.org/data/bg07/bg07_10-4/bg0710t06c.txt).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from swardmark.bank.priors import prior_of
from swardmark.common.phrases import MONTHS as MONTHS
from swardmark.common.phrases import date_words as date_words
from swardmark.common.phrases import percent as percent
from swardmark.forecast import sentences
from swardmark.forecast.recovery import Recovery
from swardmark.forecast.rows import Status

LEAST_PHOTOS, LEAST_DAYS = 3, 5.0
FLAG_PHOTOS = 4
NOT_FILLING, WATCH, FALLEN = 0.3, 0.55, 0.5
LEAST_POINTS = 10.0
NOISE_PCT, FULL_SLACK_PCT = 5.0, 3.0
# Of simulated zones called stalled on day 28, 82 % were not full by day 75, and half of those that were not were called
# so. (With a gain under ten points a fortnight as the rule: 68 % and 38 %.)
STALLED_DAYS = 42.0
STALL_FROM_DAY = 14.0
DEADLINE_PER_T50 = 35.0 / 9.0
LONGEST_DRY_DAYS = 3


@dataclass(frozen=True)
class Standing:
    """A zone's state today, as the sentences need it; days are calendar days since leveling."""

    status: Status
    day: float
    cover_pct: float
    gain_pct_per_day: float
    behind_pct: float
    chance_full_in_time: float
    best_pct: float


def enough(day: np.ndarray, held_out: np.ndarray) -> bool:
    """Whether there are photos enough for a forecast: three that count, over at least five days."""
    used = np.asarray(day)[~np.asarray(held_out, dtype=bool)]
    return len(used) >= LEAST_PHOTOS and float(used[-1] - used[0]) >= LEAST_DAYS


def deadline_day(grass: str) -> float:
    """Return the calendar day by which a grass should be full: 35 for bermudagrass, in proportion for the others."""
    return float(round(DEADLINE_PER_T50 * prior_of(grass).t50_days))


def measured_gain(day: np.ndarray, cover_pct: np.ndarray) -> float:
    """Return the gain over the latest photos [points per day]: four of them and at least a week, where there are."""
    day, cover = np.asarray(day, float), np.asarray(cover_pct, float)
    if len(day) < 2:
        return float("nan")
    first = len(day) - 1
    while first > 0 and (len(day) - first < 4 or day[-1] - day[first] < 7.0):
        first -= 1
    span = day[first:] - day[first:].mean()
    return float(span @ cover[first:] / (span @ span)) if span.any() else float("nan")


def stand(
    recovery: Recovery,
    *,
    day: np.ndarray,
    full_pct: float,
    deadline: float,
    expected_pct: float,
) -> Standing:
    """Judge one zone.

    Parameters
    ----------
    recovery : Recovery
        The zone's weighed bank (on model days).
    day : ndarray
        Calendar days of its photos.
    full_pct : float
        The cover that counts as full.
    deadline : float
        The model day by which it should be full.
    expected_pct : float
        Cover that the zone should have today.
    """
    used = ~recovery.held_out
    cover, days, model_days = recovery.observed_pct[used], np.asarray(day)[used], recovery.day[used]
    now, today = float(model_days[-1]), float(days[-1])
    gain = measured_gain(days, cover)
    behind = expected_pct - float(recovery.cover(now).median[0])
    chance = recovery.chance_by(full_pct, deadline)
    status = _status(recovery, now, today, cover, gain, behind, chance, full_pct)
    return Standing(status, today, float(cover[-1]), gain, behind, chance, float(cover.max()))


def _status(
    recovery: Recovery,
    now: float,
    today: float,
    cover: np.ndarray,
    gain: float,
    behind: float,
    chance: float,
    full_pct: float,
) -> Status:
    measured = max(cover[-1], cover[-2:].mean())
    if recovery.chance_above(full_pct, now) >= 0.5 and measured >= full_pct - FULL_SLACK_PCT:
        return "full"
    if len(cover) < FLAG_PHOTOS or behind < LEAST_POINTS:
        return "filling in"
    fallen = cover[:-2].max() - cover[-2:].mean() > LEAST_POINTS + NOISE_PCT
    if fallen or recovery.chance_fallen(LEAST_POINTS, now) >= FALLEN:
        return "losing ground"
    if chance < NOT_FILLING:
        far = full_pct - cover[-1] > STALLED_DAYS * max(gain, 0.0)
        return "stalled" if far and today >= STALL_FROM_DAY else "slow"
    return "slow" if chance < WATCH else "filling in"


def why(
    state: Standing, *, full_pct: float, full_on: str, full_by: str, chance_by: float, due_on: str
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
    due_on : str
        The deadline's date in words.
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

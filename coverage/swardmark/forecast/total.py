"""The lawn's total: its zones together, weighed by area, their fortunes coupled."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from swardmark.common.phrases import plural
from swardmark.common.units import format_area
from swardmark.forecast import sentences
from swardmark.forecast.judge import UNLIKELY, Frame, Name, judged, too_early
from swardmark.forecast.light import photo_keys
from swardmark.forecast.recovery import DRAWS, Recovery, coupled_draws, whole_lawn
from swardmark.forecast.rows import BY_LATEST, BY_MEDIAN, Period, Ready, ZoneOutlook
from swardmark.forecast.status import enough
from swardmark.lawn.toml import WHOLE_LAWN, Lawn

WHOLE_POINT = "all"
LEAST_AREA, LEAST_SHOT = 0.9, 0.5
CARRIED_DAYS = 7.0
LEAST_TOLD = 1 / 3
"""Below this share of the lawn in view the tool says how many more photo points would show the rest."""
LEAST_LEFT_OUT_M2 = 0.1


def total(
    zones: Sequence[ZoneOutlook], fits: Sequence[Recovery], frame: Frame
) -> tuple[ZoneOutlook, Recovery | None]:
    """Return the row of several zones together and its recovery; None while it is too early to say."""
    name = Name(WHOLE_POINT, WHOLE_LAWN, sum(zone.area_m2 for zone in zones))
    day, cover, held = mean_series(zones, fits, frame)
    seen = [zone for zone in zones if math.isfinite(zone.cover_pct)]
    if not len(day) and seen:
        return too_early(name, *_newest(seen), reason=sentences.PHOTOS_APART), None
    use = [i for i, zone in enumerate(zones) if zone.status != "too early to say"]
    known = sum(zones[i].area_m2 for i in use)
    if not known or known < 0.5 * name.area_m2 or not enough(day, held):
        reason = sentences.LITTLE_AREA if enough(day, held) else ""
        return too_early(name, day, cover, held, reason=reason), None
    fit = whole_lawn([fits[i] for i in use], [zones[i].area_m2 for i in use])
    fit = replace(fit, day=frame.axis.model_days(day), observed_pct=cover, held_out=held)
    expected = frame.usual_cover(float(fit.day[~held][-1]))
    return judged(name, day, fit, frame, expected_pct=expected), fit


def when_ready(zones: Sequence[ZoneOutlook], fits: Sequence[Recovery], frame: Frame) -> Ready:
    """Return when enough of the ground has the cover for the first mow, from the zones drawn together.

    What is measured at that cover is ready, and stays so; a zone of which it is too early to say anything comes too
    late, and so does, for a date, one that is stalled.
    """
    outlook, seen = frame.lawn.outlook, [i for i, zone in enumerate(zones) if math.isfinite(zone.cover_pct)]
    if not any(zones[i].status != "too early to say" for i in seen):
        return Ready()
    ends = frame.axis.growth_ends(frame.as_of)
    last = np.inf if ends is None else frame.axis.model_day(ends)
    day = np.full((DRAWS, len(seen)), np.inf)
    for row, i, members in zip(day.T, seen, coupled_draws([fits[i] for i in seen]), strict=True):
        if zones[i].cover_pct >= outlook.first_mow_cover_pct:
            row[:] = 0.0
        elif zones[i].status != "too early to say":
            row[:] = fits[i].bank.first_day(outlook.first_mow_cover_pct)[0][members]
            row[row > min(fits[i].season_ends, last)] = np.inf
    area = np.array([max(zones[i].area_m2, 1e-9) for i in seen])
    reached = np.sort(_day_of_share(day, area, outlook.ready_ground_pct))
    chance = float(np.isfinite(reached).mean())
    still = np.array([ends == frame.as_of or zones[i].status == "stalled" for i in seen])
    if still.any():
        day[still & (day > 0.0)] = np.inf
        reached = np.sort(_day_of_share(day, area, outlook.ready_ground_pct))
    count = int(np.isfinite(reached).sum())
    if count < UNLIKELY * DRAWS:
        return Ready(Period(), chance, chance)
    quantiles = (reached[math.ceil(share * count) - 1] for share in (BY_MEDIAN, 1.0 - BY_LATEST, BY_LATEST))
    on, earliest, latest = (frame.axis.date_of(one) for one in quantiles)
    by_latest = chance
    if latest is not None:
        end = max(latest, frame.as_of + dt.timedelta(days=1))
        by_latest = float(np.mean(reached <= frame.axis.model_day(end)))
    return Ready(Period(on, earliest, latest), chance, by_latest)


def mean_series(
    zones: Sequence[ZoneOutlook], fits: Sequence[Recovery], frame: Frame
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return days, area-weighted mean cover [%] and held-out marks of several zones.

    A zone that a day's photos do not show is interpolated between its own, and after its last photo moved on as its
    curve moves, for a week at most: so photo points of different days add up.

    A photo counts where at least half of the area was in it, or in those since the last that counts, and nine tenths
    lie between photos of their own; two photos of a day stay two, as in the zones.
    """
    pairs = [(zone, fit) for zone, fit in zip(zones, fits, strict=True) if zone.day]
    if not pairs:
        return np.zeros(0), np.zeros(0), np.zeros(0, dtype=bool)
    zones = [zone for zone, _ in pairs]
    keys = [photo_keys(np.array(zone.day)) for zone in zones]
    days = np.unique(np.concatenate(keys))
    area = np.array([max(zone.area_m2, 1e-9) for zone in zones])
    cover = np.array([
        _cover_on(days, at, zone, fit, frame) for at, (zone, fit) in zip(keys, pairs, strict=True)
    ])  # fmt: skip
    shot, held = np.zeros((2, *cover.shape), dtype=bool)
    for zone, own, shot_on, held_on in zip(zones, keys, shot, held, strict=True):
        at = np.searchsorted(days, own)
        shot_on[at], held_on[at] = True, zone.held_out
    weight = area[:, None] * np.isfinite(cover)
    keep = _counted(shot, weight.sum(axis=0) >= LEAST_AREA * area.sum(), area)
    mean = (weight * np.nan_to_num(cover)).sum(axis=0)[keep] / weight.sum(axis=0)[keep]
    return np.rint(days[keep]), mean, (area @ held)[keep] > 0.5 * area.sum()


def ground_notes(seen_m2: float, left_out_m2: float, *, points: int, lawn: Lawn) -> list[str]:
    """Say which ground the total speaks of: what was left out, and its share of the lawn where that is known.

    Parameters
    ----------
    seen_m2, left_out_m2 : float
        Lawn in view, and ground in view that was taken for a path or a bed.
    points : int
        Photo points.
    lawn : Lawn
        Its area, where known.
    """
    notes = []
    if left_out_m2 >= LEAST_LEFT_OUT_M2:
        notes.append(sentences.LEFT_OUT.format(area=format_area(left_out_m2, units=lawn.units)))
    whole_m2 = lawn.ground_m2
    if whole_m2 is None or not seen_m2:
        return notes
    share = seen_m2 / whole_m2
    fields = {"share": min(100.0, 100 * share), "area": format_area(whole_m2, units=lawn.units)}
    if share >= LEAST_TOLD:
        return [*notes, sentences.SEEN.format(**fields)]
    more = math.ceil((whole_m2 - seen_m2) / (seen_m2 / points))
    return [*notes, plural(more, sentences.SEEN_ONE_MORE, sentences.SEEN_MORE).format(**fields, more=more)]


def _counted(shot: np.ndarray, is_known: np.ndarray, area: np.ndarray) -> np.ndarray:
    """Return which photos count: known all over, and with half of the area in them and those since the last."""
    keep, since = np.zeros(len(is_known), dtype=bool), np.zeros(len(area), dtype=bool)
    for at, known in enumerate(is_known):
        since |= shot[:, at]
        keep[at] = known and area @ since >= LEAST_SHOT * area.sum()
        since &= not keep[at]
    return keep


def _day_of_share(day: np.ndarray, area: np.ndarray, share_pct: float) -> np.ndarray:
    """Return the day on which zones of so much of the area have come, draw by draw, shape (draws,)."""
    order = np.argsort(day, axis=1)
    come = np.cumsum(area[order], axis=1) >= (share_pct / 100.0 - 1e-9) * area.sum()
    draws = np.arange(len(day))
    return np.asarray(day[draws, order[draws, come.argmax(axis=1)]])


def _newest(zones: Sequence[ZoneOutlook]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the newest photo's day, the area-weighted mean of the zones' newest covers [%], and that it counts."""
    cover = np.average([zone.cover_pct for zone in zones], weights=[zone.area_m2 or 1e-9 for zone in zones])
    return np.array([max(zone.day[-1] for zone in zones)]), np.array([cover]), np.zeros(1, dtype=bool)


def _cover_on(
    days: np.ndarray, own: np.ndarray, zone: ZoneOutlook, fit: Recovery, frame: Frame
) -> np.ndarray:
    """Return a zone's cover on other days than its photos' [%]; NaN before its first and long after its last."""
    cover = np.interp(days, own, zone.observed_pct, left=np.nan, right=np.nan)
    last = own[-1]
    ahead = (days > last) & (days <= last + CARRIED_DAYS)
    if ahead.any():
        moved = np.zeros(ahead.sum())
        if zone.status != "too early to say":
            curve = fit.cover(frame.axis.model_days(np.array([last, *days[ahead]]))).median
            moved = curve[1:] - curve[0]
        cover[ahead] = np.clip(zone.observed_pct[-1] + moved, 0.0, 100.0)
    return cover

"""The lawn's total: its zones together, weighed by area, their fortunes coupled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from swardmark.forecast import sentences
from swardmark.forecast.judge import Frame, Name, judged, too_early
from swardmark.forecast.light import photo_keys
from swardmark.forecast.recovery import Recovery, whole_lawn
from swardmark.forecast.rows import ZoneOutlook
from swardmark.forecast.status import enough
from swardmark.lawn.toml import WHOLE_LAWN

WHOLE_POINT = "all"
LEAST_AREA, LEAST_SHOT = 0.9, 0.5


def total(
    zones: Sequence[ZoneOutlook], fits: Sequence[Recovery], frame: Frame
) -> tuple[ZoneOutlook, Recovery | None]:
    """Return the row of several zones together and its recovery; None while it is too early to say."""
    name = Name(WHOLE_POINT, WHOLE_LAWN, sum(zone.area_m2 for zone in zones))
    day, cover, held = mean_series(zones)
    use = [i for i, zone in enumerate(zones) if zone.status != "too early to say"]
    known = sum(zones[i].area_m2 for i in use)
    if not use or known < 0.5 * name.area_m2 or not enough(day, held):
        reason = sentences.LITTLE_AREA if enough(day, held) else ""
        return too_early(name, day, cover, held, reason=reason), None
    fit = whole_lawn([fits[i] for i in use], [zones[i].area_m2 for i in use])
    fit = replace(fit, day=frame.axis.model_days(day), observed_pct=cover, held_out=held)
    expected = frame.usual_cover(float(fit.day[~held][-1]))
    return judged(name, day, fit, frame, expected_pct=expected), fit


def mean_series(zones: Sequence[ZoneOutlook]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return days, area-weighted mean cover [%] and held-out marks; zones missing in a photo are interpolated.

    A photo counts where at least half of the area was in it and nine tenths lie between photos of their own; two
    photos of a day stay two, as in the zones.
    """
    zones = [zone for zone in zones if zone.day]
    if not zones:
        return np.zeros(0), np.zeros(0), np.zeros(0, dtype=bool)
    keys = [photo_keys(np.array(zone.day)) for zone in zones]
    days = np.unique(np.concatenate(keys))
    area = np.array([zone.area_m2 for zone in zones])
    cover = np.array([
        np.interp(days, at, zone.observed_pct, left=np.nan, right=np.nan)
        for zone, at in zip(zones, keys, strict=True)
    ])  # fmt: skip
    shot, held = np.zeros((2, *cover.shape), dtype=bool)
    for zone, own, shot_on, held_on in zip(zones, keys, shot, held, strict=True):
        at = np.searchsorted(days, own)
        shot_on[at], held_on[at] = True, zone.held_out
    weight = area[:, None] * np.isfinite(cover)
    keep = (area @ shot >= LEAST_SHOT * area.sum()) & (weight.sum(axis=0) >= LEAST_AREA * area.sum())
    mean = (weight * np.nan_to_num(cover)).sum(axis=0)[keep] / weight.sum(axis=0)[keep]
    return np.rint(days[keep]), mean, (area @ held)[keep] > 0.5 * area.sum()

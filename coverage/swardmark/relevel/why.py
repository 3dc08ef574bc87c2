"""Why a place is on the list of jobs, and what to do there: one line by its cause; and why no place is yet."""

from __future__ import annotations

import math

from swardmark.common.units import Units, format_depth
from swardmark.relevel import sentences as say
from swardmark.relevel.causes import BURIED_MM, HIGH, LEVEL, LEVEL_WITHIN_MM, UNPROBED
from swardmark.relevel.plan import SpotPlan
from swardmark.relevel.sand import MOST_DEPTH_MM
from swardmark.relevel.spots import SpotSearch

WIDE_SPOT_M2 = 3.0
"""A wider place is rather a matter of shade, water or depth of sand than of a low spot."""


def why_of(plan: SpotPlan, *, units: Units = "metric") -> str:
    """Say in a sentence or two why a place is a spot and what stands against plain sand there."""
    spot = plan.spot
    if plan.is_green:
        return "; ".join(_by_cause(plan, units))
    lagging = math.isfinite(spot.lag_days)
    lag = say.BEHIND.format(days=spot.lag_days) if lagging else say.BEHIND_SOME
    state = say.STILL_BARE if spot.is_bare else say.SLOW
    parts = [say.SPOT_WHY.format(state=state, lag=lag, cover=spot.cover_pct, lawn=spot.lawn_cover_pct)]
    if spot.seasons_seen > 1:
        parts.append(say.SEEN_SEASONS.format(count=spot.seasons_seen))
    if spot.at_edge:
        parts.append(say.AT_EDGE)
    parts += _by_cause(plan, units)
    if spot.area_m2 >= WIDE_SPOT_M2:
        parts.append(say.SPOT_WIDE)
    return "; ".join(parts)


def why_none(search: SpotSearch, *, several: bool) -> str:
    """Say why no spots can be named yet at a photo point, by its name where there are several."""
    if several:
        return say.AT_POINT.format(point=search.point, why=search.note)
    return f"{search.note[:1].upper()}{search.note[1:]}."


def _by_cause(plan: SpotPlan, units: Units) -> list[str]:
    """Say what the ground is like and what to do about it."""
    finding, probe = plan.finding, plan.finding.probe
    if plan.cause == UNPROBED:
        return [say.SPOT_UNPROBED]
    if plan.cause == HIGH:
        buried = probe is not None and (probe.sand_mm or 0.0) > BURIED_MM
        if buried and probe is not None and probe.sand_mm is not None:
            return [say.SPOT_BURIED.format(sand=format_depth(probe.sand_mm, units=units))]
        return [say.SPOT_HIGH]
    if plan.cause == LEVEL:
        said = [say.SPOT_LEVEL.format(least=format_depth(LEVEL_WITHIN_MM, units=units))]
        if probe is not None and probe.soil in say.SOIL:
            said.append(say.SOIL[probe.soil])
        if probe is not None and probe.light == "shade":
            said.append(say.SHADE)
        return said if len(said) > 1 else [*said, say.LOOK_FOR]
    if plan.is_too_deep:
        return [say.SPOT_TOO_DEEP.format(most=format_depth(MOST_DEPTH_MM, units=units))]
    if finding.is_shared:
        return [say.SPOT_SHARED]
    if plan.depth_mm is None:
        return [say.SPOT_LOW_UNMEASURED]
    low = say.SPOT_LOW_GREEN if plan.is_green else say.SPOT_LOW
    return [low.format(depth=format_depth(float(round(plan.depth_mm)), units=units))]

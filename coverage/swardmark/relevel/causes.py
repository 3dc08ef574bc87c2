"""One list of jobs by cause: bare and green low ground, buried and high ground, level ground that is bare all the same.

A photo sees where turf is missing; heights, depths under a straightedge and the keeper's probes say why. Sand goes on
measured low ground alone: a place that nobody has probed costs nothing and stands first among what to measure, and a
place that is high or buried never gets any, however low it looks.

A single reading is taken for the deepest point of a bowl, half of it in the mean, a third to 0.77 of it at the ends
(shapes.py); three and more are averaged as they are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from swardmark.lawn.level_notes import Probe
from swardmark.level.cutfill import CutFill
from swardmark.level.lows import LevelSpot
from swardmark.level.shapes import BOWL, CONE, FLAT
from swardmark.relevel.spots import Spot

Cause = Literal["low", "high or buried", "level but bare", "not yet probed"]
LOW: Cause = "low"
HIGH: Cause = "high or buried"
LEVEL: Cause = "level but bare"
UNPROBED: Cause = "not yet probed"

REACH_M = 0.15
"""A depth or a probe this near to a spot's outline belongs to it."""
LEVEL_WITHIN_MM = 3.0
"""Ground whose mean lies within this of the straightedge is level: sand is not what it lacks."""
BURIED_MM = 13.0
"""Sand thicker than this over the crowns buries turf: half an inch, the most that a pass is advised to be."""
ENOUGH_READINGS = 3
LEAST_MAPPED_SHARE = 0.5
LEAST_SHARED_M2 = 0.02


@dataclass(frozen=True)
class Finding:
    """What is known of one place's ground.

    Attributes
    ----------
    cause : Cause
        What it needs follows from it.
    depth_mm : float or None
        Mean depth below the straightedge; None where it was not measured.
    low_mm, high_mm : float
        Its 95 % interval in millimeters; NaN where it was not measured.
    readings : int
        How many depths were read here.
    area_m2 : float
        Ground to be filled: the spot's own, or that of the low spot on the map that it is part of.
    probe : Probe or None
        What the keeper answered here last.
    is_shared : bool
        Whether its low ground is counted with another spot.
    deepest_mm : float or None
        Its deepest place below the straightedge; None where that is not known.
    """

    cause: Cause
    depth_mm: float | None
    low_mm: float
    high_mm: float
    readings: int
    area_m2: float
    probe: Probe | None = None
    is_shared: bool = False
    deepest_mm: float | None = None


def findings(
    spots: Sequence[Spot],
    depths: Sequence[Sequence[float]],
    *,
    probes: Sequence[Probe] = (),
    maps: Sequence[CutFill] = (),
) -> tuple[list[Finding], list[tuple[Spot, Finding]]]:
    """Return what is known of each spot, and the low and high ground of the maps that is no spot of a photo.

    Parameters
    ----------
    spots : sequence of Spot
        Places that stayed bare or lagged.
    depths : sequence of sequence of float
        For each of them the depths that were read under a straightedge, in millimeters.
    probes : sequence of Probe
        The keeper's answers.
    maps : sequence of CutFill
        Maps of measured heights.
    """
    owned, loose = _shared_out(spots, maps)
    known = [_finding(spot, own, probes, maps, owned) for spot, own in zip(spots, depths, strict=True)]
    number = max((spot.number for spot in spots), default=0)
    more = []
    for point, low, is_low in loose:
        number += 1
        cause = LOW if is_low else HIGH
        finding = Finding(
            cause, low.mean_mm, low.low_litres / low.area_m2, low.high_litres / low.area_m2, 0, low.area_m2,
            deepest_mm=low.deepest_mm,
        )  # fmt: skip
        more.append((_green_spot(number, point, low), finding))
    return known, more


def mean_depth(depths: Sequence[float]) -> tuple[float, float, float]:
    """Return the mean depth of a place from its readings, with its 95 % interval, in millimeters.

    Examples
    --------
    >>> mean_depth([20.0])
    (10.0, 6.666666666666666, 15.4)
    >>> mean_depth([10.0, 15.0, 20.0])[0]
    15.0
    """
    if len(depths) < ENOUGH_READINGS:
        deepest = max(depths)
        return BOWL * deepest, CONE * deepest, FLAT * deepest
    from scipy.stats import t

    mean = float(np.mean(depths))
    wide = float(t.ppf(0.975, len(depths) - 1) * np.std(depths, ddof=1) / math.sqrt(len(depths)))
    return mean, max(0.0, mean - wide), mean + wide


def _finding(
    spot: Spot,
    depths: Sequence[float],
    probes: Sequence[Probe],
    maps: Sequence[CutFill],
    owned: dict[int, list[LevelSpot] | None],
) -> Finding:
    probe = _probe_of(spot, probes)
    mapped = next((gap for one in maps if (gap := _gap_mm(one, spot)) is not None), None)
    depth = None if mapped is None else (max(0.0, mapped),) * 3
    area, is_shared = spot.area_m2, False
    deepest: float | None = None
    if depths:
        depth, deepest = mean_depth(depths), max(depths)
    elif spot.number in owned:
        lows = owned[spot.number]
        is_shared = lows is None
        if lows:
            area = sum(low.area_m2 for low in lows)
            litres = [
                sum(getattr(low, name) for low in lows) for name in ("litres", "low_litres", "high_litres")
            ]
            depth = litres[0] / area, litres[1] / area, litres[2] / area
            deepest = max(low.deepest_mm for low in lows)
    cause = _cause(None if depth is None else depth[0], mapped, probe)
    mean, low, high = depth if depth is not None else (None, math.nan, math.nan)
    return Finding(cause, mean, low, high, len(depths), area, probe, is_shared, deepest)


def _cause(depth_mm: float | None, mapped_mm: float | None, probe: Probe | None) -> Cause:
    if probe is not None and (probe.ground == "high" or (probe.sand_mm or 0.0) > BURIED_MM):
        return HIGH
    if mapped_mm is not None and mapped_mm <= -LEVEL_WITHIN_MM:
        return HIGH
    if depth_mm is not None:
        return LOW if depth_mm >= LEVEL_WITHIN_MM else LEVEL
    if probe is not None and probe.ground is not None:
        return LOW if probe.ground == "low" else LEVEL
    return UNPROBED


def _probe_of(spot: Spot, probes: Sequence[Probe]) -> Probe | None:
    """Return the newest probe at a spot."""
    from shapely import Point

    near = [
        probe
        for probe in probes
        if probe.point == spot.point and spot.polygon.distance(Point(probe.x_m, probe.y_m)) <= REACH_M
    ]
    return max(near, key=lambda probe: probe.date, default=None)


def _gap_mm(one: CutFill, spot: Spot) -> float | None:
    """Return how far a spot's ground lies below the straightedge in the mean (above: negative); None if not mapped."""
    if one.point != spot.point:
        return None
    inside = one.raster.covers([spot.outline_m]) & one.raster.inside
    if float(inside.sum()) * one.raster.cell_m2 < LEAST_MAPPED_SHARE * spot.area_m2:
        return None
    return -float(one.gap_mm[inside].mean())


def _shared_out(
    spots: Sequence[Spot], maps: Sequence[CutFill]
) -> tuple[dict[int, list[LevelSpot] | None], list[tuple[str, LevelSpot, bool]]]:
    """Give each low spot of the maps to the photo's spot that covers most of it.

    Returns the low spots by the number of their owner (None for a spot whose low ground another one owns), and what no
    spot of a photo touches: photo point, low or high spot, and whether it is low.
    """
    from shapely import Polygon

    owned: dict[int, list[LevelSpot] | None] = {}
    loose = []
    for one in maps:
        here = [spot for spot in spots if spot.point == one.point]
        for level_spots, is_low in ((one.low, True), (one.high, False)):
            for low in level_spots:
                shape = Polygon(low.outline_m).buffer(0)
                shares = sorted(
                    ((spot.polygon.intersection(shape).area, spot.number) for spot in here), reverse=True
                )
                touching = [number for area, number in shares if area >= LEAST_SHARED_M2]
                if not touching:
                    loose.append((one.point, low, is_low))
                elif is_low:
                    first, *others = touching
                    owned[first] = [*(owned.get(first) or []), low]
                    for other in others:
                        owned.setdefault(other, None)
    return owned, loose


def _green_spot(number: int, point: str, low: LevelSpot) -> Spot:
    """Return a place of the map as a spot: nothing is known of its cover."""
    return Spot(
        number=number, point=point, zone="", outline_m=low.outline_m, x_m=low.x_m, y_m=low.y_m, area_m2=low.area_m2,
        cover_pct=math.nan, lawn_cover_pct=math.nan, lag_days=math.nan, is_bare=False, at_edge=False,
    )  # fmt: skip

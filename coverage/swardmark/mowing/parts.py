"""The lawn part by part at the first mow: what is covered, and when enough of the ground will be.

What is covered is a measurement and is said from the first photo on; a date waits for three photos. The lawn may be
mown once most of its ground is ready (`ready_ground_pct`, 60 % unless the keeper sets it: our own rule), and the rest
is steered round.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np

from swardmark.forecast.rows import ZoneOutlook, ZoneSeries
from swardmark.mowing.rows import Part


def lawn_parts(
    zones: Sequence[ZoneOutlook], series: Sequence[ZoneSeries], *, gate_pct: float, as_of: dt.date
) -> tuple[Part, ...]:
    """Return the parts of a lawn that have been seen, each with whether its cover is there.

    Parameters
    ----------
    zones : sequence of ZoneOutlook
        One row a part.
    series : sequence of ZoneSeries
        What was measured, for the intervals.
    gate_pct : float
        The cover for the first mow [%].
    as_of : date
        The day of the verdict.
    """
    measured = {(one.point, one.zone): one for one in series}
    seen = [zone for zone in zones if np.isfinite(zone.cover_pct)]
    ground = sum(zone.area_m2 for zone in seen)
    shares = [zone.area_m2 / ground if ground else 1.0 / len(seen) for zone in seen]
    return tuple(
        _part(zone, measured.get((zone.point, zone.zone)), share, gate_pct=gate_pct, as_of=as_of)
        for zone, share in zip(seen, shares, strict=True)
    )


def ready_share(parts: Sequence[Part]) -> float:
    """Return the share of the ground in view that is ready, 0..1."""
    return sum(part.share for part in parts if part.ready)


def whole_interval(parts: Sequence[Part]) -> tuple[float, float]:
    """Return the 95 % interval of the whole [%]: that of its parts by area, as if they all erred together."""
    share = sum(part.share for part in parts)
    if not share:
        return float("nan"), float("nan")
    low, high = (sum(getattr(p, side) * p.share for p in parts) / share for side in ("low_pct", "high_pct"))
    return float(low), float(high)


def _part(
    zone: ZoneOutlook, measured: ZoneSeries | None, share: float, *, gate_pct: float, as_of: dt.date
) -> Part:
    low, high = _interval(zone, measured, as_of)
    return Part(
        point=zone.point,
        name=zone.zone,
        cover_pct=zone.cover_pct,
        low_pct=low,
        high_pct=high,
        area_m2=zone.area_m2,
        share=share,
        ready=zone.cover_pct >= gate_pct,
        ready_on=zone.mow_on,
        earliest=zone.mow_earliest,
        latest=zone.mow_latest,
    )


def _interval(zone: ZoneOutlook, measured: ZoneSeries | None, as_of: dt.date) -> tuple[float, float]:
    """Return the interval of the photo that the row's cover comes from; the cover itself where there is none."""
    if measured is not None:
        rows = zip(measured.taken_on, measured.cover_pct, measured.low_pct, measured.high_pct, strict=True)
        same = [
            (low, high)
            for day, cover, low, high in rows
            if day <= as_of and abs(cover - zone.cover_pct) < 1e-6
        ]
        if same:
            return same[-1]
    return zone.cover_pct, zone.cover_pct

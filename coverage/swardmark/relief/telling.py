"""What sets of relief photos say, in sentences, rows and numbers."""

from __future__ import annotations

from typing import Any

import numpy as np

from swardmark.common.phrases import DateForm, date_words
from swardmark.common.units import Units, format_area, format_depth, format_length, format_volume
from swardmark.relief import sentences
from swardmark.relief.dips import DEEP_MM, STRAIGHTEDGE_M, Dip
from swardmark.relief.readings import PegReading, ReliefReading, ReliefReview
from swardmark.relief.surface import robust_fit

NEAR_MM = 2.0
"""Gaps that differ by less are the same."""


def relief_sentences(
    review: ReliefReview,
    *,
    units: Units = "metric",
    dates: DateForm = "day month",
    straightedge_m: float = STRAIGHTEDGE_M,
) -> tuple[str, ...]:
    """Say what each set gave, and what dragging again did to the dips of an earlier set of that day."""
    readings = review.sand
    lines: list[str] = [line for one in review.pegs for line in _peg_lines(one, units, dates)]
    for n, one in enumerate(readings):
        lines += _one(one, units, dates, straightedge_m)
        earlier = [r for r in readings[:n] if r.point == one.point and r.date == one.date]
        if earlier and earlier[-1].relief.is_bare and one.relief.is_bare:
            for dip, now in compared(earlier[-1], one):
                lines.append(
                    sentences.COMPARED.format(
                        place=place_of(dip, units), before=format_depth(dip.gap_mm, units=units),
                        after=format_depth(now, units=units),
                    )
                )  # fmt: skip
    if review.pegs or any(one.relief.is_bare for one in readings):
        lines.append(sentences.NOT_IN_PHOTOS)
    return tuple(lines)


def compared(before: ReliefReading, after: ReliefReading) -> list[tuple[Dip, float]]:
    """Return each dip of one set with the gap that the next set of the day finds there, in millimeters.

    A plane is taken off the difference first: neither set knows its tilt.
    """
    lattice, later = before.relief.lattice, after.relief.lattice
    old, new_gap = before.relief.hollows, later.laid_on(lattice, after.relief.hollows.gap_mm)
    change = later.laid_on(lattice, after.relief.height_mm) - before.relief.height_mm
    known = np.isfinite(change)
    if known.sum() < 100:
        return []
    places = lattice.places_m
    terms = np.dstack([np.ones(known.shape), places])
    lifted = change - terms @ robust_fit(terms[known], change[known])
    found = []
    for n, dip in enumerate(old.dips, start=1):
        own = (old.labels == n) & known
        if own.any():
            deepest = own & (old.gap_mm >= np.nanpercentile(old.gap_mm[own], 90))
            raised = float(np.median(lifted[deepest]))
            now = float(np.nanmax(new_gap[own]))
            steady = dip.gap_mm if abs(raised) < NEAR_MM and abs(now - dip.gap_mm) < NEAR_MM else now
            found.append((dip, steady))
    return found


def relief_document(review: ReliefReview) -> list[dict[str, Any]]:
    """Return what each set gave for the JSON document; depths and volumes only of bare ground."""
    return [
        {
            "date": one.date.isoformat(),
            "point": one.point,
            "photos": list(one.relief.photos),
            "area_m2": round(one.relief.area_m2, 2),
            "leaf_pct": round(one.relief.leaf_pct, 1),
            "is_bare": one.relief.is_bare,
            "dips": [_row(dip, is_bare=one.relief.is_bare) for dip in one.relief.hollows.dips],
        }
        for one in review.sand
    ] + [_peg_row(one) for one in review.pegs]


def _one(one: ReliefReading, units: Units, dates: DateForm, straightedge_m: float) -> list[str]:
    relief, edge = one.relief, format_length(straightedge_m, units=units)
    if not relief.is_bare:
        where = "; ".join(place_of(dip, units) for dip in relief.hollows.dips)
        places = sentences.PROBE.format(where=where) if where else sentences.NOTHING_LOW
        return [sentences.PLACES.format(leaf=relief.leaf_pct, places=places)]
    error = 1.96 * float(np.nanmedian(relief.se_mm))
    lines = [
        sentences.MEASURED.format(
            date=date_words(one.date, dates), point=one.point, area=format_area(relief.area_m2, units=units),
            photos=len(relief.photos), error=format_depth(error, units=units),
        )
    ]  # fmt: skip
    if not relief.hollows.dips:
        gap = format_depth(relief.hollows.worst_gap_mm, units=units)
        return [
            *lines,
            sentences.NO_DIPS.format(least=format_depth(-DEEP_MM, units=units), edge=edge, gap=gap),
        ]
    for n, dip in enumerate(relief.hollows.dips, start=1):
        sand, low, high = (
            format_volume(litres / 1000, units=units)
            for litres in (dip.litres, dip.low_litres, dip.high_litres)
        )
        action = sentences.DRAG if n == 1 else ""
        gap = format_depth(dip.gap_mm, units=units)
        text = sentences.DIP.format(
            number=n,
            place=place_of(dip, units),
            gap=gap,
            edge=edge,
            sand=sand,
            low=low,
            high=high,
            action=action,
        )
        lines.append(text.rstrip())
    return lines


def _peg_lines(one: PegReading, units: Units, dates: DateForm) -> list[str]:
    pegs = one.pegs
    error = 1.96 * float(np.median(pegs.se_mm))
    low, high = float(pegs.height_mm.min()), float(pegs.height_mm.max())
    lowest = int(pegs.height_mm.argmin())
    lines = [
        sentences.PEGS.format(
            photos=len(pegs.photos), date=date_words(one.date, dates), point=one.point, pegs=len(pegs.numbers),
            error=format_depth(error, units=units), low=format_depth(-low, units=units),
            high=format_depth(high, units=units), number=pegs.numbers[lowest],
        )
    ]  # fmt: skip
    if pegs.left_out:
        lines.append(sentences.PEGS_OUT.format(numbers=", ".join(map(str, pegs.left_out))))
    return lines


def _peg_row(one: PegReading) -> dict[str, Any]:
    pegs = one.pegs
    return {
        "date": one.date.isoformat(),
        "point": one.point,
        "photos": list(pegs.photos),
        "pegs": [
            {
                "number": number, "x_m": round(float(x), 3), "y_m": round(float(y), 3),
                "height_mm": round(float(z), 2), "se_mm": round(float(error), 2),
            }
            for number, (x, y), z, error in zip(
                pegs.numbers, pegs.places_m, pegs.height_mm, pegs.se_mm, strict=True
            )
        ],
        "left_out": list(pegs.left_out),
    }  # fmt: skip


def place_of(dip: Dip, units: Units) -> str:
    """Return where a dip lies, from corner mark 0."""
    return sentences.PLACE.format(
        x=format_length(abs(dip.x_m), units=units), side=sentences.SIDES[dip.x_m < 0],
        y=format_length(abs(dip.y_m), units=units), depth=sentences.DEPTHS[dip.y_m < 0],
    )  # fmt: skip


def _row(dip: Dip, *, is_bare: bool) -> dict[str, Any]:
    row: dict[str, Any] = {"x_m": round(dip.x_m, 2), "y_m": round(dip.y_m, 2)}
    if is_bare:
        row |= {
            "area_m2": round(dip.area_m2, 2),
            "gap_mm": round(dip.gap_mm, 1),
            "gap_se_mm": round(dip.gap_se_mm, 1),
            "litres": round(dip.litres, 2),
            "low_litres": round(dip.low_litres, 2),
            "high_litres": round(dip.high_litres, 2),
        }
    return row

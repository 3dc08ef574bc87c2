"""One shot under several forms: the original, a PNG of it, and what a messenger made of it count once.

A copy that was encoded anew has other bytes, so that its content hash is another. But it shows the square at the very
same place in the frame, which no second shot from the hand does (they lie apart by some hundredths of the frame), and
the same ground. Two photos whose cameras name different moments are two shots, however alike they are.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from swardmark.canopy.index import FIRST_VALUE, GroundMap
from swardmark.record.store import Entry, Record

SAME_PLACE = 0.001
"""Of the frame's width or height: corners of copies agree within 0.0003, also at two thirds of the pixels."""
LEAST_ALIKE, LEAST_POINTS = 0.7, 200
"""Correlation of the index over common ground: 0.89 for a copy at two thirds of the pixels and JPEG quality 60."""


def without_twins(
    entries: Sequence[Entry], record: Record
) -> tuple[tuple[Entry, ...], tuple[tuple[str, str], ...]]:
    """Leave out measured photos that are copies of another of the same day; returns the rest and (copy, original)."""
    by_day: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        if entry.is_measured and entry.taken_at and entry.facts.corners_px:
            by_day.setdefault((entry.point, entry.taken_at.date().isoformat()), []).append(entry)
    twins: dict[str, str] = {}
    for same_day in by_day.values():
        kept: list[Entry] = []
        for entry in sorted(
            same_day, key=lambda one: (-one.facts.size[0], one.taken_from != "camera", one.name)
        ):
            first = next((other for other in kept if _are_one_shot(entry, other, record)), None)
            if first is None:
                kept.append(entry)
            else:
                twins[entry.name] = first.name
    return tuple(entry for entry in entries if entry.name not in twins), tuple(sorted(twins.items()))


def _are_one_shot(one: Entry, other: Entry, record: Record) -> bool:
    if one.taken_from == other.taken_from == "camera" and one.taken_at != other.taken_at:
        return False
    places = [(np.array(entry.facts.corners_px) + 0.5) / entry.facts.size for entry in (one, other)]
    if np.abs(places[0] - places[1]).max() > SAME_PLACE:
        return False
    return _likeness(record.ground_map(one), record.ground_map(other)) >= LEAST_ALIKE


def _likeness(one: GroundMap, other: GroundMap) -> float:
    """Return the correlation of two maps over the ground that both can read; 0 where that is next to nothing."""
    if one.spacing_m != other.spacing_m:
        return 0.0
    first, second = one.values, other.window(one.row0, one.col0, *one.values.shape)
    read = (first >= FIRST_VALUE) & (second >= FIRST_VALUE)
    if np.count_nonzero(read) < LEAST_POINTS:
        return 0.0
    with np.errstate(invalid="ignore"):
        return float(np.nan_to_num(np.corrcoef(first[read], second[read])[0, 1]))

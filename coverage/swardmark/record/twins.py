"""One shot under several forms: the original, a PNG of it, and what a messenger made of it count once.

A copy that was encoded anew has other bytes, so that its content hash is another. But it shows the square at the very
same place in the frame, which no second shot from the hand does (they lie apart by some hundredths of the frame), and
the same ground. Two photos whose cameras name different moments are two shots, however alike they are. Messengers take
the camera's day out of a photo and name the copy by the day it was sent: it is looked for among the days before.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import FIRST_VALUE, GroundMap
from swardmark.common.errors import UsageError
from swardmark.record.store import Entry, Record

SAME_PLACE = 0.001
"""Of the frame's width or height: corners of copies agree within 0.0003, also at two thirds of the pixels."""
LEAST_ALIKE, LEAST_POINTS = 0.7, 200
"""Correlation of the index over common ground: 0.89 for a copy at two thirds of the pixels and JPEG quality 60."""

SENT_WITHIN_DAYS = 60
"""A copy that only its name dates is compared with the cameras' photos of so many days before that day."""

SAME_LIGHT = 0.02
"""Light of the sand in a copy over that in the photo: 0.5 % apart at JPEG quality 70 and 0.6 of the pixels; on other
days of a drawn lawn 4 to 14 %."""

OF_THE_LAWN, ANSWERS = "/", f"twins {LEAST_ALIKE} {LEAST_POINTS}"
"""Where the record keeps which pairs were compared: beside the photo points, none of which can have this name."""


def without_twins(
    entries: Sequence[Entry], record: Record, *, spoken_of: Collection[str] = ()
) -> tuple[tuple[Entry, ...], tuple[tuple[str, str], ...]]:
    """Leave out measured photos that are copies of another of the same day; returns the rest and (copy, original).

    Of copies the one in `spoken_of` stays, the photos that were marked or counted; else the largest.
    """
    by_day: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        if entry.is_measured and entry.taken_at and entry.facts.corners_px:
            by_day.setdefault((entry.point, entry.taken_at.date().isoformat()), []).append(entry)
    twins: dict[str, str] = {}
    compared = _Compared(record)
    for same_day in by_day.values():
        kept: list[Entry] = []
        for entry in sorted(
            same_day,
            key=lambda one: (
                one.name not in spoken_of,
                -one.facts.size[0],
                one.taken_from != "camera",
                one.name,
            ),
        ):
            first = next((other for other in kept if _are_one_shot(entry, other, compared)), None)
            if first is None:
                kept.append(entry)
            else:
                twins[entry.name] = first.name
    twins |= _sent_on([entry for entry in entries if entry.name not in twins], compared)
    compared.keep()
    return tuple(entry for entry in entries if entry.name not in twins), tuple(sorted(twins.items()))


def _sent_on(entries: Sequence[Entry], compared: _Compared) -> dict[str, str]:
    """Return copies of a camera's photo that are dated by a later day in their names, each with that photo.

    Where a photo point shows the square at one place on more days than two, the camera stands fast, and its photos are
    no copies of each other.
    """
    seen = [entry for entry in entries if entry.is_measured and entry.taken_at and entry.facts.corners_px]
    copies = [entry for entry in seen if entry.taken_from == "file name"]
    if not copies or all(entry.taken_from != "camera" for entry in seen):
        return {}
    places = np.array([_place(entry) for entry in seen])
    twins: dict[str, str] = {}
    for copy in copies:
        near = np.flatnonzero(np.abs(places - _place(copy)).max(axis=(1, 2)) <= SAME_PLACE)
        there = [seen[number] for number in near if seen[number].point == copy.point]
        if len({_day(entry) for entry in there}) > 2:
            continue
        for original in (entry for entry in there if entry.taken_from == "camera"):
            is_since = 0 < (_day(copy) - _day(original)).days <= SENT_WITHIN_DAYS
            if is_since and _is_same_light(original, copy) and compared.are_alike(original, copy):
                twins[copy.name] = original.name
                break
    return twins


def _day(entry: Entry) -> dt.date:
    assert entry.taken_at is not None
    return entry.taken_at.date()


class _Compared:
    """Whether the maps of two photos are alike, computed once for each pair and kept in the record."""

    def __init__(self, record: Record) -> None:
        self._record, self._asked, self._is_new = record, dict[str, bool](), False
        self._known = _answers(record.derived(point=OF_THE_LAWN, basis=ANSWERS) or b"{}")

    def are_alike(self, one: Entry, other: Entry) -> bool:
        """Tell whether two maps show the same ground in the same state."""
        pair = " ".join(f"{entry.digest}/{entry.settings}/{entry.point}" for entry in (one, other))
        if pair not in self._known:
            likeness = _likeness(self._record.ground_map(one), self._record.ground_map(other))
            self._known[pair], self._is_new = likeness >= LEAST_ALIKE, True
        self._asked[pair] = self._known[pair]
        return self._asked[pair]

    def keep(self) -> None:
        """Keep the answers that were asked for; a full disk is no fault here."""
        if self._is_new:
            with contextlib.suppress(UsageError):
                self._record.keep_derived(OF_THE_LAWN, {ANSWERS: json.dumps(self._asked).encode()})


def _answers(kept: bytes) -> dict[str, bool]:
    """Read answers from the record; what is none is computed again."""
    try:
        answers = json.loads(kept)
    except ValueError:
        return {}
    whole = isinstance(answers, dict) and all(isinstance(alike, bool) for alike in answers.values())
    return answers if whole else {}


def _are_one_shot(one: Entry, other: Entry, compared: _Compared) -> bool:
    if one.taken_from == other.taken_from == "camera" and one.taken_at != other.taken_at:
        return False
    is_same_place = np.abs(_place(one) - _place(other)).max() <= SAME_PLACE
    return bool(is_same_place) and compared.are_alike(one, other)


def _is_same_light(one: Entry, other: Entry) -> bool:
    """Tell whether two photos show the sand in the same light, or both next to none of it.

    It changes from day to day where a camera stands fast.
    """
    light, again = one.facts.sand_light, other.facts.sand_light
    if not (np.isfinite(light) and np.isfinite(again)):
        return not (np.isfinite(light) or np.isfinite(again))
    return bool(abs(again / light - 1) <= SAME_LIGHT)


def _place(entry: Entry) -> NDArray[np.float64]:
    """Return the square's corners as shares of the frame, shape (4, 2)."""
    return np.asarray((np.array(entry.facts.corners_px) + 0.5) / entry.facts.size)


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

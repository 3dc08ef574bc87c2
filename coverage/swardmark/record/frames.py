"""Which photo holds a photo point's ground frame, and how to read that frame back from the record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.ground.align import Reference, is_one_place
from swardmark.ground.background import Background
from swardmark.ground.plane import GroundPlane, Pose
from swardmark.lawn.marks import PhotoMarks
from swardmark.lawn.photos import PhotoFile
from swardmark.photo.day import day_here, usable_moment
from swardmark.photo.header import read_header
from swardmark.record.inventory import Found
from swardmark.record.shelf import damaged
from swardmark.record.store import Entry, Record

LEAST_AGREE = 2
"""So many photos must agree, the reference among them, before one that does not is taken for another place's."""
MOST_HUBS, MOST_TRIED = 4, 3
"""Photos that are tried as the middle of a group, and others that are compared with each before all are."""


def by_day(found: Sequence[Found], record: Record, marks: Mapping[str, PhotoMarks]) -> list[Found]:
    """Sort photos by the time they were taken and then by name; undated ones are left out.

    The keeper's date wins, then the record's, then what the file told when it was looked through; the file is read
    again only where none of them knows.
    """
    dated = []
    for one in found:
        mark = marks.get(one.file.name)
        known, source = record.taken_at(digest=one.digest)
        when = (mark.taken_at if mark else None) or (known and day_here(known, source, one.file.name)[0])
        when = when or one.taken_at or _in_header(one.file)
        usable = usable_moment(when.replace(tzinfo=None), "", one.file.name) if when else None
        if usable is not None:
            dated.append((usable[0], one.file.name, one))
    return [one for _, _, one in sorted(dated, key=lambda known: known[:2])]


def reference_of(entry: Entry, *, side_m: float, record: Path) -> Reference:
    """Read the ground frame that a measured photo defines back from its entry in the record.

    Raises
    ------
    UsageError
        What it needs is damaged.
    """
    facts = entry.facts
    pose = Pose(facts.camera_m, facts.pitch_deg, facts.focal_px, facts.focal_from, 0.0)
    plane = GroundPlane(np.array(facts.to_photo).reshape(3, 3), facts.size, pose)
    try:
        background = Background.unpacked(facts.background)
    except ValueError:
        raise damaged(entry.name, record) from None
    return Reference(
        f"{entry.digest}/{entry.settings}", plane, np.array(facts.corners_px), side_m, background
    )


@dataclass(frozen=True)
class Places:
    """Which photos of a photo point show one place.

    Attributes
    ----------
    photos : int
        Photos whose square was found.
    agree : int
        Photos of the largest group that shows one place.
    elsewhere : frozenset of str
        Names of photos that show another place than that group.
    instead : str
        The photo that must be the reference in the place of the present one, with which most disagree; "" for none.
    """

    photos: int
    agree: int
    elsewhere: frozenset[str] = frozenset()
    instead: str = ""


def places_of(entries: Sequence[Entry], *, record: Path) -> Places:
    """Compare the photos of a point, oldest first, that the reference does not confirm: is it they, or the reference?

    Where more of them agree with each other than with the reference, it is suspected, and the earliest of them is to
    be the reference instead. Else, with two photos and more that agree with the reference, they show another place.
    What comes out depends on the photos alone, not on the order of measuring.
    """
    confirmed = [entry for entry in entries if entry.is_measured and not entry.facts.is_unplaced]
    unsure = [entry for entry in entries if entry.facts.is_unplaced and entry.taken_at is not None]
    photos = len(confirmed) + len(unsure)
    if not unsure:
        return Places(photos, len(confirmed))
    group = _largest_group(unsure, record) if len(unsure) >= len(confirmed) else []
    if len(group) > max(len(confirmed), 1):
        return Places(photos, len(group), instead=next(entry.name for entry in unsure if entry in group))
    if len(confirmed) < LEAST_AGREE:
        return Places(photos, len(confirmed))
    return Places(photos, len(confirmed), frozenset(entry.name for entry in unsure))


def _largest_group(entries: Sequence[Entry], record: Path) -> list[Entry]:
    """Return the photos that show one place with the one that most others agree with, that one first."""
    best: list[Entry] = []
    for number, hub in enumerate(entries[:MOST_HUBS]):
        others = [entry for at, entry in enumerate(entries) if at != number]
        first = [entry for entry in others[:MOST_TRIED] if _show_one_place(hub, entry, record)]
        if not first:
            continue
        group = [
            hub,
            *first,
            *(entry for entry in others[MOST_TRIED:] if _show_one_place(hub, entry, record)),
        ]
        best = max(best, group, key=len)
    return best


def _show_one_place(hub: Entry, other: Entry, record: Path) -> bool:
    one, two = (reference_of(entry, side_m=1.0, record=record) for entry in (hub, other))
    return is_one_place(one, two)


def _in_header(file: PhotoFile) -> dt.datetime | None:
    try:
        return read_header(file.read(), name=file.name).taken_at
    except PhotoRefused:
        return None

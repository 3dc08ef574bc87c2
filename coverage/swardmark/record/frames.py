"""Which photo holds a photo point's ground frame, and how to read that frame back from the record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.ground.align import Reference
from swardmark.ground.background import Background
from swardmark.ground.plane import GroundPlane, Pose
from swardmark.lawn.marks import PhotoMarks
from swardmark.lawn.photos import PhotoFile
from swardmark.photo.header import read_header, usable_moment
from swardmark.record.inventory import Found
from swardmark.record.shelf import damaged
from swardmark.record.store import Entry, Record


def by_day(found: Sequence[Found], record: Record, marks: Mapping[str, PhotoMarks]) -> list[Found]:
    """Sort photos by the time they were taken and then by name; undated ones are left out.

    The keeper's date wins, then the record's, then what the file told when it was looked through; the file is read
    again only where none of them knows.
    """
    dated = []
    for one in found:
        mark = marks.get(one.file.name)
        when = (mark.taken_at if mark else None) or record.taken_at(digest=one.digest) or one.taken_at
        when = when or _in_header(one.file)
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


def _in_header(file: PhotoFile) -> dt.datetime | None:
    try:
        return read_header(file.read(), name=file.name).taken_at
    except PhotoRefused:
        return None

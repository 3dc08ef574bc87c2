"""The relief photos of a lawn folder: sets in photos/relief/ and photos/<point>/relief/, measured once each.

Photos that lie there directly are grouped by their time; a folder there is a set of its own. They are never measured
for cover. Photos that show pegs give the heights of the pegs, all others those of the ground. What a folder gave is
kept in the record until its photos or the settings change.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.lawn.photos import MAIN_POINT, RELIEF_FOLDER, PhotoFile, photo_files
from swardmark.lawn.toml import Lawn
from swardmark.photo.decode import Photo, decode, digest_of
from swardmark.photo.header import read_header
from swardmark.record.place import RECORD_FILE
from swardmark.record.store import Record
from swardmark.relief.dips import STRAIGHTEDGE_M
from swardmark.relief.gather import check_set, gather
from swardmark.relief.marks import PEG_IDS, see_marks
from swardmark.relief.measure import measure_relief
from swardmark.relief.pegs import measure_pegs, shows_pegs
from swardmark.relief.readings import (
    RELIEF_VERSION,
    PegReading,
    ReliefReading,
    ReliefReview,
    joined,
    packed_review,
    unpacked_review,
)
from swardmark.relief.refusals import refused
from swardmark.relief.sentences import NO_DAY

MOST_SIDE_PX = 3200
"""Longer photos are reduced to this: five of 12 megapixels stay below 600 MiB, and more pixels reach no farther."""


def relief_of(
    lawn: Lawn, *, point: str | None = None, straightedge_m: float = STRAIGHTEDGE_M, measure: bool = True
) -> ReliefReview:
    """Return what all sets of relief photos in a lawn folder gave: from the record, else measured and kept there.

    Parameters
    ----------
    lawn : Lawn
        The lawn.
    point : str, optional
        Only those of this photo point.
    straightedge_m : float
        Length of the straightedge in meters.
    measure : bool
        Whether to measure what is not in the record; if not, it is left out, and nothing is written.
    """
    found = []
    for name, folder in _folders(lawn.folder / "photos"):
        if point is not None and name != point:
            continue
        files = [file for file in photo_files(folder) if file.point == MAIN_POINT]
        if files and (review := _of_folder(lawn, name, folder, files, straightedge_m, measure)) is not None:
            found.append(review)
    return joined(found)


def kept_relief(lawn: Lawn) -> ReliefReview:
    """Return what is known of a lawn's relief photos without measuring any: for the report and the page."""
    return relief_of(lawn, measure=False)


def _of_folder(
    lawn: Lawn, name: str, folder: Path, files: list[PhotoFile], straightedge_m: float, measure: bool
) -> ReliefReview | None:
    refusals: list[PhotoRefused] = []
    data = list(_contents(files, refusals))
    where = f"{RELIEF_FOLDER}/{folder.relative_to(lawn.folder / 'photos')}@{straightedge_m:g}"
    side_m = lawn.side_of(name)
    basis = _basis(data, side_m, straightedge_m)
    record = lawn.folder / RECORD_FILE
    if record.exists():
        with Record(record) as kept:
            packed = kept.derived(point=where, basis=basis)
        if packed is not None and (review := unpacked_review(packed)) is not None:
            return review
    if not measure:
        return None
    review = _measured(name, data, side_m, straightedge_m, refusals)
    with Record(record) as kept:
        kept.keep_derived(where, {basis: packed_review(review)})
    return review


def _contents(files: list[PhotoFile], refusals: list[PhotoRefused]) -> Iterator[tuple[str, bytes]]:
    for file in files:
        try:
            yield file.name, file.read()
        except PhotoRefused as refusal:
            refusals.append(refusal)


def _basis(data: list[tuple[str, bytes]], side_m: float, straightedge_m: float) -> str:
    told = [
        RELIEF_VERSION,
        round(side_m, 4),
        round(straightedge_m, 4),
        *sorted(f"{digest_of(one)}{_named_day(name, one)}" for name, one in data),
    ]
    return hashlib.sha256(repr(told).encode()).hexdigest()


def _named_day(name: str, data: bytes) -> str:
    """Return the day of a photo that only its name tells; nothing where the camera does."""
    try:
        header = read_header(data, name=name)
    except PhotoRefused:
        return ""
    return f" {header.taken_at}" if header.taken_from == "file name" else ""


def _measured(
    name: str,
    data: list[tuple[str, bytes]],
    side_m: float,
    straightedge_m: float,
    refusals: list[PhotoRefused],
) -> ReliefReview:
    photos = []
    for file, content in data:
        try:
            photos.append(_reduced(decode(content, name=file, least_side=MOST_SIDE_PX)))
        except PhotoRefused as refusal:
            refusals.append(refusal)
    sand: list[ReliefReading] = []
    pegs: list[PegReading] = []
    for group in gather(photos):
        try:
            when = next((one.taken_at for one in group if one.taken_at is not None), None)
            if when is None:
                raise refused(NO_DAY, where=group[0].name)
            chosen = check_set(group)
            marks = [see_marks(photo, more=PEG_IDS) for photo in chosen]
            if shows_pegs(marks):
                pegs.append(PegReading(name, when.date(), measure_pegs(chosen, side_m=side_m, marks=marks)))
            else:
                relief = measure_relief(chosen, side_m=side_m, straightedge_m=straightedge_m)
                sand.append(ReliefReading(name, when.date(), relief))
        except PhotoRefused as refusal:
            refusals.append(refusal)
    return joined([ReliefReview(tuple(sand), tuple(pegs), tuple(refusals))])


def _reduced(photo: Photo) -> Photo:
    """Return a photo of no more than so many pixels along its longer side."""
    import cv2

    longer = max(photo.size)
    if longer <= MOST_SIDE_PX:
        return photo
    size = [round(side * MOST_SIDE_PX / longer) for side in photo.size]
    return replace(photo, rgb=np.asarray(cv2.resize(photo.rgb, size, interpolation=cv2.INTER_AREA), np.uint8))


def _folders(root: Path) -> Iterator[tuple[str, Path]]:
    """Return photo points and the folders in which a set, or several, lie."""
    if not root.is_dir():
        return
    points = [(MAIN_POINT, root)]
    points += [
        (path.name, path)
        for path in sorted(root.iterdir())
        if path.is_dir() and not path.name.startswith(".")
    ]
    for name, folder in points:
        relief = folder / RELIEF_FOLDER
        if name == RELIEF_FOLDER or not relief.is_dir() or relief.is_symlink():
            continue
        yield name, relief
        for path in sorted(relief.iterdir()):
            if path.is_dir() and not path.is_symlink() and not path.name.startswith("."):
                yield name, path

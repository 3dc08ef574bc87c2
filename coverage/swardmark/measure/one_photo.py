"""One photo to its ground map: find the square, judge the photo, lay the ground in its frame, sample and index it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from swardmark.canopy.index import GroundMap
from swardmark.common.errors import PhotoRefused
from swardmark.ground.align import Kept, OtherGround, keep_frame
from swardmark.ground.find import find_square, hand_square
from swardmark.ground.plane import GroundPlane
from swardmark.ground.square import NoSquare, Square
from swardmark.ground.trust import trusted_plane, with_side_checked
from swardmark.measure.check import Fitness, check_ground, ground_outline
from swardmark.measure.facts import facts_of, unplaced_facts
from swardmark.measure.indexing import index_ground, sample_ground
from swardmark.photo.decode import Photo
from swardmark.photo.findings import MOST_ONE_COLOR, ONE_COLOR, UNFIT, Finding
from swardmark.photo.fitness import one_color_share
from swardmark.record.store import PhotoFacts

if TYPE_CHECKING:
    from swardmark.measure.survey import Task


def measure_photo(photo: Photo, task: Task) -> tuple[GroundMap, PhotoFacts]:
    """Measure one photo: find the square, judge the photo, lay the ground in the point's frame, sample and index it.

    Raises
    ------
    PhotoRefused
        The square cannot be found or trusted, or no ground is seen well enough.
    """
    square, own = locate_square(photo, task)
    fitness = judge_fitness(photo, square, own, task)
    try:
        frame = lay_in_frame(photo, square, own, task)
    except OtherGround as refusal:
        assert square is not None and own is not None
        raise Unplaced(refusal, unplaced_facts(photo, square, own)) from None
    if square is None:
        refuse_lost_ground(photo, frame.plane, task)
    sampled = sample_ground(photo, frame.plane, task.settings)
    indexed = index_ground(
        sampled, photo, square=square, own=own, plane=frame.plane, side_m=task.side_m, settings=task.settings
    )
    facts = facts_of(photo, square, fitness, frame, indexed, is_reference=task.reference is None)
    return indexed.ground_map, facts


class Unplaced(OtherGround):
    """A photo of other ground, with what is kept of it."""

    def __init__(self, refusal: OtherGround, facts: PhotoFacts) -> None:
        self.facts = facts
        super().__init__(refusal.what, where=refusal.where, remedy=refusal.remedy)


def locate_square(photo: Photo, task: Task) -> tuple[Square | None, GroundPlane | None]:
    """Find the square, by the keeper's hand marks where there are any, and the ground plane it fixes.

    Both are None where a photo shows no square at all, but its photo point has a reference photo.

    Raises
    ------
    PhotoRefused
        There is no square, or one that cannot be trusted.
    """
    known: dict[str, Any] = {"side_m": task.side_m, "focal_px": photo.focal_px, "name": photo.name}
    near = None
    if task.reference is not None:
        near = task.reference.corners_px * (max(photo.size) / max(task.reference.plane.size))
    try:
        if task.corners_px is not None:
            square = hand_square(photo.rgb, photo.here(task.corners_px), name=photo.name)
        else:
            square = find_square(photo.rgb, near=near, **known)
    except NoSquare:
        if task.reference is None:
            raise
        return None, None
    plane = trusted_plane(square, size=photo.size, **known)
    checked = with_side_checked(square, side_m=task.side_m, mark_mm=task.mark_mm, name=photo.name)
    return checked, plane


def lay_in_frame(photo: Photo, square: Square | None, own: GroundPlane | None, task: Task) -> Kept:
    """Lay the ground into the photo point's frame; the reference photo's own ground is that frame."""
    if task.reference is None and own is not None:
        return Kept(own)
    assert task.reference is not None
    corners = square.corners_px if square else None
    return keep_frame(
        photo.rgb,
        task.reference,
        plane=own,
        corners_px=corners,
        focal_px=photo.focal_px,
        name=photo.name,
    )


def judge_fitness(photo: Photo, square: Square | None, own: GroundPlane | None, task: Task) -> Fitness | None:
    """Judge the photo's fitness where its square shows; one whose number would mislead is refused."""
    if square is None or own is None:
        return None
    fitness = check_ground(
        photo, square, own, side_m=task.side_m, max_view_deg=task.settings.max_view_deg,
        max_footprint_mm=task.settings.max_footprint_mm,
    )  # fmt: skip
    if fitness.level == UNFIT:
        raise _unfit(fitness.faults[0], photo)
    return fitness


def refuse_lost_ground(photo: Photo, plane: GroundPlane, task: Task) -> None:
    """Refuse a photo without a square whose ground is partly of one color: data were lost, and nothing else tells."""
    limits = {"max_view_deg": task.settings.max_view_deg, "max_footprint_mm": task.settings.max_footprint_mm}
    rule = replace(ONE_COLOR, unfit=MOST_ONE_COLOR)
    found = rule.judge(one_color_share(photo.rgb, ground_outline(plane, **limits)))
    if found.level == UNFIT:
        raise _unfit(found, photo)


def _unfit(fault: Finding, photo: Photo) -> PhotoRefused:
    return PhotoRefused(fault.sentence.rstrip("."), where=photo.name, remedy=fault.retake.rstrip("."))

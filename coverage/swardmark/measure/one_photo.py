"""One photo to its ground map: find the square, judge the photo, lay the ground in its frame, sample and index it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.blades import Edges, leaf_edges
from swardmark.canopy.index import NOT_SEEN, GroundMap, Window, index_bytes
from swardmark.canopy.shade import in_own_light
from swardmark.canopy.turf import FullTurf, full_turf, leaf_light
from swardmark.canopy.white import balance, white_gains
from swardmark.common.color import Colors
from swardmark.common.errors import PhotoRefused
from swardmark.ground.align import Kept, OtherGround, keep_frame
from swardmark.ground.find import find_square, hand_square
from swardmark.ground.plane import GroundPlane, seen_window
from swardmark.ground.sampling import sample
from swardmark.ground.square import NoSquare, Square
from swardmark.ground.trust import trusted_plane, with_side_checked
from swardmark.lawn.toml import MeasureSettings
from swardmark.measure.check import Fitness, check_ground, ground_outline
from swardmark.measure.facts import facts_of, unplaced_facts
from swardmark.photo.decode import Photo
from swardmark.photo.findings import MOST_ONE_COLOR, ONE_COLOR, UNFIT, Finding
from swardmark.photo.fitness import pixel_findings
from swardmark.record.store import PhotoFacts

if TYPE_CHECKING:
    from swardmark.measure.survey import Task


SQUARE_MARGIN_M = 0.05
"""Ground beside the square's outer edge that is left out with it: paper margins and trodden grass."""


class GroundSample(NamedTuple):
    """Colors of the ground: the window of the lattice, the pixel at each point that is seen, and where that is."""

    window: Window
    colors: Colors
    seen: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class IndexedGround:
    """The ground map of a photo, and what only its colors tell.

    Attributes
    ----------
    ground_map : GroundMap
        Excess green per ground point, the square left out.
    is_balanced : bool
        Whether the square's white balanced the colors.
    full : FullTurf
        Index of full turf as the photo shows it, NaN where it does not, and how much of the ground is closed turf.
    leaf_light : float
        Light of the leaves over that of the bare ground; NaN where the photo does not show it.
    edges : Edges
        Edges of leaves near the camera, which tell how upright the blades stand.
    """

    ground_map: GroundMap
    is_balanced: bool
    full: FullTurf
    leaf_light: float
    edges: Edges


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
    fitness = fitness or judge_by_background(photo, frame.plane, task)
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
            square = find_square(photo.rgb, near=near, mark_mm=task.mark_mm, gray=photo.gray, **known)
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
        photo.gray,
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


def judge_by_background(photo: Photo, plane: GroundPlane, task: Task) -> Fitness:
    """Judge a photo without a square on the ground that its background puts before it; one unfit is refused.

    Where the ground is partly of one color, data were lost, and nothing else tells: the limit is stricter here.
    """
    limits = {"max_view_deg": task.settings.max_view_deg, "max_footprint_mm": task.settings.max_footprint_mm}
    findings = pixel_findings(photo.rgb, outline_px=ground_outline(plane, **limits))
    lost = replace(ONE_COLOR, unfit=MOST_ONE_COLOR)
    fitness = Fitness(tuple(lost.judge(f.value) if f.name == lost.name else f for f in findings))
    if fitness.level == UNFIT:
        raise _unfit(fitness.faults[0], photo)
    return fitness


def sample_ground(photo: Photo, plane: GroundPlane, settings: MeasureSettings) -> GroundSample:
    """Read the photo at one point per lattice point of the ground that it shows well enough."""
    known = {
        "spacing_m": settings.point_spacing_mm / 1000,
        "max_view_deg": settings.max_view_deg,
        "max_footprint_mm": settings.max_footprint_mm,
    }
    window = seen_window(plane, **known)
    return GroundSample(window, *sample(photo.rgb, plane, window=window, **known))


def index_ground(
    sampled: GroundSample,
    photo: Photo,
    *,
    square: Square | None,
    own: GroundPlane | None,
    plane: GroundPlane,
    side_m: float,
    settings: MeasureSettings,
) -> IndexedGround:
    """Turn sampled colors into the ground map.

    Parameters
    ----------
    sampled : GroundSample
        The colors.
    photo : Photo
        The photo, whose square tells the color of the light.
    square, own
        The square and the ground in its own frame; None where the photo shows no square.
    plane : GroundPlane
        The ground in the photo point's frame.
    side_m : float
        The square's side, meters.
    settings : MeasureSettings
        The keeper's.

    Raises
    ------
    PhotoRefused
        No ground is seen well enough.
    """
    gains = None
    if square is not None and own is not None and square.how.has_white:
        gains = white_gains(photo.rgb, own, side_m=side_m)
    colors = balance(sampled.colors, gains) if gains else sampled.colors
    values = np.full(sampled.seen.shape, NOT_SEEN, np.uint8)
    values[sampled.seen] = index_bytes(colors, damping=settings.damping)
    ground_map = GroundMap(values, *sampled.window[:2], settings.point_spacing_mm / 1000)
    ground_map = in_own_light(ground_map, sampled.seen, colors, damping=settings.damping)
    if square is not None:
        _leave_out_square(ground_map, plane.meters(square.corners_px), side_m)
    if not ground_map.is_readable.any():
        remedy = "Step closer, hold the camera higher and tilt it further down"
        raise PhotoRefused("no ground is seen steeply enough to measure", where=photo.name, remedy=remedy)
    light = leaf_light(sampled.colors, ground_map.values[sampled.seen])
    brightness = np.zeros(values.shape, np.uint8)
    brightness[sampled.seen] = sampled.colors.green
    full = full_turf(ground_map, brightness)
    edges = leaf_edges(photo.rgb, ground_map, plane)
    return IndexedGround(ground_map.trimmed(), gains is not None, full, light, edges)


def _unfit(fault: Finding, photo: Photo) -> PhotoRefused:
    return PhotoRefused(fault.sentence.rstrip("."), where=photo.name, remedy=fault.retake.rstrip("."))


def _leave_out_square(ground_map: GroundMap, corners_m: NDArray[np.float64], side_m: float) -> None:
    """Take the square, wherever it lies on the ground, and a margin around it out of a map."""
    middle = corners_m.mean(axis=0)
    reach = side_m + 2 * SQUARE_MARGIN_M
    x_m, y_m = ground_map.x_m - middle[0], ground_map.y_m - middle[1]
    down, across = (slice(*np.searchsorted(line, (-reach, reach))) for line in (y_m, x_m))
    x, y = x_m[across], y_m[down, None]
    half = side_m / 2 + SQUARE_MARGIN_M + 1e-9
    inside = np.ones((len(y), len(x)), bool)
    for step in (corners_m[1] - corners_m[0], corners_m[3] - corners_m[0]):
        inside &= np.abs(x * step[0] + y * step[1]) <= half * side_m
    ground_map.values[down, across] *= ~inside

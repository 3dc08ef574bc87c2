"""A round of counting by eye: the points of one photo, shown one after the other, and what the answers say so far.

The page's way to count, in five steps:

    counting = begin_round(covers, zone="front bed")            the points, drawn once; keep it while the round lasts
    crops = point_crops(rgb, places_px(counting))               sheets/contact_sheet.py: JPEG and place of the ring
    keep_answer(folder, counting, 0, "leaf")                    one line more in counts.csv, at once
    again = begin_repeat(covers, read_counts(folder))           the same points mixed: the counter's own error
    estimate_so_far(counting, ["leaf", "ground"])               None until enough points could be told

An answer is kept when it is given, so a round that breaks off loses nothing: points are shown in random order, and
those answered are a sample as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from swardmark.canopy.index import FIRST_VALUE
from swardmark.canopy.scale import leaf_scale
from swardmark.canopy.straight import straight_values
from swardmark.common.errors import UsageError
from swardmark.lawn.counts import LEAF, SAID, Count, add_counts
from swardmark.measure.counting import LEAST_TOLD, ShownPoint, places_in, points_to_count, tool_mean_of
from swardmark.measure.covers import LawnCovers
from swardmark.measure.eye import Answer, EyeCover, count_cover, draw_points
from swardmark.photo.decode import Photo

NAN = float("nan")
MOST_PIXELS = 1_000_000
"""Of a larger photo taken straight down points are drawn among so many evenly spaced pixels."""


@dataclass(frozen=True)
class CountRound:
    """The points of one round, in the order in which they are shown.

    Attributes
    ----------
    photo, point, zone : str
        What is counted; `zone` is empty for the whole lawn.
    points : tuple of ShownPoint
        Where each lies on the ground and in the photo.
    tool_mean : float
        What the tool says of all points of that ground, 0..1.
    is_repeat : bool
        Whether these points were counted before.
    straight_down : str
        File name of the photo taken straight down on which the points lie; empty where they lie on the lawn's photo.
    """

    photo: str
    point: str
    zone: str
    points: tuple[ShownPoint, ...]
    tool_mean: float
    is_repeat: bool = False
    straight_down: str = ""


def begin_round(
    covers: LawnCovers, *, photo: str = "", zone: str = "", points: int = 100, seed: int = 1
) -> CountRound:
    """Draw the points of a round; the arguments are those of `points_to_count`.

    Raises
    ------
    UsageError
        There is no such photo or zone, or too little of it is seen.
    """
    entry, shown = points_to_count(covers, photo=photo, zone=zone, points=points, seed=seed)
    return CountRound(entry.name, entry.point, zone, shown, tool_mean_of(covers, photo=entry.name, zone=zone))


def begin_repeat(covers: LawnCovers, counts: Sequence[Count], *, photo: str = "") -> CountRound:
    """Show the points of a photo that were counted before once more, in another order.

    Parameters
    ----------
    covers : LawnCovers
        The measured lawn.
    counts : sequence of Count
        What counts.csv holds.
    photo : str
        The photo's name; by default the one that was counted last.

    Raises
    ------
    UsageError
        No point of it was counted yet.
    """
    entries = {entry.name: entry for place in covers.points for entry in place.entries}
    own = [one for one in counts if one.photo in entries and photo in ("", one.photo) and one.x_m is not None]
    if not own:
        raise UsageError("no point was counted yet", where="--again", remedy="Count first, without --again")
    entry, zone = entries[own[-1].photo], own[-1].zone
    first = {one.place: one for one in reversed(own) if (one.photo, one.zone) == (entry.name, zone)}
    kept = [list(first.values())[n] for n in np.random.default_rng(len(counts)).permutation(len(first))]
    places = np.array([(one.x_m, one.y_m) for one in kept], float)
    pixels = places_in(entry, places)
    shown = (
        ShownPoint(float(x), float(y), float(u), float(v), one.stratum, one.chance)
        for one, (x, y), (u, v) in zip(kept, places, pixels, strict=True)
    )
    mean = tool_mean_of(covers, photo=entry.name, zone=zone)
    return CountRound(entry.name, entry.point, zone, tuple(shown), mean, is_repeat=True)


def begin_straight_down(
    covers: LawnCovers, picture: Photo, *, zone: str, photo: str = "", points: int = 100, seed: int = 1
) -> CountRound:
    """Draw points of a photo taken straight down of a zone, whose count tells what the slant hides.

    Parameters
    ----------
    covers : LawnCovers
        The measured lawn.
    picture : Photo
        The photo taken straight down; it shows ground that is typical of the zone.
    zone : str
        The zone.
    photo : str
        The lawn's photo to compare with; by default that of the same day in which most of the zone is seen.
    points : int
        How many.
    seed : int
        The same seed draws the same points.

    Raises
    ------
    UsageError
        No photo of the lawn of that day shows the zone, or too little of the picture is readable.
    """
    day = picture.taken_at.date() if picture.taken_at else None
    rows = [
        row
        for row in covers.covers
        if row.zone == zone
        and row.cover.points
        and (row.photo == photo if photo else row.taken_at.date() == day)
    ]
    if not rows:
        on = photo or (str(day) if day else "its day, which is not known")
        remedy = "Name the lawn's photo with --photo, and the zone with --zone"
        raise UsageError(f"no photo of {on} shows zone {zone!r}", where=picture.name, remedy=remedy)
    row = max(rows, key=lambda one: one.cover.area_m2)
    values = straight_values(picture.rgb)
    step = max(1, round((values.size / MOST_PIXELS) ** 0.5))
    some = values[::step, ::step]
    at_y, at_x = np.nonzero(some >= FIRST_VALUE)
    if len(at_y) < points:
        raise UsageError("too dark or too bright to count", where=picture.name, remedy="Take another photo")
    scale = leaf_scale(np.bincount(values.ravel(), minlength=256))
    shares = scale.shares_of_values()[some[at_y, at_x]]
    shown = tuple(
        ShownPoint(
            NAN, NAN, float(at_x[draw.at] * step), float(at_y[draw.at] * step), draw.stratum, draw.chance,
            float(shares[draw.at]),
        )
        for draw in draw_points(shares, points=points, seed=seed)
    )  # fmt: skip
    mean = float(shares.mean())
    return CountRound(row.photo, row.point, zone, shown, mean, straight_down=Path(picture.name).name)


def places_px(counting: CountRound) -> list[tuple[float, float]]:
    """Return where the points of a round lie in the upright photo, pixels."""
    return [(point.x_px, point.y_px) for point in counting.points]


def count_of(counting: CountRound, number: int, said: str, *, by: str = "") -> Count:
    """Return the line of counts.csv for an answer to point `number`, 0 the first.

    Raises
    ------
    UsageError
        There is no such point, or the answer is none of leaf, ground and cannot tell.
    """
    if not 0 <= number < len(counting.points):
        raise UsageError(
            f"no point {number}", where="count", remedy=f"The points are 0 to {len(counting.points) - 1}"
        )
    if said.strip().lower() not in SAID:
        raise UsageError(f"{said!r} is no answer", where="count", remedy="Answer leaf, ground or cannot tell")
    row = sheet_row(counting, number)
    return Count(**row, said=said, by=by)


def sheet_row(counting: CountRound, number: int) -> dict[str, Any]:
    """Return what counts.csv holds of a point besides the answer, as it will be read from there."""
    point = counting.points[number]
    row: dict[str, Any] = {"photo": counting.photo, "point": counting.point, "zone": counting.zone}
    row |= {name: _as_kept(value) for name, value in vars(point).items() if name != "tool"}
    if counting.straight_down:
        return row | {"x_m": None, "y_m": None, "note": counting.straight_down}
    return row


def _as_kept(value: float | str) -> float | str:
    return float(f"{value:.6g}") if isinstance(value, float) else value


def keep_answer(
    folder: Path | str, counting: CountRound, number: int, said: str, *, by: str = "", is_first: bool = False
) -> Count:
    """Add an answer to counts.csv at once; `is_first` of a round keeps a dated copy of the file as it was.

    Raises
    ------
    UsageError
        As of `count_of`; or the file cannot be written.
    """
    count = count_of(counting, number, said, by=by)
    add_counts(Path(folder), [count], keep_copy=is_first)
    return count


def estimate_so_far(counting: CountRound, said: Sequence[str]) -> EyeCover | None:
    """Estimate the cover from the answers to the first points of a round, in their order.

    Returns
    -------
    EyeCover or None
        None where fewer than `LEAST_TOLD` points could be told. A point that was answered twice counts once: the
        estimate of `counted_covers`, which reads counts.csv, knows of repeats.
    """
    words = [SAID[one.strip().lower()] for one in said]
    answers = [
        Answer(point.stratum, point.chance, None if word == "cannot tell" else word == LEAF, point.tool)
        for point, word in zip(counting.points, words, strict=False)
    ]
    if sum(answer.leaf is not None for answer in answers) < LEAST_TOLD:
        return None
    return count_cover(answers, tool_mean=counting.tool_mean)

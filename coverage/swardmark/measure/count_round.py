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

import numpy as np

from swardmark.common.errors import UsageError
from swardmark.ground.homography import apply
from swardmark.lawn.counts import LEAF, SAID, Count, add_counts
from swardmark.measure.counting import LEAST_TOLD, ShownPoint, points_to_count, tool_mean_of
from swardmark.measure.covers import LawnCovers
from swardmark.measure.eye import Answer, EyeCover, count_cover


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
    """

    photo: str
    point: str
    zone: str
    points: tuple[ShownPoint, ...]
    tool_mean: float
    is_repeat: bool = False


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
    pixels = apply(np.reshape(entry.facts.to_photo, (3, 3)), places)
    shown = (
        ShownPoint(float(x), float(y), float(u), float(v), one.stratum, one.chance)
        for one, (x, y), (u, v) in zip(kept, places, pixels, strict=True)
    )
    mean = tool_mean_of(covers, photo=entry.name, zone=zone)
    return CountRound(entry.name, entry.point, zone, tuple(shown), mean, is_repeat=True)


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
    point = counting.points[number]
    return Count(
        photo=counting.photo, point=counting.point, zone=counting.zone,
        x_m=float(f"{point.x_m:.6g}"), y_m=float(f"{point.y_m:.6g}"), stratum=point.stratum, chance=point.chance,
        said=said, by=by,
    )  # fmt: skip


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

"""What measured photos of a walk say on the page, as plain values: what to do now, dip by dip, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from swardmark.common.cautions import DUST_CAUTION
from swardmark.common.phrases import date_words, plural
from swardmark.common.units import (
    CUBIC_FOOT_M3,
    LITRE_M3,
    US_GALLON_M3,
    format_area,
    format_depth,
    format_length,
    format_volume,
)
from swardmark.lawn.toml import Lawn
from swardmark.page.walk import sentences
from swardmark.relief.dips import DEEP_MM, STRAIGHTEDGE_M, Dip
from swardmark.relief.readings import PegReading, ReliefReading, ReliefReview
from swardmark.relief.telling import compared, place_of


@dataclass(frozen=True)
class Step:
    """One thing to do: the sentence, and what more there is to say."""

    do: str
    more: tuple[str, ...] = ()


@dataclass(frozen=True)
class Answer:
    """What the newest set of a photo point says.

    Attributes
    ----------
    of : str
        Day, photo point, photos and ground.
    steps : tuple of Step
        What to do, the deepest dip first.
    notes : tuple of str
        What it rests on and what it does not say.
    caution : str
        What to take care of; empty where nothing is to be dragged.
    map_key : str
        Names the newest map, empty if there is none.
    map_alt : str
        What the map shows.
    """

    of: str
    steps: tuple[Step, ...]
    notes: tuple[str, ...] = ()
    caution: str = ""
    map_key: str = ""
    map_alt: str = ""


def answer_of(review: ReliefReview, lawn: Lawn, *, point: str) -> Answer | None:
    """Return what the newest set of a photo point says; None if none was measured."""
    sand = [one for one in review.sand if one.point == point]
    pegs = [one for one in review.pegs if one.point == point]
    if pegs and (not sand or pegs[-1].date > sand[-1].date):
        return _of_pegs(pegs[-1], lawn)
    if not sand:
        return None
    newest = sand[-1]
    return _of_sand(sand, lawn) if newest.relief.is_bare else _of_turf(newest, lawn)


def newest_map(review: ReliefReview, point: str) -> ReliefReading | None:
    """Return the newest set of sand or turf of a photo point."""
    return next((one for one in reversed(review.sand) if one.point == point), None)


def _of_sand(sand: list[ReliefReading], lawn: Lawn) -> Answer:
    newest, units = sand[-1], lawn.units
    relief, edge = newest.relief, format_length(STRAIGHTEDGE_M, units=units)
    before = next(
        (one for one in reversed(sand[:-1]) if one.date == newest.date and one.relief.is_bare), None
    )
    changes = tuple(
        sentences.WAS_AND_IS.format(
            place=place_of(dip, units), before=format_depth(dip.gap_mm, units=units),
            after=format_depth(now, units=units),
        )
        for dip, now in (compared(before, newest) if before is not None else ())
    )  # fmt: skip
    steps = [
        Step(
            sentences.DRAG_ONE.format(
                number=n, gap=format_depth(dip.gap_mm, units=units), sand=_sand(dip.litres, lawn)
            ),
            (_place(dip, lawn),),
        )
        for n, dip in enumerate(relief.hollows.dips, start=1)
    ]
    error = format_depth(1.96 * float(np.nanmedian(relief.se_mm)), units=units)
    gap = format_depth(relief.hollows.worst_gap_mm, units=units)
    if not steps:
        least = format_depth(-DEEP_MM, units=units)
        steps = [
            Step(
                sentences.LEVEL.format(least=least),
                (sentences.LEVEL_GAP.format(edge=edge, gap=gap, error=error),),
            )
        ]
    dips = relief.hollows.dips
    notes = (*changes, *_on_dips(dips, lawn), sentences.NOT_IN_PHOTOS)
    return Answer(_of(newest, lawn), tuple(steps), notes, DUST_CAUTION if dips else "", **_map(newest))


def _place(dip: Dip, lawn: Lawn) -> str:
    return sentences.DRAG_PLACE.format(
        place=_upper(place_of(dip, lawn.units)), area=format_area(dip.area_m2, units=lawn.units),
        low=_sand(dip.low_litres, lawn), high=_sand(dip.high_litres, lawn),
    )  # fmt: skip


def _on_dips(dips: tuple[Dip, ...], lawn: Lawn) -> tuple[str, ...]:
    """Return what is said of all dips together: how they are read, and which are too deep to be filled at once."""
    if not dips:
        return ()
    edge, one_pass = format_length(STRAIGHTEDGE_M, units=lawn.units), lawn.sand.pass_depth_mm
    said = (sentences.AFTER_DRAG, sentences.LOW_UNDER.format(edge=edge))
    deep = [str(n) for n, dip in enumerate(dips, start=1) if dip.gap_mm > 2 * one_pass]
    if not deep:
        return said
    depth = format_depth(one_pass, units=lawn.units)
    return sentences.TOO_DEEP.format(numbers=", ".join(deep), depth=depth), *said


def _of_turf(one: ReliefReading, lawn: Lawn) -> Answer:
    steps = tuple(
        Step(sentences.PROBE.format(number=n, place=place_of(dip, lawn.units)))
        for n, dip in enumerate(one.relief.hollows.dips, start=1)
    )
    notes = (sentences.PLACES_ONLY.format(leaf=one.relief.leaf_pct), sentences.NOT_IN_PHOTOS)
    return Answer(_of(one, lawn), steps or (Step(sentences.NO_PLACES),), notes, **_map(one))


def _of_pegs(one: PegReading, lawn: Lawn) -> Answer:
    pegs, units = one.pegs, lawn.units
    lowest = int(pegs.height_mm.argmin())
    said = sentences.PEGS.format(
        pegs=len(pegs.numbers), error=format_depth(1.96 * float(np.median(pegs.se_mm)), units=units),
        low=format_depth(-float(pegs.height_mm.min()), units=units), number=pegs.numbers[lowest],
        high=format_depth(float(pegs.height_mm.max()), units=units),
    )  # fmt: skip
    left_out = plural(len(pegs.left_out), *sentences.PEGS_OUT)
    out = (left_out.format(numbers=", ".join(map(str, pegs.left_out))),) if pegs.left_out else ()
    of = f"{date_words(one.date, lawn.date_form)}, {one.point}"
    return Answer(of, (Step(said, out),), (sentences.NOT_IN_PHOTOS,))


def _of(one: ReliefReading, lawn: Lawn) -> str:
    return sentences.ANSWER_OF.format(
        day=date_words(one.date, lawn.date_form), point=one.point, photos=len(one.relief.photos),
        area=format_area(one.relief.area_m2, units=lawn.units),
    )  # fmt: skip


def _map(one: ReliefReading) -> dict[str, str]:
    when = one.relief.taken_at
    key = f"{one.date.isoformat()}-{when:%H%M%S}" if when is not None else one.date.isoformat()
    dips = len(one.relief.hollows.dips)
    return {"map_key": key, "map_alt": plural(dips, *sentences.MAP_ALT).format(dips=dips)}


def _sand(litres: float, lawn: Lawn) -> str:
    """Return sand to two figures, in gallons where cubic feet are too large for a bucket."""
    if lawn.units == "us" and litres < CUBIC_FOOT_M3 / LITRE_M3:
        return sentences.GALLONS.format(gallons=litres * LITRE_M3 / US_GALLON_M3)
    return format_volume(float(f"{litres:.2g}") * LITRE_M3, units=lawn.units)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]

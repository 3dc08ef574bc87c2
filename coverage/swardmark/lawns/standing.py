"""How each of many lawns stands on a day: measured where photos are new, judged, and put in the order of its need.

One lawn that cannot be read stops no other. A lawn's season is dropped as soon as its row is made, so that memory does
not grow with the number of lawns.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from swardmark.common.errors import NothingMeasured, SwardmarkError
from swardmark.common.phrases import date_words
from swardmark.common.text import clean, showable
from swardmark.lawns import sentences as say
from swardmark.lawns.measuring import url_of
from swardmark.lawns.needs import NEEDS, Need, is_stale, need_of
from swardmark.measure.covers import measure_covers
from swardmark.mowing import agenda
from swardmark.mowing.today import Known, Today, urgency
from swardmark.scale.remote import remote_photos
from swardmark.season import Season, known_unseen, season_of

T = TypeVar("T")

LAWNS_COLUMNS = {
    "lawn": "the lawn's folder",
    "name": "the lawn's name",
    "need": "what it needs of you: leaf overdue, not filling in, photo overdue, due today, ready to mow, or fine",
    "sentence": "what to do, in a sentence",
    "phase": "the phase of its season",
    "as_of": "the day that the row speaks of",
    "newest_photo": "day of its newest photo",
    "stale": "1 where the newest photo is too old to say how a growing lawn stands",
    "cover_pct": "cover of the whole lawn on the day of its newest photo, percent",
    "area_m2": "ground in view, square meters",
    "mow_on": "day on which the cover for the first mow is reached",
    "not_filling_in": "parts that are stalled or losing ground",
}
"""The columns of the table of many lawns; frozen, for scripts read them by name."""


@dataclass(frozen=True, eq=False)
class Standing(Generic[T]):
    """One lawn of many on a day, or why nothing can be said of it.

    Attributes
    ----------
    folder : Path
        The lawn folder.
    name : str
        The lawn's own name; the folder's where lawn.toml cannot be read.
    need : str
        What it needs, one of `NEEDS`; "" where it cannot be read.
    sentence : str
        What to do.
    urgency : int
        Among lawns of one need, who comes first: 0 is most.
    now : Today or None
        Phase and lines of the day.
    row : dict
        Its row in the table of many lawns.
    last_photo : str
        The day of the newest photo in words, where it is too old and the sentence does not say so; else "".
    more : T or None
        What `each` made of its season; None without a photo.
    refused : tuple of str
        Photos that were refused, a line each.
    fault : str
        Why it cannot be read; else "".
    """

    folder: Path
    name: str
    need: Need | str = ""
    sentence: str = ""
    urgency: int = 0
    now: Today | None = None
    row: dict[str, Any] | None = None
    last_photo: str = ""
    more: T | None = None
    refused: tuple[str, ...] = ()
    fault: str = ""


def standings(
    folders: Sequence[Path],
    *,
    on: dt.date | None,
    at_once: int = 1,
    each: Callable[[Season], T],
    photos_url: str | None = None,
    progress: Callable[[int, int, str], None] | None = None,
) -> Iterator[Standing[T]]:
    """Measure what is new in each lawn and judge it; yields them in the order given.

    Parameters
    ----------
    folders : sequence of Path
        Lawn folders.
    on : date or None
        The day of which is spoken; by default each lawn's newest photo's.
    at_once : int
        Lawns in hand at the same time.
    each : callable
        Makes of a lawn's season what is wanted of it besides.
    photos_url : str, optional
        Each lawn's photos lie below this, in a folder of the lawn's name, and not in its photos/.
    progress : callable, optional
        Called with lawns done, lawns in all, and the name of the one just done.
    """
    with ThreadPoolExecutor(max(1, at_once)) as pool:
        for number, one in enumerate(
            pool.map(lambda folder: _standing(folder, on, each, photos_url), folders), start=1
        ):
            if progress is not None:
                progress(number, len(folders), one.name)
            yield one


def by_need(lawns: Sequence[Standing[T]]) -> list[Standing[T]]:
    """Return the lawns that can be read, who needs the keeper most first; within a need by name."""
    read = [one for one in lawns if not one.fault]
    return sorted(read, key=lambda one: (NEEDS.index(one.need), one.urgency, one.name, one.folder))


def line_of(one: Standing[Any]) -> str:
    """Return a lawn's line: what it needs, its name, its folder where that is another, and the sentence."""
    own = showable(one.folder.resolve().name)
    name = clean(one.name, most=60)
    return say.OF_LAWN.format(
        need=one.need,
        name=name,
        folder="" if own == name else say.IN_FOLDER.format(folder=own),
        sentence=clean(one.sentence, most=400),
        stale=f" {say.STALE.format(last=one.last_photo)}" if one.last_photo else "",
    )


def _standing(
    folder: Path, on: dt.date | None, each: Callable[[Season], T], photos_url: str | None
) -> Standing[T]:
    own = showable(folder.resolve().name)
    try:
        season = _season(folder, on, photos_url)
        known = season.known if season is not None else known_unseen(folder, on=on or dt.date.today())
        now = agenda.today(known)
        need, sentence = need_of(known, now)
        stale = is_stale(known, now)
        return Standing(
            folder,
            name=known.lawn.name,
            need=need,
            sentence=sentence,
            urgency=urgency(known, now),
            now=now,
            row=_row(own, known, now, need, sentence, stale=stale),
            last_photo=_stale_words(known) if stale and need != "photo overdue" else "",
            more=each(season) if season is not None else None,
            refused=_refused(season),
        )
    except SwardmarkError as error:
        return Standing(folder, own, fault=str(error))
    except Exception as error:
        fault = say.FAULT_OF_LAWN.format(folder=folder, kind=type(error).__name__, error=error)
        return Standing(folder, own, fault=fault)


def _stale_words(known: Known) -> str:
    return date_words(known.last_photo, known.lawn.date_form) if known.last_photo is not None else ""


def _season(folder: Path, on: dt.date | None, photos_url: str | None) -> Season | None:
    own = url_of(folder, photos_url)
    files = remote_photos(own) if own else None
    try:
        return season_of(measure_covers(folder, as_of=on, files=files))
    except NothingMeasured:
        return None


def _refused(season: Season | None) -> tuple[str, ...]:
    entries = season.refused if season is not None else ()
    return tuple(str(SwardmarkError(e.refusal, where=e.name, remedy=e.remedy)) for e in entries)


def _row(folder: str, known: Known, now: Today, need: Need, sentence: str, *, stale: bool) -> dict[str, Any]:
    outlook = known.outlook
    whole = outlook.whole if outlook is not None else None
    zones = outlook.zones if outlook is not None else ()
    return {
        "lawn": folder,
        "name": known.lawn.name,
        "need": need,
        "sentence": sentence,
        "phase": now.phase,
        "as_of": known.as_of,
        "newest_photo": known.last_photo,
        "stale": int(stale),
        "cover_pct": round(whole.cover_pct, 1) if whole is not None else float("nan"),
        "area_m2": round(whole.area_m2, 2) if whole is not None else float("nan"),
        "mow_on": outlook.first_mow.mow_on if outlook is not None else None,
        "not_filling_in": sum(zone.status in ("stalled", "losing ground") for zone in zones),
    }

"""How to retake the photos that were found wanting, in whole sentences; the record keeps only the findings' names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path

from swardmark.common.errors import PhotoRefused
from swardmark.lawn.marks import read_marks
from swardmark.lawn.toml import Lawn, PhotoFile
from swardmark.measure import check
from swardmark.photo import findings
from swardmark.photo.findings import Rule
from swardmark.record.store import Entry
from swardmark.season import Season

RULES = frozenset(
    rule.name for room in (check, findings) for rule in vars(room).values() if isinstance(rule, Rule)
)


def retake_sentences(
    lawn: Lawn, entries: Iterable[Entry], season: Season | None
) -> dict[str, tuple[str, ...]]:
    """Look again at the photos whose notes name a finding, and return its sentences by the photo's name."""
    named: dict[str, set[str]] = {
        entry.name: set(entry.facts.notes) for entry in entries if entry.is_measured
    }
    for cover in season.covers if season else ():
        named[cover.photo].update(cover.notes)
    wanting = {
        name for name, notes in named.items() if any(note.removeprefix("unfit: ") in RULES for note in notes)
    }
    if not wanting:
        return {}
    marks, files = read_marks(lawn.folder), {file.name: file for file in lawn.photos()}
    said = {}
    for entry in entries:
        if entry.name in wanting and entry.name in files:
            before = _before(entry, entries)
            hand = marks[entry.name].corners_px if entry.name in marks else None
            said[entry.name] = _sentences(
                files[entry.name].path, entry.digest, lawn.side_of(entry.point), before, hand
            )
    return said


def other_notes(notes: Iterable[str], sentences: Mapping[str, tuple[str, ...]], file: PhotoFile) -> list[str]:
    """Return the sentences of a photo, then its notes that no sentence stands for."""
    said = sentences.get(file.name, ())
    return [*said, *(note for note in notes if not said or note.removeprefix("unfit: ") not in RULES)]


def _before(entry: Entry, entries: Iterable[Entry]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    earlier = [
        e.facts
        for e in entries
        if e.point == entry.point
        and e.is_measured
        and e.taken_at
        and entry.taken_at
        and e.taken_at < entry.taken_at
    ]
    return tuple(f.sharpness for f in earlier), tuple(f.sand_light for f in earlier)


@lru_cache(maxsize=4096)
def _sentences(
    path: Path,
    digest: str,
    side_m: float,
    before: tuple[tuple[float, ...], tuple[float, ...]],
    corners_px: tuple[tuple[float, float], ...] | None,
) -> tuple[str, ...]:
    """Judge one photo; the digest is in the key so that a changed file is looked at again."""
    try:
        fitness = check.check_photo(
            path, side_m=side_m, history=before[0], sand_history=before[1], marks=corners_px
        )
    except PhotoRefused:
        return ()
    return tuple(
        " ".join(f"{fault.sentence}. {fault.retake}.".replace("..", ".").split()) for fault in fitness.faults
    )

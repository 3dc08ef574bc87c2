"""What a note writes: each kind into its file, once, and how it is taken back.

A browser sends a note until it has an answer. One that the page has kept is known by its key as long as the page runs.
After a restart a note that may have been kept before is known by what it says; ticks, looks and heights say how things
are, so that they may be written twice.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints, ValidationError

from swardmark.common.errors import UsageError
from swardmark.lawn.editing import add_diary_entry, add_reading, confirm, lawn_and_revision
from swardmark.lawn.edits.ground import add_probe, keep_height
from swardmark.lawn.edits.lines import PARSERS, remove_line
from swardmark.lawn.edits.undo import Change, take_back, with_undo
from swardmark.lawn.heights import HEIGHTS_FILE
from swardmark.lawn.level_notes import Probe
from swardmark.lawn.lock import files_lock
from swardmark.lawn.readings import DIARY_FILE, READINGS_FILE, read_diary, read_readings
from swardmark.lawn.toml import LAWN_FILE, read_lawn
from swardmark.page.noting import sentences
from swardmark.page.places.card import noted_line

MOST_KEYS = 2000
MOST_DROP = {"drop_mm": 1000.0, "drop_in": 1000.0 / 25.4}
Text = Annotated[str, StringConstraints(max_length=2000)]
Kind = Literal["diary", "reading", "leaf", "depth", "tick", "look", "height", "probe"]


class Note(BaseModel):
    """A note as a browser sends it.

    `values` are the cells of the line that it becomes; `about` is the browser's own; `tried` says which run of the
    page may have had it already.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    key: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{32}$")]
    kind: Kind
    values: dict[Annotated[str, StringConstraints(max_length=40)], Text]
    about: Text = ""
    tried: Annotated[str, StringConstraints(max_length=64)] = ""


@dataclass(frozen=True)
class Answer:
    """What became of a note, in words, and whether it can be taken back."""

    state: Literal["added", "known"]
    say: str
    undo: bool = False


class NoteBook:
    """The notes of one run of the page."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.run = secrets.token_hex(8)
        self._kept: OrderedDict[str, tuple[Change, ...]] = OrderedDict()
        self._turn = threading.Lock()

    def keep(self, note: Note) -> Answer:
        """Write a note, unless it was written before.

        Raises
        ------
        UsageError
            A value cannot be; nothing was written.
        """
        with self._turn, files_lock(self.folder):
            before_this_run = note.tried not in ("", self.run)
            if note.key in self._kept or (before_this_run and _is_there(self.folder, note)):
                return Answer("known", sentences.KNOWN)
            name, act, said = _act_of(self.folder, note)
            _, changes = with_undo(self.folder, [name], act)
            self._kept[note.key] = changes
            while len(self._kept) > MOST_KEYS:
                self._kept.popitem(last=False)
            return Answer("added", said, undo=bool(changes))

    def take_back(self, key: str) -> str:
        """Take a note back; returns what is said then.

        Raises
        ------
        UsageError
            It was not kept in this run, or its file was changed since.
        """
        with self._turn:
            changes = self._kept.get(key, ())
            if not changes:
                raise UsageError(sentences.NOT_BACK.rstrip("."))
            take_back(self.folder, changes)
            self._kept[key] = ()
            return sentences.BACK


def note_of(data: bytes) -> Note:
    """Return the note that a browser sent as JSON.

    Raises
    ------
    UsageError
        It is none.
    """
    try:
        return Note.model_validate_json(data)
    except ValidationError:
        raise UsageError(sentences.NO_NOTE, remedy=sentences.RELOAD) from None


def _act_of(folder: Path, note: Note) -> tuple[str, Callable[[], object], str]:
    """Return the file that a note changes, what writes it, and what is said then."""
    values, said = dict(note.values), sentences.KEPT
    if note.kind == "diary":
        return DIARY_FILE, lambda: add_diary_entry(folder, values), said["diary"]
    if note.kind in ("reading", "leaf", "depth"):
        return READINGS_FILE, lambda: add_reading(folder, values), _said_of_reading(note)
    if note.kind == "tick":
        on = values.pop("on", "") == "yes"
        return DIARY_FILE, lambda: _tick(folder, values, on=on), said["on" if on else "off"]
    if note.kind == "look":
        on = values.get("on") == "yes"
        return LAWN_FILE, lambda: _look(folder, values, on=on), said["look" if on else "look off"]
    if note.kind == "height":
        line = _height(values)  # one of many: the grid shows that it is kept
        return HEIGHTS_FILE, lambda: keep_height(folder, line), ""
    answers = _answers(values)
    return LAWN_FILE, lambda: add_probe(folder, answers), said["probe"]


def _said_of_reading(note: Note) -> str:
    values, said = note.values, sentences.KEPT[note.kind]
    unit = "in" if "height_in" in values else "mm"
    return said.format(height=values.get(f"height_{unit}", ""), unit=unit, number=values.get("spot", ""))


def _tick(folder: Path, values: Mapping[str, str], *, on: bool) -> None:
    noted = noted_line(values, read_diary(folder))
    if on and noted is None:
        add_diary_entry(folder, values)
    elif not on and noted is not None:
        remove_line(folder, DIARY_FILE, noted)


def _look(folder: Path, values: Mapping[str, str], *, on: bool) -> None:
    _, revision = lawn_and_revision(folder)
    confirm(folder, values.get("name", ""), _day(values) if on else None, revision=revision)


def _height(values: Mapping[str, str]) -> dict[str, object]:
    """Return the line of a height below a string."""
    for name, most in MOST_DROP.items():
        value, unit = values.get(name), name.removeprefix("drop_")
        if value is not None and not abs(_number(value)) <= most:
            raise UsageError(sentences.NO_HEIGHT.format(value=value, unit=unit, most=f"{most:.0f}"))
    place = {name: _number(values.get(name, "")) for name in ("x_m", "y_m")}
    if not values.get("date") or not values.get("how") or not all(map(math.isfinite, place.values())):
        raise UsageError(sentences.NO_NOTE, remedy=sentences.RELOAD)
    return {**values, **place}


def _answers(values: Mapping[str, str]) -> dict[str, Any]:
    """Return the answers about a spot as lawn.toml has them."""
    numbers = {name: _number(values[name]) for name in ("x_m", "y_m", "sand_mm") if name in values}
    answers: dict[str, Any] = {**values, **numbers, "date": _day(values)}
    if set(answers) - set(Probe.model_fields) or not all(map(math.isfinite, numbers.values())):
        raise UsageError(sentences.NO_NOTE, remedy=sentences.RELOAD)
    return answers


def _is_there(folder: Path, note: Note) -> bool:
    """Tell whether a note that another run of the page may have kept stands in its file."""
    if note.kind == "probe":
        try:
            return Probe(**_answers(note.values)) in read_lawn(folder).probe
        except ValidationError:
            return False
    if note.kind == "diary":
        return _row(note.values, DIARY_FILE) in read_diary(folder)
    if note.kind in ("reading", "leaf", "depth"):
        return _row(note.values, READINGS_FILE) in read_readings(folder)
    return False


def _row(values: Mapping[str, str], name: str) -> Any:
    """Return the row that a table has of these cells; None if it cannot be."""
    out = io.StringIO()
    csv.writer(out).writerows((list(values), [" ".join(cell.split()) for cell in values.values()]))
    try:
        return PARSERS[name](out.getvalue(), where=name)[0]
    except (UsageError, IndexError):
        return None


def _day(values: Mapping[str, str]) -> dt.date:
    try:
        return dt.date.fromisoformat(values.get("date", ""))
    except ValueError:
        raise UsageError(sentences.NO_NOTE, remedy=sentences.RELOAD) from None


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan

"""The one lawn that the page is about: how it stands, what is under way, and what was refused.

All tabs read the same Desk. Everything that lasts is in the lawn folder; the Desk can be lost at any moment.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import shutil
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from swardmark.common.errors import NoDate, PhotoRefused, SwardmarkError, UsageError
from swardmark.common.files import program_now, program_state, unwritable
from swardmark.lawn.editing import lawn_and_revision
from swardmark.lawn.folder import Added, add_photos
from swardmark.lawn.toml import LAWN_FILE, MAIN_POINT, Lawn, read_lawn
from swardmark.page import sentences
from swardmark.page.noting.notes import NoteBook
from swardmark.page.work import Standing, Told, Worker, measure_and_write, write_report

MOST_REFUSALS = 50
LEFTOVER_AGE_S = 60


@dataclass(frozen=True)
class Progress:
    """What is under way: photos done of those to do, and what it is about."""

    what: str = ""
    done: int = 0
    total: int = 0
    name: str = ""


@dataclass
class Desk:
    """State that all tabs share; `version` rises with every change that a tab should show."""

    folder: Path
    standing: Standing = field(default_factory=Standing)
    progress: Progress = Progress()
    trouble: str = ""
    upload_refusals: list[PhotoRefused] = field(default_factory=list)
    version: int = 0
    notes: NoteBook = field(init=False)
    _worker: Worker = field(default_factory=Worker)
    _again: bool = False
    _task: asyncio.Task | None = None
    _kept_up: dt.date | None = None
    _later: asyncio.TimerHandle | None = None
    _adding: threading.Lock = field(default_factory=threading.Lock)
    _program: object = None

    def __post_init__(self) -> None:
        self._program = program_state()
        self.notes = NoteBook(self.folder)

    @property
    def has_lawn(self) -> bool:
        """Whether the folder holds a lawn."""
        return (self.folder / LAWN_FILE).is_file()

    @property
    def season(self) -> Any:
        """The Season of the last run, or None."""
        return self.standing.season

    def lawn(self) -> Lawn:
        """Read lawn.toml as it is now."""
        return read_lawn(self.folder)

    def lawn_and_revision(self) -> tuple[Lawn, str]:
        """Read lawn.toml as it is now, with its revision."""
        return lawn_and_revision(self.folder)

    def changed(self) -> None:
        """Let every tab show what is new."""
        self.version += 1

    def measure_soon(self) -> None:
        """Begin measuring, or measure once more after the run that is under way; call from the event loop."""
        self._again = True
        if self._task is None or self._task.done():
            self._task = asyncio.get_running_loop().create_task(self._measure())

    def keep_up(self, today: dt.date) -> None:
        """Measure once more when the day has turned since the last run, for what is to be done is of a day."""
        measured = self.standing.measured_at
        if measured is not None and measured.date() != today != self._kept_up:
            self._kept_up = today
            self.measure_soon()

    def measure_later(self, after_s: float) -> None:
        """Measure when nothing more has come for so long: one of many short entries; call from the event loop."""
        if self._later is not None:
            self._later.cancel()
        self._later = asyncio.get_running_loop().call_later(after_s, self.measure_soon)

    async def report(self) -> Path:
        """Write the report and return report.html."""
        return await asyncio.to_thread(self._report)

    async def do(self, job: Callable[[Path, Told], Any], what: str) -> Any:
        """Do a job of the lawn beside the page and return what it returned; `what` says meanwhile what is done."""
        self.progress = Progress(what)
        self.changed()
        try:
            return await asyncio.to_thread(self.ask, job)
        finally:
            self.progress = Progress()
            self.changed()

    def ask(self, job: Callable[[Path, Told], Any]) -> Any:
        """Do a short job of the lawn beside the page and return what it returned; blocks.

        Raises
        ------
        SwardmarkError
            The job's own; or the program was updated, and modules of both would be at work together.
        """
        if program_now() != self._program:
            raise UsageError(sentences.UPDATED, remedy=sentences.UPDATED_REMEDY)
        return self._worker.do(job, self.folder, self._told)

    def add(
        self, data: bytes, name: str, *, point: str = MAIN_POINT, date: dt.datetime | None = None
    ) -> Added:
        """Add one photo that was sent; its bytes touch the disk only when they are complete and have been looked at."""
        with self._adding, _held(data, name) as path:
            added = add_photos(self.lawn(), [path], point=point, date=date)
        for refusal in added.refused:
            self.refuse(_for_page(refusal))
        if added.added or added.known:
            self.upload_refusals = [r for r in self.upload_refusals if r.where != name]
        return added

    def refuse(self, refusal: PhotoRefused) -> None:
        """Keep why a photo was not taken in, for all tabs to see."""
        kept = [r for r in self.upload_refusals if r.where != refusal.where]
        self.upload_refusals = [*kept, refusal][-MOST_REFUSALS:]
        self.changed()

    def forget_refusals(self) -> None:
        """Empty the list of photos that were not taken in."""
        self.upload_refusals = []
        self.changed()

    def sweep(self) -> None:
        """Delete what a killed process left half written: hidden .part files that no one can still be writing."""
        if not self.folder.is_dir():
            return
        for path in self.folder.rglob(".writing-*.part"):
            if time.time() - path.stat().st_mtime > LEFTOVER_AGE_S:
                path.unlink(missing_ok=True)

    def close(self) -> None:
        """End the worker."""
        self._worker.stop()

    async def _measure(self) -> None:
        while self._again:
            self._again = False
            self.progress, self.trouble = Progress(sentences.MEASURING), ""
            self.changed()
            try:
                self.standing = await asyncio.to_thread(self.ask, measure_and_write)
            except SwardmarkError as error:
                self.trouble = str(error)
            finally:
                self.progress = Progress()
                self.changed()

    def _report(self) -> Path:
        _check_space(self.folder)
        self.progress = Progress(sentences.WRITING_REPORT)
        self.changed()
        try:
            return Path(self.ask(write_report)[0])
        finally:
            self.progress = Progress()
            self.changed()

    def _told(self, done: int, total: int, name: str) -> None:
        self.progress = Progress(self.progress.what or sentences.MEASURING, done, total, name)


@contextmanager
def _held(data: bytes, name: str) -> Iterator[Path]:
    """Hold a photo that was sent in a temporary folder; a full disk there is told as one of the lawn's is."""
    try:
        room = tempfile.TemporaryDirectory(prefix="swardmark-page-")
    except OSError as error:
        raise unwritable(Path(tempfile.gettempdir()), error) from None
    with room:
        path = Path(room.name) / name
        try:
            path.write_bytes(data)
        except OSError as error:
            raise unwritable(path, error) from None
        yield path


def _for_page(refusal: PhotoRefused) -> PhotoRefused:
    """Give a refusal the remedy that the page offers in place of the command line's."""
    if not isinstance(refusal, NoDate):
        return refusal
    remedy = sentences.SAY_THE_DAY
    return PhotoRefused(refusal.what, where=refusal.where, remedy=remedy)


def _check_space(folder: Path) -> None:
    if shutil.disk_usage(folder).free < 20_000_000:
        raise UsageError("less than 20 MB are free", where=str(folder), remedy="Make room on the disk")

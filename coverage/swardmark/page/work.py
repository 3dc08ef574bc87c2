"""The measuring behind the page, in a process of its own, so that the page answers while photos are measured.

One worker, one job at a time; the page's process only hands jobs over and collects what came of them. The job runs the
same survey, season and tables as the command line. Ends with the page: by the daemon flag when it stops, by the closed
pipe when it is killed.
"""

from __future__ import annotations

import datetime as dt
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from swardmark.common.deadline import any_left_behind
from swardmark.common.errors import SwardmarkError, UsageError
from swardmark.common.files import own_folder, program_state
from swardmark.lawn.lock import lawn_lock
from swardmark.lawn.toml import read_lawn
from swardmark.measure.covers import lawn_covers, measure_covers
from swardmark.measure.survey import open_record, survey
from swardmark.mowing.rows import LawnOutlook
from swardmark.mowing.today import Known
from swardmark.page import sentences
from swardmark.record.store import Entry
from swardmark.report.writing import write_all, write_tables
from swardmark.season import Season, known_unseen, season_of

Told = Callable[[int, int, str], None]
SILENT_S = 900.0
"""How long a job may say nothing of itself: longer than one photo, a wait for another run, and a report together."""


@dataclass(frozen=True, eq=False)
class Standing:
    """How a lawn stands after a measuring run: every photo, the season or why there is none yet, and what is known.

    The season is that of the newest photo, as the tables and the report have it; `known` is of the day of the run.
    """

    entries: tuple[Entry, ...] = ()
    duplicates: tuple[tuple[str, str], ...] = ()
    season: Season | None = None
    known: Known | None = None
    fault: str = ""
    measured_at: dt.datetime | None = None
    """When the run began: `known` is of that day."""

    @property
    def outlook(self) -> LawnOutlook | None:
        """The outlook as of the day of the run."""
        return self.known.outlook if self.known is not None else None


def measure_and_write(folder: Path, told: Told) -> Standing:
    """Measure what is new, write the tables, and say how the lawn stands."""
    lawn = read_lawn(folder)
    now = dt.datetime.now()
    if not lawn.photos():
        return Standing(known=known_unseen(folder, on=now.date()), measured_at=now)
    season, known, fault, today = None, None, "", now.date()
    with lawn_lock(folder, on_wait=lambda line: told(0, 0, line)), open_record(lawn) as record:
        done = survey(lawn, record, progress=told)
        try:
            season = season_of(lawn_covers(lawn, record, done))
            new = season.as_of >= today
            known = (season if new else season_of(lawn_covers(lawn, record, done, as_of=today))).known
        except UsageError as error:
            fault = str(error)
    if season is not None:
        write_tables(season, folder=own_folder(folder, "out"))
    known = known or known_unseen(folder, on=today)
    return Standing(done.entries, done.duplicates, season, known, fault, now)


def write_report(folder: Path, told: Told) -> list[Path]:
    """Measure what is new and write the report with its tables, figures and calendar."""
    season = season_of(measure_covers(folder, progress=told))
    return write_all(season, folder=own_folder(folder, "out"))


class Worker:
    """One process that does jobs one after the other; a job that breaks it breaks nothing else."""

    def __init__(self) -> None:
        self._process: Any = None
        self._pipe: Connection | None = None
        self._turn = threading.Lock()

    def do(self, job: Callable[[Path, Told], Any], folder: Path, told: Told) -> Any:
        """Do one job and return what it returned; blocks, so call it from a thread.

        Raises
        ------
        SwardmarkError
            The job's own, or that the process ended before the job was done.
        """
        with self._turn:
            pipe = self._started()
            try:
                pipe.send((job, folder))
                while True:
                    if not pipe.poll(SILENT_S):
                        self.stop()
                        silent = sentences.SILENT.format(minutes=SILENT_S / 60)
                        raise UsageError(silent, remedy=sentences.SILENT_REMEDY)
                    kind, value = pipe.recv()
                    if kind == "progress":
                        told(*value)
                    elif kind == "done":
                        return value
                    else:
                        raise value
            except (EOFError, OSError):
                self.stop()
                raise UsageError(sentences.STOPPED, remedy=sentences.STOPPED_REMEDY) from None

    def stop(self) -> None:
        """End the process; a job under way is dropped, what it measured so far is kept."""
        if self._process is not None:
            self._process.terminate()
            self._process.join(5)
        if self._pipe is not None:
            self._pipe.close()
        self._process = self._pipe = None

    def _started(self) -> Connection:
        if self._process is None or not self._process.is_alive() or self._pipe is None:
            context = multiprocessing.get_context("spawn")
            self._pipe, other = context.Pipe()
            self._process = context.Process(
                target=_work, args=(other,), daemon=True, name="swardmark-measuring"
            )
            self._process.start()
            other.close()
        return self._pipe


def _work(pipe: Connection) -> None:
    import cv2

    program_state()  # of what is loaded, should the program be updated meanwhile
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    cv2.setNumThreads(1)
    with suppress(EOFError, OSError):
        while not any_left_behind():  # the next job gets a process without it
            job, folder = pipe.recv()
            pipe.send(_result(job, folder, lambda *told: pipe.send(("progress", told))))
    os._exit(0)  # at once, with whatever thread was left behind


def _result(job: Callable[[Path, Told], Any], folder: Path, told: Told) -> tuple[str, Any]:
    try:
        return "done", job(folder, told)
    except SwardmarkError as error:
        return "failed", error
    except (EOFError, BrokenPipeError):
        raise
    except Exception as error:
        what = f"an unforeseen fault ({type(error).__name__}: {error})"
        return "failed", UsageError(what, remedy="Please report it with the output of: swardmark doctor")

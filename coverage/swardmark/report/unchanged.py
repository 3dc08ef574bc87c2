"""A report in which nothing would be new is left as it is.

What a report shows follows from the keeper's files, the photos, what was measured of them, the day and the program. All
of it goes into one state, a hash, which the record keeps beside the sizes and times of the files that were written.
While both stand, nothing is drawn.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import stat
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from swardmark.common.errors import UsageError
from swardmark.common.files import program_state
from swardmark.forecast.past import PAST_FILE
from swardmark.record.place import RECORD_FILE
from swardmark.record.store import Record
from swardmark.season import Season

OF_THE_REPORT = "/report"
"""Where the record keeps it: beside the photo points, none of which can have this name."""


class LastReport:
    """What was written last into a lawn's out folder, and whether it would be the same again.

    Parameters
    ----------
    season : Season
        What is reported.
    folder : Path
        The lawn's out folder.
    figures_only : bool
        As for `write_all`.
    """

    def __init__(self, season: Season, *, folder: Path, figures_only: bool = False) -> None:
        self._record, self._folder = season.lawn.folder / RECORD_FILE, folder
        with Record(self._record) as record:
            known = record.bases()
        seen = [
            (entry.name, entry.digest, entry.settings) for point in season.points for entry in point.entries
        ]
        others = [(entry.name, entry.refusal) for entry in season.refused], season.duplicates
        parts = (dt.date.today(), season.as_of, figures_only, known, seen, others, program_state())
        files = _of_the_keeper(season.lawn.folder)
        text = json.dumps([parts, [(str(path), _mark(path)) for path in files]], default=str)
        self._state = hashlib.sha256(text.encode()).hexdigest()

    def paths(self) -> list[Path] | None:
        """Return the files that were written, where all of them would be the same again."""
        with Record(self._record) as record:
            kept = record.derived(point=OF_THE_REPORT, basis=self._state)
        marks = json.loads(kept) if kept else []
        paths = [self._folder / name for name, _ in marks]
        return paths if marks and self._marks(paths) == marks else None

    def keep(self, paths: Sequence[Path]) -> None:
        """Keep what was written; a full disk is no fault here."""
        marks = json.dumps(self._marks(paths)).encode()
        with suppress(UsageError), Record(self._record) as record:
            record.keep_derived(OF_THE_REPORT, {self._state: marks})

    def _marks(self, paths: Sequence[Path]) -> list[list[object]]:
        return [[path.relative_to(self._folder).as_posix(), _mark(path)] for path in paths]


def _of_the_keeper(folder: Path) -> Iterator[Path]:
    files = (path for path in sorted(folder.iterdir()) if not path.is_dir())
    yield from (path for path in files if not path.name.startswith((RECORD_FILE, ".")))
    yield from sorted((folder / "photos").rglob("*"))
    yield from (place / "out" / PAST_FILE for place in (folder, folder.resolve().parent))


def _mark(path: Path) -> list[int]:
    """Return a file's size and time; nothing of a folder, whose time follows what is written in it."""
    try:
        status = path.stat()
    except OSError:
        return []
    return [] if stat.S_ISDIR(status.st_mode) else [status.st_size, status.st_mtime_ns]

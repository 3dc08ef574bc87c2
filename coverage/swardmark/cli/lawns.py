"""Many lawns at once: a folder of lawn folders, measured one after the other or several at a time, into one table.

Each lawn keeps its own record, lock and cover.csv, as if it had been measured alone; a lawn that cannot be measured
stops no other. The combined table has the columns of cover.csv behind the lawn's folder name. It is written lawn by
lawn, so that memory does not grow with their number, and renamed into its place when all are done.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from swardmark.cli import sentences
from swardmark.common.crew import Crew, CrewLost
from swardmark.common.errors import SwardmarkError, UsageError, missing_extra
from swardmark.common.files import begin_part, own_folder, put_in_place, unwritable
from swardmark.common.text import showable
from swardmark.lawn.toml import LAWN_FILE
from swardmark.measure.covers import LawnCovers, measure_covers
from swardmark.scale.remote import remote_photos
from swardmark.words.tables import COVER_COLUMNS, cover_rows, for_json, to_csv, write_cover

LAWN_COLUMN = "lawn"
COLUMNS = {LAWN_COLUMN: "the lawn's folder", **COVER_COLUMNS}
TABLE_SUFFIXES = (".csv", ".parquet")


@dataclass(frozen=True, eq=False)
class LawnDone:
    """One lawn of many: its covers, or why there are none.

    Attributes
    ----------
    folder : Path
        The lawn folder.
    covers : LawnCovers or None
        What was measured; None where `fault` says why not.
    table : Path or None
        The lawn's own cover.csv.
    """

    folder: Path
    covers: LawnCovers | None = None
    table: Path | None = None
    fault: str = ""

    @property
    def name(self) -> str:
        """The folder's name: what the combined table calls the lawn."""
        return showable(self.folder.resolve().name)


def lawn_folders(folder: Path) -> tuple[Path, ...]:
    """List the lawns right below a folder, by name; none if the folder is a lawn itself.

    Raises
    ------
    UsageError
        The folder cannot be listed.
    """
    if not folder.is_dir() or (folder / LAWN_FILE).is_file():
        return ()
    try:
        return tuple(sorted(path for path in folder.iterdir() if (path / LAWN_FILE).is_file()))
    except OSError as error:
        what = f"the folder cannot be listed ({error.strerror or type(error).__name__})"
        raise UsageError(what, where=str(folder), remedy="Check its permissions") from None


def measure_lawns(
    folders: Sequence[Path],
    *,
    crew: Crew,
    at_once: int = 1,
    photos_url: str | None = None,
    on_wait: Callable[[str], None] | None = None,
) -> Iterator[LawnDone]:
    """Measure lawns and write each one's cover.csv; yields them in the order given, as they are done.

    Parameters
    ----------
    folders : sequence of Path
        Lawn folders.
    crew : Crew
        Who measures, for all lawns.
    at_once : int
        Lawns in hand at the same time.
    photos_url : str, optional
        Each lawn's photos lie below this, in a folder of the lawn's name, and not in its photos/.
    on_wait : callable, optional
        Called with a sentence if another run holds a lawn and is waited for.

    Raises
    ------
    CrewLost
        There is no one left who could measure.
    """
    waiting: deque[Future[LawnDone]] = deque()
    stop = threading.Event()
    with ThreadPoolExecutor(at_once) as pool:
        try:
            for folder in folders:
                waiting.append(pool.submit(_measure_one, folder, crew, photos_url, on_wait, stop))
                if len(waiting) > at_once:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            stop.set()
            pool.shutdown(wait=False, cancel_futures=True)


class _StopError(Exception):
    """Ends a lawn's run between two photos, where nobody waits for it any more."""


def _measure_one(
    folder: Path,
    crew: Crew,
    photos_url: str | None,
    on_wait: Callable[[str], None] | None,
    stop: threading.Event,
) -> LawnDone:
    def go_on(*_: object) -> None:
        if stop.is_set():
            raise _StopError

    own = f"{photos_url.rstrip('/')}/{folder.resolve().name}" if photos_url else None
    try:
        files = remote_photos(own) if own else None
        covers = measure_covers(folder, crew=crew, files=files, progress=go_on, on_wait=on_wait)
        return LawnDone(folder, covers, write_cover(covers, folder=own_folder(folder, "out")))
    except (CrewLost, _StopError):
        raise
    except SwardmarkError as error:
        return LawnDone(folder, fault=str(error))
    except Exception as error:
        return LawnDone(
            folder,
            fault=sentences.FAULT_OF_LAWN.format(folder=folder, kind=type(error).__name__, error=error),
        )


class CombinedTable:
    """One table of many lawns, as CSV or Parquet by its name; use as a context manager.

    Nothing stands in its place before the block ends, and nothing at all if it ends by an error or without a row.

    Parameters
    ----------
    path : Path
        A name that ends with .csv or .parquet.

    Raises
    ------
    UsageError
        Another ending; Parquet without pyarrow; the folder cannot be written.
    """

    def __init__(self, path: Path) -> None:
        if path.suffix.lower() not in TABLE_SUFFIXES:
            raise UsageError(
                f"{path.name!r} is neither CSV nor Parquet",
                where="--table",
                remedy="Name it FILE.csv or FILE.parquet",
            )
        self.path = path
        self._kind = _Parquet if path.suffix.lower() == ".parquet" else _Csv
        if self._kind is _Parquet:
            _pyarrow()
        self._part: Path | None = None
        self._writer: _Writer | None = None

    def __enter__(self) -> CombinedTable:
        return self

    def add(self, lawn: str, covers: LawnCovers) -> None:
        """Add a lawn's rows."""
        rows = [{LAWN_COLUMN: lawn, **row} for row in cover_rows(covers)]
        with self._told():
            if self._writer is None:
                self._part = begin_part(self.path)
                self._writer = self._kind(self._part)
            self._writer.add(rows)

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if self._part is None or self._writer is None:
            return
        try:
            with self._told():
                self._writer.close()
                if kind is None:
                    put_in_place(self._part, self.path)
        finally:
            self._part.unlink(missing_ok=True)

    @contextlib.contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise unwritable(self.path, error) from None


class _Writer(Protocol):
    def add(self, rows: Sequence[dict[str, Any]]) -> None: ...

    def close(self) -> None: ...


class _Csv:
    def __init__(self, path: Path) -> None:
        self._file = path.open("w", encoding="utf-8", newline="")
        self._file.write(to_csv(COLUMNS, []))

    def add(self, rows: Sequence[dict[str, Any]]) -> None:
        self._file.write(to_csv(COLUMNS, rows).partition("\n")[2])

    def close(self) -> None:
        self._file.close()


class _Parquet:
    def __init__(self, path: Path) -> None:
        self._arrow, parquet = _pyarrow()
        text, number = self._arrow.string(), self._arrow.float64()
        kinds = dict.fromkeys(COLUMNS, number)
        kinds |= dict.fromkeys((LAWN_COLUMN, "photo", "point", "zone", "notes"), text)
        kinds |= {"taken_at": self._arrow.timestamp("s"), "day": self._arrow.int32()}
        self._schema = self._arrow.schema(list(kinds.items()))
        self._file = parquet.ParquetWriter(path, self._schema)

    def add(self, rows: Sequence[dict[str, Any]]) -> None:
        times = [{"taken_at": dt.datetime.fromisoformat(row["taken_at"])} for row in rows]
        plain = [row | time for row, time in zip(for_json(rows), times, strict=True)]
        self._file.write_table(self._arrow.Table.from_pylist(plain, schema=self._schema))

    def close(self) -> None:
        self._file.close()


def _pyarrow() -> tuple[Any, Any]:
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        csv = ", or name a .csv file"
        raise missing_extra("Parquet needs pyarrow", "parquet", where="--table", instead=csv) from None
    return pyarrow, parquet

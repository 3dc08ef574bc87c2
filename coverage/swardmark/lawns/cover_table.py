"""The covers of many lawns in one table, as CSV or Parquet: the columns of cover.csv behind the lawn's folder name.

It is written lawn by lawn, so that memory does not grow with their number, and renamed into its place when all are
done.
"""

from __future__ import annotations

import contextlib
import datetime as dt
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Protocol

from swardmark.common.errors import UsageError, missing_extra
from swardmark.common.files import begin_part, put_in_place, unwritable
from swardmark.measure.covers import LawnCovers
from swardmark.words.tables import COVER_COLUMNS, cover_rows, for_json, to_csv

LAWN_COLUMN = "lawn"
COLUMNS = {LAWN_COLUMN: "the lawn's folder", **COVER_COLUMNS}
TABLE_SUFFIXES = (".csv", ".parquet")


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

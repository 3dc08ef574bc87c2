"""Damage every cell of a lawn's record, and every fact in it, and look whether the table stays what the photos say.

    python tests/reliability/damaged_record.py
    python tests/reliability/damaged_record.py --part 1/10

Each cell of each table, and each fact of a photo, gets values that it cannot have, one that it could have, and that of
another row. Measured again, the lawn must give the same table, or one line that names the record and the command that
rebuilds it. Ends with exit code 1 where not.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from kill_runs import RECORD, small_lawn

from swardmark.common.errors import SwardmarkError
from swardmark.measure.covers import measure_covers
from swardmark.words.tables import cover_text

WRONG = (None, "x", "", b"\x00\xff", -1e308, 10**18, -1, "nan", "1e999")
WRONG_FACTS = (None, "x", "", [], {}, -1e308, 10**18, [None], [["a"]], True, "\ud800")


def damages(record: Path) -> Iterator[tuple[str, str, tuple[Any, ...]]]:
    """Give (what, statements, values of the first) for each damage."""
    with closing(sqlite3.connect(record)) as db:
        tables = [name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type='table'")]
        for table in tables:
            columns = [row[1] for row in db.execute(f"PRAGMA table_info({table})")]
            first = f"WHERE rowid=(SELECT min(rowid) FROM {table})"
            again = "; DELETE FROM derived" if table == "ground_map" else ""  # else no map is read
            for column in columns:
                for value in WRONG:
                    yield (
                        f"{table}.{column} = {value!r}",
                        f"UPDATE {table} SET {column}=? {first}{again}",
                        (value,),
                    )
                for value in (f"{column} + 1", f"(SELECT {column} FROM {table} ORDER BY rowid DESC LIMIT 1)"):
                    yield (
                        f"{table}.{column} = {value}",
                        f"UPDATE {table} SET {column}={value} {first}{again}",
                        (),
                    )
        rows = db.execute("SELECT rowid, facts FROM photo ORDER BY taken_at").fetchall()
        (row, facts), (_, others) = ((row, json.loads(text)) for row, text in rows[:2])
        for name in facts:
            for value in (*WRONG_FACTS, others[name]):
                changed = json.dumps(facts | {name: value})
                yield (
                    f"facts.{name} = {value!r:.60}",
                    "UPDATE photo SET facts=? WHERE rowid=?",
                    (changed, row),
                )


def damaged(part: int = 0, parts: int = 1, *, told: bool = False) -> tuple[int, list[str]]:
    """Try every damage of one part of all; returns how many, and what was wrong."""
    faults, tried = [], 0
    with tempfile.TemporaryDirectory(prefix="swardmark-record-") as scratch:
        whole = small_lawn(Path(scratch) / "whole")
        expected = cover_text(measure_covers(whole))
        lawn = Path(shutil.copytree(whole, Path(scratch) / "lawn"))
        for number, (what, statement, values) in enumerate(damages(whole / RECORD[0])):
            if number % parts != part:
                continue
            for name in RECORD:
                (lawn / name).unlink(missing_ok=True)
            shutil.copy(whole / RECORD[0], lawn)
            try:
                with closing(sqlite3.connect(lawn / RECORD[0])) as db:
                    statement, _, more = statement.partition("; ")
                    if not db.execute(statement, values).rowcount:
                        continue
                    db.execute(more)
                    db.commit()
            except sqlite3.Error:
                continue  # the record itself does not take it
            tried += 1
            if fault := _fault(lawn, expected):
                faults.append(f"{what}: {fault}")
                if told:
                    print(faults[-1], flush=True)
    return tried, faults


def _fault(lawn: Path, expected: str) -> str:
    """Return what is wrong after measuring with a damaged record; empty where nothing is."""
    try:
        return (
            "" if cover_text(measure_covers(lawn)) == expected else "the table differs, and nothing was said"
        )
    except SwardmarkError as error:
        line = str(error)
        good = "\n" not in line and RECORD[0] in line and "doctor --repair" in line
        return "" if good else f"says {line!r}"
    except Exception as error:
        return f"{type(error).__name__}: {error}"


def main() -> int:
    """Damage the record and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--part", default="1/1", help="Which part of how many, as 1/10.")
    part, parts = map(int, parser.parse_args().part.split("/"))
    tried, faults = damaged(part - 1, parts, told=True)
    print(f"{tried} damages: {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())

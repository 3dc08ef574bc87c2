"""Measure lawns that a stranger prepared: tables in odd encodings, links and pipes for files, a record of monsters.

    python tests/reliability/strangers_lawns.py
    python tests/reliability/strangers_lawns.py --only tables

Each lawn is a small one with one thing wrong. A command on it must end with exit code 0, 1 or 2, within 20 s, in one
line of plain words where it refuses, without control characters, and with nothing changed outside the lawn. A record's
rows carry right checksums: a stranger can count them, too. Ends with exit code 1 where one does not.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sqlite3
import sys
import tempfile
import time
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

from kill_runs import SAMPLE, small_lawn

from swardmark.common.packing import packed_text
from swardmark.record.sound import crc_of
from warm import Warm

LONGEST_S = 20.0
NEVER_SHOWN = {"\x1b", "\x07", "\x7f", "\u202e", "\u200b"}
MARKED = ("300,600", "700,600", "650,400", "350,400")
Case = tuple[str, Callable[[Path, Path], object], list[list[str]]]


def tables() -> Iterator[Case]:
    """Give tables and settings as odd programs and hands write them."""
    for name in ("readings.csv", "diary.csv", "weather.csv", "marks.toml", "lawn.toml"):
        for how, spoilt in SPOILT.items():

            def write(lawn: Path, _: Path, name: str = name, spoilt: Callable[[str], bytes] = spoilt) -> None:
                path = lawn / name
                text = path.read_text() if path.exists() else "date,tmin_c,tmax_c\n2026-06-04,12,25\n"
                path.write_bytes(spoilt("" if name == "marks.toml" else text))

            yield f"{name}, {how}", write, [["today"]]


SPOILT: dict[str, Callable[[str], bytes]] = {
    "NUL": lambda text: text.replace("\n", "\0\n").encode(),
    "NULs alone": lambda text: bytes(5000),
    "UTF-16": lambda text: text.encode("utf-16"),
    "UTF-32": lambda text: text.encode("utf-32"),
    "byte order mark": lambda text: b"\xef\xbb\xbf" + text.encode(),
    "two of them": lambda text: b"\xef\xbb\xbf" * 2 + text.encode(),
    "Latin-1": lambda text: text.encode() + b"\xe9,\xe9\n",
    "CR": lambda text: text.replace("\n", "\r").encode(),
    "a line of 5 MB": lambda text: text.encode() + b"x" * 5_000_000 + b"\n",
    "an open quote": lambda text: text.encode() + b'"' + b"a,\n" * 1000,
    "turned words": lambda text: text.encode() + "2026-06-05,\u202e22\u202c\u200b\n".encode(),
    "control characters": lambda text: text.encode() + b"\x1b[31m\x07,\xc2\x9b2J\n",
}


def places() -> Iterator[Case]:
    """Give links, second names, folders and pipes in the place of swardmark's and the keeper's files."""
    ways: dict[str, Callable[[Path, Path], object]] = {
        "link": lambda path, outside: path.symlink_to(outside / "secret.csv"),
        "second name": lambda path, outside: path.hardlink_to(outside / "secret.csv"),
        "link to nothing": lambda path, outside: path.symlink_to(outside / "new"),
        "folder": lambda path, outside: path.mkdir(),
        "pipe": lambda path, outside: os.mkfifo(path),
        "link to itself": lambda path, outside: path.symlink_to(path.name),
    }
    names = (
        "lawn.toml",
        "readings.csv",
        "marks.toml",
        "out/cover.csv",
        ".swardmark.lock",
        ".swardmark-files.lock",
    )
    for name in (*names, "record.sqlite", "record.sqlite-wal", "record.sqlite-shm", "record.sqlite-journal"):
        for how, put in ways.items():

            def place(lawn: Path, outside: Path, name: str = name, put: Callable = put) -> None:
                path = lawn / name
                path.unlink(missing_ok=True)
                put(path, outside)

            yield f"{name} is a {how}", place, [["measure"], ["remove", "2026-06-06.jpg"], ["mark", *MARKED]]
    for name in ("out", "removed", "photos/gate"):

        def lead_away(lawn: Path, outside: Path, name: str = name) -> None:
            shutil.rmtree(lawn / name, ignore_errors=True)
            (lawn / name).symlink_to(outside)

        words = [
            ["measure"],
            ["remove", "2026-06-03.jpg"],
            ["restore", "2026-06-30.jpg"],
            ["add", "--point", "gate"],
        ]
        yield f"{name} leads outside", lead_away, words


def records() -> Iterator[Case]:
    """Give records whose rows hold what no photo has, with right checksums."""
    bomb = zlib.compress(bytes(300_000_000), 9)
    packed = packed_text(bytes(200_000_000))
    for what, statement, values in (
        ("a map that unpacks to 300 MB", "UPDATE ground_map SET bytes=?", (bomb,)),
        ("a map of 300 MB", "UPDATE ground_map SET bytes=zeroblob(300000000)", ()),
        ("a map 10 km away", "UPDATE ground_map SET row0=1000000", ()),
        ("facts nested without end", "UPDATE photo SET facts=?", ("[" * 200_000,)),
        ("a day with an offset", "UPDATE photo SET taken_at='2026-06-03T00:00:00+02:00'", ()),
        ("the last day", "UPDATE photo SET taken_at='9999-12-31T23:59:59'", ()),
        ("a refusal in colors", "UPDATE photo SET refusal='[bold]'||char(27)||'[31m'||char(8238)", ()),
        ("a name that leads away", "UPDATE photo SET name='../../../etc/passwd'", ()),
        ("a trigger", "CREATE TRIGGER t AFTER INSERT ON photo BEGIN DELETE FROM photo; END", ()),
        ("a view", "CREATE VIEW v AS SELECT * FROM photo", ()),
    ):
        yield what, _edit(statement, values), [["measure"], ["relevel"]]
    for name, value in {
        "notes": ["<script>alert(1)</script>\x1b[31m\u202e[red]x[/red]"], "size": [10**9, 10**9],
        "to_photo": [0.0] * 9, "corners_px": [[1e308, -1e308]] * 4, "camera_m": [1e6, -1e6, 0.0],
        "background": packed, "map_counts": packed, "findings": [["blur", 0.5]] * 40_000,
    }.items():  # fmt: skip
        yield f"facts.{name}", _edit(name, value), [["measure"], ["relevel"]]


def _edit(statement: str, values: object) -> Callable[[Path, Path], None]:
    """Return what edits the first row, or one of its facts, and counts the checksums anew."""

    def edit(lawn: Path, _: Path) -> None:
        with closing(sqlite3.connect(lawn / "record.sqlite")) as db:
            db.create_function("crc_of", -1, crc_of)
            if " " in statement:
                first = " WHERE rowid=1" if statement.startswith("UPDATE") else ""
                db.execute(statement + first, values)
            else:
                facts = json.loads(db.execute("SELECT facts FROM photo WHERE rowid=1").fetchone()[0])
                db.execute(
                    "UPDATE photo SET facts=? WHERE rowid=1", (json.dumps({**facts, statement: values}),)
                )
            cells = "digest, settings, point, name, taken_at, taken_from, refusal, remedy, facts"
            db.execute(f"UPDATE photo SET crc=crc_of({cells})")
            db.execute("UPDATE ground_map SET packed_crc=crc_of(bytes)")
            cells = "digest, settings, point, row0, col0, rows, cols, spacing_m, packed_crc"
            db.execute(f"UPDATE ground_map SET crc=crc_of({cells})")
            db.execute("DELETE FROM derived")
            db.commit()

    return edit


KINDS = {"tables": tables, "places": places, "records": records}


def run(kinds: list[str], told: Callable[[str], None] = print) -> tuple[int, int]:
    """Try all cases of some kinds; returns how many commands were run, and how many did wrong."""
    warm, tried, wrong = Warm(), 0, 0
    with tempfile.TemporaryDirectory(prefix="swardmark-stranger-") as scratch:
        base, outside = small_lawn(Path(scratch) / "base"), Path(scratch) / "outside"
        warm.run(["measure", str(base), "--quiet"])
        for what, spoil, commands in (case for kind in kinds for case in KINDS[kind]()):
            for command in commands:
                lawn = Path(scratch) / "lawn"
                shutil.rmtree(lawn, ignore_errors=True)
                shutil.rmtree(outside, ignore_errors=True)
                shutil.copytree(base, lawn)
                outside.mkdir()
                (outside / "secret.csv").write_text("secret,1\nsecret line\n")
                before = _state(outside)
                spoil(lawn, outside)
                tried += 1
                for fault in _faults(warm, _words(command, lawn), before, outside):
                    wrong += 1
                    told(f"{what}: {command[0]}: {fault}")
    warm.close()
    return tried, wrong


def _words(command: list[str], lawn: Path) -> list[str]:
    """Return a command's words for a lawn."""
    name, *rest = command
    first = {
        "mark": [str(lawn / "photos/2026-06-03.jpg")],
        "add": [str(lawn), str(SAMPLE / "photos/2026-07-01.jpg")],
    }
    return [name, *first.get(name, [str(lawn)]), *rest, "--quiet"]


def _faults(warm: Warm, words: list[str], before: dict[str, bytes], outside: Path) -> Iterator[str]:
    start = time.monotonic()
    code, out, err = warm.run(words)
    seconds = time.monotonic() - start
    if code not in (0, 1, 2):
        yield f"exit code {code}"
    if "unforeseen" in err or "Traceback" in out + err:
        yield err[-300:]
    if code == 2 and len(err.strip().splitlines()) != 1:
        yield f"{len(err.splitlines())} lines"
    if shown := NEVER_SHOWN & {*out, *err}:
        yield f"shows {shown!r}"
    if "secret line" in out + err:
        yield "shows a file that lies outside"
    if seconds > LONGEST_S:
        yield f"took {seconds:.0f} s"
    if _state(outside) != before:
        yield "changed what lies outside"


def _state(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def main() -> int:
    """Try the lawns and print what was wrong."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--only", nargs="*", default=list(KINDS), choices=list(KINDS))
    tried, wrong = run(parser.parse_args().only, lambda line: print(line, flush=True))
    print(f"{tried} commands: {wrong} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

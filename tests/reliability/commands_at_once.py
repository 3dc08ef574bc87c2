"""Mark, remove, restore, add and measure on one lawn at the same moment, beside a page that takes notes and photos.

    python tests/reliability/commands_at_once.py --seconds 100

Four processes repeat their commands until the time is over, each run a fork of its own; meanwhile the page is sent
notes and photos. Afterward every photo must be there with its bytes, every note once, no mark and nothing in the bin,
and no lock or temporary file may be left. Ends with exit code 1 where one is not.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import multiprocessing
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

from kill_runs import SAMPLE, left_over, small_lawn
from page_serving import Served, serving

from swardmark.lawn.marks import read_marks
from swardmark.lawn.readings import read_diary
from warm import Warm

CORNERS = ("300,600", "700,600", "650,400", "350,400")
ADDED = "2026-06-20"


def rounds_of(lawn: Path, scratch: Path) -> dict[str, list[list[str]]]:
    """Return what each process repeats; NEW stands for another photo in every round."""
    first = sorted((lawn / "photos").iterdir())
    return {
        "measure": [["measure", str(lawn)]],
        "bin": [["remove", str(lawn), first[1].name], ["restore", str(lawn), first[1].name]],
        "mark": [["mark", str(first[2]), *CORNERS], ["mark", str(first[2]), "--clear"]],
        "add": [["add", str(lawn), str(scratch / "NEW.jpg"), "--date", ADDED]],
    }


def repeat(name: str, commands: list[list[str]], scratch: Path, until: float, told: Any) -> None:
    """Repeat commands until the time is over; tells how often, what was added, and what went wrong."""
    warm, done, added, wrong = Warm(), 0, [], []
    shot = max((SAMPLE / "photos").iterdir()).read_bytes()
    while time.time() < until:
        new = scratch / f"new {done}.jpg"
        new.write_bytes(shot + b"%d" % done)
        for command in commands:
            words = [word.replace(str(scratch / "NEW.jpg"), str(new)) for word in command]
            code, _, err = warm.run([*words, "--quiet"])
            if code not in (0, 1 if name == "measure" else 0) or "unforeseen" in err:
                wrong.append(f"{words[0]}: exit code {code}: {err[:300]}")
        if name == "add":
            added.append(hashlib.sha256(new.read_bytes()).hexdigest())
            time.sleep(2)
        done += 1
    told.put((name, done, added, wrong))


def send(served: Served, until: float) -> tuple[list[str], list[str]]:
    """Send notes and now and then a photo; returns the notes and the hashes of photos that the page answered for."""
    shot, notes, photos, number = max((SAMPLE / "photos").iterdir()).read_bytes(), [], [], 0
    while time.time() < until:
        values = {"date": "2026-06-05", "what": "fed", "note": f"note {number}"}
        body = json.dumps({"key": f"{number:032x}", "kind": "diary", "values": values}).encode()
        if json.loads(served.ask("PUT", "/notes", body)[1])["state"] == "added":
            notes.append(f"note {number}")
        if number % 6 == 3:
            photo = shot + b"page %d" % number
            answer = served.ask("PUT", f"/photos?name=up{number}%202026-06-21.jpg", photo)[1]
            if json.loads(answer)["state"] == "added":
                photos.append(hashlib.sha256(photo).hexdigest())
        number += 1
    return notes, photos


def run(seconds: float) -> tuple[dict[str, int], list[str]]:
    """Let all work for some time; returns how often each did its part, and what was lost or went wrong."""
    with tempfile.TemporaryDirectory(prefix="swardmark-commands-") as folder:
        scratch = Path(folder)
        lawn = small_lawn(scratch / "lawn")
        wanted = [hashlib.sha256(path.read_bytes()).hexdigest() for path in (lawn / "photos").iterdir()]
        context = multiprocessing.get_context("spawn")
        told, until = context.Queue(), time.time() + seconds
        crew = [
            context.Process(target=repeat, args=(name, commands, scratch, until, told))
            for name, commands in rounds_of(lawn, scratch).items()
        ]
        for process in crew:
            process.start()
        with serving(lawn) as served:
            notes, photos = send(served, until)
            answers = [told.get(timeout=300) for _ in crew]
        for process in crew:
            process.join(60)
        done = {name: count for name, count, _, _ in answers} | {"notes": len(notes), "uploads": len(photos)}
        faults = [line for *_, wrong in answers for line in wrong]
        wanted += photos + [one for _, _, added, _ in answers for one in added]
        there = {
            hashlib.sha256(p.read_bytes()).hexdigest() for p in (lawn / "photos").rglob("*") if p.is_file()
        }
        faults += [f"a photo is lost: {one}" for one in wanted if one not in there]
        noted = Counter(entry.note for entry in read_diary(lawn))
        faults += [f"{note} stands {noted[note]} times" for note in notes if noted[note] != 1]
        marked = [name for name, mark in read_marks(lawn).items() if mark.corners_px]
        faults += [f"{name} is still marked" for name in marked]
        faults += [f"{path.name} is in the bin" for path in (lawn / "removed").iterdir()]
        Warm().run(["measure", str(lawn), "--quiet"])
        return done, faults + [f"{path.name} is left" for path in left_over(lawn)]


def main() -> int:
    """Let the commands run and print what was lost."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--seconds", type=float, default=100)
    done, faults = run(parser.parse_args().seconds)
    print(*faults, sep="\n")
    print(", ".join(f"{name} {count}" for name, count in done.items()))
    print(f"{len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())

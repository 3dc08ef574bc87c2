"""Kill every command, and the page, at random moments and look whether anything was lost.

    python tests/reliability/kill_runs.py --kills 400 --seed 1
    python tests/reliability/kill_runs.py --kills 20 --only measure page

Each command is run once undisturbed on a copy of a small lawn, which says how long it takes and how the keeper's files
are afterwards. Then, in turn, it is killed with SIGKILL on another copy, up to four times in a row, each time on what
the kill before left: at a random moment of its life, or just before one of its changes of files (a file opened for
writing, renamed, linked or removed, a folder made, a lock taken). After each kill every file of the keeper's must be
as it was or as it should become, never in between. The command is run again, and the lawn is measured: the files must
be as after the undisturbed run, cover.csv too, and no lock or temporary file may be left. Commands are forks of a
process that has imported everything (tests/warm.py), so that they are killed at work and not while they import. The
page is killed while a photo and notes are sent to it; each must be there whole, or not at all, and those that it
answered for must be there. Ends with exit code 1 where something is not.
"""

from __future__ import annotations

import argparse
import contextlib
import csv
import hashlib
import json
import shutil
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "page"))
from page_serving import Served, serving

from warm import Warm

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
KEEPERS = ("lawn.toml", "marks.toml", "readings.csv", "diary.csv", "weather.csv", "heights.csv")
FOLDERS = ("photos", "removed", "left_out")
RECORD = ("record.sqlite", "record.sqlite-wal", "record.sqlite-shm")
PHOTOS, KILLED, IN_A_ROW = 3, -9, 4
LAST = "2026-06-24.jpg"
COMMANDS: dict[str, tuple[str, ...]] = {
    "measure": ("measure", "LAWN", "--quiet"),
    "report": ("report", "LAWN", "--quiet"),
    "add": ("add", "LAWN", "NEW", "--quiet"),
    "add, stripped": (
        "add",
        "LAWN",
        "NEW",
        "--date",
        "2026-06-20",
        "--point",
        "gate",
        "--strip-gps",
        "--quiet",
    ),
    "mark": ("mark", "LAWN/photos/FIRST", "300,600", "700,600", "650,400", "350,400", "--quiet"),
    "remove": ("remove", "LAWN", "FIRST", "--quiet"),
    "restore": ("restore", "LAWN", "BINNED", "--quiet"),
    "doctor": ("doctor", "--repair", "LAWN", "--quiet"),
    "outlook": ("outlook", "LAWN", "--quiet"),
    "today": ("today", "LAWN", "--quiet"),
    "relevel": ("relevel", "LAWN", "--quiet"),
    "level": ("level", "LAWN", "--grid", "1m", "--size", "4x4m", "--quiet"),
    "count": ("count", "LAWN", "--points", "60", "--quiet"),
    "start": ("start", "LAWN/new", "--quiet"),
    "target": ("target", "LAWN/out/target.pdf", "--quiet"),
}
AGAIN = {"remove": (2,), "restore": (2,), "start": (2,)}
"""Exit codes of the second run that say that the first had done it already."""


@dataclass
class Outcome:
    """How many runs of each command were killed, how many had ended before, and what was found wrong."""

    kills: Counter = field(default_factory=Counter)
    ended: int = 0
    partly: int = 0
    at_change: int = 0
    faults: list[str] = field(default_factory=list)
    codes: dict[str, int] = field(default_factory=dict)

    @property
    def killed(self) -> int:
        return sum(self.kills.values())


def small_lawn(folder: Path) -> Path:
    """Copy the sample lawn with its first photos and with files of the keeper's."""
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    for photo in sorted((folder / "photos").iterdir())[PHOTOS:]:
        photo.unlink()
    (folder / "readings.csv").write_text("date,height_mm,note\n2026-06-06,22,dry\n")
    (folder / "diary.csv").write_text("date,what\n2026-06-04,watered\n")
    return folder


def keepers_files(folder: Path) -> dict[str, str]:
    """Return a hash of every file of the keeper's, the photos among them."""
    files = [folder / name for name in KEEPERS]
    files += [path for name in FOLDERS for path in sorted((folder / name).rglob("*"))]
    own = (path for path in files if path.is_file() and not path.name.endswith((".part", ".bak")))
    return {str(f.relative_to(folder)): hashlib.sha256(f.read_bytes()).hexdigest() for f in own}


def words_of(name: str, lawn: Path) -> list[str]:
    """Return a command's words for a lawn."""
    photos = sorted(path.name for path in (SAMPLE / "photos").iterdir())
    given = {"FIRST": photos[0], "BINNED": photos[PHOTOS], "NEW": str(SAMPLE / "photos" / photos[-1])}
    words = []
    for word in COMMANDS[name]:
        for short, long in given.items():
            word = word.replace(short, long)
        words.append(word.replace("LAWN", str(lawn)))
    return words


@dataclass(frozen=True)
class Undisturbed:
    """What a command does when nobody kills it."""

    seconds: float
    changes: int
    code: int
    after: dict[str, str]
    cover: bytes


class Kills:
    """Kills of one run of this script."""

    def __init__(self, scratch: Path, warm: Warm, seed: int) -> None:
        self.scratch, self.warm, self.rng = scratch, warm, np.random.default_rng(seed)
        self.outcome = Outcome()
        self.bare = small_lawn(scratch / "bare")
        (self.bare / "removed").mkdir()
        shutil.copy(sorted((SAMPLE / "photos").iterdir())[PHOTOS], self.bare / "removed")
        self.measured = shutil.copytree(self.bare, scratch / "measured")
        self.run("measure", str(self.measured), "--quiet")
        self.known: dict[str, Undisturbed] = {}

    def run(self, *words: str) -> int:
        return self.warm.run(list(words))[0]

    def copy(self, name: str) -> Path:
        """Return a fresh lawn for a command: half of the runs that measure begin without a record."""
        lawn = self.scratch / "lawn"
        shutil.rmtree(lawn, ignore_errors=True)
        is_bare = name in ("measure", "report") or self.rng.random() < 0.3
        return Path(shutil.copytree(self.bare if is_bare else self.measured, lawn))

    def undisturbed(self, name: str) -> Undisturbed:
        """Return what a command does; found out once."""
        if name not in self.known:
            lawn = self.copy(name)
            start = time.monotonic()
            code, _, _ = self.warm.run(words_of(name, lawn), kill_at=0)
            seconds, changes = time.monotonic() - start, self.warm.changes
            after = keepers_files(lawn)
            self.run("measure", str(lawn), "--quiet")
            cover = (lawn / "out/cover.csv").read_bytes()
            self.known[name] = Undisturbed(seconds, changes, code, after, cover)
            self.outcome.codes[name] = code
        return self.known[name]

    def kill(self, name: str) -> None:
        """Kill some runs of a command in a row, run it again, and look."""
        known, lawn = self.undisturbed(name), self.copy(name)
        before, faults, story = keepers_files(lawn), [], []
        for _ in range(self.rng.integers(1, IN_A_ROW + 1)):
            how = self.moment(known)
            code, _, _ = self.warm.run(words_of(name, lawn), **how)
            if code != KILLED:
                self.outcome.ended += 1
                break
            self.outcome.kills[name] += 1
            self.outcome.at_change += "kill_at" in how
            self.outcome.partly += (lawn / RECORD[0]).exists()
            story.append(", ".join(f"{option} {value:.4g}" for option, value in how.items()))
            faults += [f"{path} is neither old nor new" for path, was in keepers_files(lawn).items()
                       if was not in (before.get(path), known.after.get(path))]  # fmt: skip
            lost = [path for path in before if path in known.after and not (lawn / path).exists()]
            faults += [f"{path} is lost" for path in lost]
        again = self.run(*words_of(name, lawn))
        if again not in (known.code, *AGAIN.get(name, ())):
            faults.append(f"run again: exit code {again}")
        for folder in (lawn, *lawn.glob("new")):
            self.run("measure", str(folder), "--quiet")
        faults += left_wrong(lawn, known.cover, known.after)
        self.outcome.faults += [f"{name} ({'; '.join(story)}): {fault}" for fault in faults]

    def moment(self, known: Undisturbed) -> dict[str, float]:
        """Return when to kill a run: just before one of its changes of files, or at any moment."""
        if self.rng.random() < 0.5:
            return {"kill_at": int(self.rng.integers(1, known.changes + 1))}
        return {"kill_after_s": float(self.rng.uniform(0.002, known.seconds))}

    def kill_page(self) -> None:
        """Kill a page while a photo and notes come in; what it answered for must be there, nothing half."""
        lawn, kept = self.copy("page"), []
        before = keepers_files(lawn)
        with serving(lawn) as served:
            sender = threading.Thread(target=_send, args=(served, kept), daemon=True)
            sender.start()
            time.sleep(float(self.rng.uniform(0.0, 1.5)))
            served.kill()
            sender.join(30)
        self.outcome.kills["page"] += 1
        self.outcome.partly += bool(kept)
        new = (SAMPLE / "photos" / LAST).read_bytes()
        faults = []
        for path, was in keepers_files(lawn).items():
            if path.endswith(LAST):
                faults += [] if was == hashlib.sha256(new).hexdigest() else [f"{path} is half"]
            elif path != "diary.csv" and was != before.get(path):
                faults.append(f"{path} differs")
        with (lawn / "diary.csv").open(newline="") as file:
            notes = [row["note"] for row in csv.DictReader(file) if row.get("note")]
        there = {*notes, *(path.name for path in (lawn / "photos").iterdir())}
        faults += [f"{name} was answered for and is lost" for name in kept if name not in there]
        faults += [f"{note} is there twice" for note, count in Counter(notes).items() if count > 1]
        self.run("measure", str(lawn), "--quiet")
        faults += [f"{path.name} is left" for path in left_over(lawn)]
        self.outcome.faults += [f"page: {fault}" for fault in faults]


def _send(served: Served, kept: list[str]) -> None:
    """Send notes and a photo until the page is gone; `kept` gets the names of what it answered for."""
    with contextlib.suppress(OSError):
        for number in range(1000):
            note = f"note {number}"
            values = {"date": "2026-06-05", "what": "fed", "note": note}
            body = json.dumps({"key": f"{number:032x}", "kind": "diary", "values": values}).encode()
            if json.loads(served.ask("PUT", "/notes", body)[1])["state"] == "added":
                kept.append(note)
            if number == 2:
                photo = (SAMPLE / "photos" / LAST).read_bytes()
                if json.loads(served.ask("PUT", f"/photos?name={LAST}", photo)[1])["state"] == "added":
                    kept.append(LAST)


def left_wrong(lawn: Path, expected: bytes, before: dict[str, str]) -> list[str]:
    """Return what is not as after an undisturbed run."""
    faults = []
    if (lawn / "out/cover.csv").read_bytes() != expected:
        faults.append("cover.csv differs")
    if keepers_files(lawn) != before:
        faults.append("a file of the keeper's differs")
    return faults + [f"{path.name} is left" for path in left_over(lawn)]


def left_over(lawn: Path) -> list[Path]:
    """Return locks and half-written files in a lawn folder."""
    return [path for path in lawn.rglob("*") if path.name.endswith((".part", ".lock", "-wal", "-shm"))]


def run_kills(
    kills: int, *, seed: int, only: Sequence[str] = (), told: Callable[[str], None] = print
) -> Outcome:
    """Kill so many runs, each command in turn."""
    names = list(only) or [*COMMANDS, "page"]
    warm = Warm()
    with tempfile.TemporaryDirectory(prefix="swardmark-kills-") as scratch:
        job = Kills(Path(scratch), warm, seed)
        for number in range(20 * kills):
            if job.outcome.killed >= kills:
                break
            name = names[number % len(names)]
            job.kill_page() if name == "page" else job.kill(name)
            if number % 20 == 19:
                told(f"{job.outcome.killed} of {kills}: {len(job.outcome.faults)} faults")
    warm.close()
    return job.outcome


def main() -> int:
    """Kill the runs and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--kills", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="*", default=(), choices=[*COMMANDS, "page"])
    options = parser.parse_args()
    outcome = run_kills(
        options.kills, seed=options.seed, only=options.only, told=lambda line: print(line, flush=True)
    )
    print(*outcome.faults, sep="\n")
    print(", ".join(f"{name} {count}" for name, count in sorted(outcome.kills.items())))
    print(
        f"{outcome.killed} killed ({outcome.at_change} just before a change of files, {outcome.partly} with a record),"
        f" {outcome.ended} had ended before"
    )
    print(f"{len(outcome.faults)} faults")
    return 1 if outcome.faults else 0


if __name__ == "__main__":
    sys.exit(main())

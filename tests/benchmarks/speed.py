"""How fast swardmark measures, as ratios taken in one run.

    python tests/benchmarks/speed.py [--quick] [--write] [--room DIR]

Two photos of 12 megapixels are drawn (kept in DIR, where given) and copied under as many days as are wanted: other
bytes, the same pixels. What is compared takes turns in one run on one thread, so that a busy machine slows all alike.
Peak memory is that of a process of its own. `--write` puts the tables into docs/performance.md.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from functools import partial
from pathlib import Path

import cv2
import numpy as np
from plain_script import plain_cover
from simplejpeg import decode_jpeg
from speed_lawns import drawn_photos, lawn_of, with_zones

from swardmark.lawn.toml import MeasureSettings, read_lawn
from swardmark.measure.one_photo import (
    index_ground,
    judge_fitness,
    lay_in_frame,
    locate_square,
    sample_ground,
)
from swardmark.measure.survey import Task, measure_photo, measure_source, task_of
from swardmark.photo.decode import WORKING_SIDE_PX, decode, digest_of
from swardmark.record.frames import reference_of
from swardmark.record.store import Record

PAGE = Path(__file__).parents[2] / "docs" / "performance.md"
SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
BEGIN, END = "<!-- speed: begin -->\n", "<!-- speed: end -->"
REPEATS = 15
BARE, KNOWN, FIRST = "bare decode (cv2)", "swardmark, known photo point", "swardmark, first photo of a point"
PLAIN = {f"plain scikit-image script, ground at {mm} mm": mm / 1000 for mm in (2, 5)}
JOBS = (BARE, KNOWN, FIRST, *PLAIN)
APART = """import os, subprocess, sys, time
start = time.perf_counter()
process = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
_, status, usage = os.wait4(process.pid, 0)
print(os.waitstatus_to_exitcode(status), time.perf_counter() - start, usage.ru_maxrss / 1024)"""
"""Runs a command from a small process: a child's peak memory begins at that of the process that started it."""


class OnePhoto:
    """The jobs that are timed on one photo; swardmark's read, hash, decode, measure and keep it."""

    def __init__(self, room: Path, drawn: list[bytes]) -> None:
        self.folder = lawn_of(room, drawn, 2)
        self.lawn = read_lawn(self.folder)
        first, self.photo = self.lawn.photos()
        self.first_task = task_of(self.lawn, self.photo)
        entry, _ = measure_source(first, "0", task_of(self.lawn, first))
        reference = (first.name, reference_of(entry, side_m=1.0, record=room / "record.sqlite"))
        self.known_task = task_of(self.lawn, self.photo, reference=reference)
        self.corners_px = measure_source(self.photo, "1", self.first_task)[0].facts.corners_px
        self.record = Record(room / "record.sqlite")

    def run(self, job: str) -> None:
        """Do one of the jobs."""
        if job == BARE:
            data = np.frombuffer(self.photo.path.read_bytes(), np.uint8)
            assert cv2.imdecode(data, cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION) is not None
        elif job in PLAIN:
            zones = {zone.name: [list(p) for p in zone.outline_m] for zone in self.lawn.zones_of("main")}
            corners = [list(corner) for corner in self.corners_px]
            plain_cover(self.photo.path, corners, zones, spacing_m=PLAIN[job])
        else:
            self.measure(self.known_task if job == KNOWN else self.first_task)

    def measure(self, task: Task) -> None:
        """Read, hash, measure and keep the photo, as a measuring run does."""
        digest = digest_of(self.photo.path.read_bytes())
        entry, ground_map = measure_source(self.photo, digest, task)
        assert entry.is_measured, entry.refusal
        self.record.put(entry, ground_map)


def medians(jobs: dict[str, Callable[[], object]], repeats: int = REPEATS) -> dict[str, float]:
    """Do the jobs in turns; return each one's median time, seconds."""
    taken: dict[str, list[float]] = {name: [] for name in jobs}
    for turn in range(repeats + 1):
        for name, job in jobs.items():
            start = time.perf_counter()
            job()
            if turn:
                taken[name].append(time.perf_counter() - start)
    return {name: float(np.median(times)) for name, times in taken.items()}


def table(head: list[str], rows: list[list[object]]) -> str:
    """Lay out a Markdown table."""
    lines = [head, ["---"] + ["--:"] * (len(head) - 1), *rows]
    return "\n".join("| " + " | ".join(map(str, line)) + " |" for line in lines) + "\n"


def one_photo(keep: Path, room: Path, drawn: list[bytes]) -> str:
    """Time and weigh one photo."""
    photo = OnePhoto(room / "one", drawn)
    taken = medians({job: lambda job=job: photo.run(job) for job in JOBS})
    photo.record.close()
    rows = []
    for job, seconds in taken.items():
        ratios = seconds / taken[BARE], seconds / taken[KNOWN]
        rows.append(
            [job, f"{1000 * seconds:.0f}", *(f"{r:.2f}" for r in ratios), f"{peak_of(keep, job):.0f}"]
        )
    size = len(drawn[1]) / 1e6
    head = ["", "ms", "over bare decode", "over swardmark", "peak memory, MiB"]
    return f"**One photo** of 12 megapixels, a JPEG of {size:.1f} MB.\n\n" + table(head, rows)


def floor(room: Path, drawn: list[bytes]) -> str:
    """Time what a known photo point is made of, and how little decoders can do, against the bare decode."""
    photo = OnePhoto(room / "floor", drawn)
    photo.record.close()
    data, task = photo.photo.path.read_bytes(), photo.known_task
    one = decode(data, name="b", digest="b", least_side=WORKING_SIDE_PX)
    square, own = locate_square(one, task)
    frame = lay_in_frame(one, square, own, task)
    sampled = sample_ground(one, frame.plane, task.settings)
    known = {"square": square, "own": own, "plane": frame.plane, "side_m": 1.0, "settings": task.settings}
    jobs: dict[str, Callable[[], object]] = {
        BARE: lambda: photo.run(BARE),
        "hash of the file": lambda: digest_of(data),
        "decode at a half, header and seams": lambda: decode(
            data, name="b", digest="b", least_side=WORKING_SIDE_PX
        ),
        "square": lambda: locate_square(one, task),
        "fitness": lambda: judge_fitness(one, square, own, task),
        "frame": lambda: lay_in_frame(one, square, own, task),
        "sampling": lambda: sample_ground(one, frame.plane, task.settings),
        "white and index": lambda: index_ground(sampled, one, **known),
    }
    width, height = one.size[0] * one.reduction, one.size[1] * one.reduction
    for name, share in {"whole": 1, "at a half": 1 / 2, "at 3/8": 3 / 8, "at a quarter": 1 / 4}.items():
        size = {"min_width": round(share * width), "min_height": round(share * height)}
        jobs[f"decoder alone (simplejpeg), {name}"] = partial(decode_jpeg, data, "RGB", **size)
    taken = medians(jobs)
    rows = [[job, f"{1e3 * took:.1f}", f"{took / taken[BARE]:.2f}"] for job, took in taken.items()]
    return "**What a known photo point is made of.**\n\n" + table(["", "ms", "over bare decode"], rows)


def peak_of(keep: Path, job: str) -> float:
    """Return the peak memory of a process that does one job five times, MiB."""
    return apart(sys.executable, __file__, "--room", keep, "--only", job)[1]


def sizes(drawn: list[bytes]) -> str:
    """Time first photos of several sizes against their own bare decode."""
    rows, task = [], Task("main", 1.0, MeasureSettings())
    large = cv2.imdecode(np.frombuffer(drawn[1], np.uint8), cv2.IMREAD_COLOR)
    for times in (0.4, 0.8, 1.0, 1.5, 2.0):
        picture = cv2.resize(large, None, fx=times, fy=times, interpolation=cv2.INTER_AREA)
        code = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 92])[1]
        photo = decode(code.tobytes(), name="b", least_side=WORKING_SIDE_PX)
        taken = medians(
            {
                "bare": lambda code=code: cv2.imdecode(code, cv2.IMREAD_COLOR),
                "own": lambda code=code: measure_photo(
                    decode(code.tobytes(), name="b", least_side=WORKING_SIDE_PX), task
                ),
            },
            REPEATS // 2,
        )
        bare, own = taken["bare"], taken["own"]
        megapixels = picture.shape[0] * picture.shape[1] / 1e6
        rows.append(
            [
                f"{megapixels:.0f}",
                f"1/{photo.reduction}",
                f"{1e3 * bare:.0f}",
                f"{1e3 * own:.0f}",
                f"{own / bare:.2f}",
            ]
        )
    head = ["megapixels", "read at", "bare decode, ms", "first photo of a point, ms", "ratio"]
    return "**Size of the photo**, without the record.\n\n" + table(head, rows)


def workers(room: Path, drawn: list[bytes], count: int) -> str:
    """Time whole measuring runs of the command line with one worker and with two, in turns."""
    folder = lawn_of(room / "workers", drawn, count)
    taken: dict[int, list[float]] = {1: [], 2: []}
    rows = []
    for _ in range(3):
        for number in taken:
            forget(folder)
            taken[number].append(command("measure", folder, "--workers", number)[0])
    one = min(taken[1])
    for number, times in taken.items():
        rows.append([number, f"{min(times):.1f}", f"{one / min(times):.2f}"])
    title = f"**Workers**: `swardmark measure` of {count} photos, start of the program included, best of three.\n\n"
    return title + table(["workers", "s", "faster"], rows)


def counts(room: Path, drawn: list[bytes], numbers: tuple[int, ...]) -> str:
    """Time lawns of several sizes: measuring, a rerun with nothing new, the outlook and the report."""
    rows = []
    for number in numbers:
        folder = lawn_of(room / f"lawn {number}", drawn, number)
        seconds, peak = command("measure", folder, "--workers", 1)
        size = (folder / "record.sqlite").stat().st_size
        again = min(command("measure", folder)[0] for _ in range(3))
        outlook = min(command("outlook", folder)[0] for _ in range(3))
        report, unchanged = (command("report", folder)[0] for _ in range(2))
        words = [number, f"{seconds:.1f}", f"{1000 * (seconds - again) / number:.0f}", f"{peak:.0f}"]
        rows.append(
            [
                *words,
                f"{size / number / 1000:.0f}",
                f"{again:.2f}",
                f"{outlook:.2f}",
                f"{report:.1f}",
                f"{unchanged:.2f}",
            ]
        )
    head = [
        "photos",
        "measure, s",
        "ms a photo",
        "peak MiB",
        "record, kB a photo",
        "rerun, s",
        "outlook, s",
        "report, s",
        "report again, s",
    ]
    title = "**Number of photos**, 12 megapixels each, one worker; `ms a photo` leaves out what a rerun costs.\n\n"
    return title + table(head, rows)


def zones(room: Path, drawn: list[bytes], numbers: tuple[int, ...]) -> str:
    """Time a lawn of 30 measured photos with more and more zones."""
    rows, folder = [], lawn_of(room / "zones", drawn, 30)
    command("measure", folder)
    for number in numbers:
        with_zones(folder, number)
        first = command("outlook", folder)[0]
        rows.append([number, f"{first:.2f}", f"{min(command('outlook', folder)[0] for _ in range(3)):.2f}"])
    title = "**Number of zones**: `swardmark outlook` on 30 measured photos, new zones and again.\n\n"
    return title + table(["zones", "first, s", "again, s"], rows)


def sample(room: Path) -> str:
    """Time the sample lawn, all of it measured: outlook and report for the first time, both again, nothing new."""
    folder = shutil.copytree(SAMPLE, room / "sample", ignore=shutil.ignore_patterns("out", "record.sqlite*"))
    command("measure", folder)
    outlook = command("outlook", folder)[0], min(command("outlook", folder)[0] for _ in range(3))
    report = [_drawn_anew(folder) for _ in range(4)]
    unchanged = min(command("report", folder)[0] for _ in range(3))
    row = [*outlook, report[0], min(report[1:]), unchanged]
    head = ["outlook, s", "again, s", "report, s", "drawn anew, s", "unchanged, s"]
    return "**The sample lawn**, everything measured.\n\n" + table(
        head, [[f"{seconds:.2f}" for seconds in row]]
    )


def _drawn_anew(folder: Path) -> float:
    (folder / "out" / "report.html").unlink(missing_ok=True)
    return command("report", folder)[0]


def command(*words: object) -> tuple[float, float]:
    """Run swardmark in a process of its own; return seconds and peak memory in MiB."""
    return apart(sys.executable, "-m", "swardmark", *words, "--quiet")


def apart(*words: object) -> tuple[float, float]:
    """Run a command; return seconds and peak memory in MiB."""
    line = [sys.executable, "-c", APART, *map(str, words)]
    code, seconds, peak = subprocess.run(line, check=True, capture_output=True, text=True).stdout.split()
    assert code == "0", words
    return float(seconds), float(peak)


def forget(folder: Path) -> None:
    """Delete what was measured."""
    for path in folder.glob("record.sqlite*"):
        path.unlink()


def only(room: Path, drawn: list[bytes], job: str) -> None:
    """Do one job five times."""
    with tempfile.TemporaryDirectory(dir=room) as folder:
        photo = OnePhoto(Path(folder) / "one", drawn)
        for _ in range(5):
            photo.run(job)
        photo.record.close()


def main() -> None:
    """Measure everything and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--quick", action="store_true", help="10 and 30 photos instead of 10, 100 and 1,000")
    parser.add_argument("--write", action="store_true", help="put the tables into docs/performance.md")
    parser.add_argument("--room", type=Path, help="where the drawn photos are kept and used again")
    parser.add_argument("--only", choices=JOBS, help=argparse.SUPPRESS)
    options = parser.parse_args()
    cv2.setNumThreads(1)
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # pip compiles what it installs
    warnings.simplefilter("ignore", FutureWarning)
    with tempfile.TemporaryDirectory() as empty:
        keep = options.room or Path(empty)
        drawn = drawn_photos(keep / "drawn")
        if options.only:
            only(keep, drawn, options.only)
            return
        room = Path(empty)
        parts = [
            one_photo(keep, room, drawn),
            floor(room, drawn),
            sizes(drawn),
            workers(room, drawn, 20 if options.quick else 200),
        ]
        parts += [counts(room, drawn, (10, 30) if options.quick else (10, 100, 1000))]
        parts += [sample(room), zones(room, drawn, (3, 12) if options.quick else (3, 12, 100))]
    text = "\n".join(parts)
    print(text)
    if options.write:
        page = PAGE.read_text(encoding="utf-8")
        PAGE.write_text(
            page.split(BEGIN)[0] + BEGIN + "\n" + text + "\n" + END + page.split(END)[1], encoding="utf-8"
        )


if __name__ == "__main__":
    main()

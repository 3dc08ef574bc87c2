"""Faults of one line, planted one at a time: do the tests see them?

Each mutant names a file of the package, a piece of it that occurs there once, what is put in its place, and the tests
that should fail. Run it from anywhere; it works on copies of the checkout and changes nothing:

    python tests/mutants.py                 # all of them, two at a time
    python tests/mutants.py --only folder   # those whose file or text holds a word
    python tests/mutants.py --check         # only whether every piece still occurs exactly once

A mutant that no test sees is printed as a survivor, and the run ends with exit code 1.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import SimpleQueue
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = Path("coverage/swardmark")
TIMEOUT_S = 300


class Mutant(NamedTuple):
    """One planted fault: where, what is replaced by what, and which tests should see it."""

    file: str
    old: str
    new: str
    tests: str


COVER_TESTS = "tests/canopy/test_cover.py tests/published/test_gap_fraction.py"
STATUS_TESTS = "tests/forecast"
MUTANTS: tuple[Mutant, ...] = (
    # files and names
    Mutant("common/files.py", "FILE_MODE = 0o666", "FILE_MODE = 0o777", "tests/common"),
    Mutant("common/files.py", "os.fsync(file.fileno())", "file.fileno()", "tests/common"),
    Mutant("common/files.py", "part.unlink(missing_ok=True)", "pass", "tests/common"),
    Mutant(
        "common/files.py",
        "            if time.time() - part.stat().st_mtime > OLDEST_PART_S or _writer_is_gone(part.name):",
        "            if True:",
        "tests/common tests/reliability/test_interrupted_runs.py",
    ),
    Mutant(
        "common/files.py",
        "        os.link(part, path)\n",
        "        part.replace(path)\n",
        "tests/reliability/test_writers_at_once.py",
    ),
    Mutant(
        "common/files.py",
        "[:-MOST_BACKUPS]:",
        "[MOST_BACKUPS:]:",
        "tests/reliability/test_writers_at_once.py",
    ),
    Mutant("lawn/folder.py", "if file.point == self._point", "if True", "tests/lawn/test_folder.py"),
    Mutant(
        "measure/survey.py",
        "            if not result[0].is_passing:",
        "            if True:",
        "tests/reliability/test_passing_failures.py",
    ),
    Mutant(
        "record/place.py",
        "    if owner != 0 or foreign:",
        "    if owner != 0:",
        "tests/reliability/test_strangers_folder.py",
    ),
    Mutant(
        "common/text.py",
        '.lstrip("\'").startswith(FORMULA_STARTS) else text',
        '.startswith("none") else text',
        "tests/common/test_text.py",
    ),
    Mutant(
        "common/text.py",
        'FORMULA_STARTS = ("=", "+", "-",',
        'FORMULA_STARTS = ("=", "+",',
        "tests/common/test_text.py",
    ),
    Mutant("common/text.py", '"@", "\\t", "\\r"', '"@", "\\r"', "tests/common/test_text.py"),
    Mutant(
        "lawn/editing.py",
        "return plain_cell(text) if name in TEXT_COLUMNS else text",
        "return text",
        "tests/words/test_tables.py tests/lawn/test_editing.py",
    ),
    # units
    Mutant(
        "common/units.py",
        "math.floor(leaf_mm / step + 1e-6)",
        "math.ceil(leaf_mm / step + 1e-6)",
        "tests/common/test_units.py",
    ),
    Mutant(
        "common/units.py",
        "Fraction(round(inches * 16), 16)",
        "Fraction(round(inches * 8), 8)",
        "tests/common/test_units.py",
    ),
    Mutant(
        "common/numbers.py",
        "if bottom else math.nan",
        "if True else math.nan",
        "tests/common/test_numbers.py",
    ),
    Mutant("common/numbers.py", "[1-9][0-9]{0,2}(?:,", "[0-9]{1,3}(?:,", "tests/common/test_numbers.py"),
    # photo
    Mutant(
        "photo/header.py",
        "_exif_date(tags.get(DATE_ORIGINAL)) or _exif_date(tags.get(DATE_DIGITIZED))",
        "_exif_date(tags.get(DATE_DIGITIZED)) or _exif_date(tags.get(DATE_ORIGINAL))",
        "tests/photo",
    ),
    Mutant(
        "photo/header.py",
        "if orientation not in range(1, 9):",
        "if False:",
        "tests/photo tests/reliability/test_hostile_photos.py",
    ),
    Mutant(
        "photo/header.py",
        'data.rfind(b"\\xff\\xd9", end) > 0',
        "True",
        "tests/photo tests/reliability/test_hostile_photos.py",
    ),
    Mutant("photo/day.py", "dt.timedelta(days=2)", "dt.timedelta(days=2000)", "tests/photo"),
    Mutant(
        "photo/header.py",
        "width * height > MOST_PIXELS",
        "False",
        "tests/photo tests/reliability/test_hostile_photos.py",
    ),
    Mutant(
        "photo/location.py",
        "        if kind in KEPT_CHUNKS:",
        "        if True:",
        "tests/reliability/test_private_place.py",
    ),
    Mutant(
        "photo/location.py",
        "        if marker == COMMENT or (",
        "        if (",
        "tests/reliability/test_private_place.py",
    ),
    # canopy
    Mutant(
        "canopy/index.py",
        "DARKEST_READABLE = 30",
        "DARKEST_READABLE = 5",
        "tests/canopy tests/photo/test_fitness.py",
    ),
    Mutant("canopy/white.py", "LARGEST_GAIN = 1.15", "LARGEST_GAIN = 5.0", "tests/canopy/test_white.py"),
    Mutant(
        "canopy/blades.py",
        "SLANT_POWER, SLANT_POWER_SD = 0.7,",
        "SLANT_POWER, SLANT_POWER_SD = 0.5,",
        COVER_TESTS,
    ),
    Mutant(
        "canopy/cover.py", "4 * seen * (1 - seen)), unread / 3)", "4 * seen * (1 - seen)), 0.0)", COVER_TESTS
    ),
    Mutant("canopy/cover.py", "hidden = 1.96 * HIDDEN_GAPS_SD * seen**2", "hidden = 0.0", COVER_TESTS),
    Mutant("canopy/straight.py", "1.96 * UNREAD_SHARE * unread", "0.0", "tests/canopy/test_straight.py"),
    # the keeper's word
    Mutant(
        "measure/survey.py",
        "if marks is not None and marks.taken_at is not None:",
        "if False:",
        "tests/measure/test_survey.py",
    ),
    Mutant(
        "measure/survey.py",
        "opencv_version(), self.side_m, self.mark_mm, shaping",
        "opencv_version(), self.mark_mm, shaping",
        "tests/measure/test_survey.py",
    ),
    Mutant("lawn/readings.py", "return word in YES", "return word in NO", "tests/lawn/test_readings.py"),
    Mutant(
        "lawn/readings.py",
        'entry.what in ("watered", "rain")',
        'entry.what in ("watered",)',
        "tests/lawn/test_readings.py",
    ),
    Mutant("lawn/tables.py", "inches * 25.4", "inches * 25", "tests/lawn/test_readings.py"),
    Mutant("lawn/tables.py", 'text.replace(",", ".")', 'text.replace(",", "")', "tests/lawn"),
    Mutant(
        "lawn/weather.py",
        'return value if unit == "C" else (value - 32.0) / 1.8',
        "return value",
        "tests/lawn/test_weather.py",
    ),
    Mutant(
        "lawn/weather.py",
        'element not in ("TMIN", "TMAX") or flag or',
        'element not in ("TMIN", "TMAX") or',
        "tests/lawn/test_weather.py",
    ),
    Mutant(
        "lawn/weather.py",
        "low, high = np.maximum(low, base), np.maximum(high, base)",
        "pass",
        "tests/published/test_growing_degree_days.py",
    ),
    Mutant(
        "lawn/counts.py",
        'if is_sheet and "said" not in line.cells:',
        "if False:",
        "tests/lawn/test_counts.py",
    ),
    # ground
    Mutant("ground/plane.py", "(total - gap, 0)", "(total + gap, 0)", "tests/ground/test_plane.py"),
    Mutant(
        "ground/sampling.py",
        "min(height * float",
        "max(height * float",
        "tests/ground/test_plane.py",
    ),
    Mutant(
        "ground/sampling.py",
        "axis=-1)) <= max_footprint_mm)",
        "axis=-1)) <= 100 * max_footprint_mm)",
        "tests/ground/test_plane.py",
    ),
    Mutant(
        "ground/marks.py",
        "MOST_GUESS_SHARE = 0.006",
        "MOST_GUESS_SHARE = 0.6",
        "tests/ground/test_corner_marks.py",
    ),
    Mutant("ground/marks.py", "if len(squares) > 1:", "if False:", "tests/ground/test_corner_marks.py"),
    Mutant(
        "ground/trust.py",
        "PITCH_DEG = (10.0, 90.0)",
        "PITCH_DEG = (-90.0, 90.0)",
        "tests/ground/test_trust.py",
    ),
    Mutant(
        "ground/trust.py",
        "HEIGHT_M = (0.4, 6.0)",
        "HEIGHT_M = (0.0, 60.0)",
        "tests/ground/test_trust.py",
    ),
    Mutant(
        "ground/trust.py",
        "if (corners < -0.5).any() or (corners > np.array(size) - 0.5).any():",
        "if False:",
        "tests/ground/test_trust.py",
    ),
    Mutant(
        "ground/background.py",
        "near.append(np.clip((wall @ ray[:, :2].T)[..., None], from_ground, nearest))",
        "near.append(from_ground)",
        "tests/ground/test_valley.py",
    ),
    # eye
    Mutant(
        "measure/eye.py",
        "gap += share * float(gaps.mean())",
        "gap += float(gaps.mean()) / len(STRATA)",
        "tests/measure/test_eye.py",
    ),
    Mutant("measure/eye.py", "(1 - len(told) / size[name])", "1.0", "tests/measure/test_eye.py"),
    Mutant("measure/eye.py", "cover = (cover - error) / straight", "pass", "tests/measure/test_eye.py"),
    # forecast
    Mutant(
        "bank/curves.py",
        "np.exp(-scale * _power(day, t50_days, power))",
        "np.exp(-scale * _power(day, t50_days, 1.0))",
        "tests/forecast/test_curves.py tests/published",
    ),
    Mutant("forecast/timeaxis.py", "np.ceil(day - 1e-6)", "np.floor(day - 1e-6)", "tests/forecast"),
    Mutant(
        "forecast/timeaxis.py",
        "return np.clip(rate, LEAST_RATE, MOST_RATE)",
        "return rate",
        "tests/forecast",
    ),
    Mutant("forecast/timeaxis.py", "(20.0, 24.0, 0.0, 32.0)", "(20.0, 24.0, 0.0, None)", "tests/forecast"),
    Mutant(
        "forecast/status.py",
        "NOT_FILLING = (0.25, 0.5)",
        "NOT_FILLING = (0.25, 0.3)",
        STATUS_TESTS,
    ),
    Mutant("forecast/status.py", "FLAG_PHOTOS = 4", "FLAG_PHOTOS = 3", STATUS_TESTS),
    Mutant(
        "forecast/status.py",
        "NOISE_PCT, FULL_SLACK_PCT = 5.0, 3.0",
        "NOISE_PCT, FULL_SLACK_PCT = 5.0, 30.0",
        STATUS_TESTS,
    ),
    Mutant("forecast/weigh.py", "CONFIRM_SHARE = 0.015", "CONFIRM_SHARE = 0.15", STATUS_TESTS),
    Mutant("forecast/weigh.py", "self.trust < 0.5", "self.trust < 0.95", STATUS_TESTS),
    Mutant("forecast/total.py", "known < 0.5 * name.area_m2", "known < 0.05 * name.area_m2", STATUS_TESTS),
    # the first mow
    Mutant(
        "mowing/firstmow.py",
        'return covered and height.state != "not met" and all(',
        'return covered or height.state != "not met" and all(',
        "tests/mowing",
    ),
    Mutant("mowing/firstmow.py", 'height.state != "not met" and all(', "all(", "tests/mowing"),
    Mutant("mowing/firstmow.py", "if self.chance >= LIKELY else", "if True else", "tests/mowing"),
    Mutant(
        "mowing/firstmow.py",
        'return all(check.state != "not met" for check in looks)',
        "return True",
        "tests/mowing",
    ),
    Mutant("forecast/total.py", "row[:] = 0.0", "row[:] = np.inf", "tests/mowing/test_firstmow.py"),
    Mutant(
        "forecast/total.py",
        "np.mean(reached <= frame.axis.model_day(end))",
        "np.isfinite(reached).mean()",
        "tests/mowing/test_firstmow.py",
    ),
    Mutant(
        "mowing/parts.py",
        "ready=zone.cover_pct >= gate_pct",
        "ready=zone.cover_pct >= 0.5 * gate_pct",
        "tests/mowing",
    ),
    Mutant(
        "mowing/checks.py", "good = all(r.firm for", "good = any(r.firm for", "tests/mowing/test_firstmow.py"
    ),
    Mutant("mowing/checks.py", "READING_DAYS = 7", "READING_DAYS = 70", "tests/mowing/test_firstmow.py"),
    Mutant("mowing/third.py", "ONE_THIRD = 1.0 / 3.0", "ONE_THIRD = 0.5", "tests/mowing"),
    Mutant("mowing/third.py", "highest_leaf(cut_mm) + RULER_MM", "2 * highest_leaf(cut_mm)", "tests/mowing"),
    # budget and seasons
    Mutant(
        "relevel/budget.py",
        "math.ceil(volume / unit - TINY) * unit if unit else volume",
        "volume",
        "tests/relevel/test_budget.py",
    ),
    Mutant("relevel/budget.py", "deliveries * budget.delivery_price", "0.0", "tests/relevel/test_budget.py"),
    Mutant(
        "relevel/seasons.py",
        "if old.polygon.intersection(ground).area < SEEN_SHARE * old.area_m2:",
        "if False:",
        "tests/relevel/test_seasons.py",
    ),
    Mutant(
        "relevel/seasons.py",
        "SAME_PLACE_SHARE = 0.25",
        "SAME_PLACE_SHARE = 0.9",
        "tests/relevel/test_seasons.py",
    ),
    Mutant(
        "relevel/spots.py",
        "series = straight_down(seen, float(view_deg[region].mean()), power=ground.slant)",
        "series = seen",
        "tests/relevel/test_spots.py",
    ),
    Mutant("relevel/cells.py", "LATE_DAYS = 7.0", "LATE_DAYS = 70.0", "tests/relevel/test_spots.py"),
    Mutant("relevel/cells.py", "LEAST_DROP = 0.10", "LEAST_DROP = 0.01", "tests/relevel/test_spots.py"),
    Mutant(
        "relevel/borders.py",
        "if share <= CUT_OFF_SHARE and meters < CUT_OFF_M:",
        "if True:",
        "tests/relevel/test_borders.py",
    ),
    Mutant(
        "relevel/borders.py", "np.sort(leaf)[-2:][0] < SOME_LEAF and", "", "tests/relevel/test_borders.py"
    ),
)


def faults_of_the_list(mutants: tuple[Mutant, ...], root: Path = ROOT) -> list[str]:
    """Return a line for each mutant whose piece does not occur exactly once in its file, or whose tests are missing."""
    lines = []
    for mutant in mutants:
        path = root / PACKAGE / mutant.file
        count = path.read_text().count(mutant.old) if path.is_file() else 0
        if count != 1:
            lines.append(f"{mutant.file}: {mutant.old!r} occurs {count} times")
        missing = [name for name in mutant.tests.split() if not (root / name.partition("::")[0]).exists()]
        lines += [f"{mutant.file}: no {name}" for name in missing]
    return lines


def survives(mutant: Mutant, copy: Path) -> bool:
    """Plant a fault in a copy of the checkout, run its tests there, take the fault out again."""
    path = copy / PACKAGE / mutant.file
    whole = path.read_text()
    path.write_text(whole.replace(mutant.old, mutant.new))
    words = [
        sys.executable,
        "-m",
        "pytest",
        "-n",
        "0",
        "-x",
        "-q",
        "-p",
        "no:cacheprovider",
        *mutant.tests.split(),
    ]
    environment = {**os.environ, "PYTHONPATH": str(copy / "coverage"), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(words, cwd=copy, env=environment, capture_output=True, timeout=TIMEOUT_S)
    except subprocess.TimeoutExpired:
        return False
    finally:
        path.write_text(whole)
    if done.returncode not in (0, 1):
        raise RuntimeError(f"the tests of {mutant.file} did not run:\n{done.stdout.decode()[-2000:]}")
    return done.returncode == 0


def surviving(mutants: list[Mutant], *, workers: int = 2) -> list[Mutant]:
    """Plant every fault in turn, on as many copies of the checkout as there are workers."""
    with tempfile.TemporaryDirectory() as room:
        copies: SimpleQueue[Path] = SimpleQueue()
        for number in range(workers):
            copy = Path(room) / str(number)
            ignored = shutil.ignore_patterns(
                ".git", ".venv*", ".*_cache", "__pycache__", "out", "record.sqlite*"
            )
            shutil.copytree(ROOT, copy, ignore=ignored)
            copies.put(copy)

        def judged(mutant: Mutant) -> bool:
            copy = copies.get()
            try:
                alive = survives(mutant, copy)
            finally:
                copies.put(copy)
            print(
                f"{'SURVIVES' if alive else 'seen':9} {mutant.file}: {mutant.old!r} -> {mutant.new!r}",
                flush=True,
            )
            return alive

        with ThreadPoolExecutor(workers) as pool:
            alive = list(pool.map(judged, mutants))
    return [mutant for mutant, lives in zip(mutants, alive, strict=True) if lives]


def main() -> int:
    """Run the command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", default="", help="a word of the file or of the piece that is replaced")
    parser.add_argument("--check", action="store_true", help="look at the list alone")
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    chosen = [mutant for mutant in MUTANTS if options.only in f"{mutant.file} {mutant.old}"]
    faults = faults_of_the_list(tuple(chosen))
    print("\n".join(faults) or f"{len(chosen)} mutants, each in its place")
    if faults or options.check:
        return bool(faults)
    left = surviving(chosen, workers=options.workers)
    print(f"{len(left)} of {len(chosen)} survive")
    return bool(left)


if __name__ == "__main__":
    sys.exit(main())

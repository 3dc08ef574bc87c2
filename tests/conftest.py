"""What many tests share: the committed sample lawn, and the command line as a function."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from typing import Any

import pytest

from warm import Warm

SLOW = (
    "cli", "docs", "lawns", "page", "practice", "reliability", "relief", "scale", "sheets",
    "canopy/test_drawn_lawns.py",
    "forecast/test_recovery.py::test_intervals_hold_their_promise", "forecast/test_verdict.py::test_a_thousand_zones",
    "ground/test_align.py", "ground/test_corner_marks.py", "ground/test_light_frame.py", "ground/test_ragged.py",
    "ground/test_square_side.py", "ground/test_valley.py",
    "level/test_cutfill.py", "level/test_review.py",
    "measure/test_check.py", "measure/test_eye.py", "measure/test_frame_keeping.py", "measure/test_large_photos.py",
    "measure/test_odd_photos.py", "measure/test_public.py", "measure/test_survey.py", "measure/test_unseen_lawn.py",
    "measure/test_whole_lawn.py",
    "mowing/test_today.py::test_the_lists_of_every_day",
    "photo/test_fitness.py",
    "relevel/test_causes.py::test_no_sand_ever", "relevel/test_spots_end_to_end.py",
    "report/test_figures.py", "report/test_ground_view.py", "report/test_level_map.py", "report/test_pictures.py",
    "report/test_report_browser.py", "report/test_report_html.py",
)  # fmt: skip
"""Folders, files and tests that draw photos, run programs, drive a browser or repeat a fit a hundred times:
`pytest -m "not slow"` leaves them out."""
SAMPLE = Path(__file__).parents[1] / "sample_images" / "tern_cottage"


BROWSER = ("page", "reliability/test_page_attacked.py", "report/test_report_browser.py")
"""Files that mostly wait for a browser or a served page."""


def pytest_configure(config: pytest.Config) -> None:
    """Keep the order below: by itself pytest-xdist begins with the files of most tests, which are the quick ones."""
    config.option.loadscopereorder = False


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the slow tests by where they stand; order the files so that the workers share the machine well.

    Slow files come first, so that all workers end at about one time, and those that wait for a browser take turns with
    those that compute, so that no worker waits while the other does.
    """
    here = Path(__file__).parent
    waiting: dict[Path, None] = {}
    working: dict[Path, None] = {}
    for item in items:
        place = item.path.relative_to(here).as_posix()
        if f"{place}::{item.name}".startswith(SLOW):
            item.add_marker(pytest.mark.slow)
            (waiting if place.startswith(BROWSER) else working)[item.path] = None
    turns = [path for pair in zip_longest(waiting, working) for path in pair if path]
    turn = {path: k for k, path in enumerate(turns)}
    items.sort(key=lambda item: turn.get(item.path, len(turns)))


@dataclass(frozen=True)
class Outcome:
    """What one run of the command line did."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        return json.loads(self.out)


@pytest.fixture(scope="session")
def run():
    """Run the command line in a process of its own: run("measure", folder) -> Outcome; see warm.py."""
    warm = Warm() if hasattr(os, "fork") else None

    def run_it(*words: object, **options: Any) -> Outcome:
        texts = list(map(str, words))
        if warm is not None and not options and "--help" not in texts:
            return Outcome(*warm.run(texts))
        command = [sys.executable, "-m", "swardmark", *texts]
        done = subprocess.run(
            command, capture_output=True, text=True, timeout=120, encoding="utf-8", **options
        )
        return Outcome(done.returncode, done.stdout, done.stderr)

    yield run_it
    if warm is not None:
        warm.close()


@pytest.fixture(scope="session")
def measured_sample(tmp_path_factory, run):
    """The sample lawn, measured once in each test process; treat it as read-only."""
    folder = tmp_path_factory.mktemp("sample") / "tern cottage"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    outcome = run("report", folder, "--quiet")
    assert (outcome.code, outcome.err) == (0, "")
    return folder


@pytest.fixture
def sample(measured_sample, tmp_path):
    """A copy of the measured sample lawn to change."""
    return Path(shutil.copytree(measured_sample, tmp_path / "lawn"))


@pytest.fixture
def unmeasured(tmp_path):
    """A copy of the sample lawn with nothing measured yet, and only its first four photos."""
    folder = Path(
        shutil.copytree(SAMPLE, tmp_path / "lawn", ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    )
    for photo in sorted((folder / "photos").iterdir())[4:]:
        photo.unlink()
    return folder

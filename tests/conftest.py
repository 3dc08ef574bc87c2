"""What many tests share: the committed sample lawn, and the command line as a function."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

SAMPLE = Path(__file__).parents[1] / "sample_images" / "tern_cottage"


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
    """Run the installed command line in a process of its own: run("measure", folder) -> Outcome."""

    def run_it(*words: object, **options: Any) -> Outcome:
        command = [sys.executable, "-m", "swardmark", *map(str, words)]
        done = subprocess.run(
            command, capture_output=True, text=True, timeout=120, encoding="utf-8", **options
        )
        return Outcome(done.returncode, done.stdout, done.stderr)

    return run_it


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

"""What doctor says of libraries that are older than swardmark allows."""

import tomllib
from importlib import metadata
from pathlib import Path

import pytest

from swardmark.cli import doctor


@pytest.mark.parametrize(
    "version, is_well", [("1.26.4", False), ("2.0", True), ("2.0.0", True), ("10.1", True)]
)
def test_a_library_below_its_bound_is_told(monkeypatch, version, is_well):
    monkeypatch.setattr(metadata, "requires", lambda name: ["numpy>=2.0", "nicegui>=3.8; extra == 'page'"])
    monkeypatch.setattr(doctor, "_version", lambda name: version if name == "numpy" else "999")
    line = next(line for line in doctor.examine() if line.name == "numpy")
    assert line.is_well is is_well
    assert ("numpy>=2.0" in line.detail) is not is_well


def test_every_needed_library_has_a_lowest_version():
    declared = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())["project"][
        "dependencies"
    ]
    assert sorted([*doctor.NEEDED, "opencv-python"]) == sorted(need.partition(">=")[0] for need in declared)
    assert len(doctor.lowest_versions()) > len(doctor.NEEDED)

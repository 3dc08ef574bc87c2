"""The house itself: folders, packaging, sizes, the import contract, the public names and the command list."""

from __future__ import annotations

import ast
import importlib
import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import swardmark

ROOT = Path(__file__).parents[1]
SOURCES = sorted((ROOT / "coverage" / "swardmark").rglob("*.py"))
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "coverage",
    "tests",
    "sample_images",
    "docs",
}


def test_coverage_is_a_source_root_and_never_a_package():
    """With an __init__.py the folder would shadow the test-coverage library of the same name."""
    assert not (ROOT / "coverage" / "__init__.py").exists()
    library = importlib.import_module("coverage")
    assert hasattr(library, "Coverage")
    assert "site-packages" in str(library.__file__)


def test_the_sources_are_not_ignored_by_git():
    ignored = (ROOT / ".gitignore").read_text().splitlines()
    assert not [line for line in ignored if line.strip().strip("/") == "coverage"]


def test_the_wheel_takes_the_package_from_the_source_root():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    assert project["tool"]["hatch"]["build"]["targets"]["wheel"]["packages"] == ["coverage/swardmark"]
    home = Path(swardmark.__file__).parent
    assert home.name == "swardmark"


def test_dependencies_have_lower_bounds_only():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    extras = [need for group in project["optional-dependencies"].values() for need in group]
    for need in [*project["dependencies"], *extras]:
        assert re.fullmatch(r"[a-z0-9-]+(\[[a-z0-9,]+\])?>=[\d.]+", need), need


def test_nothing_else_lies_at_the_top():
    files = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if files.returncode:
        pytest.skip("not a git checkout")
    names = {line.split("/")[0] for line in files.stdout.splitlines()}
    assert {name for name in names if not name.startswith(".")} <= TOP_LEVEL


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: p.relative_to(ROOT / "coverage").as_posix())
def test_a_module_is_short_and_says_what_it_is_for(path):
    text = path.read_text()
    assert len(text.splitlines()) <= 350
    assert ast.get_docstring(ast.parse(text)), "no module docstring"


def test_the_import_contract_is_kept():
    done = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout


def test_no_module_reads_pixels_but_decode():
    """Orientation, channel order and refusals live in one place: elsewhere no picture file is decoded."""
    for path in SOURCES:
        inside = path.relative_to(ROOT / "coverage/swardmark").as_posix()
        if inside != "photo/decode.py":
            assert not re.search(r"\b(imdecode|imread)\(", path.read_text()), inside


def test_public_names():
    assert swardmark.__all__ == sorted(swardmark.__all__, key=lambda n: (n.islower(), n))
    assert len(swardmark.__all__) <= 22
    for name in swardmark.__all__:
        assert getattr(swardmark, name).__doc__, name
    with pytest.raises(AttributeError):
        swardmark.nothing_of_the_kind  # noqa: B018


def test_importing_swardmark_loads_no_slow_library():
    slow = ["cv2", "scipy", "pandas", "matplotlib", "skimage", "shapely", "pydantic", "PIL"]
    code = f"import sys, json, swardmark, swardmark.cli.app; print(json.dumps([m for m in {slow} if m in sys.modules]))"
    environment = {key: value for key, value in os.environ.items() if not key.startswith("COV")}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment
    )
    assert json.loads(done.stdout) == []


def test_the_version_stands_in_one_tongue():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert project["version"] == swardmark.__version__
    assert f"## {swardmark.__version__}" in (ROOT / "docs" / "CHANGELOG.md").read_text()

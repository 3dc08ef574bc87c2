"""The house itself: folders, packaging, sizes, the import contract, the public names and the command list."""

from __future__ import annotations

import ast
import functools
import graphlib
import importlib
import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.version import Version

import swardmark

ROOT = Path(__file__).parents[1]
FUNCTION = (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)
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


def test_a_room_has_at_most_fifteen_modules():
    """Modules are counted with those of inner rooms; an empty __init__.py is none."""
    rooms: dict[str, list[str]] = {}
    for path in SOURCES:
        room = path.relative_to(ROOT / "coverage" / "swardmark").parent.as_posix()
        if path.name != "__init__.py":
            rooms.setdefault(room, []).append(path.stem)
    assert {room: len(modules) for room, modules in rooms.items() if len(modules) > 15} == {}


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT / "coverage").with_suffix("").parts).removesuffix(".__init__")


MODULES = {module_name(path): path for path in SOURCES}


@functools.cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text())


def imports_of(tree: ast.AST) -> list[tuple[int, str]]:
    """Return (line, module) of all that is imported anywhere below a node, but for imports that only types need."""
    for_types = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        for inner in ast.walk(node)
    }
    found = []
    for node in ast.walk(tree):
        if id(node) in for_types:
            continue
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [f"{node.module}.{alias.name}" for alias in node.names]
            found += [(node.lineno, name if name in MODULES else str(node.module)) for name in names]
    return found


def test_no_modules_import_each_other_in_a_circle():
    """Imports inside functions count, too."""
    needs = {
        name: {to for _, to in imports_of(tree_of(path)) if to in MODULES and to != name}
        for name, path in MODULES.items()
    }
    tuple(graphlib.TopologicalSorter(needs).static_order())


SLOW_OR_EXTRA = {
    "PIL", "cv2", "dask", "distributed", "fsspec", "fastapi", "jinja2", "markupsafe", "matplotlib", "mpl_toolkits",
    "nicegui", "openpyxl", "pandas", "pillow_heif", "pyarrow", "rich", "scipy", "segno", "shapely", "simplejpeg",
    "skimage", "tomlkit", "uvicorn", "cryptography", "msgpack",
}  # fmt: skip
OF_ONE_SYSTEM = {"fcntl", "msvcrt"}
LATE_FOR_A_REASON = {
    "page/server.py": "NiceGUI reads the folder for its storage when it is imported",
    "scale/cluster.py": "the function is sent to a worker, which may lack swardmark",
}


def test_only_slow_libraries_and_extras_are_imported_inside_functions():
    """The command line imports its commands' rooms when they run, so that `--help` answers at once."""
    late = []
    for path in SOURCES:
        inside = path.relative_to(ROOT / "coverage/swardmark").as_posix()
        if inside.startswith("cli/") or inside in LATE_FOR_A_REASON:
            continue
        functions = [node for node in ast.walk(tree_of(path)) if isinstance(node, FUNCTION)]
        within = {line for node in functions for line in range(node.lineno, (node.end_lineno or 0) + 1)}
        late += [
            f"{inside}:{line}: {module}"
            for line, module in imports_of(tree_of(path))
            if line in within and module.partition(".")[0] not in SLOW_OR_EXTRA | OF_ONE_SYSTEM
        ]
    assert late == []


STRICT_ROOMS = {"common", "photo", "ground", "canopy", "record", "measure", "trial"}


def test_the_measuring_rooms_are_typed_as_strictly_as_mypy_can():
    """Every flag that `mypy --strict` stands for is on, for the house or for these rooms; mypy runs with the checks."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["mypy"]
    strict = next(part for part in settings["overrides"] if "swardmark.common.*" in part["module"])
    assert {f"swardmark.{room}.*" for room in STRICT_ROOMS} <= set(strict["module"])
    words = subprocess.run(
        [sys.executable, "-m", "mypy", "--help"], capture_output=True, text=True, check=True
    )
    told = words.stdout.partition("enables the following flags:")[2].partition("--disable-error-code")[0]
    flags = re.findall(r"--([a-z-]+)", re.sub(r"-\s+", "-", told))
    assert len(flags) > 10
    for flag in flags:
        name, wanted = (flag.removeprefix("no-"), False) if flag.startswith("no-") else (flag, True)
        assert {**settings, **strict}.get(name.replace("-", "_")) is wanted, flag


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


def test_every_planted_fault_still_has_its_place():
    """See tests/mutants.py: a fault whose text is gone from the code would be seen by no test and by no one."""
    words = [sys.executable, ROOT / "tests" / "mutants.py", "--check"]
    done = subprocess.run(words, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


def test_the_version_stands_in_one_tongue():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert project["version"] == swardmark.__version__
    assert f"## {swardmark.__version__}" in (ROOT / "docs" / "CHANGELOG.md").read_text()


@pytest.mark.parametrize("name", ["locked.txt", "locked-lowest.txt"])
def test_what_the_checks_install_is_locked_by_hashes(name):
    """Every dependency of the package and of its tests stands in the list, each with a SHA-256; .ci/lock writes it."""
    text = (ROOT / ".ci" / name).read_text()
    locked = {}
    for entry in re.split(r"\n(?=\S)", text.strip()):
        pin = re.match(r"([\w.-]+)==(\S+)", entry)
        assert pin and "--hash=sha256:" in entry, entry[:60]
        locked.setdefault(pin[1].lower().replace("_", "-"), []).append(Version(pin[2]))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = project["dependencies"] + (
        project["optional-dependencies"]["test"] if name == "locked.txt" else []
    )
    for line in wanted:
        wish = re.match(r"([\w.-]+)(?:\[.*\])?>=([\w.]+)", line)
        assert wish and wish[1].lower() in locked, f"{line}: run .ci/lock"
        if name == "locked-lowest.txt":
            assert Version(wish[2]) in locked[wish[1].lower()], f"{line}: run .ci/lock"

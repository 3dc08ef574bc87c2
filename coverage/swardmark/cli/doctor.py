"""Versions and libraries, and what is missing: the facts that a bug report needs."""

from __future__ import annotations

import importlib
import platform
import re
import sys
from dataclasses import dataclass
from importlib import metadata

from swardmark._version import __version__
from swardmark.cli import sentences

NEEDED = (
    "numpy", "scikit-image", "scipy", "pandas", "matplotlib", "pillow", "pillow-heif", "pydantic", "shapely", "jinja2",
    "typer", "rich", "simplejpeg",
)  # fmt: skip
OPTIONAL = (("nicegui", "page"), ("distributed", "cluster"), ("pyarrow", "parquet"), ("openpyxl", "xlsx"))
OPENCV_WHEELS = (
    "opencv-python", "opencv-python-headless", "opencv-contrib-python", "opencv-contrib-python-headless",
)  # fmt: skip


@dataclass(frozen=True)
class HealthLine:
    """One thing that was looked at."""

    name: str
    detail: str
    is_well: bool = True
    is_needed: bool = True


def examine() -> list[HealthLine]:
    """Look at the interpreter, the libraries and the OpenCV wheels."""
    lines = [
        HealthLine("swardmark", __version__),
        HealthLine(
            "Python", sentences.PYTHON_ON.format(version=sys.version.split()[0], system=platform.platform())
        ),
        _opencv(),
    ]
    lines += [_library(name, needed=True, extra="") for name in NEEDED]
    lines += [_library(name, needed=False, extra=extra) for name, extra in OPTIONAL]
    return lines


def lowest_versions() -> dict[str, str]:
    """Return the lowest version of each library, by name, as the installed swardmark declares them."""
    try:
        declared = metadata.requires("swardmark") or ()
    except metadata.PackageNotFoundError:
        return {}
    bounds = (re.match(r"([\w.-]+)(?:\[[^]]*\])?\s*>=\s*([\w.]+)", line) for line in declared)
    return {bound[1].lower(): bound[2] for bound in bounds if bound}


def _numbers(version: str) -> tuple[int, ...]:
    """Return a version's release numbers; what follows them (rc1, .post2, +local) is left out."""
    release = re.match(r"\d+(?:\.\d+)*", version)
    numbers = [int(part) for part in release[0].split(".")] if release else []
    while numbers and numbers[-1] == 0:
        numbers.pop()
    return tuple(numbers)


def _opencv() -> HealthLine:
    wheels = [name for name in OPENCV_WHEELS if _version(name)]
    try:
        version = importlib.import_module("cv2").__version__
    except ImportError as error:
        reason = sentences.OPENCV_SYSTEM if ".so" in str(error) else sentences.OPENCV_MISSING
        return HealthLine("OpenCV", reason.format(error=error), is_well=False)
    if len(wheels) > 1:
        detail = sentences.OPENCV_TWICE.format(wheels=" and ".join(wheels))
        return HealthLine("OpenCV", detail, is_well=False)
    lowest = lowest_versions().get("opencv-python")
    if lowest and _numbers(version) < _numbers(lowest)[:3]:
        detail = sentences.LIBRARY_OLD.format(version=version, lowest=lowest, package="opencv-python")
        return HealthLine("OpenCV", detail, is_well=False)
    origin = wheels[0] if wheels else sentences.OPENCV_NO_WHEEL
    return HealthLine("OpenCV", sentences.OPENCV_FROM.format(version=version, origin=origin))


def _library(name: str, *, needed: bool, extra: str) -> HealthLine:
    version, lowest = _version(name), lowest_versions().get(name)
    if version and lowest and _numbers(version) < _numbers(lowest):
        detail = sentences.LIBRARY_OLD.format(version=version, lowest=lowest, package=name)
        return HealthLine(name, detail, is_well=False, is_needed=needed)
    if version:
        return HealthLine(name, version, is_needed=needed)
    package = f"'swardmark[{extra}]'" if extra else name
    return HealthLine(name, sentences.LIBRARY_ABSENT.format(package=package), is_well=False, is_needed=needed)


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None

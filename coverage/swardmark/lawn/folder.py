"""The lawn folder: beginning one, and copying photos into it without losing or doubling any."""

from __future__ import annotations

import contextlib
import datetime as dt
import itertools
import json
import re
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from swardmark.common.errors import FileError, NoDate, PhotoRefused, SwardmarkError, UsageError
from swardmark.common.files import write_new, write_whole
from swardmark.lawn.lock import files_lock, sweep_all
from swardmark.lawn.marks import PhotoMarks, write_marks
from swardmark.lawn.photos import MAIN_POINT, PHOTO_SUFFIXES, RELIEF_FOLDER, names_spoken_of
from swardmark.lawn.toml import LAWN_FILE, Lawn, PhotoPoint, parse_lawn
from swardmark.photo.day import is_to_come, usable_moment
from swardmark.photo.decode import digest_of, read_bytes
from swardmark.photo.header import Header, kind_of, read_header
from swardmark.photo.location import without_place

LONGEST_NAME_BYTES = 120
SUFFIX_OF_KIND = {"JPEG": ".jpg", "PNG": ".png", "TIFF": ".tif", "WebP": ".webp", "HEIC": ".heic"}

_TEMPLATE = """\
# The lawn, as its keeper describes it. Change it with any text editor; swardmark only reads it.
# {measures}

name = {name}
grass = {grass}          # zoysiagrass, bermudagrass, tall fescue, ... or "other warm-season", "other cool-season"
units = {units}              # what reports show: "metric" or "us"
square_side_m = {side}         # side of the reference square, from outer black corner to outer black corner
{frost}{area}
{leveling}
# Parts of the lawn to be watched, as outlines in {length} on the ground. The origin is the square's corner mark 0 (near
# left, seen from where you stand), x runs to mark 1 (near right), y to mark 3 (far left). Without zones the ground
# around the square is measured as named patches.
# [[zone]]
# name = "by the path"
# {outline}

[mowing]
{heights}
[outlook]
first_mow_cover_pct = 70     # cover at which the first mow is considered: swardmark's own rule, no published one exists
ready_ground_pct = 60        # share of the ground that must have it

[sand]
{sand}"""
_MEASURES = {
    "metric": "Lengths on the ground are meters, depths and heights millimeters, days are written 2026-06-03.",
    "us": "Names that end in _ft, _in, _sqft, _lb or per_yard take US units. Days are written 2026-06-03.",
}
_FROST = (
    "first_frost = {frost}       # usual day of the first frost: no leveling in the eight weeks before it\n"
)
_NO_FROST = (
    '# first_frost = "10-25"       # usual day of the first frost: no leveling in the eight weeks before it\n'
)
_LENGTH = {"metric": "meters", "us": "feet"}
_OUTLINE = {
    "metric": "outline_m = [[1.2, 0.0], [2.2, 0.0], [2.2, 1.5], [1.2, 1.5]]",
    "us": "outline_ft = [[4, 0], [7, 0], [7, 5], [4, 5]]",
}
_AREA = {
    "metric": "# area_m2 = 140              # the whole lawn, for its sand\n",
    "us": "# area_sqft = 1500           # the whole lawn, for its sand\n",
}
_HEIGHTS = {
    "metric": """\
# usual_height_mm = 40       # height of cut before the leveling
# target_height_mm = 25      # height of cut for the first mow after it
# scalp_height_mm = 15       # lowest cut, just before the sand; only grasses with rhizomes are scalped
# notch_mm = 6               # one notch of your mower
""",
    "us": """\
# usual_height_in = 1.5      # height of cut before the leveling
# target_height_in = 1       # height of cut for the first mow after it
# scalp_height_in = 0.5      # lowest cut, just before the sand; only grasses with rhizomes are scalped
# notch_in = 0.25            # one notch of your mower
""",
}
_SAND = {
    "metric": """\
pass_depth_mm = 6            # depth of one pass; leaf tips must stay visible
# price_per_m3 = 60
# currency = "EUR"
# payload_kg = 700           # what your vehicle may carry: the label on its door frame
""",
    "us": """\
pass_depth_in = 0.25         # depth of one pass; leaf tips must stay visible
# price_per_yard = 45
# payload_lb = 1500          # what your vehicle may carry: the label on its door frame
""",
}
_LEVELED = "[[leveling]]\ndate = {date}\n# {depth}            # mean depth of sand that was spread\n"
_DEPTH = {"metric": "depth_mm = 6", "us": "depth_in = 0.25"}
_NOT_LEVELED = (
    "# [[leveling]]\n# date = 2026-06-03         # the day the sand was spread: days are counted from it\n"
)


@dataclass(frozen=True)
class Added:
    """What became of the photos that were to be added; `redated` are those known already whose day was changed."""

    added: tuple[str, ...]
    known: tuple[str, ...]
    refused: tuple[PhotoRefused, ...]
    redated: tuple[str, ...] = ()


def start_lawn(
    folder: Path,
    *,
    name: str | None = None,
    square_side_m: float = 1.0,
    grass: str = "other warm-season",
    leveled: dt.date | None = None,
    units: str = "metric",
    first_frost: str | None = None,
    check: Callable[[Lawn], None] | None = None,
) -> Lawn:
    """Make a lawn folder with a commented lawn.toml and an empty photos folder.

    `check` sees the lawn before anything is written, and may refuse it.

    Raises
    ------
    UsageError
        There is a lawn already, or a value cannot be used.
    """
    path = folder / LAWN_FILE
    _check_free(path)
    if folder.exists() and not folder.is_dir():
        raise UsageError("is a file, not a folder", where=str(folder), remedy="Choose another name")
    shown = "us" if units == "us" else "metric"
    text = _TEMPLATE.format(
        name=json.dumps(name or folder.resolve().name, ensure_ascii=False),
        grass=json.dumps(grass),
        units=json.dumps(units),
        side=square_side_m,
        frost=_FROST.format(frost=json.dumps(first_frost)) if first_frost else _NO_FROST,
        area=_AREA[shown],
        measures=_MEASURES[shown],
        length=_LENGTH[shown],
        outline=_OUTLINE[shown],
        heights=_HEIGHTS[shown],
        sand=_SAND[shown],
        leveling=_LEVELED.format(date=leveled, depth=_DEPTH[shown]) if leveled else _NOT_LEVELED,
    )
    try:
        lawn = parse_lawn(text, folder=folder)
    except FileError as error:
        raise UsageError(error.what, remedy=error.remedy.removesuffix(" and save the file")) from None
    if check is not None:
        check(lawn)
    try:
        (folder / "photos").mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(
            f"cannot be made ({error.strerror})", where=str(folder), remedy="Choose another folder"
        ) from None
    with files_lock(folder):
        _check_free(path)
        write_whole(path, text)
    return lawn


def add_photos(
    lawn: Lawn,
    paths: Sequence[Path],
    *,
    point: str = MAIN_POINT,
    date: dt.datetime | None = None,
    strip_gps: bool = False,
) -> Added:
    """Copy photos into the lawn's folder; one that is there already, under whatever name, is not copied again.

    Parameters
    ----------
    lawn : Lawn
        The lawn to add to.
    paths : sequence of Path
        Photos, or folders of photos.
    point : str
        The photo point that they were taken from.
    date : datetime, optional
        The day they were taken, over what the files say; kept in marks.toml.
    strip_gps : bool
        Take the place where they were taken out of the copies; the pixels stay as they are.

    Raises
    ------
    UsageError
        There is no photo among the paths, or the photo point's name cannot be a folder's.
    """
    point = _checked_point(point)
    if date is not None and is_to_come(date):
        what, remedy = f"{date:%Y-%m-%d} lies in the future", "Give the day they were taken"
        raise UsageError(what, where="--date", remedy=remedy)
    files = list(_expand(paths))
    if not files:
        raise UsageError("no photo among the files given", remedy="Give JPEG, PNG, TIFF, WebP or HEIC files")
    sweep_all(lawn.folder)
    there, kept = _Known(lawn, point), names_spoken_of(lawn.folder)
    added, known, refused, dated = [], [], [], {}
    try:
        for path in files:
            try:
                data = read_bytes(path)
                if strip_gps:
                    data = without_place(data, name=path.name)
                header = read_header(data, name=path.name)
                with files_lock(lawn.folder):
                    name = there.name_of(data)
                    if name is not None:
                        known.append(name)
                    elif date is None:
                        _check_day(header, path.name)
                    if name is None:
                        place = "" if point == MAIN_POINT else point
                        name = copy_in(data, path.name, lawn.folder / "photos", place, not_as=kept)
                        there.add(name, data)
                        added.append(name)
                if date is not None:
                    dated[name] = PhotoMarks(taken_at=date)
            except PhotoRefused as refusal:
                refused.append(refusal)
        if dated:
            write_marks(lawn.folder, dated)
    except SwardmarkError:
        for name in added if date is not None else ():  # without their day they would be of another one
            (lawn.folder / "photos" / name).unlink(missing_ok=True)
        raise
    return Added(tuple(added), tuple(known), tuple(refused), tuple(known) if date is not None else ())


def safe_name(name: str, kind: str) -> str:
    """Return a file name that every system can hold, with the suffix of what the file really is."""
    name = name.encode("utf-8", "replace").decode()
    stem = (
        re.sub(r'[/\\:*?"<>|\x00-\x1f\x7f]+', "_", Path(name.replace("\\", "/")).stem).strip(" .") or "photo"
    )
    while len(stem.encode()) > LONGEST_NAME_BYTES:
        stem = stem[:-1]
    suffix = Path(name).suffix.lower()
    same_kind = {".jpeg": "JPEG", ".jpe": "JPEG", ".tiff": "TIFF", ".heif": "HEIC"}
    return stem + (suffix if same_kind.get(suffix) == kind else SUFFIX_OF_KIND[kind])


class _Known:
    """A photo point's photos by their content; what others add meanwhile is looked at when it is asked for."""

    def __init__(self, lawn: Lawn, point: str) -> None:
        self._lawn, self._point = lawn, point
        photos = lawn.folder / "photos"
        self._folder = photos if point == MAIN_POINT else photos / point
        self._digests: dict[str, str] = {}
        self._seen: set[str] | None = None
        self._look()

    def name_of(self, data: bytes) -> str | None:
        """Return the name of the photo with this content, or None."""
        self._look()
        digest = digest_of(data)
        return next((name for name, known in self._digests.items() if known == digest), None)

    def add(self, name: str, data: bytes) -> None:
        """Know a photo that was just copied."""
        self._digests[name] = digest_of(data)
        if self._seen is not None:
            self._seen.add(Path(name).name)

    def _look(self) -> None:
        """Read the photos that were not there at the last look; those that cannot be read have no content."""
        try:
            names = {path.name for path in self._folder.iterdir() if not path.name.startswith(".")}
        except OSError:
            names = set()
        if names == self._seen:
            return
        self._seen = names
        files = {file.name: file for file in self._lawn.photos() if file.point == self._point}
        for name, file in files.items():
            if name not in self._digests:
                self._digests[name] = ""
                with contextlib.suppress(PhotoRefused):
                    self._digests[name] = digest_of(file.read())
        self._digests = {name: digest for name, digest in self._digests.items() if name in files}


def _check_free(path: Path) -> None:
    if path.exists() or path.is_symlink():
        raise UsageError(
            "there is a lawn here already", where=str(path), remedy="Edit that file, or choose another folder"
        )


def _check_day(header: Header, name: str) -> None:
    if header.taken_at is None:
        raise NoDate(name)
    if usable_moment(header.taken_at, header.taken_from, name) is None:
        raise NoDate(name, f"{header.taken_at:%Y-%m-%d}")


def _expand(paths: Iterable[Path]) -> Iterable[Path]:
    for path in paths:
        if path.is_dir():
            yield from sorted(p for p in path.iterdir() if p.suffix.lower() in PHOTO_SUFFIXES and p.is_file())
        else:
            yield path


def copy_in(data: bytes, name: str, photos: Path, place: str, *, not_as: Collection[str] = ()) -> str:
    """Write a photo below the photos folder, in `place` there, under a free name that is none of `not_as`; returns it.

    Raises
    ------
    UsageError
        The place is a link to outside, or cannot be written.
    """
    folder = photos / place
    if not folder.resolve().is_relative_to(photos.resolve()):
        remedy = "Delete the link, or choose another photo point"
        raise UsageError("is a link to outside the lawn's photos folder", where=str(folder), remedy=remedy)
    clean = Path(safe_name(name, kind_of(data) or "JPEG"))
    for number in itertools.count(1):
        target = folder / (clean.name if number == 1 else f"{clean.stem}-{number}{clean.suffix}")
        if (told := target.relative_to(photos).as_posix()) not in not_as:
            with contextlib.suppress(FileExistsError):
                write_new(target, data)
                return told
    raise AssertionError("there is always a next number")


def _checked_point(point: str) -> str:
    if point == RELIEF_FOLDER:
        remedy = "Choose another name: photos in that folder measure the heights of the ground"
        raise UsageError(f"{point!r} cannot be the name of a photo point", remedy=remedy)
    try:
        return PhotoPoint(name=point).name
    except ValueError:
        remedy = 'Use letters, digits, spaces, "-" and "_"'
        raise UsageError(f"{point!r} cannot be the name of a photo point", remedy=remedy) from None

"""What is made to be taken away: one picture to show, sheets to print, and everything in one zip file."""

from __future__ import annotations

import datetime as dt
import io
import tempfile
import textwrap
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from swardmark.common.phrases import plural
from swardmark.drawing.bare import outlines_of
from swardmark.drawing.ground_view import draw_outlines, on_picture, reduced
from swardmark.drawing.palette import INK, LEAF_DARK, PAPER, QUIET, RULE, drawing_style
from swardmark.drawing.pictures import FolderPhotos
from swardmark.page.places import sentences
from swardmark.page.places.answer import headline
from swardmark.sheets.target import write_target
from swardmark.words.phrases import percent_text

if TYPE_CHECKING:
    from swardmark.season import Season

WIDE_PX, TALL_PX, DPI = 1080, 1350, 100
PART_BYTES = 1 << 20
KEPT_APART = ("record.sqlite", ".swardmark", ".writing-")
"""Beginnings of names that a backup leaves out: what can be measured again, locks and half-written files."""


def target_pdf(paper: str, side_m: float) -> bytes:
    """Return the printed target, and how to photograph, as a PDF."""
    with tempfile.TemporaryDirectory() as room:
        return write_target(Path(room) / "target.pdf", paper=paper, side_m=side_m).read_bytes()


def backup_parts(folder: Path) -> Iterator[bytes]:
    """Give the lawn folder as a zip file, part by part: photos, what the keeper wrote, and what was set aside."""
    out = _Parts()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED, strict_timestamps=False) as archive:
        for path in _own_files(folder):
            entry = zipfile.ZipInfo.from_file(
                path, path.relative_to(folder).as_posix(), strict_timestamps=False
            )
            with path.open("rb") as file, archive.open(entry, "w") as into:
                while part := file.read(PART_BYTES):
                    into.write(part)
                    yield out.taken()
    yield out.taken()


class _Parts(io.RawIOBase):
    """Where zipfile writes to, and from where each part is taken at once."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, part: Any) -> int:
        self._parts.append(bytes(part))
        return len(part)

    def taken(self) -> bytes:
        parts, self._parts = self._parts, []
        return b"".join(parts)


def _own_files(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.rglob("*")):
        inside = path.relative_to(folder)
        hidden = any(part.startswith((".", *KEPT_APART)) for part in inside.parts)
        if path.is_file() and not path.is_symlink() and not hidden and inside.parts[0] != "out":
            yield path


def picture_to_show(season: Season) -> bytes:
    """Return one JPEG of 1080 x 1350 pixels: the newest photo, the sentence and the curve; no names, no place."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from PIL import Image

    place = max(season.points, key=lambda point: point.entries[-1].taken_at or dt.datetime.min)
    rgb = FolderPhotos(season.lawn.folder).picture(place.entries[-1], longest_px=1600)
    with drawing_style():
        figure = Figure(figsize=(WIDE_PX / DPI, TALL_PX / DPI), dpi=DPI, facecolor=PAPER)
        photo = figure.add_axes((0, 1 - 720 / TALL_PX, 1, 720 / TALL_PX))
        photo.axis("off")
        if rgb is not None:
            entry = place.entries[-1]
            to_picture = reduced(entry.facts.to_photo, entry.facts.size, (rgb.shape[1], rgb.shape[0]))
            drawn = draw_outlines(
                rgb, on_picture(outlines_of(season, place, len(place.entries) - 1), to_picture)
            )
            photo.imshow(_three_to_two(drawn), aspect="auto")
        figure.text(0.05, 0.415, percent_text(season.outlook.whole.cover_pct), size=58, weight="bold", color=LEAF_DARK,
                    va="center")  # fmt: skip
        figure.text(0.30, 0.415, day_words(season), size=19, color=QUIET, va="center")
        figure.text(0.05, 0.365, _folded(headline(season.outlook, season.lawn)), size=21, weight="bold",
                    color=INK, va="center", linespacing=1.3)  # fmt: skip
        _curve(figure, season)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        pixels = np.asarray(canvas.buffer_rgba())[..., :3]
    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(pixels)).save(out, "JPEG", quality=88)
    return out.getvalue()


def day_words(season: Season) -> str:
    """Return how long after the sand the picture was taken; after the first photo where no sand is noted."""
    days = (season.as_of - season.day_zero).days
    if not season.lawn.leveled_before(season.as_of):
        one, many = sentences.PICTURE_DAYS_OF_PHOTOS
    else:
        one, many = sentences.PICTURE_DAYS
    return plural(days, one, many).format(days=days)


def _curve(figure: object, season: Season) -> None:
    whole = season.outlook.whole
    axes = figure.add_axes((0.08, 0.055, 0.87, 0.245))  # type: ignore[attr-defined]
    if whole.band is not None:
        axes.fill_between(
            whole.band.day, whole.band.low80, whole.band.high80, color=LEAF_DARK, alpha=0.14, lw=0
        )
        axes.plot(whole.band.day, whole.band.median, color=LEAF_DARK, lw=2.5)
    axes.plot(whole.day, whole.observed_pct, "o", color=LEAF_DARK, ms=8)
    axes.set(ylim=(0, 100), yticks=(0, 50, 100))
    since = sentences.PICTURE_AXIS[0 if season.lawn.leveled_before(season.as_of) else 1]
    axes.set_xlabel(since, size=14, color=QUIET)
    axes.tick_params(labelsize=14, colors=QUIET)
    axes.grid(True, color=RULE)


def _three_to_two(rgb: np.ndarray) -> np.ndarray:
    rows, cols = rgb.shape[:2]
    tall, wide = min(rows, round(cols * 2 / 3)), min(cols, round(rows * 3 / 2))
    top, left = (rows - tall) // 2, (cols - wide) // 2
    return rgb[top : top + tall, left : left + wide]


def _folded(text: str, most: int = 52) -> str:
    return "\n".join(textwrap.wrap(text, most)[:3])

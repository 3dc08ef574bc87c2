"""The check command: is a photo fit to measure, or, of a photo taken straight down, how much of it is covered."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated, Any

import typer

from swardmark.cli import sentences
from swardmark.cli.console import JsonOption, QuietOption, document, end_with, say
from swardmark.common.errors import PhotoRefused, UsageError

Photos = Annotated[
    list[Path], typer.Argument(metavar="PHOTO...", help="Photos to look at.", show_default=False)
]
KEPT = ("cover_pct", "low_pct", "high_pct", "readable_pct", "points")


def check(
    photos: Photos,
    square_side: Annotated[
        str, typer.Option(help="Side of the reference square, such as 1m or 36in.")
    ] = "1m",
    mark_side: Annotated[
        str, typer.Option(help="Side of a printed black mark, by which the square's side is checked.")
    ] = "120mm",
    straight_down: Annotated[
        bool,
        typer.Option("--straight-down", help="Cover of a photo taken straight down, without a square."),
    ] = False,
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="With --straight-down: write the photo with its bare ground outlined."
        ),
    ] = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Is this photo fit to measure? If not, why not, and how to retake it."""
    from swardmark.common.units import parse_length

    side_m = parse_length(square_side, bare="m", where="--square-side")
    mark_mm = 1000 * parse_length(mark_side, bare="mm", where="--mark-side")
    _check_picture(picture, photos, straight_down)
    rows, refused = [], []
    for path in photos:
        try:
            rows.append(_straight_down(path, picture) if straight_down else _fitness(path, side_m, mark_mm))
            refused += _unfit(rows[-1])
        except PhotoRefused as refusal:
            refused.append(str(refusal))
            rows.append({"photo": path.name, "fit": False, "reason": refusal.what, "remedy": refusal.remedy})
    for line in () if quiet or as_json else (line for row in rows for line in lines_of(row)):
        say(line)
    document(rows[0] if len(rows) == 1 else {"photos": rows}, wanted=as_json)
    end_with(refused)


def lines_of(row: dict[str, Any]) -> list[str]:
    """Return what the terminal shows of one photo; nothing of a refused one, which stderr names."""
    if "reason" in row:
        return []
    if "cover_pct" in row:
        template = sentences.STRAIGHT_DOWN if row["points"] else sentences.STRAIGHT_DOWN_UNREADABLE
        lines = [template.format(**{name: row[name] for name in ("photo", *KEPT)})]
        return [*lines, *([sentences.WROTE.format(path=row["picture"])] if "picture" in row else [])]
    lines = [sentences.FIT[row["level"]].format(photo=row["photo"])]
    found = [f"{f['sentence']} {f['retake']}".rstrip() for f in row["findings"] if f["sentence"]]
    return [*lines, *(sentences.FINDING.format(text=text) for text in found)]


def _check_picture(picture: Path | None, photos: list[Path], straight_down: bool) -> None:
    """Refuse a --picture that cannot be written before anything is measured."""
    if picture is None:
        return
    from swardmark.drawing.straight_down import kind_of

    if not straight_down or len(photos) != 1:
        what = "goes with --straight-down and one photo"
        raise UsageError(what, where="--picture", remedy="Give both, or leave --picture out")
    kind_of(picture)


def _straight_down(path: Path, picture: Path | None) -> dict[str, Any]:
    from swardmark.canopy.straight import cover_straight_down
    from swardmark.drawing.straight_down import write_picture
    from swardmark.photo.decode import read_photo

    rgb = read_photo(path).rgb
    cover = cover_straight_down(rgb)
    numbers = {name: _number(getattr(cover, name), 2) for name in KEPT}
    row = {"photo": path.name, **numbers, "bare_patches": len(cover.outlines)}
    return row if picture is None else {**row, "picture": str(write_picture(rgb, cover, picture))}


def _fitness(path: Path, side_m: float, mark_mm: float) -> dict[str, Any]:
    from swardmark.measure.check import check_photo

    fitness = check_photo(path, side_m=side_m, mark_mm=mark_mm)
    kept = ("name", "level", "sentence", "retake")
    findings = [
        {name: getattr(f, name) for name in kept} | {"value": _number(f.value, 4)} for f in fitness.findings
    ]
    return {"photo": path.name, "fit": fitness.level != "unfit", "level": fitness.level, "findings": findings}


def _unfit(row: dict[str, Any]) -> list[str]:
    unfit = [f for f in row.get("findings", ()) if f["level"] == "unfit"]
    return [f"{row['photo']}: {unfit[0]['sentence']} {unfit[0]['retake']}"] if unfit else []


def _number(value: float, places: int) -> float | None:
    return round(value, places) if math.isfinite(value) else None

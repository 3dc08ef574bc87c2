"""`swardmark count`: points counted by eye, on a numbered contact sheet and a table to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from swardmark.cli import sentences
from swardmark.cli.console import JsonOption, LawnFolder, QuietOption, covers_of, document, out_folder, say
from swardmark.common.errors import UsageError

if TYPE_CHECKING:
    from swardmark.lawn.counts import Count
    from swardmark.measure.counting import CountedCover, ShownPoint
    from swardmark.measure.covers import LawnCovers
    from swardmark.record.store import Entry

Photo = Annotated[str, typer.Option("--photo", help="Name of the photo; by default the newest one.")]
ZoneName = Annotated[
    str, typer.Option("--zone", help="Only points of this zone; by default of the whole lawn.")
]
Points = Annotated[int, typer.Option("--points", min=20, max=1000, help="How many points to count.")]
Seed = Annotated[int, typer.Option(min=0, help="Another number draws other points.")]
Again = Annotated[
    bool, typer.Option("--again", help="Show points that were counted before once more, mixed.")
]
Filled = Annotated[Path | None, typer.Option("--filled", metavar="FILE", help="A table that is filled in.")]
By = Annotated[str, typer.Option(help="Who counts.")]


def count(
    folder: LawnFolder,
    photo: Photo = "",
    zone: ZoneName = "",
    points: Points = 100,
    seed: Seed = 1,
    again: Again = False,
    filled: Filled = None,
    by: By = "",
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Count points by eye: leaf, ground or cannot tell; writes a contact sheet, reads the filled table."""
    from swardmark.lawn.counts import read_counts
    from swardmark.measure.counting import counted_covers

    silent = quiet or as_json
    covers = covers_of(folder, silent=silent)
    content: dict[str, Any] = {"lawn": covers.lawn.name}
    if filled is not None:
        content["added"] = _take_in(folder, filled, by)
        kept = sentences.COUNT_KEPT.format(answers=content["added"], path=folder / "counts.csv")
        say(kept, silent=silent)
    else:
        known = read_counts(folder)
        rows, entry = _repeated(covers, known, photo) if again else _fresh(covers, photo, zone, points, seed)
        sheets, table = _write_sheets(folder, entry, rows)
        content |= {"sheets": [str(path) for path in sheets], "table": str(table)}
        say(_how_to(sheets, table, folder), silent=silent)
    estimates = counted_covers(covers, read_counts(folder))
    for line in () if silent else map(counted_words, estimates):
        say(line)
    document(content | {"counted": [_plain(one) for one in estimates]}, wanted=as_json)


def counted_words(one: CountedCover) -> str:
    """Return what was counted by eye and what the tool measured of the same ground, in words."""
    cover = one.cover
    fields = {
        "photo": one.photo, "zone": one.zone, "cover": cover.cover_pct, "low": cover.low_pct, "high": cover.high_pct,
        "tool": cover.tool_pct, "points": cover.points, "blank": cover.cannot_tell, "error": cover.eye_error_pct,
    }  # fmt: skip
    parts = [sentences.COUNTED]
    parts += [sentences.COUNTED_APART] if cover.differs else []
    parts += [sentences.COUNTED_CANNOT_TELL] if cover.cannot_tell else []
    parts += [sentences.COUNTED_EYE_ERROR] if cover.eye_error_pct == cover.eye_error_pct else []
    return " ".join(parts).format(**fields)


def _fresh(
    covers: LawnCovers, photo: str, zone: str, points: int, seed: int
) -> tuple[list[dict[str, object]], Entry]:
    from swardmark.measure.counting import points_to_count

    entry, shown = points_to_count(covers, photo=photo, zone=zone, points=points, seed=seed)
    return [_row(entry, zone, point) for point in shown], entry


def _row(entry: Entry, zone: str, point: ShownPoint) -> dict[str, object]:
    return {"photo": entry.name, "point": entry.point, "zone": zone, **vars(point)}


def _repeated(
    covers: LawnCovers, counts: tuple[Count, ...], photo: str
) -> tuple[list[dict[str, object]], Entry]:
    """Return the points of a photo that were counted, in another order, to be counted once more."""
    import numpy as np

    from swardmark.ground.homography import apply

    entries = {entry.name: entry for place in covers.points for entry in place.entries}
    own = [one for one in counts if one.photo in entries and photo in ("", one.photo) and one.x_m is not None]
    if not own:
        raise UsageError("no point was counted yet", where="--again", remedy="Count first, without --again")
    entry = entries[own[-1].photo]
    first = {one.place: one for one in reversed(own) if one.photo == entry.name}
    kept = list(first.values())
    pixels = apply(
        np.reshape(entry.facts.to_photo, (3, 3)), np.array([(one.x_m, one.y_m) for one in kept], float)
    )
    order = np.random.default_rng(len(counts)).permutation(len(kept))
    rows = []
    for n in order:
        drawn = {
            name: getattr(kept[n], name)
            for name in ("photo", "point", "zone", "x_m", "y_m", "stratum", "chance")
        }
        rows.append(drawn | {"x_px": float(pixels[n][0]), "y_px": float(pixels[n][1])})
    return rows, entry


def _take_in(folder: Path, filled: Path, by: str) -> int:
    from swardmark.cli.commands import read_input
    from swardmark.lawn.counts import add_counts, parse_counts

    counts = parse_counts(read_input(filled), where=str(filled), is_sheet=True)
    add_counts(folder, [one.model_copy(update={"by": by or one.by}) for one in counts])
    return len(counts)


def _write_sheets(folder: Path, entry: Entry, rows: list[dict[str, object]]) -> tuple[list[Path], Path]:
    """Write the numbered pages and the table under a name that is not taken: a filled table is never written over."""
    from swardmark.common.files import write_whole
    from swardmark.lawn.counts import sheet_text
    from swardmark.photo.decode import read_photo
    from swardmark.sheets.contact_sheet import contact_sheets

    rgb = read_photo(folder / "photos" / entry.name).rgb
    room, stem = out_folder(folder), f"count-{Path(entry.name).stem}"
    number = next(n for n in range(1, 10_000) if not (room / f"{stem}-{n}.csv").exists())
    table = write_whole(room / f"{stem}-{number}.csv", sheet_text(rows))
    places = [(float(str(row["x_px"])), float(str(row["y_px"]))) for row in rows]
    pages = contact_sheets(rgb, places)
    names = [room / f"{stem}-{number}-page-{page}.png" for page in range(1, len(pages) + 1)]
    return [write_whole(name, page) for name, page in zip(names, pages, strict=True)], table


def _how_to(sheets: list[Path], table: Path, folder: Path) -> str:
    several = sentences.PAGES.format(first=sheets[0], last=sheets[-1].name)
    pages = several if len(sheets) > 1 else f"{sheets[0]}"
    return sentences.COUNT_HOW_TO.format(pages=pages, table=table, folder=folder)


def _plain(one: CountedCover) -> dict[str, Any]:
    numbers = {key: value for key, value in vars(one.cover).items() if value == value}
    rounded = {key: round(value, 2) if isinstance(value, float) else value for key, value in numbers.items()}
    return {"photo": one.photo, "point": one.point, "zone": one.zone, **rounded, "differs": one.cover.differs}

"""`swardmark count`: points counted by eye, on a numbered contact sheet and a table to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from swardmark.cli import sentences
from swardmark.cli.console import JsonOption, LawnFolder, QuietOption, covers_of, document, out_folder, say

if TYPE_CHECKING:
    from swardmark.measure.count_round import CountRound
    from swardmark.measure.counting import CountedCover

Photo = Annotated[str, typer.Option("--photo", help="Name of the photo; by default the newest one.")]
ZoneName = Annotated[
    str, typer.Option("--zone", help="Only points of this zone; by default of the whole lawn.")
]
Points = Annotated[int, typer.Option("--points", min=20, max=1000, help="How many points to count.")]
Seed = Annotated[
    int | None,
    typer.Option(min=0, help="The same number draws the same points; without it each round draws others."),
]
Again = Annotated[
    bool, typer.Option("--again", help="Show points that were counted before once more, mixed.")
]
Filled = Annotated[Path | None, typer.Option("--filled", metavar="FILE", help="A table that is filled in.")]
StraightDown = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE",
        help="Count a photo of the zone taken straight down that day; the slant step is fitted to it.",
    ),
]
By = Annotated[str, typer.Option(help="Who counts.")]


def count(
    folder: LawnFolder,
    photo: Photo = "",
    zone: ZoneName = "",
    points: Points = 100,
    seed: Seed = None,
    again: Again = False,
    straight_down: StraightDown = None,
    filled: Filled = None,
    by: By = "",
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Count points by eye: leaf, ground or cannot tell; writes a contact sheet, reads the filled table."""
    from swardmark.lawn.counts import read_counts
    from swardmark.measure.count_round import begin_repeat, begin_round, begin_straight_down
    from swardmark.measure.counting import counted_covers
    from swardmark.photo.decode import read_photo
    from swardmark.words.counting import counted_words, fitted_lines

    silent = quiet or as_json
    covers = covers_of(folder, silent=silent)
    content: dict[str, Any] = {"lawn": covers.lawn.name}
    if filled is not None:
        content["added"] = _take_in(folder, filled, by)
        kept = sentences.COUNT_KEPT.format(answers=content["added"], path=folder / "counts.csv")
        say(kept, silent=silent)
        covers = covers_of(folder, silent=True)
    else:
        kept_answers = read_counts(folder)
        drawn: dict[str, Any] = {"photo": photo, "zone": zone, "points": points}
        drawn["seed"] = len(kept_answers) + 1 if seed is None else seed
        if straight_down is not None:
            picture = read_photo(straight_down)
            counting = begin_straight_down(covers, picture, **drawn)
        else:
            repeat = begin_repeat(covers, kept_answers, photo=photo) if again else None
            counting = repeat or begin_round(covers, **drawn)
            picture = read_photo(folder / "photos" / counting.photo)
        sheets, table = _write_sheets(folder, counting, picture.rgb)
        content |= {"sheets": [str(path) for path in sheets], "table": str(table)}
        say(_how_to(sheets, table, folder), silent=silent)
    estimates = counted_covers(covers, read_counts(folder))
    for line in (*map(counted_words, estimates), *fitted_lines(covers.points)):
        say(line, silent=silent)
    document(content | {"counted": [_plain(one) for one in estimates]}, wanted=as_json)


def _take_in(folder: Path, filled: Path, by: str) -> int:
    from swardmark.cli.commands import read_input
    from swardmark.lawn.counts import add_counts, new_answers, parse_counts, read_counts

    counts = parse_counts(read_input(filled), where=str(filled), is_sheet=True)
    told = [one.model_copy(update={"by": by or one.by}) for one in counts]
    new = new_answers(read_counts(folder), told, where=str(filled))
    if new or not told:
        add_counts(folder, new)
    return len(new)


def _write_sheets(folder: Path, counting: CountRound, rgb: Any) -> tuple[list[Path], Path]:
    """Write the numbered pages and the table under a name that is not taken: a filled table is never written over."""
    from swardmark.common.files import write_whole
    from swardmark.lawn.counts import sheet_text
    from swardmark.measure.count_round import places_px, sheet_row
    from swardmark.sheets.contact_sheet import contact_sheets

    room, stem = out_folder(folder), f"count-{Path(counting.straight_down or counting.photo).stem}"
    rows = [sheet_row(counting, n) for n in range(len(counting.points))]
    number = next(n for n in range(1, 10_000) if not (room / f"{stem}-{n}.csv").exists())
    table = write_whole(room / f"{stem}-{number}.csv", sheet_text(rows))
    pages = contact_sheets(rgb, places_px(counting))
    names = [room / f"{stem}-{number}-page-{page}.png" for page in range(1, len(pages) + 1)]
    return [write_whole(name, page) for name, page in zip(names, pages, strict=True)], table


def _how_to(sheets: list[Path], table: Path, folder: Path) -> str:
    several = sentences.PAGES.format(first=sheets[0], last=sheets[-1].name)
    pages = several if len(sheets) > 1 else f"{sheets[0]}"
    return sentences.COUNT_HOW_TO.format(pages=pages, table=table, folder=folder)


def _plain(one: CountedCover) -> dict[str, Any]:
    numbers = {key: value for key, value in vars(one.cover).items() if value == value}
    rounded = {key: round(value, 2) if isinstance(value, float) else value for key, value in numbers.items()}
    where = {"photo": one.photo, "point": one.point, "zone": one.zone}
    return where | rounded | {"differs": one.cover.differs, "is_straight_down": one.is_straight_down}

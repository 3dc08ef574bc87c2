"""The command line: one command, one library call; one place turns errors into one line and an exit code.

Exit codes: 0 done; 1 done, but some photos were refused, each with its reason on stderr; 2 bad usage or input, nothing
was written.
"""

from __future__ import annotations

import datetime as dt
import json
import sys
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from swardmark.errors import SwardmarkError, UsageError

if TYPE_CHECKING:
    from swardmark.lawn.lawn import Lawn
    from swardmark.review import SeasonReview
    from swardmark.survey import Survey

app = typer.Typer(
    name="swardmark",
    help="Measure from photos how a lawn grows back after it was levelled with sand.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
SOME_REFUSED, BAD_INPUT = 1, 2

JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of text.")]
QuietOption = Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")]
LawnFolder = Annotated[Path, typer.Argument(metavar="DIR", help="The lawn folder.", show_default=False)]
AsOfOption = Annotated[str | None, typer.Option("--as-of", metavar="DATE", help="Speak as on that day.")]
Workers = Annotated[int, typer.Option("--workers", min=1, max=64, help="Photos measured at the same time.")]


@app.command()
def start(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make.", show_default=False)],
    square_side: Annotated[str, typer.Option(help="Side of the reference square, such as 1m or 36in.")] = "1m",
    grass: Annotated[str, typer.Option(help="The grass, such as zoysiagrass.")] = "other warm-season",
    leveled: Annotated[str | None, typer.Option(metavar="DATE", help="Day on which the sand was spread.")] = None,
    units: Annotated[str, typer.Option(help="What reports show: metric or us.")] = "metric",
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Begin a lawn: a folder with a commented lawn.toml and a place for photos."""
    from swardmark.lawn.folder import start_lawn

    lawn = start_lawn(
        folder,
        square_side_m=_metres(square_side, "--square-side"),
        grass=grass,
        leveled=_day(leveled, "--leveled"),
        units=units,
    )
    _say(f"Began {folder}/lawn.toml. Next: swardmark add {folder} PHOTO...", quiet or as_json)
    _document({"lawn": lawn.name, "folder": str(folder)}, as_json)


@app.command()
def add(
    folder: LawnFolder,
    photos: Annotated[list[Path], typer.Argument(metavar="PHOTO...", help="Photos, or folders of them.")],
    point: Annotated[str, typer.Option(help="The photo point they were taken from.")] = "main",
    date: Annotated[str | None, typer.Option(metavar="DATE", help="The day they were taken, over the file's.")] = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Copy photos into the lawn; one that is there already is recognised by its content."""
    from swardmark.lawn.folder import add_photos
    from swardmark.lawn.lawn import read_lawn

    result = add_photos(read_lawn(folder), photos, point=point, date=_moment(date, "--date"))
    _say(f"{len(result.added)} added, {len(result.known)} there already.", quiet or as_json)
    refused = [{"photo": r.where, "reason": r.what, "remedy": r.remedy} for r in result.refused]
    _document({"added": result.added, "known": result.known, "refused": refused}, as_json)
    _end_with([str(refusal) for refusal in result.refused])


@app.command()
def measure(folder: LawnFolder, workers: Workers = 1, as_json: JsonOption = False, quiet: QuietOption = False) -> None:
    """Measure what is new; print and write cover.csv."""
    from swardmark.report.tables import COVER_COLUMNS, cover_rows, for_json
    from swardmark.report.terminal import show_covers

    season, done = _review(folder, workers=workers, quiet=quiet or as_json)
    _write_table(season, "cover.csv", COVER_COLUMNS, cover_rows(season))
    if not (quiet or as_json):
        show_covers(season, _console())
        _say(f"{done.newly_measured} measured now, {len(done.measured)} in all. Wrote {_out(folder) / 'cover.csv'}")
    _document({"lawn": season.lawn.name, "cover": for_json(cover_rows(season)), **_refusals(done)}, as_json)
    _end_with(_refusal_lines(done))


@app.command()
def outlook(
    folder: LawnFolder,
    as_of: AsOfOption = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Recovery curves, first-mow verdict and zones not filling in; writes outlook.csv."""
    from swardmark.report.terminal import show_outlook

    season, done = _review(folder, workers=workers, quiet=quiet or as_json, as_of=_day(as_of, "--as-of"))
    _write_outlook(season)
    if not (quiet or as_json):
        show_outlook(season, _console())
    _document({**_outlook_document(season), **_refusals(done)}, as_json)
    _end_with(_refusal_lines(done))


@app.command()
def report(
    folder: LawnFolder,
    open_it: Annotated[bool, typer.Option("--open", help="Open the report in the browser.")] = False,
    as_of: AsOfOption = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """All of it: cover.csv, outlook.csv and report.html."""
    from swardmark.report.html import write_report
    from swardmark.report.tables import COVER_COLUMNS, cover_rows
    from swardmark.report.terminal import show_outlook

    season, done = _review(folder, workers=workers, quiet=quiet or as_json, as_of=_day(as_of, "--as-of"))
    _write_table(season, "cover.csv", COVER_COLUMNS, cover_rows(season))
    _write_outlook(season)
    page = write_report(season, folder=_out(folder))
    if not (quiet or as_json):
        show_outlook(season, _console())
        _say(f"Wrote {page}")
    _document({**_outlook_document(season), "report": str(page), **_refusals(done)}, as_json)
    if open_it:
        typer.launch(page.resolve().as_uri())
    _end_with(_refusal_lines(done))


@app.command()
def practice(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make.", show_default=False)],
    days: Annotated[str, typer.Option(help="Days since the levelling, separated by commas.")] = "0,3,6,9,12,16,21,28",
    seed: Annotated[int, typer.Option(min=0, help="Another number draws another lawn.")] = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Draw a practice lawn with known cover, to try everything on."""
    from swardmark.practice.lawn import draw_practice_lawn

    try:
        numbers = tuple(int(day) for day in days.split(","))
    except ValueError:
        raise UsageError(f"{days!r} is not a list of days", where="--days", remedy="Write it as 0,3,6,9") from None
    draw_practice_lawn(folder, days=numbers, seed=seed)
    _say(f"Drew {len(numbers)} photos. Next: swardmark report {folder}", quiet or as_json)
    _document({"folder": str(folder), "days": numbers, "seed": seed}, as_json)


def main() -> None:
    """Run the command line; every error becomes one line on stderr and an exit code, never a traceback."""
    warnings.simplefilter("ignore")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        app()
    except SwardmarkError as error:
        _fail(str(error))
    except KeyboardInterrupt:
        _fail("stopped; what was measured is kept, run the same command to go on", code=130)
    except BrokenPipeError:
        sys.stderr.close()
        raise SystemExit(0) from None
    except MemoryError:
        _fail("not enough memory. Use fewer --workers or smaller photos.")
    except Exception as error:
        _fail(f"an unforeseen fault ({type(error).__name__}: {error}). Please report it with: swardmark doctor")


def _review(
    folder: Path, *, workers: int, quiet: bool, as_of: dt.date | None = None
) -> tuple[SeasonReview, Survey]:
    from swardmark.lawn.lawn import read_lawn
    from swardmark.review import review
    from swardmark.survey import open_record, survey

    lawn = read_lawn(folder)
    _require_photos(lawn)
    with open_record(lawn) as record:
        done = _with_progress(lambda progress: survey(lawn, record, workers=workers, progress=progress), quiet)
        return review(lawn, record, done, as_of=as_of), done


def _require_photos(lawn: Lawn) -> None:
    if not lawn.photos():
        remedy = f"Add some: swardmark add {lawn.folder} PHOTO..."
        raise UsageError("no photos in photos/", where=str(lawn.folder), remedy=remedy)


def _with_progress(work: Any, quiet: bool) -> Any:
    """Run work(progress) with a bar on stderr, where stderr is a terminal."""
    if quiet or not sys.stderr.isatty():
        return work(None)
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("Measuring"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        shown = bar.add_task("", total=None)
        return work(lambda done, total, name: bar.update(shown, completed=done, total=total, description=name))


def _console() -> Any:
    from rich.console import Console

    return Console(soft_wrap=not sys.stdout.isatty())


def _out(folder: Path) -> Path:
    return folder / "out"


def _write_table(season: SeasonReview, name: str, columns: Any, rows: Any) -> None:
    from swardmark.files import write_whole
    from swardmark.report.tables import to_csv

    write_whole(_out(season.lawn.folder) / name, to_csv(columns, rows))


def _write_outlook(season: SeasonReview) -> None:
    from swardmark.report.tables import OUTLOOK_COLUMNS, outlook_rows

    _write_table(season, "outlook.csv", OUTLOOK_COLUMNS, outlook_rows(season))


def _outlook_document(season: SeasonReview) -> dict[str, Any]:
    from swardmark.report.tables import for_json, outlook_rows

    mow = season.outlook.first_mow
    return {
        "lawn": season.lawn.name,
        "as_of": season.as_of.isoformat(),
        "verdict": mow.sentence,
        "ready": mow.ready,
        "missing": mow.missing,
        "outlook": for_json(outlook_rows(season)),
        "notes": season.outlook.notes,
    }


def _refusals(done: Survey) -> dict[str, Any]:
    refused = [{"photo": e.name, "reason": e.refusal, "remedy": e.remedy} for e in done.refused]
    return {"refused": refused, "duplicates": [list(pair) for pair in done.duplicates]}


def _refusal_lines(done: Survey) -> list[str]:
    return [f"{entry.name}: {entry.refusal}. {entry.remedy}." for entry in done.refused]


def _end_with(refusals: list[str]) -> None:
    for line in refusals:
        typer.echo(f"refused  {line}", err=True)
    if refusals:
        raise typer.Exit(SOME_REFUSED)


def _say(text: str, silent: bool = False) -> None:
    if not silent:
        typer.echo(text)


def _document(document: dict[str, Any], wanted: bool) -> None:
    if wanted:
        typer.echo(json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False))


def _day(text: str | None, option: str) -> dt.date | None:
    moment = _moment(text, option)
    return moment.date() if moment else None


def _moment(text: str | None, option: str) -> dt.datetime | None:
    if text is None:
        return None
    try:
        return dt.datetime.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{text!r} is not a day", where=option, remedy="Write it as 2026-06-09") from None


def _metres(text: str, option: str) -> float:
    from swardmark.units import parse_length

    return parse_length(text, where=option)


def _fail(line: str, code: int = BAD_INPUT) -> None:
    typer.echo(f"swardmark: {line}", err=True)
    raise SystemExit(code)

"""The commands that need no lawn's season: sand, target, mark, page, practice and doctor; check has its own module."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import Annotated

import typer

from swardmark.cli import sentences
from swardmark.cli.console import JsonOption, LawnFolder, NewFolder, QuietOption, document, end_with, say
from swardmark.common.errors import UsageError, missing_extra


def target(
    file: Annotated[Path, typer.Argument(metavar="[FILE]", help="The PDF to write.")] = Path("target.pdf"),
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    square_side: Annotated[
        str, typer.Option(help="Side of the square to tape out, such as 1m or 36in.")
    ] = "1m",
    pegs: Annotated[
        bool, typer.Option("--pegs", help="Print 36 marks for pegs instead, with how to make the pegs.")
    ] = False,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Printable PDF of the four corner marks, true to size, with how to lay and photograph them; or of pegs."""
    from swardmark.common.units import parse_length
    from swardmark.sheets.pegs import write_pegs
    from swardmark.sheets.target import write_target

    if pegs:
        path = write_pegs(file.with_name("pegs.pdf") if file.name == "target.pdf" else file, paper=paper)
    else:
        side_m = parse_length(square_side, bare="m", where="--square-side")
        path = write_target(file, paper=paper, side_m=side_m)
    say(sentences.WROTE_TARGET.format(path=path), silent=quiet or as_json)
    document({"written": str(path), "paper": paper}, wanted=as_json)


def mark(
    photo: Annotated[
        Path, typer.Argument(metavar="PHOTO", help="A photo of a lawn folder.", show_default=False)
    ],
    corners: Annotated[
        list[str] | None,
        typer.Argument(metavar="X,Y X,Y X,Y X,Y", help="Near left, near right, far right, far left."),
    ] = None,
    clear: Annotated[
        bool, typer.Option("--clear", help="Take back the corners and the day that you gave of this photo.")
    ] = False,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Give the square's four corners by hand, in pixels of the upright photo; kept in marks.toml."""
    from swardmark.measure.hand_marks import clear_square, mark_square

    corners = corners or []
    if clear:
        if corners:
            raise UsageError("corners and --clear", where=photo.name, remedy="Give one of them")
        cleared = clear_square(photo)
        template = sentences.CLEARED_MARKS if cleared else sentences.NO_MARKS
        say(template.format(photo=photo.name), silent=quiet or as_json)
        document({"photo": str(photo), "cleared": cleared}, wanted=as_json)
        return
    points = [_pixel(text) for text in corners]
    if len(points) != 4:
        raise UsageError(
            f"{len(points)} corners given, not four", where=photo.name, remedy="Give four as x,y x,y x,y x,y"
        )
    path = mark_square(photo, points)
    say(sentences.KEPT_MARKS.format(path=path, folder=path.parent), silent=quiet or as_json)
    document({"marks": str(path), "corners_px": points}, wanted=as_json)


def page(
    folder: LawnFolder,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Port on this machine; 0 takes a free one.")
    ] = 8177,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let phones on your own network in, with a one-time link.")
    ] = False,
    plain: Annotated[
        bool, typer.Option("--plain", help="With --lan: plain http, without encryption.")
    ] = False,
    certificate: Annotated[
        Path | None,
        typer.Option("--certificate", metavar="FILE", help="Your own certificate (PEM) for https."),
    ] = None,
    key: Annotated[
        Path | None, typer.Option("--key", metavar="FILE", help="The key of that certificate.")
    ] = None,
    remember: Annotated[
        bool, typer.Option("--remember", help="Let devices that were let in come back after a restart.")
    ] = False,
    forget: Annotated[
        bool, typer.Option("--forget", help="Turn all remembered devices of this lawn away, and end.")
    ] = False,
    show: Annotated[bool, typer.Option("--open/--no-open", help="Open the page in the browser.")] = True,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Local web page: add photos, mark the square and zones, read the report."""
    if forget:
        from swardmark.door.passes import Remembered
        from swardmark.door.sentences import FORGOTTEN

        gone = Remembered(folder).forget()
        say(FORGOTTEN, silent=quiet or as_json)
        document({"forgotten": gone}, wanted=as_json)
        return
    try:
        for library in ("nicegui", "segno", "tomlkit"):
            if find_spec(library) is None:
                raise ImportError(sentences.NO_MODULE.format(module=library))
        from swardmark.page.server import serve
    except ImportError as error:
        what = f"the page needs more than is installed ({error})"
        raise missing_extra(what, "page", where="page") from None
    serve(
        folder,
        port=port,
        lan=lan,
        show=show,
        quiet=quiet,
        as_json=as_json,
        plain=plain,
        certificate=certificate,
        key=key,
        remember=remember,
    )


def practice(
    folder: NewFolder,
    days: Annotated[
        str, typer.Option(help="Days since the leveling, separated by commas.")
    ] = "0,3,6,9,12,16,21,28",
    seed: Annotated[int, typer.Option(min=0, help="Each number draws a different lawn.")] = 1,
    as_json: JsonOption = False,
    relief: Annotated[
        bool, typer.Option("--relief", help="Draw five photos of dragged sand with known heights instead.")
    ] = False,
    quiet: QuietOption = False,
) -> None:
    """Draw a practice lawn with known cover, to try everything out."""
    from swardmark.cli.console import with_progress
    from swardmark.practice.lawn import draw_practice_lawn

    if relief:
        _practice_relief(folder, seed, as_json=as_json, quiet=quiet)
        return
    try:
        numbers = tuple(int(day) for day in days.split(","))
    except ValueError:
        raise UsageError(
            f"{days!r} is not a list of days", where="--days", remedy="Write it as 0,3,6,9"
        ) from None
    with_progress(
        lambda progress: draw_practice_lawn(
            folder,
            days=numbers,
            seed=seed,
            progress=progress and (lambda done, total: progress(done, total, "")),
        ),
        what="Drawing",
        silent=quiet or as_json,
    )
    say(sentences.DREW.format(photos=len(numbers), folder=folder), silent=quiet or as_json)
    document({"folder": str(folder), "days": numbers, "seed": seed}, wanted=as_json)


def _practice_relief(folder: Path, seed: int, *, as_json: bool, quiet: bool) -> None:
    from swardmark.cli.console import with_progress
    from swardmark.practice.relief.lawn import draw_relief_lawn

    drawn = with_progress(
        lambda progress: draw_relief_lawn(
            folder, seed=seed, progress=progress and (lambda done, total: progress(done, total, ""))
        ),
        what="Drawing",
        silent=quiet or as_json,
    )
    say(sentences.DREW_RELIEF.format(photos=len(drawn), folder=folder), silent=quiet or as_json)
    document({"folder": str(folder), "photos": [path.name for path in drawn], "seed": seed}, wanted=as_json)


def doctor(
    repair: Annotated[
        Path | None, typer.Option("--repair", metavar="DIR", help="Rebuild a lawn's record from its photos.")
    ] = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Versions, libraries and what is missing; for bug reports."""
    from swardmark.cli.doctor import examine

    if repair is not None:
        _repair(repair, as_json=as_json, quiet=quiet)
        return

    findings = examine()
    for line in () if quiet or as_json else findings:
        state = sentences.HEALTH_STATES["well" if line.is_well else "missing" if line.is_needed else "absent"]
        say(sentences.HEALTH.format(state=state.ljust(7), name=line.name, detail=line.detail))
    rows = [{"name": f.name, "ok": f.is_well, "needed": f.is_needed, "detail": f.detail} for f in findings]
    document({"findings": rows}, wanted=as_json)
    if any(f.is_needed and not f.is_well for f in findings):
        raise typer.Exit(1)


def import_advice(error: ImportError) -> str:
    """Return in one line what to install when a library cannot be loaded."""
    if "libGL" in str(error):
        return sentences.NO_LIBGL
    return sentences.NO_LIBRARY.format(error=error)


def read_input(path: Path) -> str:
    """Read a text file that the keeper named on the command line."""
    from swardmark.common.files import read_text

    try:
        return read_text(path, follow=True)
    except FileNotFoundError:
        raise UsageError("no such file", where=str(path), remedy="Give a UTF-8 text file") from None


def price_per_m3(per_yard: float | None, per_m3: float | None) -> float | None:
    """Return the price of a cubic meter from whichever price was given."""
    from swardmark.common.units import CUBIC_YARD_M3

    if per_yard is not None and per_m3 is not None:
        raise UsageError("sand has two prices", where="--price-per-yard", remedy="Give one price")
    return per_m3 if per_yard is None else per_yard / CUBIC_YARD_M3


def _repair(folder: Path, *, as_json: bool, quiet: bool) -> None:
    from swardmark.cli.console import refusal_lines, refusals, season_in
    from swardmark.lawn.lock import lawn_lock
    from swardmark.lawn.toml import read_lawn
    from swardmark.record.place import forget_record

    read_lawn(folder)
    with lawn_lock(folder):
        forget_record(folder)
    season = season_in(folder, workers=1, silent=quiet or as_json)
    say(sentences.MEASURED_AGAIN.format(photos=season.newly_measured), silent=quiet or as_json)
    document({"measured": season.newly_measured, **refusals(season)}, wanted=as_json)
    end_with(refusal_lines(season))


def _pixel(text: str) -> tuple[float, float]:
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        raise UsageError(
            f"{text!r} is not a corner", where="mark", remedy="Write it as x,y in pixels, such as 612,980"
        ) from None
    return x, y

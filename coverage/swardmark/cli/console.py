"""What all commands share: their common options, reading options with units, text or JSON out, refusals at the end."""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, TextIO

import typer

from swardmark.cli import sentences
from swardmark.common.errors import SwardmarkError, UsageError
from swardmark.common.files import own_folder
from swardmark.common.text import one_line

if TYPE_CHECKING:
    from rich.console import Console

    from swardmark.common.crew import Crew
    from swardmark.lawn.photos import PhotoFile
    from swardmark.measure.covers import LawnCovers
    from swardmark.season import Season

SOME_REFUSED, BAD_INPUT, STOPPED = 1, 2, 130
LEAST_MEMORY_BYTES = 700 * 2**20

JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of text.")]
QuietOption = Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")]
LawnFolder = Annotated[Path, typer.Argument(metavar="DIR", help="The lawn folder.", show_default=False)]
NewFolder = Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make.", show_default=False)]
AsOfOption = Annotated[str | None, typer.Option("--as-of", metavar="DATE", help="Report as of this day.")]
Workers = Annotated[int, typer.Option("--workers", min=1, max=64, help="Photos measured at the same time.")]

PhotosUrl = Annotated[
    str | None,
    typer.Option(
        "--photos-url",
        metavar="URL",
        help="Read photos from s3://bucket/folder or the like instead of photos/.",
    ),
]


def say(text: str, *, silent: bool = False, err: bool = False) -> None:
    """Print a line of text, on stderr if `err`, unless silent."""
    if not silent:
        typer.echo(text, err=err)


def document(content: Mapping[str, Any], *, wanted: bool) -> None:
    """Print a JSON document if --json was given."""
    if wanted:
        typer.echo(json.dumps(content, ensure_ascii=False, indent=2, allow_nan=False, default=str))


def end_with(refusals: Sequence[str]) -> None:
    """Print what was refused on stderr and end with exit code 1, if anything was."""
    for line in refusals:
        typer.echo(sentences.REFUSED.format(line=one_line(line)), err=True)
    if refusals:
        raise typer.Exit(SOME_REFUSED)


def fail(line: str, code: int = BAD_INPUT) -> NoReturn:
    """Print one line on stderr, where it takes one, and end."""
    try:
        typer.echo(f"swardmark: {one_line(line)}", err=True)
    except OSError:
        _give_up(sys.stderr)
    raise SystemExit(code)


def open_streams() -> None:
    """Open what was closed before the start: a file that took the place of stdout would be written into."""
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest free number, which is this one
        if getattr(sys, name) is None:
            nowhere = os.open(os.devnull, os.O_RDWR)
            setattr(sys, name, os.fdopen(nowhere, "r" if number == 0 else "w", encoding="utf-8"))


def print_rest() -> None:
    """Print what stdout still holds.

    Raises
    ------
    OSError
        It takes no more: its disk is full, or its reader gone; what it holds is dropped.
    """
    try:
        sys.stdout.flush()
    except OSError:
        _give_up(sys.stdout)
        raise


def _give_up(stream: TextIO) -> None:
    """Send what a stream still holds nowhere, so that the end of the process does not fail on it again."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def quiet_libraries() -> None:
    """Send what C libraries write on file descriptor 2 nowhere: stderr holds swardmark's own lines and nothing else.

    Picture libraries print every fault of a file there; swardmark reports each itself, in one line.
    """
    try:
        own = os.fdopen(os.dup(2), "w", buffering=1, encoding=sys.stderr.encoding, errors="replace")
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 2)
        os.close(nowhere)
    except (OSError, AttributeError):
        return
    sys.stderr = own


def meet_memory_limit() -> None:
    """Refuse a limit on memory (`ulimit -v`) that the libraries cannot run with, before any of them is loaded.

    Where OpenBLAS gets no memory for its threads it ends the process, crashes or waits for ever (numpy 2.4 at 500 to
    700 MB and two cores). With one thread the sample lawn is measured in 600 MB.

    Raises
    ------
    UsageError
        The limit is below `LEAST_MEMORY_BYTES`.
    """
    try:
        import resource
    except ImportError:  # Windows has no such limit
        return
    limit, _ = resource.getrlimit(resource.RLIMIT_AS)
    if limit == resource.RLIM_INFINITY:
        return
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    if limit < LEAST_MEMORY_BYTES:
        what = sentences.MEMORY_LIMIT.format(limit=limit / 1e6)
        raise UsageError(what, remedy=sentences.MEMORY_LIMIT_REMEDY.format(least=LEAST_MEMORY_BYTES / 1e6))


def is_asked() -> bool:
    """Whether somebody sits at a terminal who can be asked."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def console() -> Console:
    """Return the rich console for text on stdout."""
    from rich.console import Console

    return Console(soft_wrap=not sys.stdout.isatty())


def day(text: str | None, option: str) -> dt.date | None:
    """Read a day such as 2026-06-09."""
    when = moment(text, option)
    return when.date() if when else None


def moment(text: str | None, option: str) -> dt.datetime | None:
    """Read a day, or a day and time, without a zone."""
    if text is None:
        return None
    try:
        when = dt.datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        raise UsageError(f"{text!r} is not a day", where=option, remedy="Write it as 2026-06-09") from None
    if not 1900 <= when.year < 2200:
        raise UsageError(f"{text!r} is not a likely day", where=option, remedy="Write it as 2026-06-09")
    return when


def season_in(
    folder: Path,
    *,
    workers: int,
    silent: bool,
    as_of: dt.date | None = None,
    files: Sequence[PhotoFile] | None = None,
) -> Season:
    """Measure what is new in a lawn and return its season, with a progress bar on a terminal."""
    from swardmark.season import season_of

    return season_of(covers_of(folder, workers=workers, silent=silent, as_of=as_of, files=files))


def photos_behind(url: str | None) -> Sequence[PhotoFile] | None:
    """List the photos behind a URL; None where none is given, for those of the lawn's folder."""
    if url is None:
        return None
    from swardmark.scale.remote import remote_photos

    return remote_photos(url)


def covers_of(
    folder: Path,
    *,
    workers: int = 1,
    silent: bool,
    as_of: dt.date | None = None,
    crew: Crew | None = None,
    files: Sequence[PhotoFile] | None = None,
) -> LawnCovers:
    """Measure what is new in a lawn, with a progress bar on a terminal, and return its covers."""
    from swardmark.measure.covers import measure_covers

    return with_progress(
        lambda progress: measure_covers(
            folder,
            as_of=as_of,
            workers=workers,
            crew=crew,
            files=files,
            progress=progress,
            on_wait=lambda line: say(line, silent=silent, err=True),
        ),
        silent=silent,
    )


def with_progress(work: Callable[[Any], Any], *, silent: bool, what: str = "Measuring") -> Any:
    """Run work(progress) with a bar on stderr, where stderr is a terminal."""
    if silent or not sys.stderr.isatty():
        return work(None)
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    name = TextColumn("{task.description}")
    columns = (TextColumn(what), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), name)
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        shown = bar.add_task("", total=None)
        return work(
            lambda done, total, name: bar.update(shown, completed=done, total=total, description=name)
        )


def out_folder(folder: Path) -> Path:
    """Return where the tool writes its tables and pages."""
    return own_folder(folder, "out")


def refusals(season: LawnCovers) -> dict[str, Any]:
    """Return refused photos and left-out copies for a JSON document."""
    refused = [{"photo": e.name, "reason": e.refusal, "remedy": e.remedy} for e in season.refused]
    return {"refused": refused, "duplicates": [list(pair) for pair in season.duplicates]}


def refusal_lines(season: LawnCovers) -> list[str]:
    """Return one line per refused photo: which, why, and how to retake it."""
    return [str(SwardmarkError(e.refusal, where=e.name, remedy=e.remedy)) for e in season.refused]

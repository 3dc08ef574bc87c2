"""The command line: one command, one library call; one place turns errors into one line and an exit code.

Exit codes: 0 done; 1 done, but some photos were refused, each with its reason on stderr; 2 bad usage or input, nothing
was written. The commands that need no lawn stand in commands.py, what all commands share in console.py.
"""

from __future__ import annotations

import datetime as dt
import os
import sys
import traceback
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from swardmark._version import __version__
from swardmark.cli import commands, sentences
from swardmark.cli.binning import remove, restore
from swardmark.cli.checking import check
from swardmark.cli.console import (
    STOPPED,
    JsonOption,
    LawnFolder,
    NewFolder,
    QuietOption,
    day,
    document,
    end_with,
    fail,
    is_asked,
    meet_memory_limit,
    moment,
    open_streams,
    print_rest,
    quiet_libraries,
    say,
)
from swardmark.cli.counting import count
from swardmark.cli.leveling import level
from swardmark.cli.measuring import measure
from swardmark.cli.reporting import outlook, relevel, report
from swardmark.cli.sand import sand
from swardmark.cli.today import today
from swardmark.cli.trial import trial
from swardmark.common.errors import SwardmarkError

if TYPE_CHECKING:
    pass

app = typer.Typer(
    name="swardmark",
    help="Measure from photos how a lawn grows back after it was leveled with sand.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

_asked = {"traceback": False}


def _version(wanted: bool) -> None:
    """Print the version and end, if asked for."""
    if wanted:
        say(sentences.VERSION.format(version=__version__))
        raise typer.Exit


@app.callback()
def every_command(
    show_traceback: Annotated[
        bool, typer.Option("--traceback", help="Show where an unforeseen fault came from, for a bug report.")
    ] = False,
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and end.", is_eager=True, callback=_version)
    ] = False,
) -> None:
    """Take the options that stand before a command."""
    _asked["traceback"] = show_traceback


@app.command()
def start(
    folder: NewFolder,
    square_side: Annotated[
        str, typer.Option(help="Side of the reference square, such as 1m or 36in.")
    ] = "1m",
    grass: Annotated[str, typer.Option(help="The grass, such as zoysiagrass.")] = "other warm-season",
    leveled: Annotated[
        str | None, typer.Option(metavar="DATE", help="Day on which the sand was spread.")
    ] = None,
    units: Annotated[str, typer.Option(help="What reports show: metric or us.")] = "metric",
    first_frost: Annotated[
        str | None, typer.Option(metavar="MM-DD", help="Usual day of the first frost, such as 10-25.")
    ] = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Begin a lawn: a folder with a commented lawn.toml and a place for photos."""
    from swardmark.common.units import parse_length
    from swardmark.lawn.folder import start_lawn
    from swardmark.mowing.suitability import leveling_warnings

    side_m = parse_length(square_side, bare="m", where="--square-side")
    leveled_on = day(leveled, "--leveled")
    if first_frost is None and not (quiet or as_json) and is_asked():
        answer = typer.prompt(sentences.ASK_FIRST_FROST, default="", show_default=False, err=True)
        first_frost = answer.strip() or None
    told: list[str] = []
    lawn = start_lawn(
        folder,
        square_side_m=side_m,
        grass=grass,
        leveled=leveled_on,
        units=units,
        first_frost=first_frost,
        check=lambda lawn: told.extend(leveling_warnings(lawn, dt.date.today())),
    )
    for line in told:
        say(line, silent=quiet, err=True)
    say(sentences.BEGAN.format(file=folder / "lawn.toml", folder=folder), silent=quiet or as_json)
    document({"lawn": lawn.name, "folder": str(folder)}, wanted=as_json)


@app.command()
def add(
    folder: LawnFolder,
    photos: Annotated[list[Path], typer.Argument(metavar="PHOTO...", help="Photos, or folders of them.")],
    point: Annotated[str, typer.Option(help="The photo point they were taken from.")] = "main",
    date: Annotated[
        str | None, typer.Option(metavar="DATE", help="The day they were taken; overrides the file's.")
    ] = None,
    strip_gps: Annotated[
        bool,
        typer.Option(
            "--strip-gps", help="Leave the GPS position and all captions out of the copies; the pixels stay."
        ),
    ] = False,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Copy photos into the lawn; copies of a photo are recognized by content."""
    from swardmark.lawn.folder import add_photos
    from swardmark.lawn.toml import read_lawn

    result = add_photos(
        read_lawn(folder), photos, point=point, date=moment(date, "--date"), strip_gps=strip_gps
    )
    said = sentences.ADDED.format(added=len(result.added), known=len(result.known))
    say(said, silent=quiet or as_json)
    for name in result.redated:
        say(sentences.REDATED.format(photo=name, day=date), silent=quiet or as_json)
    refused = [{"photo": r.where, "reason": r.what, "remedy": r.remedy} for r in result.refused]
    names = {"added": result.added, "known": result.known, "redated": result.redated}
    document({**names, "refused": refused}, wanted=as_json)
    end_with([str(refusal) for refusal in result.refused])


for command in (
    measure,
    count,
    outlook,
    relevel,
    level,
    trial,
    report,
    today,
    sand,
    commands.target,
    check,
    commands.mark,
    remove,
    restore,
    commands.page,
    commands.practice,
    commands.doctor,
):
    app.command()(command)


def main() -> None:
    """Run the command line; every error becomes one line on stderr and an exit code, never a traceback."""
    warnings.simplefilter("ignore")
    os.environ["MPLBACKEND"] = "agg"  # figures are only ever written to files
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # matrices are small: threads would only wait
    open_streams()
    quiet_libraries()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        try:
            meet_memory_limit()
            app()
        finally:
            print_rest()
    except SwardmarkError as error:
        fail(str(error))
    except KeyboardInterrupt:
        fail(sentences.STOPPED, code=STOPPED)
    except BrokenPipeError:
        sys.stderr.close()
        raise SystemExit(0) from None
    except ImportError as error:
        fail(commands.import_advice(error))
    except OSError as error:
        where = (
            f"{error.strerror or error}: {error.filename}" if error.filename else str(error.strerror or error)
        )
        _told(error, sentences.NOT_WRITTEN.format(reason=where))
    except MemoryError:
        fail(sentences.NO_MEMORY)
    except Exception as error:
        _told(error, sentences.FAULT.format(kind=type(error).__name__, error=error))


def _told(error: Exception, line: str) -> NoReturn:
    """Print the traceback where it was asked for, then the line, and end."""
    if _asked["traceback"]:
        traceback.print_exc(file=sys.stderr)
    fail(line)

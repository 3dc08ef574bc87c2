"""The command line: one command, one library call; one place turns errors into one line and an exit code.

Exit codes: 0 done; 1 done, but some photos were refused, each with its reason on stderr; 2 bad usage or input, nothing
was written. The commands that need no lawn stand in commands.py, what all commands share in console.py.
"""

from __future__ import annotations

import datetime as dt
import sys
import traceback
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from swardmark._version import __version__
from swardmark.cli import commands, sentences
from swardmark.cli.checking import check
from swardmark.cli.console import (
    STOPPED,
    AsOfOption,
    JsonOption,
    LawnFolder,
    NewFolder,
    QuietOption,
    Workers,
    console,
    day,
    document,
    end_with,
    fail,
    moment,
    out_folder,
    quiet_libraries,
    refusal_lines,
    refusals,
    say,
    season_in,
)
from swardmark.cli.counting import count
from swardmark.cli.leveling import level
from swardmark.cli.measuring import measure
from swardmark.cli.sand import sand
from swardmark.cli.today import today
from swardmark.cli.trial import trial
from swardmark.common.errors import SwardmarkError

if TYPE_CHECKING:
    from swardmark.relevel.budget import Budget
    from swardmark.season import Season

app = typer.Typer(
    name="swardmark",
    help="Measure from photos how a lawn grows back after it was leveled with sand.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

_asked = {"traceback": False}

Money = Annotated[
    float | None, typer.Option("--budget", min=0, max=1e6, help="The most to spend in the coming season.")
]
PerYard = Annotated[
    float | None, typer.Option("--price-per-yard", min=0, max=1e6, help="Price of a cubic yard of sand.")
]
PerCubicMeter = Annotated[
    float | None, typer.Option("--price-per-m3", min=0, max=1e6, help="Price of a cubic meter of sand.")
]
Delivery = Annotated[float | None, typer.Option("--delivery", min=0, max=1e6, help="Price of each delivery.")]
MostSand = Annotated[
    str | None, typer.Option("--most-sand", help="The most sand in the coming season, such as 0.5yd3.")
]
Dips = Annotated[
    Path | None,
    typer.Option("--dips", metavar="FILE", help="Measured low spots, with the columns of readings.csv."),
]


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
        typer.Option("--strip-gps", help="Remove the GPS position from the copies (JPEG); the pixels stay."),
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
    refused = [{"photo": r.where, "reason": r.what, "remedy": r.remedy} for r in result.refused]
    document({"added": result.added, "known": result.known, "refused": refused}, wanted=as_json)
    end_with([str(refusal) for refusal in result.refused])


app.command()(measure)
app.command()(count)


@app.command()
def outlook(
    folder: LawnFolder,
    as_of: AsOfOption = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Recovery curves, first-mow verdict and zones that are not filling in; writes outlook.csv."""
    from swardmark.words.tables import write_outlook
    from swardmark.words.terminal import show_outlook

    season = season_in(folder, workers=workers, silent=quiet or as_json, as_of=day(as_of, "--as-of"))
    write_outlook(season, folder=out_folder(folder))
    if not (quiet or as_json):
        show_outlook(season, console())
    document({**_outlook_document(season), **refusals(season)}, wanted=as_json)
    end_with(refusal_lines(season))


@app.command()
def relevel(
    folder: LawnFolder,
    budget: Money = None,
    price_per_yard: PerYard = None,
    price_per_m3: PerCubicMeter = None,
    delivery: Delivery = None,
    most_sand: MostSand = None,
    dips: Dips = None,
    whole_spots: Annotated[
        bool, typer.Option("--whole-spots", help="Never leave a spot half filled.")
    ] = False,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Spots to re-level next season and the sand they take within a budget; writes spots.csv."""
    from swardmark.lawn.readings import parse_readings
    from swardmark.relevel.advice import plan_sentences
    from swardmark.season import relevel_plan_of
    from swardmark.words.tables import for_json, spots_table, write_spots
    from swardmark.words.terminal import show_plan

    more = parse_readings(commands.read_input(dips), where=str(dips)) if dips else ()
    season = season_in(folder, workers=workers, silent=quiet or as_json)
    limits = _budget(season, budget, price_per_yard, price_per_m3, delivery, most_sand)
    plan = relevel_plan_of(season, more_readings=more, budget=limits, whole_only=whole_spots)
    write_spots(plan, folder=out_folder(folder))
    if not (quiet or as_json):
        show_plan(plan, console())
    orders = {
        "all_spots": plan.spots_order.as_dict(),
        "coming_season": plan.now_order.as_dict(),
        "whole_lawn": plan.lawn_order.as_dict() if plan.lawn_order else None,
        "whole_lawn_and_spots": plan.both_order.as_dict() if plan.both_order else None,
    }
    chosen = {
        "chosen": [p.spot.number for p in plan.chosen],
        "waiting": [p.spot.number for p in plan.waiting],
    }
    content = {"lawn": season.lawn.name, "spots": for_json(spots_table(plan)), "orders": orders, **chosen}
    document({**content, "advice": plan_sentences(plan), **refusals(season)}, wanted=as_json)
    end_with(refusal_lines(season))


app.command()(level)
app.command()(trial)


@app.command()
def report(
    folder: LawnFolder,
    open_it: Annotated[bool, typer.Option("--open", help="Open the report in the browser.")] = False,
    figures_only: Annotated[bool, typer.Option("--figures-only", help="Write only out/figures.")] = False,
    as_of: AsOfOption = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Everything: the tables, the figures, the calendar and report.html."""
    from swardmark.report.writing import write_all
    from swardmark.words.terminal import show_outlook

    season = season_in(folder, workers=workers, silent=quiet or as_json, as_of=day(as_of, "--as-of"))
    written = write_all(season, folder=out_folder(folder), figures_only=figures_only)
    if not (quiet or as_json):
        show_outlook(season, console())
        say(sentences.WROTE.format(path=written[0]))
    paths = [str(path) for path in written]
    document({**_outlook_document(season), "written": paths, **refusals(season)}, wanted=as_json)
    if open_it:
        typer.launch(written[0].resolve().as_uri())
    end_with(refusal_lines(season))


for command in (
    today,
    sand,
    commands.target,
    check,
    commands.mark,
    commands.page,
    commands.practice,
    commands.doctor,
):
    app.command()(command)


def main() -> None:
    """Run the command line; every error becomes one line on stderr and an exit code, never a traceback."""
    warnings.simplefilter("ignore")
    quiet_libraries()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        app()
    except SwardmarkError as error:
        fail(str(error))
    except KeyboardInterrupt:
        fail(sentences.STOPPED, code=STOPPED)
    except BrokenPipeError:
        sys.stderr.close()
        raise SystemExit(0) from None
    except ImportError as error:
        fail(commands.import_advice(error))
    except MemoryError:
        fail(sentences.NO_MEMORY)
    except Exception as error:
        if _asked["traceback"]:
            traceback.print_exc(file=sys.stderr)
        fail(sentences.FAULT.format(kind=type(error).__name__, error=error))


def _outlook_document(season: Season) -> dict[str, Any]:
    from swardmark.words.tables import for_json, outlook_details

    mow = season.outlook.first_mow
    return {
        "lawn": season.lawn.name,
        "as_of": season.as_of.isoformat(),
        "verdict": mow.sentence,
        "ready": mow.ready,
        "missing": mow.missing,
        "outlook": for_json(outlook_details(season)),
        "notes": season.outlook.notes,
    }


def _budget(
    season: Season,
    money: float | None,
    per_yard: float | None,
    per_m3: float | None,
    delivery: float | None,
    most_sand: str | None,
) -> Budget:
    from swardmark.common.units import parse_volume
    from swardmark.relevel.planning import budget_of

    return budget_of(
        season.lawn,
        money=money,
        volume_m3=parse_volume(most_sand, where="--most-sand") if most_sand else None,
        price_per_m3=commands.price_per_m3(per_yard, per_m3),
        delivery_price=delivery,
    )

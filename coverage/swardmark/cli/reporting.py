"""The commands that judge a season: outlook, relevel and report; of one lawn or of many."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from swardmark.cli import commands, sentences
from swardmark.cli.console import (
    AsOfOption,
    JsonOption,
    PhotosUrl,
    QuietOption,
    Workers,
    console,
    day,
    document,
    end_with,
    out_folder,
    photos_behind,
    refusal_lines,
    refusals,
    say,
    season_in,
)
from swardmark.cli.many import (
    AllTable,
    LawnFolders,
    many_in,
    one_folder,
    outlook_of_many,
    relevel_of_many,
    report_of_many,
)
from swardmark.common.errors import UsageError

if TYPE_CHECKING:
    from swardmark.lawn.photos import PhotoFile
    from swardmark.season import Season

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


def outlook(
    folders: LawnFolders,
    as_of: AsOfOption = None,
    table: AllTable = None,
    photos_url: PhotosUrl = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Recovery curves, first-mow verdict and zones that are not filling in; writes outlook.csv."""
    from swardmark.words.tables import write_outlook
    from swardmark.words.terminal import show_outlook

    on = day(as_of, "--as-of")
    if lawns := many_in(folders):
        outlook_of_many(lawns, folders[0], on, table=table, photos_url=photos_url, workers=workers, as_json=as_json,
                        quiet=quiet)  # fmt: skip
        return
    folder = one_folder(folders, table)
    files = photos_behind(photos_url)
    season = season_in(folder, workers=workers, silent=quiet or as_json, as_of=on, files=files)
    write_outlook(season, folder=out_folder(folder))
    if not (quiet or as_json):
        show_outlook(season, console())
    document({**_outlook_document(season), **refusals(season)}, wanted=as_json)
    end_with(refusal_lines(season))


def relevel(
    folders: LawnFolders,
    budget: Money = None,
    price_per_yard: PerYard = None,
    price_per_m3: PerCubicMeter = None,
    delivery: Delivery = None,
    most_sand: MostSand = None,
    dips: Dips = None,
    whole_spots: Annotated[
        bool, typer.Option("--whole-spots", help="Never leave a spot half filled.")
    ] = False,
    table: AllTable = None,
    photos_url: PhotosUrl = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Spots to re-level next season and the sand they take within a budget; writes spots.csv."""
    from swardmark.lawn.readings import parse_readings
    from swardmark.relevel.advice import plan_sentences
    from swardmark.relevel.planning import budget_of
    from swardmark.season import relevel_plan_of
    from swardmark.words.tables import for_json, spots_table, write_spots
    from swardmark.words.terminal import show_plan

    if lawns := many_in(folders):
        if dips is not None:
            raise UsageError(sentences.DIPS_OF_MANY, where="--dips", remedy=sentences.DIPS_OF_MANY_REMEDY)
        limits = _limits(budget, price_per_yard, price_per_m3, delivery, most_sand)
        relevel_of_many(lawns, folders[0], limits=limits, whole_only=whole_spots, table=table, photos_url=photos_url,
                        workers=workers, as_json=as_json, quiet=quiet)  # fmt: skip
        return
    folder = one_folder(folders, table)
    more = parse_readings(commands.read_input(dips), where=str(dips)) if dips else ()
    season = season_in(folder, workers=workers, silent=quiet or as_json, files=photos_behind(photos_url))
    most = budget_of(season.lawn, **_limits(budget, price_per_yard, price_per_m3, delivery, most_sand))
    plan = relevel_plan_of(season, more_readings=more, budget=most, whole_only=whole_spots)
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


def report(
    folders: LawnFolders,
    open_it: Annotated[bool, typer.Option("--open", help="Open the report in the browser.")] = False,
    figures_only: Annotated[bool, typer.Option("--figures-only", help="Write only out/figures.")] = False,
    as_of: AsOfOption = None,
    table: AllTable = None,
    photos_url: PhotosUrl = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Everything: the tables, the figures, the calendar and report.html."""
    from swardmark.report.unchanged import LastReport
    from swardmark.words.terminal import show_outlook

    on = day(as_of, "--as-of")
    if lawns := many_in(folders):
        report_of_many(lawns, folders[0], on or dt.date.today(), open_it=open_it, table=table, photos_url=photos_url,
                       workers=workers, as_json=as_json, quiet=quiet)  # fmt: skip
        return
    folder = one_folder(folders, table)
    files = photos_behind(photos_url)
    season = season_in(folder, workers=workers, silent=quiet or as_json, as_of=on, files=files)
    out = out_folder(folder)
    last = LastReport(season, folder=out, figures_only=figures_only) if files is None else None
    unchanged = last.paths() if last else None
    written = unchanged or _written(season, folder, files, out=out, figures_only=figures_only)
    if last and not unchanged:
        last.keep(written)
    if not (quiet or as_json):
        show_outlook(season, console())
        say((sentences.UNCHANGED if unchanged else sentences.WROTE).format(path=written[0]))
    paths = [str(path) for path in written]
    document({**_outlook_document(season), "written": paths, **refusals(season)}, wanted=as_json)
    if open_it:
        typer.launch(written[0].resolve().as_uri())
    end_with(refusal_lines(season))


def _written(
    season: Season, folder: Path, files: Sequence[PhotoFile] | None, *, out: Path, figures_only: bool
) -> list[Path]:
    from swardmark.drawing.pictures import FolderPhotos
    from swardmark.report.writing import write_all

    return write_all(season, folder=out, figures_only=figures_only, photos=FolderPhotos(folder, files))


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


def _limits(
    money: float | None,
    per_yard: float | None,
    per_m3: float | None,
    delivery: float | None,
    most_sand: str | None,
) -> dict[str, float | None]:
    """Return what a season may take and what sand costs, as `budget_of` reads them."""
    from swardmark.common.units import parse_volume

    return {
        "money": money,
        "volume_m3": parse_volume(most_sand, where="--most-sand") if most_sand else None,
        "price_per_m3": commands.price_per_m3(per_yard, per_m3),
        "delivery_price": delivery,
    }

"""today, outlook, relevel and report of many lawns: who needs the keeper most first, and what concerns all."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from swardmark.cli import sentences
from swardmark.cli.console import document, end_with, out_folder, photos_behind, say, with_progress
from swardmark.common.errors import UsageError

if TYPE_CHECKING:
    from swardmark.lawns.standing import Standing
    from swardmark.mowing.today import Line
    from swardmark.season import Season

T = TypeVar("T")

LawnFolders = Annotated[
    list[Path],
    typer.Argument(
        metavar="DIR...", help="The lawn folder; or several, or a folder of lawns.", show_default=False
    ),
]
AllTable = Annotated[
    Path | None,
    typer.Option("--table", metavar="FILE", help="One table of many lawns: .csv, .parquet or .xlsx."),
]


def one_folder(folders: Sequence[Path], table: Path | None) -> Path:
    """Return the one lawn folder that is meant, where many are not."""
    if table is not None:
        remedy = "Give a folder of lawns, or leave it out"
        raise UsageError("one table of many lawns, and one lawn", where="--table", remedy=remedy)
    return folders[0]


def many_in(folders: Sequence[Path]) -> tuple[Path, ...]:
    """List the lawns where many are meant; none where one lawn is."""
    from swardmark.lawns.folders import lawns_in

    return lawns_in(folders)


def today_of_many(
    lawns: Sequence[Path],
    on: dt.date,
    *,
    table: Path | None,
    workers: int,
    as_json: bool,
    quiet: bool,
) -> None:
    """Say what each lawn needs today, who needs its keeper most first."""
    ranked, refused = _ranked(
        lawns, on, lambda season: None, workers=workers, silent=quiet or as_json, table=table
    )
    _say_lines(ranked, silent=quiet or as_json)
    if table is not None:
        _write_table(table, ranked)
    document({"lawns": [_about(one) for one in ranked]}, wanted=as_json)
    end_with(refused)


def outlook_of_many(
    lawns: Sequence[Path],
    folder: Path,
    on: dt.date | None,
    *,
    table: Path | None,
    photos_url: str | None,
    workers: int,
    as_json: bool,
    quiet: bool,
) -> None:
    """Write each lawn's outlook.csv and one of all, and say how each stands."""
    from swardmark.lawns.cover_table import LAWN_COLUMN
    from swardmark.lawns.tables import write_table
    from swardmark.words.tables import OUTLOOK_COLUMNS, for_json, outlook_details, outlook_rows, write_outlook

    def each(season: Season) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
        write_outlook(season, folder=out_folder(season.lawn.folder))
        return outlook_rows(season), for_json(outlook_details(season))

    ranked, refused = _ranked(lawns, on, each, workers=workers, silent=quiet or as_json, table=table,
                              photos_url=photos_url)  # fmt: skip
    rows = [
        {LAWN_COLUMN: (one.row or {})["lawn"], **row} for one in ranked for row in (one.more or ((), ()))[0]
    ]
    path = table or out_folder(folder) / "outlook.csv"
    write_table(path, {LAWN_COLUMN: "the lawn's folder", **OUTLOOK_COLUMNS}, rows)
    _say_lines(ranked, silent=quiet or as_json)
    say(sentences.WROTE.format(path=path), silent=quiet or as_json)
    about = [_about(one) | {"outlook": one.more[1] if one.more else []} for one in ranked]
    document({"lawns": about, "table": str(path)}, wanted=as_json)
    end_with(refused)


def relevel_of_many(
    lawns: Sequence[Path],
    folder: Path,
    *,
    limits: dict[str, Any],
    whole_only: bool,
    table: Path | None,
    photos_url: str | None,
    workers: int,
    as_json: bool,
    quiet: bool,
) -> None:
    """Write each lawn's spots.csv and one of all, and plan one sand order for all lawns."""
    from swardmark.lawns.cover_table import LAWN_COLUMN
    from swardmark.lawns.sand import LawnSpots, plan_lawns, plan_lines, spots_of
    from swardmark.lawns.tables import write_table
    from swardmark.season import relevel_plan_of
    from swardmark.words.tables import SPOT_COLUMNS, for_json, spots_table, write_spots

    def each(season: Season) -> tuple[LawnSpots, list[dict[str, Any]]]:
        plan = relevel_plan_of(season)
        write_spots(plan, folder=out_folder(season.lawn.folder))
        return spots_of(season.lawn.folder, plan), spots_table(plan)

    ranked, refused = _ranked(lawns, None, each, workers=workers, silent=quiet or as_json, table=table,
                              photos_url=photos_url)  # fmt: skip
    seen = [one.more for one in ranked if one.more is not None]
    if not seen:
        raise UsageError(sentences.NO_LAWN_WITH_PHOTOS, where=str(folder), remedy="Add photos to one first")
    plan = plan_lawns([spots for spots, _ in seen], whole_only=whole_only, **limits)
    rows = [
        {LAWN_COLUMN: spots.folder.resolve().name, **{name: row[name] for name in SPOT_COLUMNS}}
        for spots, own in seen
        for row in own
    ]
    path = table or out_folder(folder) / "spots.csv"
    write_table(path, dict.fromkeys((LAWN_COLUMN, *SPOT_COLUMNS), ""), rows)
    for line in () if quiet or as_json else plan_lines(plan):
        say(line)
    say(sentences.WROTE.format(path=path), silent=quiet or as_json)
    about = [
        {
            "folder": spots.folder.name,
            "name": spots.lawn.name,
            "spots": for_json(next(own for known, own in seen if known.folder == spots.folder)),
            "passes_now": {str(spot): count for spot, count in spots.passes.items()},
            "sand_litres": round(1000 * spots.sand_m3, 1),
            "not_yet_probed": spots.unprobed,
        }
        for spots in plan.lawns
    ]
    whole = {"order": plan.order.as_dict(), "deliveries": plan.deliveries, "advice": list(plan_lines(plan))}
    document({"lawns": about, **whole, "table": str(path)}, wanted=as_json)
    end_with(refused)


def report_of_many(
    lawns: Sequence[Path],
    folder: Path,
    on: dt.date,
    *,
    open_it: bool,
    table: Path | None,
    photos_url: str | None,
    workers: int,
    as_json: bool,
    quiet: bool,
) -> None:
    """Write one report, one calendar and one table of all lawns."""
    from swardmark.drawing.pictures import FolderPhotos
    from swardmark.lawns.measuring import url_of
    from swardmark.lawns.report import Card, card_of, write_lawns_report

    def each(season: Season) -> Card:
        own = photos_behind(url_of(season.lawn.folder, photos_url))
        return card_of(season, photos=FolderPhotos(season.lawn.folder, own))

    ranked, refused = _ranked(lawns, on, each, workers=workers, silent=quiet or as_json, table=table,
                              photos_url=photos_url)  # fmt: skip
    out = out_folder(folder)
    written = write_lawns_report(ranked, on=on, folder=out, faults=refused)
    written.append(_write_table(table or out / "lawns.csv", ranked))
    _say_lines(ranked, silent=quiet or as_json)
    say(sentences.WROTE.format(path=written[0]), silent=quiet or as_json)
    paths = [str(path) for path in written]
    document({"lawns": [_about(one) for one in ranked], "written": paths}, wanted=as_json)
    if open_it:
        typer.launch(written[0].resolve().as_uri())
    end_with(refused)


def _ranked(
    lawns: Sequence[Path],
    on: dt.date | None,
    each: Callable[[Season], T],
    *,
    workers: int,
    silent: bool,
    table: Path | None = None,
    photos_url: str | None = None,
) -> tuple[list[Standing[T]], list[str]]:
    """Return the lawns that could be read in the order of their need, and what was refused."""
    from swardmark.lawns.standing import by_need, standings
    from swardmark.lawns.tables import check_table

    if table is not None:
        check_table(table)
    at_once = max(workers, min(2, os.cpu_count() or 1))
    found = with_progress(
        lambda progress: list(
            standings(lawns, on=on, each=each, at_once=at_once, photos_url=photos_url, progress=progress)
        ),
        silent=silent,
    )
    faults = [one.fault for one in found if one.fault]
    if len(faults) == len(found):
        raise UsageError(sentences.NO_LAWN_READ.format(all=len(found), reason=faults[0].rstrip(".")))
    photos = [f"{one.folder.name}/{line}" for one in found for line in one.refused]
    return by_need(found), [*faults, *photos]


def _say_lines(ranked: Sequence[Standing[Any]], *, silent: bool) -> None:
    from swardmark.lawns.standing import line_of

    for one in ranked:
        say(line_of(one), silent=silent)


def _write_table(path: Path, ranked: Sequence[Standing[Any]]) -> Path:
    from swardmark.lawns.standing import LAWNS_COLUMNS
    from swardmark.lawns.tables import write_table

    return write_table(path, LAWNS_COLUMNS, [one.row for one in ranked if one.row is not None])


def line_document(line: Line) -> dict[str, Any]:
    """Return a line as a JSON document has it."""
    return {"date": line.date.isoformat(), "do": line.do, "why": line.why, "careful": line.careful}


def _about(one: Standing[Any]) -> dict[str, Any]:
    """Return a lawn of many as a JSON document has it; `folder`, `name`, `need` and `lines` are frozen."""
    now = one.now
    return {
        "folder": (one.row or {}).get("lawn", one.folder.name),
        "name": one.name,
        "need": one.need,
        "sentence": one.sentence,
        "stale": bool((one.row or {}).get("stale")),
        "phase": now.phase if now is not None else None,
        "lines": [line_document(line) for line in now.lines] if now is not None else [],
    }

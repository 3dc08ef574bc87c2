"""swardmark today: the phase of the season and what to do on a day, and on the days ahead; of one lawn or of many."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from swardmark.cli import sentences
from swardmark.cli.console import (
    AsOfOption,
    JsonOption,
    QuietOption,
    Workers,
    day,
    document,
    say,
    with_progress,
)
from swardmark.cli.many import AllTable, LawnFolders, line_document, many_in, one_folder, today_of_many
from swardmark.common.phrases import date_words
from swardmark.common.text import clean

if TYPE_CHECKING:
    from collections.abc import Sequence

    from swardmark.mowing.today import Known, Line, Today

INDENT = "   "


def today(
    folders: LawnFolders,
    days: Annotated[
        int, typer.Option("--days", min=0, max=120, help="Also list what falls due in the next N days.")
    ] = 0,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE", help="Write it as one page to print, too (HTML)."),
    ] = None,
    table: AllTable = None,
    as_of: AsOfOption = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """What to do today: what, why, and what to take care of; of a folder of lawns, which needs you first."""
    on = day(as_of, "--as-of") or dt.date.today()
    if lawns := many_in(folders):
        today_of_many(lawns, on, table=table, workers=workers, as_json=as_json, quiet=quiet)
        return
    folder = one_folder(folders, table)
    known, now = _known(folder, on, workers=workers, silent=quiet or as_json)
    ahead = _ahead(known, days)
    if sheet is not None:
        from swardmark.report.sheet import write_sheet

        write_sheet(known, sheet, days=days or 14)
    for text in () if quiet or as_json else _said(known, now, ahead):
        say(text)
    lines = [line_document(line) for line in (*now.lines, *ahead)]
    document({"phase": now.phase, "lines": lines}, wanted=as_json)


def said_lines(lines: Sequence[Line]) -> list[str]:
    """Say the lines of a day, numbered: what to do, then why and what to take care of, indented."""
    said = []
    for number, line in enumerate(lines, start=1):
        said.append(sentences.TODAY_DO.format(number=number, do=line.do))
        said += [
            sentences.TODAY_WHY.format(indent=INDENT, text=text) for text in (line.why, line.careful) if text
        ]
    return [clean_line(text) for text in said]


def clean_line(text: str) -> str:
    """Return a line without control signs, its indent kept: names of zones are the keeper's."""
    body = text.lstrip(" ")
    return text[: len(text) - len(body)] + clean(body, most=2000)


def _known(folder: Path, on: dt.date, *, workers: int, silent: bool) -> tuple[Known, Today]:
    from swardmark.mowing import agenda
    from swardmark.season import known_in

    known = with_progress(
        lambda progress: known_in(folder, on=on, workers=workers, progress=progress), silent=silent
    )
    return known, agenda.today(known)


def _ahead(known: Known, days: int) -> tuple[Line, ...]:
    from swardmark.mowing.agenda import days_ahead

    return days_ahead(known, days)


def _said(known: Known, now: Today, ahead: Sequence[Line]) -> list[str]:
    form = known.lawn.date_form
    head = sentences.TODAY_HEAD.format(
        lawn=clean(known.lawn.name), day=date_words(known.as_of, form), phase=now.phase
    )
    coming = [
        clean_line(sentences.TODAY_AHEAD.format(day=date_words(line.date, form), do=line.do))
        for line in ahead
    ]
    return [head, *said_lines(now.lines), *coming]

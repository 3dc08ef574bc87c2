"""swardmark today: the phase of the season and what to do on a day, and on the days ahead."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Annotated, Any

import typer

from swardmark.cli import sentences
from swardmark.cli.console import (
    AsOfOption,
    JsonOption,
    LawnFolder,
    QuietOption,
    Workers,
    day,
    document,
    say,
    with_progress,
)
from swardmark.common.phrases import date_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from swardmark.mowing.today import Line

INDENT = "   "


def today(
    folder: LawnFolder,
    days: Annotated[
        int, typer.Option("--days", min=0, max=120, help="What falls due on so many days ahead, too.")
    ] = 0,
    as_of: AsOfOption = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """What to do today: what, why, and what to take care of; also before the sand, and without a photo."""
    from swardmark.mowing import agenda
    from swardmark.season import known_in

    on = day(as_of, "--as-of") or dt.date.today()
    silent = quiet or as_json
    known = with_progress(
        lambda progress: known_in(folder, on=on, workers=workers, progress=progress), silent=silent
    )
    now = agenda.today(known)
    ahead = agenda.days_ahead(known, days)
    units = known.lawn.units
    if not silent:
        say(sentences.TODAY_HEAD.format(lawn=known.lawn.name, day=date_words(on, units), phase=now.phase))
        for text in said_lines(now.lines):
            say(text)
        for line in ahead:
            say(sentences.TODAY_AHEAD.format(day=date_words(line.date, units), do=line.do))
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
    return said


def line_document(line: Line) -> dict[str, Any]:
    """Return a line as a JSON document has it."""
    return {"date": line.date.isoformat(), "do": line.do, "why": line.why, "careful": line.careful}

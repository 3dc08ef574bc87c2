"""The list of the day and of the days ahead as one page to print and tick: HTML, no script, no outside address."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from swardmark.common.files import write_whole
from swardmark.common.phrases import date_words
from swardmark.drawing import sentences
from swardmark.mowing.agenda import days_ahead, today
from swardmark.report.html import render

if TYPE_CHECKING:
    from swardmark.mowing.today import Known


def write_sheet(known: Known, path: Path, *, days: int = 14) -> Path:
    """Write the sheet of a lawn; returns its path."""
    now, form = today(known), known.lawn.date_form
    values = {
        "lawn": known.lawn.name,
        "title": sentences.TODAY.format(day=date_words(known.as_of, form), phase=now.phase),
        "lines": now.lines,
        "ahead": [(date_words(line.date, form), line.do) for line in days_ahead(known, days)],
        "say": sentences,
    }
    return write_whole(path, render("today.html.j2", values))

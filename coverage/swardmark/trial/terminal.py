"""A trial in lines of text: the newest day's means, the area under the curve, the days to recover, the notes."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from swardmark.common.phrases import date_words, plural
from swardmark.common.text import clean
from swardmark.trial import sentences
from swardmark.trial.rows import BlockAnalysis, DaysTo, Trial, TrialDay

NAME_WIDTH = 28
WORDS = frozenset({0, 4, 6, 7, 8})
"""The columns of words, which stand to the left; numbers stand to the right."""
SMALL_P = 0.001


def trial_lines(trial: Trial) -> list[str]:
    """Return what the terminal shows of a trial."""
    newest = trial.days[-1]
    blocks = {plot.block for plot in trial.plots if plot.block}
    template = sentences.HEAD if blocks else sentences.HEAD_NO_BLOCKS
    lines = [
        template.format(
            lawn=clean(trial.lawn),
            treatments=_count("treatments", trial.treatments),
            blocks=_count("blocks", blocks),
            plots=_count("plots", trial.plots),
            days=_count("days", trial.days),
        ),
        sentences.ON_DAY.format(date=date_words(newest.date, trial.date_form), day=newest.day),
        *_aligned([sentences.HEADS, *_rows(trial, newest)]),
        _tested(newest.analysis),
    ]
    area = trial.area
    if area is not None and math.isfinite(area.treatments.p):
        first, last = trial.area_span
        lines.append(sentences.AREA_TEST.format(first=first, last=last, **_test(area)))
    return [*lines, sentences.SAME_LETTER, *(clean(note, most=400) for note in trial.notes)]


def days_text(days_to: DaysTo) -> str:
    """Return days to a cover with their interval; where it is not reached in the forecast, that it is over it."""
    if not days_to.known:
        return sentences.UNKNOWN
    over = sentences.DAYS_OVER.format(horizon=days_to.horizon)
    if days_to.day is None:
        if days_to.earliest is None:
            return over
        early = sentences.DAY_NUMBER.format(day=days_to.earliest)
        return sentences.DAYS_OVER_FROM.format(horizon=days_to.horizon, earliest=early)
    low, high = (
        over if day is None else sentences.DAY_NUMBER.format(day=day)
        for day in (days_to.earliest, days_to.latest)
    )
    return sentences.DAYS.format(day=days_to.day, earliest=low, latest=high)


def _count(kind: str, things: Collection[object]) -> str:
    return plural(len(things), *sentences.COUNTS[kind]).format(count=len(things))


def _rows(trial: Trial, newest: TrialDay) -> list[tuple[str, ...]]:
    rows = []
    for number, one in enumerate(newest.analysis.means):
        area = trial.area.means[number] if trial.area is not None else None
        rows.append((
            clean(one.treatment, most=NAME_WIDTH),
            str(one.plots),
            _number(one.mean, 1),
            _number(one.se, 1),
            one.letters,
            _number(area.mean, 0) if area else "",
            area.letters if area else "",
            *(days_text(days_to) for days_to in trial.recovery[number].days_to),
        ))  # fmt: skip
    return rows


def _tested(analysis: BlockAnalysis) -> str:
    return (
        sentences.TEST.format(**_test(analysis))
        if math.isfinite(analysis.treatments.p)
        else sentences.NO_TEST
    )


def _test(analysis: BlockAnalysis) -> dict[str, object]:
    p = analysis.treatments.p
    return {
        "lsd": analysis.lsd,
        "cv": analysis.cv_pct,
        "f": analysis.treatments.f,
        "p": sentences.TEST_P_SMALL if p < SMALL_P else sentences.TEST_P.format(p=p),
        "df": analysis.error.df,
    }


def _number(value: float, places: int) -> str:
    return f"{value:,.{places}f}" if math.isfinite(value) else "-"


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    from rich.cells import cell_len

    widths = [max(cell_len(row[n]) for row in rows) for n in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            cell + " " * (width - cell_len(cell)) if n in WORDS else " " * (width - cell_len(cell)) + cell
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return lines

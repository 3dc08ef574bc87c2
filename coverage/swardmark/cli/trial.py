"""swardmark trial: plots with treatments, as means, tests and days to recover."""

from __future__ import annotations

from typing import Annotated

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
    end_with,
    out_folder,
    refusal_lines,
    refusals,
    say,
    season_in,
)


def trial(
    folder: LawnFolder,
    xlsx: Annotated[
        bool, typer.Option("--xlsx", help="Write all tables as one Excel workbook, too: trial.xlsx.")
    ] = False,
    as_of: AsOfOption = None,
    workers: Workers = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Trial plots: treatment means, analysis of variance, LSD, area under the curve; writes trial.csv."""
    from swardmark.lawn.toml import read_lawn
    from swardmark.trial.figure import save_trial_figure
    from swardmark.trial.plots import plots_of
    from swardmark.trial.tables import anova_rows, mean_rows, recovery_rows, write_trial
    from swardmark.trial.terminal import trial_lines
    from swardmark.trial.trial import trial_of
    from swardmark.words.tables import for_json

    plots_of(read_lawn(folder))
    season = season_in(folder, workers=workers, silent=quiet or as_json, as_of=day(as_of, "--as-of"))
    found, out = trial_of(season), out_folder(folder)
    written = [*write_trial(found, folder=out, xlsx=xlsx), *save_trial_figure(found, out / "figures")]
    for line in () if quiet or as_json else trial_lines(found):
        say(line)
    say(sentences.WROTE.format(path=written[0]), silent=quiet or as_json)
    content = {
        "lawn": found.lawn,
        "as_of": found.as_of.isoformat(),
        "day_zero": found.day_zero.isoformat(),
        "plots": len(found.plots),
        "means": for_json(mean_rows(found)),
        "recovery": for_json(recovery_rows(found)),
        "anova": for_json(anova_rows(found)),
        "notes": found.notes,
        "written": [str(path) for path in written],
    }
    document({**content, **refusals(season)}, wanted=as_json)
    end_with(refusal_lines(season))

"""The generated tables of the documents, from the code itself: settings, columns, commands, priors, constants."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from typing import Any, get_type_hints

from words_of_constants import CONSTANTS


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a Markdown table."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(
        "| " + " | ".join(str(cell).replace("|", "\\|") for cell in line) + " |" for line in lines
    )


def columns(place: str, *, head: str = "column") -> str:
    """Return the table of a file's columns, from the names and meanings at a place such as `lawn.heights.X`."""
    module, _, name = place.rpartition(".")
    words: Mapping[str, str] = getattr(importlib.import_module(f"swardmark.{module}"), name)
    return table((head, "meaning"), [(f"`{column}`", meaning) for column, meaning in words.items()])


def marks_keys() -> str:
    """Return what marks.toml may say of a photo."""
    from swardmark.lawn.marks import PhotoMarks

    rows = [(f"`{key}`", field.description) for key, field in PhotoMarks.model_fields.items()]
    return table(("key", "meaning"), rows)


def lawn_settings() -> str:
    """Return every setting of lawn.toml with its range, default and meaning, from the checked models."""
    from swardmark.lawn import level_notes
    from swardmark.lawn import toml as lawn

    tables = {
        "": lawn.Lawn, "[[leveling]]": lawn.Leveling, "[[point]]": lawn.PhotoPoint, "[[zone]]": lawn.Zone,
        "[plots]": lawn.PlotGrid,
        "[measure]": lawn.MeasureSettings, "[outlook]": lawn.OutlookSettings, "[mowing]": lawn.Mowing,
        "[sand]": lawn.SandSettings, "[[receipt]]": lawn.Receipt, "[level]": level_notes.LevelSettings,
        "[[probe]]": level_notes.Probe, "[[puddle]]": level_notes.Puddle, "[confirmed]": lawn.Confirmed,
    }  # fmt: skip
    parts = []
    for name, model in tables.items():
        schema = model.model_json_schema()
        needed = schema.get("required", ())
        others = () if name else {"folder", *(one.strip("[]") for one in tables)}
        rows = [
            (
                f"`{key}`",
                _kind(told, schema),
                "needed" if key in needed else _default(told.get("default")),
                told["description"],
            )
            for key, told in schema["properties"].items()
            if key not in others
        ]
        title = f"`{name}`" if name else "At the top of the file"
        parts.append(f"### {title}\n\n" + table(("setting", "value", "default", "meaning"), rows))
    return "\n\n".join(parts)


def _default(value: Any) -> str:
    return "none" if value in (None, "", [], ()) else f"{value:g}" if isinstance(value, float) else f"{value}"


def _kind(told: Mapping[str, Any], schema: Mapping[str, Any]) -> str:
    """Say a JSON schema's type and limits in words."""
    if "$ref" in told:
        return _kind(schema["$defs"][told["$ref"].rsplit("/", 1)[1]], schema)
    if "anyOf" in told:
        return " or ".join(_kind(one, schema) for one in told["anyOf"] if one.get("type") != "null")
    if "enum" in told:
        return ", ".join(str(one) for one in told["enum"])
    if "const" in told:
        return str(told["const"])
    kinds = {"string": "text", "integer": "whole number", "number": "number", "array": "list"}
    kind = "day" if told.get("format") == "date" else kinds[told["type"]]
    limits = {"exclusiveMinimum": "above", "minimum": "from", "exclusiveMaximum": "below", "maximum": "up to"}
    return " ".join([kind, *(f"{word} {_plain(told[key])}" for key, word in limits.items() if key in told)])


def _plain(number: float) -> str:
    return f"{number:,.0f}" if number >= 10_000 else f"{number:g}"


def command_pages() -> str:
    """Return the reference of every command, from the same objects that `--help` prints."""
    import typer

    from swardmark.cli.app import app

    functions = {
        one.name or one.callback.__name__: one.callback for one in app.registered_commands if one.callback
    }
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    return "\n\n".join(_command(name, one, get_type_hints(functions[name])) for name, one in commands.items())


def _command(name: str, command: Any, kinds: Mapping[str, Any]) -> str:
    arguments = [p for p in command.params if p.param_type_name == "argument"]
    options = [p for p in command.params if p.param_type_name == "option"]
    usage = " ".join(["swardmark", name, *(str(p.metavar) for p in arguments), "[options]"])
    rows = [(f"`{p.metavar}`", p.help + _preset(p)) for p in arguments]
    rows += [(_flags(p, kinds[p.name]), p.help + _preset(p)) for p in options]
    help_text = " ".join(str(command.help).split())
    return f"### {name}\n\n{help_text}\n\n```sh\n{usage}\n```\n\n" + table(("", "meaning"), rows)


def _flags(option: Any, kind: Any) -> str:
    usual = "N" if {int, float} & {kind, *getattr(kind, "__args__", ())} else "TEXT"
    value = "" if option.is_flag else f" {option.metavar or usual}"
    return " / ".join(f"`{flag}{value}`" for flag in (*option.opts, *option.secondary_opts))


def _preset(param: Any) -> str:
    if param.required:
        return " Needed." if param.param_type_name == "option" else ""
    if param.default in (None, "", False) or getattr(param, "is_flag", False):
        return ""
    return f" Default: {param.default}."


def fitness_table() -> str:
    """Return what is looked at in a photo, and how to retake it."""
    from swardmark.photo import findings

    rules = [value for value in vars(findings).values() if isinstance(value, findings.Rule)]
    rows = [
        (rule.name, rule.sentence.replace("{value:.0%}", "N %") + ".", rule.retake + ".") for rule in rules
    ]
    return table(("looked at", "what is said", "how to retake it"), rows)


def priors_table() -> str:
    """Return what is expected of each grass before the first photo."""
    from swardmark.bank.priors import GRASSES, KINDS

    grasses = [(name, f"{row.t50_days:g}", f"{row.t50_log_sd:g}", row.why) for name, row in GRASSES.items()]
    kinds = [(kind.name, f"{kind.prior_share:.0%}", kind.why) for kind in KINDS]
    return "\n\n".join([
        table(("grass", "half-way day", "log sd", "why"), grasses),
        table(("how it goes", "share", "what it is"), kinds),
    ])  # fmt: skip


def grasses_table() -> str:
    """Return what each grass stands, with the source of its heights."""
    from swardmark.lawn.grasses import GRASSES

    def inches(mm: float) -> str:
        return f"{mm / 25.4:.3g}"

    months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    rows = []
    for name, row in GRASSES.items():
        low, high = row.home_mm.value
        when = ", ".join(months[month - 1] for month in row.best_months.value)
        rows.append((
            name, f"{inches(low)} to {inches(high)} in", f"{inches(row.lowest_mm.value)} in",
            "yes" if row.may_scalp.value else "no", f"{inches(row.pass_mm.value)} in", when, row.spread.value,
            f"{row.growth_mm.value:g} mm a day", row.home_mm.source,
        ))  # fmt: skip
    heads = (
        "grass", "usual height of cut", "lowest", "may be scalped", "sand in a pass", "months (north)", "spreads by",
        "grows", "source of the heights",
    )  # fmt: skip
    return table(heads, rows)


def constants(name: str) -> str:
    """Return the constants in force for one section of docs/how-it-works.md."""
    rows = []
    for path, words in CONSTANTS[name]:
        module, _, constant = path.rpartition(".")
        value = getattr(importlib.import_module(f"swardmark.{module}"), constant)
        rows.append((f"`{path}`", _shown(value), words))
    return table(("constant", "value", "what it is"), rows)


def _shown(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_shown(one)}" for key, one in value.items())
    return ", ".join(f"{one:g}" for one in value) if isinstance(value, tuple) else f"{value:g}"


COLUMNS = {
    "cover-columns": "words.tables.COVER_COLUMNS",
    "outlook-columns": "words.tables.OUTLOOK_COLUMNS",
    "past-columns": "forecast.past.PAST_COLUMNS",
    "spot-columns": "words.tables.SPOT_COLUMNS",
    "readings-columns": "lawn.readings.READINGS_COLUMNS",
    "diary-columns": "lawn.readings.DIARY_COLUMNS",
    "weather-columns": "lawn.weather.COLUMNS",
    "heights-columns": "lawn.heights.HEIGHT_COLUMNS",
    "level-columns": "level.rows.LEVEL_COLUMNS",
    "level-spot-columns": "level.rows.LEVEL_SPOT_COLUMNS",
    "trial-columns": "trial.tables.MEAN_COLUMNS",
    "trial-recovery-columns": "trial.tables.RECOVERY_COLUMNS",
    "trial-anova-columns": "trial.tables.ANOVA_COLUMNS",
    "trial-plot-columns": "trial.rows.PLOT_COLUMNS",
}
"""Blocks of docs/files.md, and where the names and meanings of the columns stand."""

BLOCKS: dict[str, dict[str, Callable[[], str]]] = {
    "docs/files.md": {
        "lawn-settings": lawn_settings, "marks-keys": marks_keys,
        **{block: partial(columns, place) for block, place in COLUMNS.items()},
    },
    "docs/commands.md": {"commands": command_pages},
    "docs/photos.md": {"fitness": fitness_table},
    "docs/before-you-level.md": {"grasses": grasses_table},
    "docs/how-it-works.md": {
        "priors": priors_table,
        **{name: partial(constants, name) for name in CONSTANTS},
    },
}  # fmt: skip

"""The lawn: four questions begin it; afterward one line says which it is."""

from __future__ import annotations

import datetime as dt
from typing import get_args

from nicegui import ui

from swardmark.common.errors import SwardmarkError
from swardmark.common.units import format_length, parse_length
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.toml import Grass
from swardmark.page import sentences
from swardmark.page.desk import Desk
from swardmark.page.forms import Choice, Field, button, section, tell, words
from swardmark.words.phrases import day_text

US_REGIONS = ("US", "LR", "MM")


def begin_section(desk: Desk, languages: str) -> None:
    """Ask the four questions of a lawn that does not exist yet."""
    units = units_of(languages)
    with section("lawn", sentences.BEGIN):
        words("p", sentences.BEGIN_INTRO, "sm-quiet")
        name = Field(sentences.ASK_NAME, value=desk.folder.resolve().name)
        grass = Choice(sentences.ASK_GRASS, [(g, g) for g in get_args(Grass)], value="other warm-season")
        side = Field(
            sentences.ASK_SIDE,
            value=sentences.SIDE_US if units == "us" else sentences.SIDE_METRIC,
            hint=sentences.ASK_SIDE_HINT,
        )
        leveled = Field(
            sentences.ASK_LEVELED,
            kind="date",
            hint=sentences.ASK_LEVELED_HINT,
        )
        shown = Choice(
            sentences.ASK_UNITS,
            list(sentences.UNITS.items()),
            value=units,
        )

        def begin() -> None:
            try:
                start_lawn(
                    desk.folder,
                    name=name.value.strip() or None,
                    square_side_m=parse_length(side.value, bare="m", where=sentences.SIDE_WHERE),
                    grass=grass.value,
                    leveled=dt.date.fromisoformat(leveled.value) if leveled.value else None,
                    units=shown.value,
                )
            except SwardmarkError as error:
                tell(str(error), bad=True)
                return
            desk.changed()
            ui.navigate.reload()

        button(sentences.BEGIN_BUTTON, begin)


class LawnSection:
    """The section The lawn: the verdict in one sentence, and which lawn this is."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        with section("lawn", sentences.THE_LAWN):
            self.verdict = words("p", "", "sm-verdict")
            for line in lawn_lines(desk):
                words("p", line)
            words("p", sentences.FOLDER.format(folder=desk.folder), "sm-quiet sm-path")
        self.refresh()

    def refresh(self) -> None:
        """Show the latest verdict."""
        season = self.desk.season
        self.verdict.set_text(season.outlook.first_mow.sentence if season else "")
        self.verdict.set_visibility(season is not None)


def lawn_lines(desk: Desk) -> tuple[str, str]:
    """Return which lawn this is, in two sentences."""
    lawn = desk.lawn()
    side = format_length(lawn.square_side_m, units=lawn.units)
    leveled = [day_text(day, lawn.units) + f" {day.year}" for day in lawn.leveling_dates]
    template = sentences.LEVELED if leveled else sentences.NOT_LEVELED
    said = sentences.LAWN.format(lawn=lawn.name, grass=lawn.grass, side=side)
    return said, template.format(days=sentences.AND.join(leveled))


def units_of(languages: str) -> str:
    """Return the units of a browser's first language: us for the United States, Liberia and Myanmar."""
    first = languages.split(",")[0].split(";")[0].strip()
    region = first.partition("-")[2].upper()
    return "us" if region in US_REGIONS else "metric"

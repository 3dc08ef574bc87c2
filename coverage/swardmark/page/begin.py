"""The lawn: begun here in four questions, and afterwards said in one line."""

from __future__ import annotations

import datetime as dt
from typing import get_args

from nicegui import ui

from swardmark.common.errors import SwardmarkError
from swardmark.common.units import format_length, parse_length
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.toml import Grass
from swardmark.page.desk import Desk
from swardmark.page.forms import Choice, Field, button, section, tell, words
from swardmark.words.phrases import day_text

US_REGIONS = ("US", "LR", "MM")


def begin_section(desk: Desk, languages: str) -> None:
    """Ask the four questions of a lawn that does not exist yet."""
    units = units_of(languages)
    with section("lawn", "Begin your lawn"):
        words("p", "Four questions. Everything can be changed later in the folder’s lawn.toml.", "sm-quiet")
        name = Field("What do you call it?", value=desk.folder.resolve().name)
        grass = Choice("Which grass?", [(g, g) for g in get_args(Grass)], value="other warm-season")
        side = Field(
            "How long is a side of your square?",
            value="36 in" if units == "us" else "1 m",
            hint="From outer black corner to outer black corner, such as 1 m or 36 in.",
        )
        leveled = Field(
            "When was the sand spread?",
            kind="date",
            hint="Days are counted from it. Leave it empty if not yet.",
        )
        shown = Choice(
            "Show lengths and amounts in",
            [("metric", "meters and litres"), ("us", "feet and yards")],
            value=units,
        )

        def begin() -> None:
            try:
                start_lawn(
                    desk.folder,
                    name=name.value.strip() or None,
                    square_side_m=parse_length(side.value, bare="m", where="the square’s side"),
                    grass=grass.value,
                    leveled=dt.date.fromisoformat(leveled.value) if leveled.value else None,
                    units=shown.value,
                )
            except SwardmarkError as error:
                tell(str(error), bad=True)
                return
            desk.changed()
            ui.navigate.reload()

        button("Begin", begin)


class LawnSection:
    """The section The lawn: the verdict in one sentence, and which lawn this is."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        with section("lawn", "The lawn"):
            self.verdict = words("p", "", "sm-verdict")
            for line in lawn_lines(desk):
                words("p", line)
            words("p", f"Its folder: {desk.folder}", "sm-quiet sm-path")
        self.refresh()

    def refresh(self) -> None:
        """Show the latest verdict."""
        season = self.desk.season
        self.verdict.set_text(season.outlook.first_mow.sentence if season else "")
        self.verdict.set_visibility(season is not None)


def lawn_lines(desk: Desk) -> tuple[str, str]:
    """Say in two sentences which lawn this is."""
    lawn = desk.lawn()
    side = format_length(lawn.square_side_m, units=lawn.units)
    leveled = [day_text(day, lawn.units) + f" {day.year}" for day in lawn.leveling_dates]
    when = f"Leveled on {' and '.join(leveled)}." if leveled else "No leveling day is noted yet."
    return f"{lawn.name}: {lawn.grass}, square of {side}.", when


def units_of(languages: str) -> str:
    """Return the units of a browser's first language: us for the United States, Liberia and Myanmar."""
    first = languages.split(",")[0].split(";")[0].strip()
    region = first.partition("-")[2].upper()
    return "us" if region in US_REGIONS else "metric"

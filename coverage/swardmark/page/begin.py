"""The four questions that begin a lawn."""

from __future__ import annotations

import datetime as dt
from typing import get_args

from nicegui import ui

from swardmark.common.errors import SwardmarkError
from swardmark.common.units import parse_length
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.toml import Grass
from swardmark.page import sentences
from swardmark.page.desk import Desk
from swardmark.page.elements import Restore
from swardmark.page.forms import Choice, Field, button, section, tell, words
from swardmark.page.places.plain import plain

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
                tell(plain(str(error)), bad=True)
                return
            desk.changed()
            ui.navigate.reload()

        button(sentences.BEGIN_BUTTON, begin)
        words("h3", sentences.OR_BRING_BACK)
        Restore(words=sentences.RESTORE_WORDS)


def units_of(languages: str) -> str:
    """Return the units of a browser's first language: us for the United States, Liberia and Myanmar."""
    first = languages.split(",")[0].split(";")[0].strip()
    region = first.partition("-")[2].upper()
    return "us" if region in US_REGIONS else "metric"

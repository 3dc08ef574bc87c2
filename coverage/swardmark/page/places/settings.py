"""The place Settings: everything that the page asks the keeper, each kept as soon as it is entered."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.edits.values import save_leveling, save_values
from swardmark.lawn.toml import LAWN_FILE, Lawn
from swardmark.page.desk import Desk
from swardmark.page.forms import FIRST, button, tell, words
from swardmark.page.places import sentences
from swardmark.page.places.fields import (
    GROUPS,
    Setting,
    leveling_depth_text,
    read_leveling_depth,
    whole_number,
)
from swardmark.page.places.keeping import keep
from swardmark.page.places.plain import plain

SHOW_VALUES = (
    "for (const [id, value] of Object.entries({values})) {{ const box = document.getElementById(id);"
    " if (box && box !== document.activeElement) box.value = value; }}"
)
"""Puts values into fields, but not into the one that is being typed in."""


class SettingsPlace:
    """All settings in groups; a field that was changed is kept at once and can be taken back."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._seen = ""
        self._built: tuple[Any, ...] = ()
        self._fields: dict[str, tuple[Setting, Element]] = {}
        words("h2", sentences.SETTINGS_TITLE)
        words("p", sentences.SETTINGS_INTRO, "sm-quiet")
        self.body = Element("div").classes("sm-groups")
        self.refresh()

    def refresh(self) -> None:
        """Show the settings as they are now, if someone changed them; a field that is typed in stays as it is."""
        lawn, revision = self.desk.lawn_and_revision()
        if revision == self._seen:
            return
        self._seen = revision
        if self._built == (lawn.units, lawn.leveling):
            self._show_values(lawn)
            return
        self._built = lawn.units, lawn.leveling
        self.body.clear()
        with self.body:
            for group, settings in GROUPS.items():
                with (
                    Element("section").classes("sm-group").props(f'id="{group}" aria-labelledby="of-{group}"')
                ):
                    words("h3", sentences.GROUPS[group]).props(f'id="of-{group}"')
                    with Element("div").classes("sm-fields"):
                        for setting in settings:
                            self._field(setting, lawn)
                if group == "lawn":
                    self._levelings(lawn)

    def _show_values(self, lawn: Lawn) -> None:
        values = {f"c{field.id}": setting.shown(lawn) for setting, field in self._fields.values()}
        self.body.client.run_javascript(SHOW_VALUES.format(values=json.dumps(values)))

    def _field(self, setting: Setting, lawn: Lawn) -> None:
        with Element("label").classes("sm-field").props(f'id="{setting.name}"'):
            words("span", setting.titled(lawn), "sm-label")
            value = setting.shown(lawn)
            if setting.kind == "choice":
                field = Element("select")
                with field:
                    for key, text in setting.options:
                        words("option", text)._props.update(
                            value=key, **({"selected": True} if key == value else {})
                        )
            else:
                field = Element("input")
                numeric = (
                    {"inputmode": "decimal"} if setting.kind not in ("text", "side", "day", "heights") else {}
                )
                first = {FIRST: value}
                field._props.update(type="text", maxlength=200, autocomplete="off", **first, **numeric)
            if setting.hint:
                words("span", setting.hint, "sm-hint-text")
        self._fields[setting.name] = setting, field
        field.on(
            "change",
            lambda event: self._keep(setting, str(event.args)),
            js_handler="(e) => emit(e.target.value)",
        )

    def _keep(self, setting: Setting, text: str) -> None:
        lawn, revision = self.desk.lawn_and_revision()
        try:
            value = whole_number(setting, setting.read(text, lawn))
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            return
        said = sentences.SETTING_KEPT.format(label=setting.label)
        keep(
            self.desk,
            [LAWN_FILE],
            lambda: save_values(self.desk.folder, {setting.name: value}, revision=revision),
            said,
        )
        self._seen = ""  # shown anew also where Undo brings back the revision that was seen

    def _levelings(self, lawn: Lawn) -> None:
        with Element("section").classes("sm-group").props('id="leveling" aria-labelledby="of-leveling"'):
            words("h3", sentences.LEVELINGS).props('id="of-leveling"')
            words("p", sentences.LEVELINGS_INTRO, "sm-quiet")
            for number, leveling in enumerate(lawn.leveling):
                depth = leveling.depth_mm
                self._leveling(lawn, number, leveling.date, depth)
            self._leveling(lawn, len(lawn.leveling), None, None)

    def _leveling(self, lawn: Lawn, number: int, day: dt.date | None, depth_mm: float | None) -> None:
        unit = "in" if lawn.units == "us" else "mm"
        shown = leveling_depth_text(depth_mm, lawn)
        values: dict[str, str] = {"day": day.isoformat() if day else "", "depth": shown}
        with Element("div").classes("sm-leveling"):
            for name, kind, label in (
                ("day", "date", sentences.LEVELING_DAY if day else sentences.LEVELING_NEW),
                ("depth", "text", sentences.LEVELING_DEPTH.format(unit=unit)),
            ):
                with Element("label").classes("sm-field"):
                    words("span", label, "sm-label")
                    box = Element("input")
                    box._props.update(type=kind, **{FIRST: values[name]})
                box.on(
                    "input",
                    lambda event, name=name: values.update({name: str(event.args)}),
                    js_handler="(e) => emit(e.target.value)",
                )
            button(
                sentences.KEEP if day else sentences.ADD,
                lambda: self._keep_leveling(number, values, lawn, depth_mm),
                "sm-small",
            )
            if day is not None:
                none = {"day": "", "depth": ""}
                button(
                    sentences.REMOVE,
                    lambda: self._keep_leveling(number, none, lawn, None, gone=True),
                    "sm-plain sm-small",
                )

    def _keep_leveling(
        self, number: int, values: dict[str, str], lawn: Lawn, was_mm: float | None, *, gone: bool = False
    ) -> None:
        _, revision = self.desk.lawn_and_revision()
        try:
            day = dt.date.fromisoformat(values["day"]) if values["day"] else None
            depth = read_leveling_depth(values["depth"], lawn, was_mm=was_mm)
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            return
        except ValueError:
            tell(sentences.LEVELING_UNREADABLE, bad=True)
            return
        if day is None and not gone:
            tell(sentences.LEVELING_NO_DAY, bad=True)
            return
        keep(
            self.desk,
            [LAWN_FILE],
            lambda: save_leveling(self.desk.folder, number, date=day, depth_mm=depth, revision=revision),
            sentences.LEVELING_REMOVED if gone else sentences.LEVELING_KEPT,
        )

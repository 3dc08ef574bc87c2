"""The place Zones: drawing on the ground, and how each part does."""

from __future__ import annotations

from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.editing import ChangedMeanwhile, ZoneDraft, save_ground
from swardmark.lawn.edits.undo import take_back, with_undo
from swardmark.lawn.toml import LAWN_FILE
from swardmark.page import shown
from swardmark.page.desk import Desk
from swardmark.page.elements import GroundSheet
from swardmark.page.forms import words
from swardmark.page.places import sentences
from swardmark.page.places.course import zone_rows
from swardmark.page.places.keeping import done
from swardmark.page.places.plain import plain


class ZonesPlace:
    """The place Zones: a sheet of ground for each photo point."""

    def __init__(self, desk: Desk) -> None:
        points = shown.photo_points(desk)
        words("h2", sentences.ZONES)
        words("p", sentences.ZONES_INTRO, "sm-quiet")
        self.sheets = [ZoneSheet(desk, point, named=len(points) > 1) for point in points]
        self.how = Element("div")
        self._shown: Any = None
        self.desk = desk
        self.refresh()

    def refresh(self) -> None:
        """Show newer pictures, and zones that were saved elsewhere."""
        for sheet in self.sheets:
            sheet.refresh()
        if self._shown is not self.desk.standing:
            self._shown = self.desk.standing
            self.how.clear()
            with self.how:
                zone_rows(self.desk.season)


class ZoneSheet:
    """The ground of one photo point, and the zones on it."""

    def __init__(self, desk: Desk, point: str, *, named: bool) -> None:
        self.desk, self.point = desk, point
        if named:
            words("h3", sentences.FROM_POINT.format(point=point))
        self.sheet = GroundSheet(**self._sheet(), fault="", conflict=None)
        self.sheet.on("ground", self._save)

    def refresh(self) -> None:
        """Show a newer picture, and zones that were saved elsewhere."""
        self.sheet.show(**self._sheet())

    def _sheet(self) -> dict[str, Any]:
        lawn, revision = self.desk.lawn_and_revision()
        return shown.ground_sheet(self.desk, lawn, revision, self.point)

    def _save(self, event: Any) -> None:
        self.sheet.show(fault="", conflict=None)
        try:
            zones = [
                ZoneDraft(str(z["name"]), _corners(z["outline_m"]), str(z["was"]))
                for z in event.args["zones"]
            ]
            outline = _corners(event.args["outline"])
            seen = str(event.args["revision"])
            _, changes = with_undo(
                self.desk.folder,
                [LAWN_FILE],
                lambda: save_ground(
                    self.desk.folder, zones, revision=seen, point=self.point, outline_m=outline
                ),
            )
        except ChangedMeanwhile:
            sheet = self._sheet()
            told = {"message": sentences.SAVED_ELSEWHERE}
            self.sheet.show(conflict={**told, **{k: sheet[k] for k in ("zones", "outline", "revision")}})
        except (KeyError, TypeError, ValueError):
            self.sheet.show(fault=sentences.ZONES_UNREADABLE)
        except SwardmarkError as error:
            self.sheet.show(fault=plain(str(error)))
        else:
            self.refresh()
            undo = (lambda: take_back(self.desk.folder, changes)) if changes else None
            done(self.desk, sentences.ZONES_KEPT, undo=undo)


def _corners(values: Any) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in values)

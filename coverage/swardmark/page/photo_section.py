"""Photos and zones: taking photos in, correcting the square, drawing on the ground."""

from __future__ import annotations

from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.editing import ChangedMeanwhile, ZoneDraft, save_ground
from swardmark.measure.hand_marks import mark_square
from swardmark.page import sentences, shown
from swardmark.page.desk import Desk
from swardmark.page.elements import GroundSheet, Intake, PhotoRows
from swardmark.page.forms import button, section, tell, words
from swardmark.page.routes import MOST_PHOTO_BYTES


class PhotosSection:
    """The section Photos."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        with section("photos", sentences.SECTIONS["photos"]):
            self.intake = Intake(**self._intake())
            self.intake.on("trouble", lambda event: tell(str(event.args), bad=True))
            self.refused = Element("ul").classes("sm-refused")
            self.rows = PhotoRows(rows=shown.photo_rows(desk))
            self.rows.on("corners", self._mark)
        self._show_refusals()

    def refresh(self) -> None:
        """Show what is new."""
        self.intake.show(**self._intake())
        self.rows.show(rows=shown.photo_rows(self.desk))
        self._show_refusals()

    def _intake(self) -> dict[str, Any]:
        points = shown.photo_points(self.desk)
        return {
            "ghosts": {point: shown.ghost_address(self.desk, point) for point in points},
            "due": shown.due_text(self.desk),
            "points": points,
            "most_mb": MOST_PHOTO_BYTES // 1_000_000,
        }

    def _show_refusals(self) -> None:
        self.refused.clear()
        with self.refused:
            for name, sentence in shown.refusal_rows(self.desk):
                with Element("li").classes("sm-bad"):
                    words("strong", sentences.NOT_TAKEN_IN.format(photo=name))
                    words("span", sentence)
            if self.desk.upload_refusals:
                button(sentences.CLEAR_LIST, self.desk.forget_refusals, "sm-plain sm-small")

    async def _mark(self, event: Any) -> None:
        try:
            name = str(event.args["name"])
            file = next(f for f in self.desk.lawn().photos() if f.name == name)
            corners = [(float(x), float(y)) for x, y in event.args["corners"]]
            mark_square(file.path, corners)
        except (KeyError, TypeError, ValueError, StopIteration):
            tell(sentences.CORNERS_UNREADABLE, bad=True)
        except SwardmarkError as error:
            tell(str(error), bad=True)
        else:
            tell(sentences.CORNERS_KEPT)
            self.desk.measure_soon()


class ZonesSection:
    """The section Zones: a sheet of ground for each photo point."""

    def __init__(self, desk: Desk) -> None:
        points = shown.photo_points(desk)
        with section("zones", sentences.SECTIONS["zones"]):
            words("p", sentences.ZONES_INTRO, "sm-quiet")
            self.sheets = [ZoneSheet(desk, point, named=len(points) > 1) for point in points]

    def refresh(self) -> None:
        """Show newer pictures, and zones that were saved elsewhere."""
        for sheet in self.sheets:
            sheet.refresh()


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
            save_ground(self.desk.folder, zones, revision=seen, point=self.point, outline_m=outline)
        except ChangedMeanwhile:
            sheet = self._sheet()
            told = {"message": sentences.SAVED_ELSEWHERE}
            self.sheet.show(conflict={**told, **{k: sheet[k] for k in ("zones", "outline", "revision")}})
        except (KeyError, TypeError, ValueError):
            self.sheet.show(fault=sentences.ZONES_UNREADABLE)
        except SwardmarkError as error:
            self.sheet.show(fault=str(error))
        else:
            self.refresh()
            self.desk.changed()
            self.desk.measure_soon()


def _corners(values: Any) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in values)

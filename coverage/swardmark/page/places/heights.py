"""Heights and probes: a grid of places below a string, and four answers about one spot."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.common.units import FOOT_M, parse_length
from swardmark.lawn.edits.ground import add_probe, keep_height
from swardmark.lawn.edits.undo import Change, take_back, with_undo
from swardmark.lawn.heights import HEIGHTS_FILE, read_heights
from swardmark.lawn.toml import LAWN_FILE, MAIN_POINT
from swardmark.level.cutfill import LEAST_READINGS
from swardmark.level.places import GridPlace, grid_places
from swardmark.page.desk import Desk
from swardmark.page.elements import GridCard, ProbeCard
from swardmark.page.forms import Field, button, tell, words
from swardmark.page.places import sentences
from swardmark.page.places.keeping import done, keep
from swardmark.page.places.plain import plain
from swardmark.relevel.planning import RelevelPlan

HOW, MOST_DROP_MM = "string", 1000.0


class HeightsPart:
    """The string grid: its size, then one place after the other."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.us = desk.lawn().units == "us"
        self.places: tuple[GridPlace, ...] = ()
        self.kept: list[tuple[int, tuple[Change, ...]]] = []
        with Element("div").props('id="heights"'):
            words("h3", sentences.HEIGHTS)
            words("p", sentences.HEIGHTS_INTRO, "sm-quiet")
            with Element("div").classes("sm-fields"):
                first = ("12 ft", "12 ft", "3 ft") if self.us else ("4 m", "4 m", "1 m")
                labels = (sentences.GRID_WIDTH, sentences.GRID_LENGTH, sentences.GRID_SPACING)
                self.fields = [Field(label, value=value) for label, value in zip(labels, first, strict=True)]
            button(sentences.GRID_BEGIN, self._begin, "sm-plain")
            self.body = Element("div")

    def _begin(self) -> None:
        bare = "ft" if self.us else "m"
        try:
            width, length, spacing = (
                parse_length(f.value, bare=bare, where=sentences.HEIGHTS) for f in self.fields
            )
            self.places = grid_places(width, length, spacing)
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            return
        unit = sentences.GRID_UNIT.format(unit="in" if self.us else "mm")
        self.body.clear()
        self.kept = []
        with self.body:
            self.card = GridCard(
                places=[self._place(place) for place in self.places],
                first=self._read(),
                least=LEAST_READINGS,
                words=sentences.GRID_WORDS | {"unit": unit},
            )
        self.card.on("kept", self._keep)
        self.card.on("undo", self._undo)
        self.card.on("finish", self._finish)

    def _read(self) -> dict[str, str]:
        """Return what today's lines have of this grid, by the numbers of its places."""
        rows = [
            row for row in read_heights(self.desk.folder) if row.date == dt.date.today() and row.how == HOW
        ]
        found = {}
        for place in self.places:
            for row in rows:
                if row.point == MAIN_POINT and math.hypot(row.x_m - place.x_m, row.y_m - place.y_m) < 1e-3:
                    found[str(place.number)] = f"{-row.height_mm / (25.4 if self.us else 1.0):.5g}"
        return found

    def _place(self, place: GridPlace) -> dict[str, Any]:
        right, away = (_length(one, us=self.us) for one in (place.x_m, place.y_m))
        label = sentences.GRID_PLACE.format(number=place.number, right=right, away=away)
        return {"number": place.number, "x": place.x_m, "y": place.y_m, "label": label}

    def _keep(self, event: Any) -> None:
        """Write a height as soon as it is typed, so that none is lost when the page stops."""
        number, value = int(event.args["number"]), str(event.args["value"])
        place = next((one for one in self.places if one.number == number), None)
        if place is None:
            return
        unit, unit_mm = ("in", 25.4) if self.us else ("mm", 1.0)
        if not _is_height(value, MOST_DROP_MM / unit_mm):
            most = f"{MOST_DROP_MM / unit_mm:.0f}"
            tell(sentences.GRID_NO_HEIGHT.format(value=value, unit=unit, most=most), bad=True)
            self.card.run_method("stand", self._read(), number)
            return
        line = self._line(place, value)
        try:
            _, changes = with_undo(
                self.desk.folder, [HEIGHTS_FILE], lambda: keep_height(self.desk.folder, line)
            )
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            self.card.run_method("stand", self._read(), number)
        else:
            self.kept.append((number, changes))

    def _undo(self) -> None:
        if not self.kept:
            return
        number, changes = self.kept[-1]
        try:
            take_back(self.desk.folder, changes)
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            return
        self.kept.pop()
        self.card.run_method("stand", self._read(), number)

    def _finish(self) -> None:
        """Measure with the heights, which are in the file already."""
        done(self.desk, sentences.GRID_KEPT.format(count=len(self._read()), all=len(self.places)))
        self.body.clear()

    def _line(self, place: GridPlace, value: str) -> dict[str, object]:
        return {
            "date": dt.date.today().isoformat(), "place": str(place.number), "x_m": place.x_m, "y_m": place.y_m,
            "drop_in" if self.us else "drop_mm": value, "how": HOW,
        }  # fmt: skip


class ProbePart:
    """The four questions about a spot of the plan."""

    def __init__(self, desk: Desk, plan: RelevelPlan) -> None:
        self.desk = desk
        self.spots = {item.spot.number: item.spot for item in plan.spots}
        if not self.spots:
            return
        self.us = desk.lawn().units == "us"
        words("h3", sentences.PROBE)
        labels = [{"number": number, "label": sentences.SPOT.format(number=number)} for number in self.spots]
        sand = sentences.PROBE_SAND.format(unit="in" if self.us else "mm")
        ProbeCard(spots=labels, words=sentences.PROBE_WORDS | {"sand": sand}).on("probe", self._probe)

    def _probe(self, event: Any) -> None:
        said = dict(event.args)
        spot = self.spots.get(int(said.get("spot", 0)))
        if spot is None:
            return
        try:
            sand = float(said["sand"]) * (25.4 if self.us else 1.0) if said.get("sand") else None
        except ValueError:
            tell(sentences.NOT_NUMBERS, bad=True)
            return
        answers = {
            "date": dt.date.today(), "point": spot.point if spot.point != MAIN_POINT else None,
            "x_m": round(spot.x_m, 2), "y_m": round(spot.y_m, 2), "ground": said.get("ground"),
            "sand_mm": sand, "soil": said.get("soil"), "light": said.get("light"),
        }  # fmt: skip
        keep(self.desk, [LAWN_FILE], lambda: add_probe(self.desk.folder, answers), sentences.PROBE_KEPT)


def _is_height(value: str, most: float) -> bool:
    try:
        return abs(float(value)) <= most
    except ValueError:
        return False


def _length(meters: float, *, us: bool) -> str:
    return f"{meters / FOOT_M:.1f} ft" if us else f"{meters:.2f} m"

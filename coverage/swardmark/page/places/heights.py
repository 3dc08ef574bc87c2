"""Heights and probes: a grid of places below a string, and four answers about one spot.

Both send by themselves (js/grid.js, js/probe.js): a height is written as soon as it is typed, or waits in the browser.
"""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.common.units import FOOT_M, parse_length
from swardmark.lawn.heights import read_heights
from swardmark.lawn.toml import MAIN_POINT
from swardmark.level.cutfill import LEAST_READINGS
from swardmark.level.places import GridPlace, grid_places
from swardmark.page.desk import Desk
from swardmark.page.elements import GridCard, ProbeCard
from swardmark.page.forms import Choice, Field, button, tell, words
from swardmark.page.places import sentences
from swardmark.page.places.keeping import done
from swardmark.page.places.plain import plain
from swardmark.page.sentences import PHOTO_POINT
from swardmark.page.shown import photo_points
from swardmark.relevel.planning import RelevelPlan

HOW = "string"


class HeightsPart:
    """The string grid: its size, then one place after the other."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.us = desk.lawn().units == "us"
        self.places: tuple[GridPlace, ...] = ()
        self.named = photo_points(desk)
        self.point = self.named[0]
        with Element("div").props('id="heights"'):
            words("h3", sentences.HEIGHTS)
            words("p", sentences.HEIGHTS_INTRO, "sm-quiet")
            with Element("div").classes("sm-fields"):
                if len(self.named) > 1:
                    names = [(name, name) for name in self.named]
                    self.choice = Choice(PHOTO_POINT, names, value=self.point)
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
        self.point = self.choice.value if len(self.named) > 1 else self.named[0]
        unit = sentences.GRID_UNIT.format(unit="in" if self.us else "mm")
        self.body.clear()
        with self.body:
            self.card = GridCard(
                places=[self._place(place) for place in self.places],
                first=self._read(),
                least=LEAST_READINGS,
                drop="drop_in" if self.us else "drop_mm",
                how=HOW,
                point=self.point if self.point != MAIN_POINT else "",
                words=sentences.GRID_WORDS | {"unit": unit},
            )
        self.card.on("finish", self._finish)

    def _read(self) -> dict[str, str]:
        """Return what today's lines have of this grid, by the numbers of its places."""
        rows = [
            row for row in read_heights(self.desk.folder) if row.date == dt.date.today() and row.how == HOW
        ]
        found = {}
        for place in self.places:
            for row in rows:
                if row.point == self.point and math.hypot(row.x_m - place.x_m, row.y_m - place.y_m) < 1e-3:
                    found[str(place.number)] = f"{-row.height_mm / (25.4 if self.us else 1.0):.5g}"
        return found

    def _place(self, place: GridPlace) -> dict[str, Any]:
        right, away = (_length(one, us=self.us) for one in (place.x_m, place.y_m))
        label = sentences.GRID_PLACE.format(number=place.number, right=right, away=away)
        return {
            "number": place.number, "x": place.x_m, "y": place.y_m, "label": label,
            "x_m": round(place.x_m, 3), "y_m": round(place.y_m, 3),
        }  # fmt: skip

    def _finish(self) -> None:
        """Measure with the heights, which are in the file already."""
        done(self.desk, sentences.GRID_KEPT.format(count=len(self._read()), all=len(self.places)))
        self.body.clear()


class ProbePart:
    """The four questions about a spot of the plan."""

    def __init__(self, desk: Desk, plan: RelevelPlan) -> None:
        us = desk.lawn().units == "us"
        spots = [
            {
                "number": spot.number, "label": sentences.SPOT.format(number=spot.number),
                "point": spot.point if spot.point != MAIN_POINT else "",
                "x_m": round(spot.x_m, 2), "y_m": round(spot.y_m, 2),
            }
            for spot in (item.spot for item in plan.spots)
        ]  # fmt: skip
        if not spots:
            return
        words("h3", sentences.PROBE)
        sand = sentences.PROBE_SAND.format(unit="in" if us else "mm")
        more = {"sand": sand, "unit_mm": 25.4 if us else 1.0}
        ProbeCard(spots=spots, words=sentences.PROBE_WORDS | more)


def _length(meters: float, *, us: bool) -> str:
    return f"{meters / FOOT_M:.1f} ft" if us else f"{meters:.2f} m"

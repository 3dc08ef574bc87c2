"""Heights and probes: a grid of places below a string, and four answers about one spot."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.common.units import FOOT_M, parse_length
from swardmark.lawn.edits.ground import add_height, add_probe
from swardmark.lawn.heights import HEIGHTS_FILE
from swardmark.lawn.toml import LAWN_FILE, MAIN_POINT
from swardmark.level.cutfill import LEAST_READINGS
from swardmark.level.places import GridPlace, grid_places
from swardmark.page.desk import Desk
from swardmark.page.elements import GridCard, ProbeCard
from swardmark.page.forms import Field, button, tell, words
from swardmark.page.places import sentences
from swardmark.page.places.keeping import keep
from swardmark.page.places.plain import plain
from swardmark.relevel.planning import RelevelPlan


class HeightsPart:
    """The string grid: its size, then one place after the other."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.us = desk.lawn().units == "us"
        self.places: tuple[GridPlace, ...] = ()
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
        with self.body:
            card = GridCard(
                places=[self._place(place) for place in self.places],
                first={str(number): value for number, value in self._draft().items()},
                least=LEAST_READINGS,
                words=sentences.GRID_WORDS | {"unit": unit},
            )
        card.on("kept", self._kept)
        card.on("finish", self._finish)

    def _draft(self) -> dict[int, str]:
        """Return what was read of this grid and is not written yet; all tabs share it."""
        return self.desk.heights_draft.setdefault(tuple((p.x_m, p.y_m) for p in self.places), {})

    def _place(self, place: GridPlace) -> dict[str, Any]:
        right, away = (_length(one, us=self.us) for one in (place.x_m, place.y_m))
        label = sentences.GRID_PLACE.format(number=place.number, right=right, away=away)
        return {"number": place.number, "x": place.x_m, "y": place.y_m, "label": label}

    def _kept(self, event: Any) -> None:
        self._draft()[int(event.args["number"])] = str(event.args["value"])

    def _finish(self) -> None:
        """Write all heights of the grid at once: fewer than a surface needs would stop the measuring."""
        draft = self._draft()
        read = [(place, draft[place.number]) for place in self.places if place.number in draft]

        def write() -> None:
            for place, value in read:
                add_height(self.desk.folder, self._line(place, value))

        if keep(self.desk, [HEIGHTS_FILE], write, sentences.GRID_KEPT.format(count=len(read))):
            draft.clear()
            self.body.clear()

    def _line(self, place: GridPlace, value: str) -> dict[str, object]:
        return {
            "date": dt.date.today().isoformat(), "place": str(place.number), "x_m": place.x_m, "y_m": place.y_m,
            "drop_in" if self.us else "drop_mm": value, "how": "string",
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


def _length(meters: float, *, us: bool) -> str:
    return f"{meters / FOOT_M:.1f} ft" if us else f"{meters:.2f} m"

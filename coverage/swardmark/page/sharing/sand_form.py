"""The calculator for sand: ground and depth, or an amount of sand, to the order, its loads and its cost."""

from __future__ import annotations

from nicegui.element import Element

from swardmark.common.cautions import DUST_CAUTION
from swardmark.common.errors import SwardmarkError
from swardmark.common.units import SQUARE_FOOT_M2, format_depth, parse_area, parse_depth
from swardmark.lawn.toml import Lawn
from swardmark.mowing.suitability import depth_warnings
from swardmark.page.desk import Desk
from swardmark.page.forms import Field, words
from swardmark.page.places import sentences
from swardmark.page.places.plain import plain
from swardmark.relevel.order_words import order_lines
from swardmark.relevel.sand import check_depth, sand_order


class SandForm:
    """Two fields, and the order below them with every letter."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        lawn = desk.lawn()
        us = lawn.units == "us"
        with Element("div").classes("sm-sand").props('id="sand"'):
            words("h3", sentences.SAND)
            with Element("div").classes("sm-fields"):
                ground = lawn.ground_m2
                unit, size_m2 = ("sq ft", SQUARE_FOOT_M2) if us else ("m²", 1.0)
                area = "" if ground is None else f"{ground / size_m2:.0f} {unit}"
                hint = sentences.SAND_AREA_HINT_US if us else sentences.SAND_AREA_HINT
                self.area = Field(sentences.SAND_AREA, value=area, hint=hint, on_change=self.show)
                self.depth = Field(
                    sentences.SAND_DEPTH,
                    value=usual_depth(lawn),
                    hint=sentences.SAND_DEPTH_HINT,
                    on_change=self.show,
                )
            self.body = Element("div").props('aria-live="polite"')
        self.show()

    def show(self) -> None:
        """Say the order for what is entered."""
        self.body.clear()
        lawn = self.desk.lawn()
        with self.body:
            if not str(self.area.value).strip():
                words("p", sentences.SAND_EMPTY, "sm-quiet")
                return
            try:
                ground_m2 = parse_area(self.area.value, where=sentences.SAND_AREA)
                depth_mm = 1000 * parse_depth(self.depth.value, where=sentences.SAND_DEPTH)
                order = sand_order(area_m2=ground_m2, depth_mm=depth_mm, settings=lawn.sand)
                judged = judged_depth(lawn, depth_mm)
                lines = order_lines(order, units=lawn.units, area_m2=ground_m2 or None)
            except SwardmarkError as error:
                words("p", plain(str(error)), "sm-bad")
                return
            for line in (*judged, *lines):
                words("p", plain(line))
            words("p", DUST_CAUTION, "sm-caution")


def usual_depth(lawn: Lawn) -> str:
    """Return the depth that the form begins with: one pass, as the lawn's grass stands it."""
    return format_depth(lawn.pass_mm, units=lawn.units)


def judged_depth(lawn: Lawn, depth_mm: float) -> tuple[str, ...]:
    """Return what stands against a depth on this lawn; raises UsageError where it would smother any."""
    return check_depth(depth_mm, units=lawn.units) or depth_warnings(lawn, depth_mm)

"""The page's own elements: their scripts stand in js/, their look in look.css."""

from __future__ import annotations

from typing import Any

from nicegui.element import Element


class _Own(Element):
    """An element whose properties are set by name."""

    def __init__(self, **properties: Any) -> None:
        super().__init__()
        self._props.update(properties)

    def show(self, **properties: Any) -> None:
        """Change properties; what is the same is not sent again."""
        changed = {name: value for name, value in properties.items() if self._props.get(name) != value}
        if changed:
            self._props.update(changed)
            self.update()


class Places(_Own, component="js/places.js"):
    """The names of the places, and which one is shown."""


class NoticeList(_Own, component="js/notices.js"):
    """Lines at the page's foot."""


class TodayCard(_Own, component="js/today.js"):
    """The first screen."""


class Intake(_Own, component="js/intake.js"):
    """Taking photos in."""


class PhotoRows(_Own, component="js/rows.js"):
    """Photos as rows with the square over them, and the board for its corners."""


class GroundSheet(_Own, component="js/ground.js"):
    """Zones and outline on the ground in meters."""


class Curves(_Own, component="js/curves.js"):
    """Cover over days."""


class Wipe(_Own, component="js/wipe.js"):
    """The ground on two days."""


class SpotSheet(_Own, component="js/spots.js"):
    """The spots to level on the ground."""


class Restore(_Own, component="js/restore.js"):
    """A lawn that comes back from its zip file."""


class CountCard(_Own, component="js/count.js"):
    """One point to count by eye."""


class GridCard(_Own, component="js/grid.js"):
    """The places of a string grid."""


class WalkCard(_Own, component="js/walk.js"):
    """Five photos on an arc."""


class NoteForm(_Own, component="js/note.js"):
    """One form of the diary or the readings."""


class ProbeCard(_Own, component="js/probe.js"):
    """Four questions about a place."""

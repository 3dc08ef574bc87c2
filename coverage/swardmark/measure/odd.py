"""What odd ground means for the zones of a photo point, and how it is said: one line for each photo.

What is noted widens the interval. Where something lay, the photo before and the growth of the rest tell the ground that
was not seen.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.blades import SLANT_POWER
from swardmark.canopy.cells import CELL_M
from swardmark.canopy.cover import UNSEEN_SD, Cover, straight_down
from swardmark.canopy.index import Window
from swardmark.canopy.odd import Odd
from swardmark.common.text import clean
from swardmark.lawn.toml import Zone
from swardmark.measure import sentences
from swardmark.photo.findings import Finding
from swardmark.record.store import Entry

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

UNSAID = "may read high"
"""What only widens the interval: grass may have grown so."""
GROUND_FINDINGS = ("wet sand", "glare")
"""Findings of a single photo that are about what lies on the ground."""


@dataclass(frozen=True)
class Noted:
    """A photo with something odd on its ground, in words.

    Attributes
    ----------
    point, photo : str
        Photo point and name of the photo.
    taken_at : datetime
        When it was taken.
    what : tuple of str
        What is odd, where, and what follows.
    is_newest : bool
        Whether it is the newest of its photo point, so that another one can be taken in its place.
    """

    point: str
    photo: str
    taken_at: dt.datetime
    what: tuple[str, ...]
    is_newest: bool

    @property
    def sentence(self) -> str:
        """All that is odd in the photo, in one line."""
        return sentences.NOTED.format(photo=clean(self.photo), what="; ".join(self.what))


class OddGround:
    """What odd ground means for the zones of a photo point.

    Parameters
    ----------
    window : tuple of int
        First row and column, rows and columns of the cells, on a lattice of `CELL_M`.
    found : sequence of tuple of Odd
        As `odd_ground` returned it.
    zones : sequence of Zone
        The photo point's zones.
    rest : ndarray of bool, shape (rows, cols), optional
        The cells of the rest of the lawn, which comes after the zones.
    cells : ndarray, shape (photos, rows, cols)
        As `odd_ground` took it.
    slant : float
        Power of the cosine in the slant step.
    """

    def __init__(
        self,
        window: Window,
        found: Sequence[tuple[Odd, ...]],
        zones: Sequence[Zone],
        rest: Mask | None = None,
        *,
        cells: Floats,
        slant: float = SLANT_POWER,
    ) -> None:
        self._found, self._cells, self._slant = found, cells, slant
        self._zones = [_cells_of(zone, window) for zone in zones] if any(found) else []
        if rest is not None:
            self._zones.append(rest)

    def said_of(self, photo: int, names: Sequence[str]) -> list[str]:
        """Return what is odd in a photo, each with the zones that it touches; `names` are theirs, then the rest's."""
        said = []
        for odd in self._said(photo):
            touched = [
                name for name, zone in zip(names, self._zones, strict=True) if (odd.where & zone).any()
            ]
            said.append(_note(odd, touched if len(touched) < len(names) else ()))
        return said

    def allowed_for(self, cover: Cover, *, photo: int, zone: int) -> tuple[Cover, tuple[str, ...]]:
        """Return a zone's cover as what is odd there lets it be, and the notes that say so."""
        if not self._zones:
            return cover, ()
        inside = self._zones[zone]
        touching = [odd for odd in self._found[photo] if (odd.where & inside).any()]
        for odd in touching:
            if odd.kind == "something lies there":
                cover = self._with_ground_behind(cover, self._cells[photo], inside, odd)
            else:
                cover = self._as_far_as_expected(cover, self._cells[photo], inside, odd)
        return cover, tuple(_note(odd) for odd in touching if odd.kind != UNSAID)

    def _said(self, photo: int) -> list[Odd]:
        return [odd for odd in self._found[photo] if odd.kind != UNSAID]

    def _as_far_as_expected(self, cover: Cover, cells: Floats, inside: Mask, odd: Odd) -> Cover:
        """Return a zone's cover with its interval widened by how far it reads off what was expected of it."""
        read = inside & np.isfinite(cells)
        touched = read & odd.where & np.isfinite(odd.expected)
        if not touched.any():
            return cover
        expected = np.where(touched, odd.expected, cells)[read].mean()
        as_read, as_expected = self._down([cells[read].mean(), expected], cover)
        usual = abs(odd.change) * float(touched.sum() / read.sum())
        if odd.change < 0:
            return replace(
                cover, high_pct=min(100.0, cover.high_pct + 100 * max(as_expected - as_read, usual))
            )
        return replace(cover, low_pct=max(0.0, cover.low_pct - 100 * max(as_read - as_expected, usual)))

    def _with_ground_behind(self, cover: Cover, cells: Floats, inside: Mask, odd: Odd) -> Cover:
        """Return a zone's cover with what is expected of hidden ground, and the interval it deserves."""
        read = inside & np.isfinite(cells)
        hidden = read & odd.where & np.isfinite(odd.expected)
        behind = np.where(hidden, odd.expected, cells)[read].mean()
        as_read, filled = self._down([cells[read].mean(), behind], cover)
        middle = float(np.clip(cover.cover_pct + 100 * (filled - as_read), 0, 100))
        wider = 1.96 * 100 * UNSEEN_SD * float(hidden.sum() / read.sum())
        low = float(np.hypot(cover.cover_pct - cover.low_pct, wider))
        high = float(np.hypot(cover.high_pct - cover.cover_pct, wider))
        return replace(
            cover, cover_pct=middle, low_pct=max(0.0, middle - low), high_pct=min(100.0, middle + high)
        )

    def _down(self, seen: Sequence[float], cover: Cover) -> Floats:
        return straight_down(seen, cover.view_deg, power=self._slant)


def noted_photos(
    entries: Sequence[Entry], odd: OddGround, findings: Sequence[tuple[Finding, ...]], names: Sequence[str]
) -> tuple[Noted, ...]:
    """Return a line for each photo with something odd on its ground.

    Parameters
    ----------
    entries : sequence of Entry
        The photo point's photos, oldest first.
    odd : OddGround
        What its covers show.
    findings : sequence of tuple of Finding
        What was found wanting in each photo; those of `GROUND_FINDINGS` are said.
    names : sequence of str
        The zones' names, and that of the rest.
    """
    noted = []
    for number, entry in enumerate(entries):
        said = odd.said_of(number, names)
        said += [finding.words.rstrip(".") for finding in findings[number] if finding.name in GROUND_FINDINGS]
        if said and entry.taken_at is not None:
            is_newest = number == len(entries) - 1
            noted.append(Noted(entry.point, entry.name, entry.taken_at, tuple(said), is_newest))
    return tuple(noted)


def _note(odd: Odd, zones: Sequence[str] = ()) -> str:
    """Say what is odd and what follows, with the names of the zones where they are given."""
    what, ask = sentences.ODD[odd.kind, odd.is_sure]
    template = sentences.ODD_IN_ZONES if zones else sentences.ODD_NOTE
    return template.format(what=what.format(area=odd.area_m2), ask=ask, zones=clean(", ".join(zones)))


def _cells_of(zone: Zone, window: Window) -> Mask:
    """Tell which cells have their middle inside a zone's outline."""
    import shapely

    row0, col0, rows, cols = window
    x, y = np.meshgrid((col0 + np.arange(cols) + 0.5) * CELL_M, (row0 + np.arange(rows) + 0.5) * CELL_M)
    return np.asarray(shapely.contains_xy(shapely.Polygon(zone.outline_m), x, y), bool)

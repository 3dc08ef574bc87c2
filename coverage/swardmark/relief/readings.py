"""What sets of relief photos gave, and how it is kept in the record: measured once, shown as often as wanted.

What a folder of such photos gave is kept under the content of its photos and the settings that they were measured
with, so that report and page show the map without measuring, and other photos or settings are measured anew.
"""

from __future__ import annotations

import datetime as dt
import io
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from swardmark.bundle.lattice import Lattice
from swardmark.common.errors import PhotoRefused
from swardmark.lawn.heights import Heights
from swardmark.relief.dips import Dip, Hollows
from swardmark.relief.measure import Relief
from swardmark.relief.pegs import SEATING_MM, Pegs

RELIEF_VERSION = 2
"""Counted up whenever the same photos would give other heights, so that kept ones are measured anew."""
BLOCK = 4
"""Heights are handed on as means of four by four cells, 0.1 m: neighbors are not independent."""


@dataclass(frozen=True, eq=False)
class ReliefReading:
    """What one set of photos of bare ground gave.

    Attributes
    ----------
    point : str
        The photo point.
    date : date
        Day of the photos.
    relief : Relief
        Its heights.
    """

    point: str
    date: dt.date
    relief: Relief

    def heights(self) -> Heights | None:
        """Return the heights above their own quadratic, as means over 0.1 m; None where leaf hides the ground."""
        if not self.relief.is_bare:
            return None
        lattice = self.relief.lattice
        parts = (*np.moveaxis(lattice.places_m, -1, 0), self.relief.hollows.off_mm, self.relief.se_mm)
        blocks = [_blocks(np.asarray(part, np.float64)) for part in parts]
        known = np.isfinite(blocks[2]) & np.isfinite(blocks[3])
        x, y, height, error = (part[known] for part in blocks)
        return Heights(self.date, self.point, x, y, height, error, "photos")


@dataclass(frozen=True, eq=False)
class PegReading:
    """What one set of photos of pegs gave; attributes as those of `ReliefReading`."""

    point: str
    date: dt.date
    pegs: Pegs

    def heights(self) -> Heights:
        """Return the heights of the soil under the pegs above their own plane, one for each peg."""
        pegs = self.pegs
        error = np.hypot(pegs.se_mm, SEATING_MM)
        x, y, height, error = (
            np.asarray(part, np.float64) for part in (*pegs.places_m.T, pegs.height_mm, error)
        )
        return Heights(self.date, self.point, x, y, height, error, "pegs")


@dataclass(frozen=True, eq=False)
class ReliefReview:
    """All that the relief photos of a lawn gave, oldest first.

    Attributes
    ----------
    sand : tuple of ReliefReading
        Sets of bare ground, and of turf too low to hide where it lies low.
    pegs : tuple of PegReading
        Sets of pegs.
    refusals : tuple of PhotoRefused
        Why other sets were not measured.
    """

    sand: tuple[ReliefReading, ...] = ()
    pegs: tuple[PegReading, ...] = ()
    refusals: tuple[PhotoRefused, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether no set was measured."""
        return not (self.sand or self.pegs)

    def until(self, day: dt.date) -> ReliefReview:
        """Return the sets of a day and those before it."""
        sand = tuple(one for one in self.sand if one.date <= day)
        return replace(self, sand=sand, pegs=tuple(one for one in self.pegs if one.date <= day))

    def sources(self) -> list[Heights]:
        """Return the heights of the last set of each photo point and day: the sand was dragged again before it."""
        found = [heights for one in self.sand if (heights := one.heights()) is not None]
        found += [one.heights() for one in self.pegs]
        return list({(one.point, one.date, one.how): one for one in found}.values())


def packed_review(review: ReliefReview) -> bytes:
    """Return a review as bytes; cameras and ties are left out."""
    arrays: dict[str, Any] = {}
    told = {
        "sand": [_told_sand(one, f"s{n}", arrays) for n, one in enumerate(review.sand)],
        "pegs": [_told_pegs(one, f"p{n}", arrays) for n, one in enumerate(review.pegs)],
        "refusals": [(one.what, one.where, one.remedy) for one in review.refusals],
    }
    out = io.BytesIO()
    np.savez_compressed(out, told=np.frombuffer(json.dumps(told).encode(), np.uint8), **arrays)
    return out.getvalue()


def unpacked_review(data: bytes) -> ReliefReview | None:
    """Return the review that was packed, or None if the bytes are of another version."""
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as arrays:
            told = json.loads(bytes(arrays["told"]))
            return ReliefReview(
                tuple(_sand(one, f"s{n}", arrays) for n, one in enumerate(told["sand"])),
                tuple(_pegs(one, f"p{n}", arrays) for n, one in enumerate(told["pegs"])),
                tuple(
                    PhotoRefused(what, where=where, remedy=remedy) for what, where, remedy in told["refusals"]
                ),
            )
    except (ValueError, KeyError, TypeError, OSError):
        return None


def joined(reviews: Sequence[ReliefReview]) -> ReliefReview:
    """Return several reviews as one, oldest set first."""
    sand = sorted(
        (one for part in reviews for one in part.sand), key=lambda one: (_when(one.relief), one.point)
    )
    pegs = sorted(
        (one for part in reviews for one in part.pegs), key=lambda one: (_when(one.pegs), one.point)
    )
    return ReliefReview(tuple(sand), tuple(pegs), tuple(one for part in reviews for one in part.refusals))


_MAPS = ("height_mm", "se_mm")


def _told_sand(one: ReliefReading, name: str, arrays: dict[str, Any]) -> dict[str, Any]:
    relief = one.relief
    for key in _MAPS:
        arrays[f"{name}.{key}"] = getattr(relief, key).astype(np.float32)
    arrays[f"{name}.off_mm"] = relief.hollows.off_mm.astype(np.float32)
    arrays[f"{name}.gap_mm"] = relief.hollows.gap_mm.astype(np.float32)
    arrays[f"{name}.labels"] = relief.hollows.labels.astype(np.int16)
    arrays[f"{name}.marks"] = relief.marks_m
    return {
        "point": one.point, "date": one.date.isoformat(), "taken_at": _moment(relief.taken_at),
        "lattice": asdict(relief.lattice), "leaf_pct": relief.leaf_pct, "photos": relief.photos,
        "spread_mm": relief.spread_mm, "dips": [asdict(dip) for dip in relief.hollows.dips],
    }  # fmt: skip


def _sand(told: dict[str, Any], name: str, arrays: Any) -> ReliefReading:
    height, error, off, gap = (
        np.asarray(arrays[f"{name}.{key}"], float) for key in (*_MAPS, "off_mm", "gap_mm")
    )
    dips = tuple(Dip(**dip) for dip in told["dips"])
    hollows = Hollows(off, gap, dips, np.asarray(arrays[f"{name}.labels"], np.intp))
    relief = Relief(
        _time(told["taken_at"]), Lattice(**told["lattice"]), height, error, hollows, told["leaf_pct"],
        tuple(told["photos"]), told["spread_mm"], np.asarray(arrays[f"{name}.marks"], float),
    )  # fmt: skip
    return ReliefReading(told["point"], dt.date.fromisoformat(told["date"]), relief)


_PEG_ARRAYS = ("places_m", "height_mm", "se_mm")


def _told_pegs(one: PegReading, name: str, arrays: dict[str, Any]) -> dict[str, Any]:
    pegs = one.pegs
    told: dict[str, Any] = {"point": one.point, "date": one.date.isoformat()}
    for field in fields(Pegs):
        if field.name in _PEG_ARRAYS:
            arrays[f"{name}.{field.name}"] = getattr(pegs, field.name)
        elif field.name != "taken_at":
            told[field.name] = getattr(pegs, field.name)
    return told | {"taken_at": _moment(pegs.taken_at)}


def _pegs(told: dict[str, Any], name: str, arrays: Any) -> PegReading:
    places, height, error = (np.asarray(arrays[f"{name}.{key}"], float) for key in _PEG_ARRAYS)
    pegs = Pegs(_time(told["taken_at"]), tuple(told["numbers"]), places, height, error, tuple(told["left_out"]),
                tuple(told["photos"]))  # fmt: skip
    return PegReading(told["point"], dt.date.fromisoformat(told["date"]), pegs)


def _when(measured: Relief | Pegs) -> dt.datetime:
    return measured.taken_at or dt.datetime.min


def _moment(when: dt.datetime | None) -> str | None:
    return None if when is None else when.isoformat()


def _time(text: str | None) -> dt.datetime | None:
    return None if text is None else dt.datetime.fromisoformat(text)


def _blocks(cells: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the means of known cells in blocks of four by four; NaN where fewer than half are known."""
    rows, cols = (n // BLOCK for n in cells.shape)
    parts = cells[: rows * BLOCK, : cols * BLOCK].reshape(rows, BLOCK, cols, BLOCK)
    known = np.isfinite(parts)
    count = known.sum(axis=(1, 3))
    mean = np.where(known, parts, 0.0).sum(axis=(1, 3)) / np.maximum(count, 1)
    return np.asarray(np.where(2 * count >= BLOCK**2, mean, np.nan), np.float64)

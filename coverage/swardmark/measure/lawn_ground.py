"""The lawn as a photo point shows it: which ground is lawn, which part of it no zone covers, and what is a path or bed.

The lawn is the ground in view on at least half of the photos: inside the keeper's outline where there is one, else
without what is a path or a bed. Those are bare on every photo and run out of the picture. Of zones that share ground
the smaller has it, so that all parts together count it once. The limits are our judgment, tried on drawn lawns.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import FIRST_VALUE, NOT_SEEN, GroundMap, Window
from swardmark.common.crew import Crew
from swardmark.common.packing import packed_text, unpacked_text
from swardmark.lawn.toml import Outline, Zone
from swardmark.measure.zone_points import ZonePoints, zone_points
from swardmark.record.by_crew import over_maps
from swardmark.record.shelf import MOST_POINTS, MapShelf

Mask = NDArray[np.bool_]

CELL_M = 0.05
"""Ground is told from a path in cells of this side, each with its neighbors: 15 cm."""
SOME_LEAF = 0.10
"""Where a tenth was leaf on any photo, grass grows; drawn paths read up to 5 %."""
MOSTLY = 0.5
"""Nothing is a path before half of the ground in view was half covered: until then all of it may be bare sand."""
CUT_OFF_M, CUT_OFF_SHARE = 0.25, 0.25
"""A place is cut off where it meets the edge of the view over this length, or with this share of its rim."""
REACH_M = 0.10
"""Ground this near to the edge of the view is read unevenly from date to date."""
LEAST_REST_M2 = 0.2
"""Less ground than this that no zone covers is no part of its own."""


@dataclass(frozen=True, eq=False)
class LawnGround:
    """The ground of a photo point that is lawn.

    Attributes
    ----------
    lawn : ZonePoints
        The lattice points that are lawn.
    zones_m2 : tuple of float
        Ground of each zone that is in view and not another zone's, square meters.
    rest_m2 : float
        Ground that no zone covers.
    left_out_m2 : float
        Ground in view that was taken for a path or a bed.
    """

    lawn: ZonePoints
    zones_m2: tuple[float, ...]
    rest_m2: float
    left_out_m2: float

    @property
    def has_rest(self) -> bool:
        """Whether there is ground enough beside the zones to be a part of its own."""
        return self.rest_m2 >= LEAST_REST_M2

    def rest(self, zones: Sequence[ZonePoints]) -> ZonePoints:
        """Return the lattice points of the lawn that lie in none of the zones."""
        inside = self.lawn.inside.copy()
        for zone in zones:
            inside[_place(zone, self.lawn)] &= ~zone.inside
        return ZonePoints(self.lawn.row0, self.lawn.col0, inside)

    def within(self, zone: ZonePoints) -> ZonePoints:
        """Return the lattice points of a zone that are lawn."""
        return ZonePoints(zone.row0, zone.col0, zone.inside & self.lawn.inside[_place(zone, self.lawn)])

    def rest_cells(self, zones: Sequence[Zone], window: Window, cell_m: float, spacing_m: float) -> Mask:
        """Tell which cells of a window on a lattice of `cell_m` have their middle on lawn that no zone covers."""
        row0, col0, rows, cols = window
        frame = (self.lawn.row0, self.lawn.col0, *self.lawn.inside.shape)
        inside = self.rest([zone_points(zone, spacing_m=spacing_m, within=frame) for zone in zones]).inside
        at_row = np.rint((row0 + np.arange(rows) + 0.5) * cell_m / spacing_m).astype(int) - self.lawn.row0
        at_col = np.rint((col0 + np.arange(cols) + 0.5) * cell_m / spacing_m).astype(int) - self.lawn.col0
        ok_row, ok_col = (at_row >= 0) & (at_row < frame[2]), (at_col >= 0) & (at_col < frame[3])
        found = inside[np.ix_(at_row.clip(0, frame[2] - 1), at_col.clip(0, frame[3] - 1))]
        return np.asarray(found & ok_row[:, None] & ok_col)

    def packed(self) -> bytes:
        """Return this as bytes for the record."""
        own = self.lawn
        bits = packed_text(np.packbits(own.inside).tobytes())
        kept = (own.row0, own.col0, *own.inside.shape, bits, self.zones_m2, self.rest_m2, self.left_out_m2)
        return json.dumps(kept).encode()

    @classmethod
    def unpacked(cls, kept: bytes) -> LawnGround:
        """Return what `packed` packed."""
        row0, col0, rows, cols, bits, zones_m2, rest_m2, left_out_m2 = json.loads(kept)
        raw = np.frombuffer(unpacked_text(bits, most=MOST_POINTS), np.uint8)
        inside = np.unpackbits(raw, count=rows * cols).reshape(rows, cols).astype(bool)
        return cls(ZonePoints(row0, col0, inside), tuple(zones_m2), rest_m2, left_out_m2)


def lawn_ground(
    maps: MapShelf,
    zones: Sequence[Zone],
    *,
    outline_m: Outline | None,
    drawn: bool,
    threshold: float,
    crew: Crew,
) -> LawnGround:
    """Find out which ground of a photo point is lawn.

    Parameters
    ----------
    maps : MapShelf
        The photo point's maps.
    zones : sequence of Zone
        Its zones, or the named patches.
    outline_m : outline or None
        The keeper's outline of the lawn.
    drawn : bool
        Whether the keeper drew the zones: then what they cover is lawn whatever grows there.
    threshold : float
        Index above which a point counts as leaf.
    crew : Crew
        Who works on the maps.
    """
    spacing_m, per_cell = maps.spacing_m, max(1, round(CELL_M / maps.spacing_m))
    window = _window(maps.windows(), per_cell)
    seen, leafiest = _over_all_photos(maps, window, per_cell, threshold, crew)
    points = [zone_points(zone, spacing_m=spacing_m, within=window) for zone in zones]
    frame = ZonePoints(window[0], window[1], 2 * seen >= len(maps))
    left_out = np.zeros_like(frame.inside)
    if outline_m is not None:
        whole = zone_points(Zone(name="lawn", outline_m=outline_m), spacing_m=spacing_m, within=window)
        lawn = np.zeros_like(frame.inside)
        lawn[_place(whole, frame)] = whole.inside
        lawn &= frame.inside
    else:
        known = np.zeros_like(frame.inside)
        for zone in points if drawn else ():
            known[_place(zone, frame)] |= zone.inside
        left_out = frame.inside & ~known & _paths(frame.inside, leafiest, known, per_cell, spacing_m)
        lawn = frame.inside & ~left_out
    free, zones_m2 = lawn.copy(), np.zeros(len(zones))
    for number in sorted(range(len(zones)), key=lambda n: zones[n].area_m2):
        place, own = _place(points[number], frame), points[number].inside
        zones_m2[number] = np.count_nonzero(free[place] & own) * spacing_m**2
        free[place] &= ~own
    point_m2 = spacing_m**2
    return LawnGround(
        ZonePoints(window[0], window[1], lawn),
        tuple(zones_m2.tolist()),
        np.count_nonzero(free) * point_m2,
        np.count_nonzero(left_out) * point_m2,
    )


def _window(windows: Sequence[Window], per_cell: int) -> Window:
    """Return the smallest window of whole cells that holds all of them."""
    row0, col0, rows, cols = np.array(windows).T
    top, left = (int(np.floor(first.min() / per_cell)) * per_cell for first in (row0, col0))
    bottom, right = (int(np.ceil(last.max() / per_cell)) * per_cell for last in (row0 + rows, col0 + cols))
    return top, left, bottom - top, right - left


def _over_all_photos(
    maps: MapShelf, window: Window, per_cell: int, threshold: float, crew: Crew
) -> tuple[NDArray[np.int32], NDArray[np.float32]]:
    """Return on how many photos each point was seen, and the most that each cell was leaf on any of them, 0..1."""
    *_, rows, cols = window
    shape, points = (rows // per_cell, cols // per_cell), rows * cols
    seen, leafiest = np.zeros((rows, cols), np.int32), np.zeros(shape, np.float32)
    size = points + leafiest.nbytes
    for some in over_maps(maps, _looked, crew, size=lambda _: size, parts=(window, per_cell, threshold)):
        seen += np.frombuffer(some, np.uint8, points).reshape(rows, cols)
        np.maximum(leafiest, np.frombuffer(some, "<f4", offset=points).reshape(shape), out=leafiest)
    return seen, leafiest


def _looked(
    maps: Iterable[GroundMap], _: Sequence[object], window: Window, per_cell: int, threshold: float
) -> bytes:
    """Do the same for some maps, at most 255: counts as bytes, then the cells' shares."""
    import cv2

    row0, col0, rows, cols = window
    seen = np.zeros((rows, cols), np.uint8)
    leafiest = np.zeros((rows // per_cell, cols // per_cell), np.float32)

    def cells(mask: Mask) -> NDArray[np.float32]:
        strips = mask.reshape(rows // per_cell, per_cell, cols).sum(axis=1, dtype=np.uint16)
        count = strips.reshape(len(strips), -1, per_cell).sum(axis=2, dtype=np.float32)
        return np.asarray(cv2.blur(count, (3, 3), borderType=cv2.BORDER_CONSTANT), np.float32)

    for ground_map in maps:
        values = ground_map.window(*window)
        own = GroundMap(values, row0, col0, ground_map.spacing_m)
        readable = cells(values >= FIRST_VALUE)
        share = cells(own.canopy(threshold)) / np.maximum(readable, 1e-6)
        share = np.where(readable > 0.25 * per_cell**2, share, np.float32(0))
        seen += values != NOT_SEEN
        np.maximum(leafiest, share, out=leafiest)
    return seen.tobytes() + leafiest.astype("<f4").tobytes()


def _paths(view: Mask, leafiest: NDArray[np.float32], known: Mask, per_cell: int, spacing_m: float) -> Mask:
    """Find bare ground that the edge of the view cuts off, and that nothing tells to be lawn; shape of the view."""
    from scipy import ndimage

    def coarse(mask: Mask) -> Mask:
        rows, cols = leafiest.shape
        return np.asarray(mask.reshape(rows, per_cell, cols, per_cell).mean(axis=(1, 3)) >= MOSTLY)

    seen, cell_m = coarse(view), per_cell * spacing_m
    paths = np.zeros_like(seen)
    if not seen.any() or float(np.median(leafiest[seen])) < MOSTLY:
        return np.zeros_like(view)
    known_cells, reach = coarse(known), max(1, round(REACH_M / cell_m))
    closed = ndimage.binary_closing(np.pad(seen, 3), iterations=2)
    filled = ndimage.binary_fill_holes(closed)[3:-3, 3:-3]
    regions, count = ndimage.label(seen & (leafiest < SOME_LEAF))
    for number in range(1, count + 1):
        region = regions == number
        rim = ndimage.binary_dilation(np.pad(region, reach + 1), iterations=reach)
        rim &= ~np.pad(region, reach + 1)
        outside = np.count_nonzero(rim & ~np.pad(filled, reach + 1))
        is_cut = outside / reach * cell_m >= CUT_OFF_M or outside > CUT_OFF_SHARE * np.count_nonzero(rim)
        if is_cut and known_cells[region].mean() < MOSTLY:
            paths |= region
    return np.asarray(np.repeat(np.repeat(paths, per_cell, axis=0), per_cell, axis=1))


def _place(zone: ZonePoints, frame: ZonePoints) -> tuple[slice, slice]:
    """Return where a zone's window lies in a frame that holds it."""
    top, left = zone.row0 - frame.row0, zone.col0 - frame.col0
    if not zone.inside.size:
        return slice(0, 0), slice(0, 0)
    return slice(top, top + zone.inside.shape[0]), slice(left, left + zone.inside.shape[1])

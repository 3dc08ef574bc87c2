"""Zonal statistics of a photo point: named patches and every zone's cover, computed once and kept.

What a zone's cover depends on is known: the maps, the camera's place, the outline, the threshold, and COVER_VERSION.
All of it goes into the basis, a hash, under which the record keeps the numbers; whatever changes, the basis is another
one and the maps are read again. So a lawn of a thousand photos in which nothing changed opens without unpacking a map.

Where maps are read, only a few are unpacked at a time, and only the part of a map that a zone covers is looked at.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.cells import CELL_M
from swardmark.canopy.cover import Cover, zone_cover
from swardmark.canopy.index import FIRST_VALUE, NOT_SEEN, GroundMap, Window
from swardmark.canopy.odd import ODD_VERSION, Odd, odd_ground
from swardmark.canopy.odd_kept import packed_odd, unpacked_odd
from swardmark.canopy.scale import LeafScale
from swardmark.common.crew import ALONE, AtHand, Crew, Source
from swardmark.common.errors import UsageError
from swardmark.lawn.toml import Outline, Zone
from swardmark.lawn.zones import LEAST_PATCH_M2, patch_zones
from swardmark.measure.lawn_ground import LawnGround, lawn_ground
from swardmark.measure.zone_points import ZonePoints, zone_points
from swardmark.record.by_crew import by_crew, over_maps
from swardmark.record.shelf import MapShelf
from swardmark.record.store import Entry, Record

FULL_STEP, NOT_READ = 200, 255
"""Kept cells: steps of half a percent, and the mark of a cell of which too little was read."""
LEAST_READ = 0.3
COVER_VERSION = 5
"""Raised when the same maps, zones and scale would give other covers; what was kept before is computed again."""


class PointNumbers:
    """What is computed of one photo point's maps; use `keep` at the end to have it kept.

    Parameters
    ----------
    record : Record
        Where the maps are, and what was kept.
    entries : sequence of Entry
        The photo point's measured photos, oldest first.
    crew : Crew
        Who works on the maps.
    """

    def __init__(self, record: Record, entries: Sequence[Entry], crew: Crew = ALONE) -> None:
        self.maps: MapShelf = record.maps(entries)
        self._crew = crew
        self._record, self._entries, self._point = record, entries, entries[0].point
        photos = [(entry.digest, entry.settings, entry.facts.camera_m) for entry in entries]
        self._photos = _hash(COVER_VERSION, np.__version__, photos)
        self._used: dict[str, bytes] = {}
        self._is_new, self._ground = False, ""

    def patches(self, side_m: float) -> tuple[Zone, ...]:
        """Return the named patches of which enough is seen."""
        patches = patch_zones(self._point, side_m)
        kept = self._known("patches", lambda: self._seen_m2(patches).astype("<f8").tobytes(), side_m)
        seen = np.frombuffer(kept, "<f8")
        return tuple(zone for zone, area in zip(patches, seen, strict=True) if area >= LEAST_PATCH_M2)

    def ground(
        self, zones: Sequence[Zone], scale: LeafScale, *, outline_m: Outline | None, drawn: bool
    ) -> LawnGround:
        """Return the ground that is lawn; `drawn` tells zones of the keeper from named patches."""

        def find() -> bytes:
            return lawn_ground(
                self.maps,
                zones,
                outline_m=outline_m,
                drawn=drawn,
                threshold=scale.value,
                crew=self._crew,
            ).packed()

        parts = ([zone.outline_m for zone in zones], outline_m, drawn, scale.value)
        self._ground = self._basis("ground", *parts)
        return LawnGround.unpacked(self._known("ground", find, *parts))

    def covers(
        self, zones: Sequence[Zone], scale: LeafScale, ground: LawnGround, *, drawn: bool
    ) -> list[tuple[Cover, ...]]:
        """Measure zones in every photo, and the rest of the lawn behind them where there is any: covers, oldest first.

        Zones of the keeper are measured as drawn, named patches without what is no lawn.
        """
        own = "" if drawn else self._ground
        bases = [self._basis("cover", zone.outline_m, scale, own) for zone in zones]
        if ground.has_rest:
            bases.append(self._basis("rest", scale, self._ground))
        kept = [self._kept(basis) for basis in bases]
        missing = [number for number, value in enumerate(kept) if value is None]
        if missing:
            points = self._points_of(zones)
            parts = [*(points if drawn else map(ground.within, points)), ground.rest(points)]
            measured = self._measured([parts[number] for number in missing], scale)
            for number, rows in zip(missing, measured, strict=True):
                kept[number] = self._put(bases[number], rows.astype("<f8").tobytes())
        return [_covers_of(value) for value in kept if value is not None]

    def cells(self, scale: LeafScale) -> tuple[Window, NDArray[np.float64]]:
        """Return the cover of every cell of `CELL_M` as seen, shape (photos, rows, cols), 0..1; NaN where not read.

        With it the cells' window on a lattice of that spacing.
        """
        window, steps = self._steps(scale)
        return window, _cells_of(steps, window)

    def odd(self, scale: LeafScale) -> tuple[Window, NDArray[np.float64], list[tuple[Odd, ...]]]:
        """Return the cells as `cells` does, and what of them is odd in each photo."""
        window, steps = self._steps(scale)
        days = [entry.taken_at.toordinal() for entry in self._entries if entry.taken_at]
        turf = [entry.facts.full_index for entry in self._entries]

        def find() -> bytes:
            source = AtHand(self._point, "odd ground", steps)
            return by_crew(self._crew, found_odd, [(source, window, days, turf)])[0]

        kept = self._known("odd", find, ODD_VERSION, window, scale, days)
        return window, _cells_of(steps, window), unpacked_odd(kept, window[2:])

    def keep(self) -> None:
        """Keep what was computed or used, in the place of what was kept before; a full disk is no fault here."""
        if self._is_new:
            with contextlib.suppress(UsageError):
                self._record.keep_derived(self._point, self._used)

    def _known(self, what: str, compute: Callable[[], bytes], *parts: object) -> bytes:
        basis = self._basis(what, *parts)
        kept = self._kept(basis)
        return self._put(basis, compute()) if kept is None else kept

    def _basis(self, what: str, *parts: object) -> str:
        return f"{what} {_hash(self._photos, *parts)}"

    def _kept(self, basis: str) -> bytes | None:
        if basis not in self._used:
            value = self._record.derived(point=self._point, basis=basis)
            if value is None:
                return None
            self._used[basis] = value
        return self._used[basis]

    def _put(self, basis: str, value: bytes) -> bytes:
        self._used[basis], self._is_new = value, True
        return value

    def _seen_m2(self, patches: Sequence[Zone]) -> NDArray[np.float64]:
        """Return how much ground of each patch is seen in the mean of the photos, square meters."""
        points = self._points_of(patches)
        seen = over_maps(
            self.maps, _seen_of, self._crew, size=lambda maps: 8 * maps * len(points), parts=(points,)
        )
        return np.asarray(np.mean(np.frombuffer(b"".join(seen), "<f8").reshape(-1, len(points)), axis=0))

    def _measured(self, points: Sequence[ZonePoints], scale: LeafScale) -> NDArray[np.float64]:
        """Measure zones in all photos, shape (zones, photos, fields of Cover).

        Where the cells are not kept they are measured with the zones, so that a map is unpacked once for both.
        """
        cameras = [entry.facts.camera_m for entry in self._entries]
        window, side, basis = self._cells_to_measure(scale)
        cells = (window, side) if self._kept(basis) is None else None
        shape = (len(points), len(_FIELDS))
        of_zones, of_cells = 8 * shape[0] * shape[1], window[2] * window[3] if cells else 0
        covers, steps = [], []
        for both in over_maps(
            self.maps,
            _covers_in,
            self._crew,
            size=lambda maps: maps * (of_zones + of_cells),
            parts=(points, scale, cells),
            of_each=cameras,
        ):
            end = len(both) // (of_zones + of_cells) * of_zones
            covers.append(both[:end])
            steps.append(both[end:])
        if cells:
            self._put(basis, b"".join(steps))
        return np.frombuffer(b"".join(covers), "<f8").reshape(-1, *shape).swapaxes(0, 1)

    def _steps(self, scale: LeafScale) -> tuple[Window, bytes]:
        """Return the cells' window, and the cover of each in each photo in steps of half a percent."""
        window, side, basis = self._cells_to_measure(scale)
        steps = self._kept(basis)
        if steps is None:
            count, parts = window[2] * window[3], (window, side, scale)
            steps = b"".join(
                over_maps(self.maps, _cells_in, self._crew, size=lambda maps: maps * count, parts=parts)
            )
            self._put(basis, steps)
        return window, steps

    def _cells_to_measure(self, scale: LeafScale) -> tuple[Window, int, str]:
        """Return the cells' window, their side in points, and the basis under which they are kept."""
        side = round(CELL_M / self.maps.spacing_m)
        window = _coarse(_around(self.maps.windows()), side)
        return window, side, self._basis("cells", window, scale)

    def _points_of(self, zones: Sequence[Zone]) -> list[ZonePoints]:
        spacing_m, within = self.maps.spacing_m, _around(self.maps.windows())
        return [zone_points(zone, spacing_m=spacing_m, within=within) for zone in zones]


def view_angles(ground_map: GroundMap, entry: Entry) -> NDArray[np.float32]:
    """Return the view zenith angle at each point of a photo's map, degrees."""
    return angles_from(entry.facts.camera_m, ground_map.x_m, ground_map.y_m)


def angles_from(
    camera_m: tuple[float, float, float], x_m: NDArray[np.floating], y_m: NDArray[np.floating]
) -> NDArray[np.float32]:
    """Return the view zenith angle of each point of a lattice, shape (len(y_m), len(x_m)), degrees."""
    x, y, height = camera_m
    across, away = (np.asarray((at - of) ** 2, np.float32) for at, of in ((x_m, x), (y_m, y)))
    angle = np.asarray(np.sqrt(across + away[:, None]) / np.float32(height))
    return np.asarray(np.degrees(np.arctan(angle, out=angle), out=angle), np.float32)


_FIELDS = tuple(Cover.__dataclass_fields__)


def _seen_of(maps: Iterable[GroundMap], _: Sequence[object], points: Sequence[ZonePoints]) -> bytes:
    """Return how much of each zone is seen in some maps, square meters."""
    seen_m2 = []
    for ground_map in maps:
        parts = (own.part_of(ground_map) for own in points)
        seen = (inside & (ground_map.values[rows, cols] != NOT_SEEN) for rows, cols, inside in parts)
        seen_m2.append([np.count_nonzero(one) * ground_map.spacing_m**2 for one in seen])
    return np.array(seen_m2, "<f8").tobytes()


def _covers_in(
    maps: Iterable[GroundMap],
    cameras_m: Sequence[tuple[float, float, float]],
    points: Sequence[ZonePoints],
    scale: LeafScale,
    cells: tuple[Window, int] | None = None,
) -> bytes:
    """Measure zones in some maps, and then the cells of a window and a side where they are asked for."""
    rows, steps = [], []
    for ground_map, camera_m in zip(maps, cameras_m, strict=True):
        view_deg = angles_from(camera_m, ground_map.x_m, ground_map.y_m)
        covers = (_zone_cover(ground_map, own, view_deg, scale) for own in points)
        rows.append([[getattr(one, name) for name in _FIELDS] for one in covers])
        if cells:
            steps.append(_cells_in([ground_map], (), *cells, scale))
    return np.array(rows, "<f8").tobytes() + b"".join(steps)


def _zone_cover(
    ground_map: GroundMap, points: ZonePoints, view_deg: NDArray[np.float32], scale: LeafScale
) -> Cover:
    """Measure a zone on the part of the map that it covers."""
    rows, cols, inside = points.part_of(ground_map)
    row0, col0 = ground_map.row0 + rows.start, ground_map.col0 + cols.start
    part = GroundMap(ground_map.values[rows, cols], row0, col0, ground_map.spacing_m)
    return zone_cover(part, inside, scale=scale, view_deg=view_deg[rows, cols])


def _cells_in(
    maps: Iterable[GroundMap], _: Sequence[object], window: Window, side: int, scale: LeafScale
) -> bytes:
    """Measure cells in some maps, in steps of half a percent."""
    shares = np.clip(scale.shares_of_values(), 0, 1)
    row0, col0, rows, cols = window
    strips, steps = ((rows, side, cols * side), (rows, cols, side)), []
    for ground_map in maps:
        fine = np.zeros((rows * side, cols * side), np.uint8)
        top, left = ground_map.row0 - row0 * side, ground_map.col0 - col0 * side
        height, width = ground_map.values.shape
        fine[top : top + height, left : left + width] = ground_map.values
        of_rows = (fine >= FIRST_VALUE).reshape(strips[0]).sum(axis=1, dtype=np.uint16)
        read = of_rows.reshape(strips[1]).sum(axis=2, dtype=np.uint32)
        leaf = shares[fine].reshape(strips[0]).sum(axis=1).reshape(strips[1]).sum(axis=2)
        cover = np.rint(FULL_STEP * leaf / np.maximum(read, 1)).astype(np.uint8)
        steps.append(np.where(read >= LEAST_READ * side**2, cover, NOT_READ).astype(np.uint8).tobytes())
    return b"".join(steps)


def found_odd(source: Source, window: Window, days: Sequence[int], turf: Sequence[float]) -> bytes:
    """Look for odd ground in the kept cells of a photo point, wherever that is done."""
    return packed_odd(odd_ground(_cells_of(source.read(), window), days, turf))


def _cells_of(steps: bytes, window: Window) -> NDArray[np.float64]:
    """Return kept cells as covers, shape (photos, rows, cols), 0..1; NaN where not read."""
    kept = np.frombuffer(steps, np.uint8).reshape(-1, *window[2:])
    return np.where(kept == NOT_READ, np.nan, kept / FULL_STEP)


def _covers_of(kept: bytes) -> tuple[Cover, ...]:
    rows = np.frombuffer(kept, "<f8").reshape(-1, len(_FIELDS)).tolist()
    return tuple(Cover(**{**dict(zip(_FIELDS, row, strict=True)), "points": int(row[-1])}) for row in rows)


def _around(windows: Sequence[Window]) -> Window:
    """Return the smallest window that holds all of them."""
    row0, col0, rows, cols = np.array(windows).T
    top, left = int(row0.min()), int(col0.min())
    return top, left, int((row0 + rows).max()) - top, int((col0 + cols).max()) - left


def _coarse(window: Window, side: int) -> Window:
    """Return the window of square cells, `side` points wide, that holds a window of points."""
    row0, col0, rows, cols = window
    top, left = row0 // side, col0 // side
    return top, left, -(-(row0 + rows) // side) - top, -(-(col0 + cols) // side) - left


def _hash(*parts: object) -> str:
    text = json.dumps(parts, default=lambda value: vars(value))
    return hashlib.sha256(text.encode()).hexdigest()[:32]

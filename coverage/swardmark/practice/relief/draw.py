"""Draw what a phone sees of ground with known heights, with the marks that lie on it.

Every pixel's ray is followed down to the heights; what is there is shaded by its slope under sun and sky, and grain of
three to forty-five millimeters gives it the texture that sand has. Each wave of the grain fades where a pixel spans
more than it. Then come lens blur, sensor noise and the sRGB curve.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import coded_of, linear_of
from swardmark.practice.fields import Raster
from swardmark.practice.relief.phone import View
from swardmark.practice.target import mark_cells

Floats = NDArray[np.floating]
Plane = NDArray[np.float32]
WAVES_MM = (3.0, 7.0, 16.0, 45.0)
TILE = 512
_STRIP, _COARSE, _FINE, _HITS, _FADE = 256, 8, 4, 3, 6.0
_BRIGHT, _PAPER, _INK = 0.42, 0.80, 0.035


@dataclass(frozen=True)
class Board:
    """A printed mark on the ground.

    Attributes
    ----------
    number : int
        Which mark of DICT_4X4_50.
    x_m, y_m : float
        Lower left corner of the black square.
    side_m, margin_m : float
        Side of the black square, and the white margin round it.
    lift_mm : float
        Height of its face over the ground below its middle; a board is 3 mm thick, a peg as long as it stands out.
    lean : tuple of float
        How far a peg stands from plumb, as slopes along x and y.
    is_peg : bool
        Whether it stands on the ground below its middle instead of lying on all that it covers.
    """

    number: int
    x_m: float
    y_m: float
    side_m: float = 0.12
    margin_m: float = 0.02
    lift_mm: float = 3.0
    lean: tuple[float, float] = (0.0, 0.0)
    is_peg: bool = False

    @property
    def middle_m(self) -> tuple[float, float]:
        """Middle of the mark."""
        return self.x_m + self.side_m / 2, self.y_m + self.side_m / 2


@dataclass(frozen=True, eq=False)
class Sand:
    """Ground that can be drawn.

    Attributes
    ----------
    heights : Raster
        Heights in millimeters.
    seed : int
        Of its grain.
    color : tuple of float
        Coded sRGB, 0..255.
    contrast : float
        Spread of its grain, as a share of its brightness.
    boards : tuple of Board
        Marks that lie on it.
    to_sun : tuple of float
        Unit vector toward the sun.
    sun : float
        Share of the light that comes from the sun.
    """

    heights: Raster
    seed: int = 0
    color: tuple[float, float, float] = (205.0, 186.0, 152.0)
    contrast: float = 0.10
    boards: tuple[Board, ...] = ()
    to_sun: tuple[float, float, float] = (-0.55, 0.35, 0.76)
    sun: float = 0.75


def square_boards(*, side_m: float = 1.0, mark_m: float = 0.12) -> tuple[Board, ...]:
    """Return the four marks of the reference square."""
    far = side_m - mark_m
    return tuple(Board(n, x, y, mark_m) for n, (x, y) in enumerate(((0, 0), (far, 0), (far, far), (0, far))))


def board_face(board: Board, heights: Raster) -> Floats:
    """Return the plane z = a + b x + c y in meters of a board that lies on its ground."""
    at = np.linspace(-0.5, 0.5, 7) * (board.side_m + 2 * board.margin_m)
    x, y = np.meshgrid(board.middle_m[0] + at, board.middle_m[1] + at)
    z = heights.smooth_at(x, y) / 1000
    level = np.column_stack([np.ones(x.size), x.ravel(), y.ravel()])
    plane = np.linalg.lstsq(level, z.ravel(), rcond=None)[0]
    if board.is_peg:
        plane = np.array([z[3, 3] - np.dot(board.middle_m, board.lean), *board.lean])
    plane[0] += board.lift_mm / 1000
    return np.asarray(plane)


def draw_relief(view: View, sand: Sand, *, seed: int, noise: float = 1.0) -> NDArray[np.uint8]:
    """Return the photo, shape (rows, cols, 3), coded sRGB.

    Parameters
    ----------
    view : View
        Phone and where it was held.
    sand : Sand
        The ground.
    seed : int
        Of the sensor's noise.
    noise : float
        As a factor on a phone's in daylight.
    """
    import cv2

    light = _ground_light(view, sand)
    paper = np.zeros(light.shape, bool)
    for board in sand.boards:
        _lay_board(light, paper, board, sand, view)
    light = np.asarray(cv2.GaussianBlur(light, (0, 0), 0.7 * view.phone.size_px[0] / 2000), np.float32)
    rng = np.random.default_rng([seed, 5])
    spread = np.float32(0.012 * noise) * np.sqrt(light + np.float32(0.01))
    light += spread * rng.standard_normal(light.shape, np.float32)
    code = np.minimum(np.maximum(light * np.float32(4095), 0), 4095).astype(np.uint16)
    tint = linear_of(sand.color) / linear_of(sand.color).mean()
    steps = (np.arange(4096) / 4095)[:, None] * np.stack([tint, np.ones(3)])[:, None]
    curve = np.rint(coded_of(steps.astype(np.float32))).astype(np.uint8)
    picture = curve[0][code]
    picture[paper] = curve[1][code[paper]]
    return picture


def _ground_light(view: View, sand: Sand) -> Plane:
    """Return the light of each pixel from bare ground, shape (rows, cols)."""
    width, height = view.phone.size_px
    tiles, lit = grain_tiles(sand.seed), _sunlit(sand)
    light = np.empty((height, width), np.float32)
    for top in range(0, height, _STRIP):
        rows = min(_STRIP, height - top)
        across, along, deep = sight(view, top, rows)
        x0, y0, z0 = (np.float32(value) for value in view.position_m)
        z = np.zeros(across.shape, np.float32)
        for _ in range(_HITS):
            fall = z - z0
            x, y = x0 + fall * across, y0 + fall * along
            z = sand.heights.smooth_at(x, y) * np.float32(0.001)
        fall = z - z0
        x, y = x0 + fall * across, y0 + fall * along
        span_mm = -fall * deep
        shade = np.ones(x.shape, np.float32)
        for tile, wave in zip(tiles, WAVES_MM, strict=True):
            fade = np.exp(np.float32(-_FADE / wave**2) * span_mm * span_mm)
            shade += np.float32(sand.contrast / 2) * fade * tiled(tile, x, y, wave)
        light[top : top + rows] = np.float32(_BRIGHT) * shade * lit.smooth_at(x, y)
    return np.maximum(light, 0)


def sight(view: View, top: int, rows: int) -> tuple[Plane, Plane, Plane]:
    """Return x per z, y per z, and the span of a pixel in mm per m of height, of a strip's pixels.

    All three are smooth: worked out on every eighth pixel and made linear between.
    """
    import cv2

    width = view.phone.size_px[0]
    u = np.arange(0, width + _COARSE, _COARSE, dtype=float)
    v = top + np.arange(0, rows + _COARSE, _COARSE, dtype=float)
    rays = view.rays(np.stack(np.meshgrid(u, v), axis=-1))
    down = np.minimum(rays[..., 2], -0.05)
    across, along = rays[..., 0] / down, rays[..., 1] / down
    deep = 1000 * np.sqrt(1 + across**2 + along**2) / -down / view.phone.focal_px
    column, row = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(rows, dtype=np.float32))
    column, row = column / np.float32(_COARSE), row / np.float32(_COARSE)

    def every(part: Floats) -> Plane:
        return np.asarray(cv2.remap(part.astype(np.float32), column, row, cv2.INTER_LINEAR), np.float32)

    return every(across), every(along), every(deep)


def _sunlit(sand: Sand) -> Raster:
    """Return sun and sky on the slope of each lattice place, 1 on level ground."""
    heights = sand.heights
    down, right = np.gradient(heights.values / np.float32(1000), np.float32(heights.cell_m))
    toward = np.array(sand.to_sun, np.float32)
    cosine = (toward[2] - toward[0] * right - toward[1] * down) / np.sqrt(1 + right**2 + down**2)
    light = 1 - sand.sun + sand.sun * np.maximum(cosine, 0) / toward[2]
    return Raster(light.astype(np.float32), heights.x0, heights.y0, heights.cell_m)


def _lay_board(light: Plane, paper: NDArray[np.bool_], board: Board, sand: Sand, view: View) -> None:
    """Draw a board into the light, in place: four by four lines of sight for each pixel near it."""
    a, b, c = board_face(board, sand.heights)
    low, high = -board.margin_m, board.side_m + board.margin_m
    xy = np.array([[low, low], [high, low], [high, high], [low, high]]) + np.array([board.x_m, board.y_m])
    seen = view.project(np.column_stack([xy, a + xy @ (b, c)]))
    limit = np.array(view.phone.size_px)
    u0, v0 = np.floor(seen.min(axis=0) - 3).clip(0, limit).astype(int)
    u1, v1 = np.ceil(seen.max(axis=0) + 4).clip(0, limit).astype(int)
    if u1 <= u0 or v1 <= v0:
        return
    fine = (np.arange(_FINE) + 0.5) / _FINE - 0.5
    u = (np.arange(u0, u1)[:, None] + fine).ravel()
    v = (np.arange(v0, v1)[:, None] + fine).ravel()
    rays = view.rays(np.stack(np.meshgrid(u, v), axis=-1))
    across, along = rays[..., 0] / rays[..., 2], rays[..., 1] / rays[..., 2]
    x0, y0, z0 = view.position_m
    t = (a + b * x0 + c * y0 - z0) / (1 - b * across - c * along)
    right, up = x0 + t * across - board.x_m, y0 + t * along - board.y_m
    on = (np.minimum(right, up) >= low) & (np.maximum(right, up) < high)
    cells = mark_cells(board.number)
    count = len(cells)
    column = np.floor(right / board.side_m * count).astype(int)
    line = count - 1 - np.floor(up / board.side_m * count).astype(int)
    inside = (np.minimum(column, line) >= 0) & (np.maximum(column, line) < count)
    white = ~inside | cells[line.clip(0, count - 1), column.clip(0, count - 1)]
    shape = (v1 - v0, _FINE, u1 - u0, _FINE)
    share = on.reshape(shape).mean(axis=(1, 3))
    print_light = (on * np.where(white, _PAPER, _INK)).reshape(shape).mean(axis=(1, 3))
    light[v0:v1, u0:u1] = light[v0:v1, u0:u1] * (1 - share) + print_light
    paper[v0:v1, u0:u1] |= share > 0.5


def tiled(tile: Plane, x: Plane, y: Plane, wave_mm: float) -> Plane:
    """Return a tile's noise of one wavelength in millimeters at places in meters."""
    import cv2

    per_m, turn = 2500 / wave_mm, 0.37 * wave_mm
    cos, sin = np.float32(per_m * np.cos(turn)), np.float32(per_m * np.sin(turn))
    return np.asarray(
        cv2.remap(tile, x * cos + y * sin, y * cos - x * sin, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP),
        np.float32,
    )


def grain_tiles(seed: int) -> list[Plane]:
    """Return noise of mean 0 and variance 1 for each wave, 2.5 lattice steps long, that repeats without a seam."""
    import cv2

    tiles = []
    for n in range(len(WAVES_MM)):
        noise = np.random.default_rng([seed, 7, n]).standard_normal((TILE, TILE), np.float32)
        padded = cv2.copyMakeBorder(noise, 8, 8, 8, 8, cv2.BORDER_WRAP)
        smooth = cv2.GaussianBlur(padded, (0, 0), 0.8) - cv2.GaussianBlur(padded, (0, 0), 2.0)
        smooth = smooth[8:-8, 8:-8]
        tiles.append(np.asarray(smooth / smooth.std(), np.float32))
    return tiles

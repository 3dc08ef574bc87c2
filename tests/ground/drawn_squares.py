"""Photos of squares, and of things that are none, with exactly known corners; quick to draw, without blades."""

import numpy as np

from swardmark.practice.scene import Camera, Square
from swardmark.practice.target import lay_square

SMALL = (1200, 900)


def photo_of(camera, squares=(), *, sheets=(), seed=0, noise=1.0):
    """Draw squares and sheets on mottled ground; sheets are (texture, its four corners in space, clockwise)."""
    import cv2

    rng = np.random.default_rng(seed)
    width, height = camera.size_px
    coarse = cv2.resize(rng.uniform(0, 1, (height // 24, width // 24)).astype(np.float32), (width, height))
    fine = rng.uniform(-0.25, 0.25, (height, width)).astype(np.float32)
    green = np.clip(coarse * 1.6 - 0.3 + fine, 0, 1)[..., None]
    picture = green * np.float32([0.08, 0.16, 0.04]) + (1 - green) * np.float32([0.42, 0.34, 0.22])
    light = np.ones_like(picture)
    for texture, corners in sheets:
        lay_sheet(picture, camera, texture, corners)
    for square in squares:
        lay_square(picture, square, camera, light)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.7) + 0.006 * noise * rng.standard_normal(picture.shape)
    coded = np.where(
        picture < 0.0031308, 12.92 * picture, 1.055 * np.maximum(picture, 1e-6) ** (1 / 2.4) - 0.055
    )
    return np.rint(255 * coded.clip(0, 1)).astype(np.uint8)


def lay_sheet(picture, camera, texture, corners):
    """Lay a flat texture (linear light, NaN where clear) by its corners in space."""
    import cv2

    pixels, _ = camera.project(np.asarray(corners, float))
    rows, cols = texture.shape[:2]
    source = np.float32([[-0.5, -0.5], [cols - 0.5, -0.5], [cols - 0.5, rows - 0.5], [-0.5, rows - 0.5]])
    matrix = cv2.getPerspectiveTransform(source, np.float32(pixels * 3 + 1))
    size = (picture.shape[1] * 3, picture.shape[0] * 3)
    shown = np.nan_to_num(texture).astype(np.float32)
    clear = (~np.isnan(texture[..., 0])).astype(np.float32)
    share = cv2.resize(
        cv2.warpPerspective(clear, matrix, size), None, fx=1 / 3, fy=1 / 3, interpolation=cv2.INTER_AREA
    )
    layer = cv2.resize(
        cv2.warpPerspective(shown, matrix, size), None, fx=1 / 3, fy=1 / 3, interpolation=cv2.INTER_AREA
    )
    picture *= 1 - share[..., None]
    picture += layer


def mark_sheet(number, dictionary=0):
    """A mark with its white margin (1/6 of its side on all sides), linear light."""
    import cv2

    book = cv2.aruco.getPredefinedDictionary(dictionary)
    black = cv2.aruco.generateImageMarker(book, number, 120, borderBits=1) > 127
    sheet = np.full((160, 160, 3), 0.8, np.float32)
    sheet[20:140, 20:140] = np.where(black, 0.8, 0.035)[..., None]
    return sheet


def sheet_at(x, y, *, side=0.16, turn_deg=0.0, lift=0.0):
    """Corners in space of a sheet whose mark has its near left corner at (x, y); `lift` raises its far edge."""
    local = np.array([[-0.02, side - 0.02], [side - 0.02, side - 0.02], [side - 0.02, -0.02], [-0.02, -0.02]])
    middle = (side - 0.04) / 2
    angle = np.radians(turn_deg)
    turned = (local - middle) @ np.array(
        [[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]]
    ) + middle
    return np.column_stack([turned + np.array([x, y]), [lift, lift, 0, 0]])


PLACES = ((0.0, 0.0), (0.88, 0.0), (0.88, 0.88), (0.0, 0.88))


def four_sheets(*, ids=(0, 1, 2, 3), dictionary=0, changes=None, at=(0.0, 0.0)):
    """The sheets of a square of 1 m; `changes` gives other places by position: (dx, dy) and more of sheet_at."""
    sheets = []
    for n, (x, y) in enumerate(PLACES):
        change = dict((changes or {}).get(n, {}))
        dx, dy = change.pop("move", (0, 0))
        corners = sheet_at(x + at[0] + dx, y + at[1] + dy, **change)
        sheets.append((mark_sheet(ids[n], dictionary), corners))
    return sheets


def frame_texture(bar=0.04, light=0.75, inside=None):
    """A hollow light frame, or one filled with `inside` (linear light)."""
    texture = np.full((500, 500, 3), np.nan if inside is None else inside, np.float32)
    wide = round(500 * bar)
    for part in (np.s_[:wide], np.s_[-wide:], np.s_[:, :wide], np.s_[:, -wide:]):
        texture[part] = light
    return texture


def on_ground(x0, y0, width, depth, *, height=0.0):
    """Corners of a level rectangle, from its far left clockwise."""
    flat = [[x0, y0 + depth], [x0 + width, y0 + depth], [x0 + width, y0], [x0, y0]]
    return np.column_stack([flat, np.full(4, height)])


def upright(x0, y, width, low, high):
    """Corners of a panel standing across the view, from its top left clockwise."""
    return np.array([[x0, y, high], [x0 + width, y, high], [x0 + width, y, low], [x0, y, low]])


def corners_in(camera, square=None):
    """Where the square's corners are in the photo."""
    square = square or Square()
    return camera.project(np.column_stack([square.corners_m, np.zeros(4)]))[0]


def rms(found, true):
    return float(np.sqrt(((found - true) ** 2).sum(axis=1).mean()))


def camera(**changes):
    """A camera that has the whole square in a small photo."""
    return Camera(**{"size_px": SMALL, "pitch_deg": 38.0, "position_m": (0.5, -1.2, 1.6), **changes})

"""How well a photo point's ground frame is kept, and how well the error that is said fits the true one.

    python tests/benchmarks/frames.py [--yards 6] [--seed 1] [--each] [--folder DIR]

Drawn yards with and without fence and path. Each has a reference photo and five others by hand, in other light and
after other days of growth: the square where it was (twice), moved, turned a little, and missing; and one photo of
another yard. The error is that of ground points up to 3.5 m ahead, root mean square. It is held against what is said
where the background laid the photo: "at most twice" and "within a factor of two" (both ways). What is below 1 cm is
told as "at most 1 cm", so that errors below 1 cm, said and true, count as 1 cm; the same without that floor stands
beside it. There an error that lies along one direction is within a factor of two of a perfectly calibrated one in 57 %
of photos, along three in 85 % (chi-square between 0.25 and 4 times its mean). With --folder drawn yards are kept there.
"""

import argparse
import pickle
from pathlib import Path

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.ground.align import Reference, keep_frame
from swardmark.ground.background import background_of
from swardmark.ground.find import find_square
from swardmark.ground.homography import apply
from swardmark.ground.plane import plane_from_square
from swardmark.practice.draw import draw_photo
from swardmark.practice.scene import LIGHTS, Camera, Ground, Scene, Square
from swardmark.practice.sward import Course, Stand, sow

SIZE = (1000, 750)
LEAST_CM = 1.0
KINDS = ("still", "still", "moved", "none", "another yard", "turned")
TURNED_DEG = (1.0, 4.0)
"""A square laid back on its place, but for a small turn about its middle, to either side."""


def shot(camera, square, light, sward, day, ground, seed):
    """Draw a photo of the grass as it stands on a day."""
    scene = Scene(camera=camera, square=square, light=LIGHTS[light], ground=ground)
    return draw_photo(sward.on_day(day), scene, seed=seed)


def shows(camera, square):
    """Whether the whole square is in view."""
    pixels = camera.project(np.column_stack([square.corners_m, np.zeros(4)]))[0]
    return bool((pixels > 20).all() and (pixels < np.array(SIZE) - 20).all())


def ground_of(seed):
    """Draw up fence and path of a yard; a quarter have no fence, a third no path."""
    rng = np.random.default_rng([seed, 5])
    fence = (4.2, 5.2, 6.5, None)[rng.integers(4)]
    return Ground(seed=seed, fence_y_m=fence, path_x_m=((-2.7, -1.75), (2.4, 3.2), None)[rng.integers(3)])


def yard(seed):
    """Yield kind and photo: the reference first."""
    rng = np.random.default_rng([seed, 77])
    home = None
    while home is None or not shows(home, Square()):
        place = (0.5 + rng.uniform(-0.2, 0.2), rng.uniform(-1.4, -0.9), rng.uniform(1.4, 1.75))
        home = Camera(
            size_px=SIZE, position_m=place, pitch_deg=rng.uniform(28, 38), yaw_deg=rng.uniform(-6, 6)
        )
    sward = sow([Stand(Course(ceiling_pct=85.0))], camera=home, ground=ground_of(seed), seed=seed)
    lights = list(LIGHTS)
    yield "reference", shot(home, Square(), lights[rng.integers(2)], sward, 1, ground_of(seed), 10 * seed)
    for number, kind in enumerate(KINDS, start=1):
        spread = 3 if number == 2 else 1 if kind == "still" else 2
        camera, square = None, Square()
        while camera is None or not shows(camera, square):
            camera = home.shaken(rng, shift_m=0.03 * spread, turn_deg=1.0 * spread)
            if kind == "moved":
                shift = (rng.uniform(-0.4, 0.4), rng.uniform(-0.2, 0.4))
                square = Square(shift_m=shift, turn_deg=rng.uniform(-12, 12))
            elif kind == "turned":
                square = Square(turn_deg=rng.choice([-1, 1]) * rng.uniform(*TURNED_DEG))
        square = Square("none") if kind == "none" else square
        ground = ground_of(seed + 5000) if kind == "another yard" else ground_of(seed)
        light = lights[rng.integers(4)]
        if kind == "another yard":
            sward = sow([Stand(Course(ceiling_pct=85.0))], camera=home, ground=ground, seed=seed + 5000)
        yield kind, shot(camera, square, light, sward, rng.integers(4, 40), ground, 10 * seed + number)


def photos_of(seed, folder):
    """Return kind and photo of a yard, kept in a folder if there is one: drawing takes longer than laying."""
    if folder is None:
        return list(yard(seed))
    kept = folder / f"yard_{seed}.pickle"
    if not kept.exists():
        folder.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(pickle.dumps(list(yard(seed))))
    return pickle.loads(kept.read_bytes())


def plane_of(photo):
    """Return the square's corners as they are found, and the ground by them."""
    camera = photo.scene.camera
    corners = find_square(photo.rgb, focal_px=camera.focal_px).corners_px
    return corners, plane_from_square(corners, side_m=1.0, size=SIZE, focal_px=camera.focal_px)


def error_cm(plane, photo):
    """Return how far ground points up to 3.5 m ahead are laid from where they are, root mean square."""
    x, y, _ = photo.scene.camera.position_m
    true = np.array([[x, y + 3.0], [x - 1.0, y + 2.5], [x + 1.0, y + 3.5], [0.5, 0.5], [-0.5, 1.5]])
    found = plane.meters(apply(photo.homography, true))
    return 100 * float(np.sqrt(((found - true) ** 2).sum(axis=1).mean()))


def kept_in(yard_photos):
    """Lay a yard's photos into the frame of its first; returns (kind, true error, what is said, kept) for each."""
    photos = iter(yard_photos)
    _, first = next(photos)
    try:
        corners, plane = plane_of(first)
    except PhotoRefused as refusal:
        print(f"a yard left out, its first photo is refused: {refusal.what}")
        return []
    reference = Reference("first", plane, corners, 1.0, background_of(first.rgb, corners))
    rows = []
    for kind, photo in photos:
        try:
            corners, plane = (None, None) if photo.corners_px is None else plane_of(photo)
            focal_px = photo.scene.camera.focal_px
            kept = keep_frame(photo.rgb, reference, plane=plane, corners_px=corners, focal_px=focal_px)
        except PhotoRefused as refusal:
            rows.append((kind, np.nan, np.nan, refusal.what))
            continue
        rows.append((kind, error_cm(kept.plane, photo), kept.error_cm, kept))
    return rows


def honesty(pairs, least_cm=LEAST_CM):
    """Return the shares of (true, said) whose truth is at most twice, and within a factor of two of, what is said."""
    true, said = np.maximum(np.array(pairs), least_cm).T
    return float((true <= 2 * said).mean()), float(((true <= 2 * said) & (said <= 2 * true)).mean())


def main():
    """Draw, lay, and print a line per kind of photo, then how far what is said holds."""
    import cv2

    cv2.setNumThreads(1)
    asked = argparse.ArgumentParser()
    asked.add_argument("--yards", type=int, default=6)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--each", action="store_true", help="a line for each photo as well")
    asked.add_argument("--folder", type=Path, help="where drawn yards are kept for the next run")
    options = asked.parse_args()
    first = 1000 * options.seed
    rows = [
        row
        for seed in range(first, first + options.yards)
        for row in kept_in(photos_of(seed, options.folder))
    ]
    for kind, true, said, kept in rows if options.each else ():
        words = kept if isinstance(kept, str) else "; ".join(kept.notes)
        print(f"{kind:13} error {true:5.1f} cm, said {said:5.1f} cm  {words}")
    for kind in dict.fromkeys(KINDS):
        own = [row for row in rows if row[0] == kind]
        laid = [row for row in own if np.isfinite(row[1])]
        sure = [row for row in laid if row[3].is_confirmed]
        true = np.array([row[1] for row in laid])
        worst = f"error median {np.median(true):.1f} cm, worst {true.max():.1f} cm" if len(true) else ""
        print(f"{kind:13} {len(own):3} photos: {len(laid)} laid, {len(sure)} confirmed; {worst}")
    pairs = [(row[1], row[2]) for row in rows if np.isfinite(row[2]) and row[0] != "another yard"]
    if pairs:
        for least, words in ((LEAST_CM, "below 1 cm as 1 cm"), (0.0, "without a floor")):
            most, both = honesty(pairs, least)
            print(f"said of {len(pairs)}, {words}: true at most twice {most:.0%}, both ways {both:.0%}")


if __name__ == "__main__":
    main()

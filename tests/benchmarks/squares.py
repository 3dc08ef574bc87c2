"""How often the square is found, refused, or wrong, how exact its corners are, and how long it takes.

    python tests/benchmarks/squares.py [--scenes 40] [--seed 1] [--large]

Drawn photos with grass, sand, fence, path, hard shadows and four kinds of light; half of them show corner marks, a
quarter a plain frame, the rest no square at all. "Wrong" is a square that was believed with a corner more than 1 % of
its side off.
"""

import argparse
import time
from dataclasses import replace

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.ground.find import find_square
from swardmark.ground.trust import trusted_plane
from swardmark.practice.blades import Habit
from swardmark.practice.draw import draw_photo
from swardmark.practice.scene import LIGHTS, Camera, Ground, Scene, Square
from swardmark.practice.sward import Stand, sow, steady

KINDS = ("marks", "frame", "marks", "none")


def scene_of(number, seed, size):
    """Draw up one scene: camera 1.3 to 2.0 m high, 28 to 52 degrees down, the whole square in view."""
    rng = np.random.default_rng([seed, number])
    height, pitch = rng.uniform(1.3, 2.0), rng.uniform(28, 52)
    reach = height / np.tan(np.radians(pitch)) * rng.uniform(0.85, 1.05)
    camera = Camera(
        position_m=(0.5 + rng.uniform(-0.4, 0.4), 0.5 - reach, height),
        pitch_deg=pitch,
        yaw_deg=rng.uniform(-8, 8),
        roll_deg=rng.uniform(-4, 4),
        size_px=size,
    )
    light = LIGHTS[list(LIGHTS)[rng.integers(4)]]
    if rng.uniform() < 0.5:
        where = (rng.uniform(-0.5, 1.5), rng.uniform(-0.2, 1.5))
        light = replace(light, shadow=("tree", "fence")[rng.integers(2)], shadow_at_m=where)
    scene = Scene(camera=camera, square=Square(KINDS[number % 4]), light=light, ground=Ground(seed=number))
    stand = Stand(steady(rng.uniform(3, 85)), habit=Habit(length_mm=rng.uniform(10, 35)))
    sward = sow([stand], camera=camera, ground=scene.ground, seed=number, patchiness=rng.uniform(0.2, 0.8))
    return draw_photo(sward.on_day(0), scene, seed=number)


def judged(photo, near=None):
    """Return found, refused or wrong, the corners' error in pixels, milliseconds, and the refusal."""
    size, focal_px = (photo.rgb.shape[1], photo.rgb.shape[0]), photo.scene.camera.focal_px
    start = time.perf_counter()
    try:
        square = find_square(photo.rgb, focal_px=focal_px, near=near)
        trusted_plane(square, side_m=1.0, size=size, focal_px=focal_px)
    except PhotoRefused as refusal:
        return "refused", np.nan, 1000 * (time.perf_counter() - start), refusal.what
    taken = 1000 * (time.perf_counter() - start)
    if photo.corners_px is None:
        return "wrong", np.nan, taken, square.how
    off = np.linalg.norm(square.corners_px - photo.corners_px, axis=1)
    side = np.linalg.norm(photo.corners_px[1] - photo.corners_px[0])
    return "wrong" if off.max() > 0.01 * side else "found", float(np.sqrt((off**2).mean())), taken, square.how


def main():
    """Draw, find, and print one line per kind of square."""
    import cv2

    cv2.setNumThreads(1)
    asked = argparse.ArgumentParser()
    asked.add_argument("--scenes", type=int, default=40)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--large", action="store_true", help="12 megapixels instead of 2")
    options = asked.parse_args()
    size = (4032, 3024) if options.large else (1600, 1200)
    rows = {}
    for number in range(options.scenes):
        photo = scene_of(number, options.seed, size)
        kind = photo.scene.square.kind
        if photo.corners_px is not None:
            inside = (photo.corners_px > 0).all() and (photo.corners_px < np.array(size) - 1).all()
            kind = kind if inside else f"{kind}, cut off"
        rows.setdefault(kind, []).append(judged(photo))
        if kind == "marks":
            near = photo.corners_px + 0.02 * size[0]
            rows.setdefault("marks, searched near", []).append(judged(photo, near))
    for kind, results in sorted(rows.items()):
        counts = {word: sum(r[0] == word for r in results) for word in ("found", "refused", "wrong")}
        errors = [r[1] for r in results if r[0] == "found"]
        rms = np.sqrt(np.mean(np.square(errors))) if errors else np.nan
        worst = max(errors, default=np.nan)
        took = np.median([r[2] for r in results])
        print(f"{kind:22} {counts} corners {rms:.2f} px rms, worst photo {worst:.2f}; median {took:.0f} ms")
        for reason in sorted({r[3] for r in results if r[0] != "found"}):
            print(f"{'':22} - {reason}")


if __name__ == "__main__":
    main()

"""How often squares of half a meter, one and two are found, plain and with marks that blades have bitten.

    python tests/benchmarks/bitten_squares.py [--scenes 36] [--seed 1] [--large]

Drawn lawns of 40 to 75 % cover with blades of 28 to 45 mm, rooted up to the edge of the marks' sheets, that lean over
them and stand before them, in four kinds of light. The square is looked for where it lay in another photo of the same
place by hand (5 cm and 1.2 degrees of spread). "Wrong" is a square that was believed with a corner more than 1 % of its
side off; scenes whose marks are cut off are drawn anew. A fence stands right behind the square, so that there are few
blades to draw and all scenes take two minutes; `--large` draws the whole lawn, and without blades over the marks too.
"""

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.ground.find import find_square
from swardmark.ground.trust import trusted_plane
from swardmark.practice.blades import Habit
from swardmark.practice.draw import draw_photo
from swardmark.practice.scene import LIGHTS, Camera, Ground, Scene, Square
from swardmark.practice.sward import Stand, sow, steady

sys.path.insert(0, str(Path(__file__).parents[1] / "ground"))
from overgrown import overgrown

SIZE = (1600, 1200)
SIDES = (0.5, 1.0, 2.0)


def corners_in(camera, square):
    """Return where the square's corners are in the photo."""
    return camera.project(np.column_stack([square.corners_m, np.zeros(4)]))[0]


def scene_of(rng, side, seed, fence_y_m):
    """Draw up a scene with all marks in view: where the camera stood before, and the scene as it is."""
    square = Square(side_m=side)
    while True:
        place = (
            side / 2 + rng.uniform(-0.3, 0.3),
            -1.0 - rng.uniform(0, 0.3) - 0.15 * side,
            rng.uniform(1.4, 1.75),
        )
        home = Camera(
            size_px=SIZE, position_m=place, pitch_deg=rng.uniform(32, 38), yaw_deg=rng.uniform(-5, 5)
        )
        camera = home.shaken(rng, shift_m=0.05, turn_deg=1.2)
        corners = corners_in(camera, square)
        if (corners > 20).all() and (corners < np.array(SIZE) - 40).all():
            light = LIGHTS[list(LIGHTS)[rng.integers(4)]]
            return home, Scene(
                camera=camera, square=square, light=light, ground=Ground(seed=seed, fence_y_m=fence_y_m)
            )


def judged(rgb, true, near, scene):
    """Return found, refused or wrong, the corners' error as share of the near side, and milliseconds."""
    focal_px, side = scene.camera.focal_px, scene.square.side_m
    start = time.perf_counter()
    try:
        square = find_square(rgb, near=near, side_m=side, focal_px=focal_px)
        trusted_plane(square, side_m=side, size=SIZE, focal_px=focal_px)
    except PhotoRefused:
        return "refused", np.nan, 1000 * (time.perf_counter() - start)
    off = np.linalg.norm(square.corners_px - true, axis=1).max() / np.linalg.norm(true[1] - true[0])
    return "wrong" if off > 0.01 else "found", off, 1000 * (time.perf_counter() - start)


def main():
    """Draw, find, and print one line per side, plain and bitten."""
    import cv2

    cv2.setNumThreads(1)
    asked = argparse.ArgumentParser()
    asked.add_argument("--scenes", type=int, default=36)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--large", action="store_true", help="the whole lawn, plain marks too")
    options = asked.parse_args()
    rows = {}
    for number in range(options.scenes):
        side, rng = SIDES[number % 3], np.random.default_rng([options.seed, number])
        home, scene = scene_of(rng, side, number, 5.2 if options.large else side + 0.6)
        cover, length = rng.uniform(40, 75), rng.uniform(28, 45)
        near = corners_in(home, scene.square)
        bitten, true = overgrown(scene, cover_pct=cover, length_mm=length, seed=number)
        rows.setdefault((side, "bitten"), []).append(judged(bitten, true, near, scene))
        if options.large:
            stand = Stand(steady(cover), habit=Habit(length_mm=length))
            sward = sow([stand], camera=scene.camera, ground=scene.ground, seed=number, patchiness=0.3)
            plain = draw_photo(sward.on_day(0), scene, seed=number)
            rows.setdefault((side, "plain"), []).append(judged(plain.rgb, true, near, scene))
    for (side, kind), results in sorted(rows.items()):
        counts = Counter(word for word, _, _ in results)
        off, took = [off for word, off, _ in results if word != "refused"], [taken for _, _, taken in results]
        worst = f"worst corner {max(off):.2%} of the side, " if off else ""
        print(f"{side:g} m {kind:7} {dict(counts)} {worst}median {np.median(took):.0f} ms")
    bitten = [word for (_, kind), results in rows.items() if kind == "bitten" for word, _, _ in results]
    counts = Counter(bitten)
    print(f"bitten: {counts['found']} of {len(bitten)} found, {counts['wrong']} wrong")


if __name__ == "__main__":
    main()

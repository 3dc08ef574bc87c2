"""What is said about the square and the ground, as templates with named fields: notes, and refusals with remedies."""

NOT_CHECKED = (
    "too little background in common with the first photo to check that the square has not moved"
    " (if it has, zones lie off by some {cm:.0f} cm)"
)
MOVED = "the square moved {m:.1f} m"
TURNED = "the square turned {degrees:.2g} degrees"
MOVED_AND_TURNED = "the square moved {m:.1f} m and turned {degrees:.0f} degrees"
WHICH_MOVED = (
    "the camera or the square has moved since the first photo, and the background does not show which"
)
STAND_THERE = (
    "Stand where the first photo was taken, with the fence, a wall or a path in view, and lay the square back"
)

MIRRORED = "the corner marks are seen mirrored"
UNMIRROR = (
    "Take the photo with the main camera, unmirrored, or print the marks again as swardmark target draws them"
)

RAGGED = (
    "blades grow over the marks: the square was found by their print as a whole; trim the grass beside them"
)

SIDE_DIFFERS = (
    "the square's side does not fit its marks: black marks of {mark:.0f} mm make it {by_marks:.2f} m, but {side:.2f} m"
    " is given (areas come out {times:.2g} times as large)"
)
SIDE_REMEDY = (
    "Measure the side from outer black corner to outer black corner and give it (square_side_m in lawn.toml,"
    " check --square-side), or the side of a printed black mark (mark_side_mm, check --mark-side)"
)
"""A square whose marks contradict its side, as a note where it is little and a refusal where it is much."""

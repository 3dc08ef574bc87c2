"""What relief photos say to the keeper: templates with named fields; of a refusal what is wrong, and how to retake."""

from __future__ import annotations

Refusal = tuple[str, str]

FEW_PHOTOS: Refusal = (
    "only {photos} photos of the sand",
    "Take five from an arc round the square, two steps apart, all within {minutes} minutes",
)
FAR_APART: Refusal = (
    "{apart:.0f} degrees lie between this photo and the next, seen from the square",
    "Take another in between: two steps, then a photo, about 20 degrees each",
)
CLOSE_TOGETHER: Refusal = (
    "all photos were taken from nearly one place ({apart:.0f} degrees apart)",
    "Walk on an arc round the square, two steps between photos",
)
FEW_MARKS: Refusal = ("only {marks} corner marks are seen whole", "Keep all four marks in the picture")
NO_WHOLE_SQUARE: Refusal = ("no photo shows all four corner marks", "Keep all four marks in the picture")
STRANGE_MARKS: Refusal = (
    "the corner marks do not stand on a square",
    "Lay 0 near left, 1 near right, 2 far right, 3 far left, and check both diagonals",
)
BENT_MARK: Refusal = (
    "corner mark {number} is bent or covered (off by {misfit:.1f} pixels)",
    "Lay it flat, brush the sand off, and take the photos again",
)
MOVED_MARK: Refusal = (
    "corner mark {number} moved between the photos",
    "Weigh the marks down, and take all photos again without touching them",
)
FEW_TIES: Refusal = (
    "the ground does not look the same from photo to photo ({ties:.0f} places found again; {least} are needed)",
    "Grass moves or is too long for photos: set pegs, or measure from a string",
)
SPREAD: Refusal = (
    "the heights from one half of the photos differ from those of the other half by {spread:.1f} mm",
    "The grass moved or is too long: set pegs, or measure from a string",
)
ZOOMED: Refusal = (
    "the focal length is {percent:+.0f} % off what the camera says",
    "Take whole photos with the main camera, without zoom, wide lens or cropping",
)
BENT_LENS: Refusal = (
    "the lens bends lines too much (k1 {k1:+.2f})",
    "Take whole photos with the main camera, without wide lens or panorama",
)
BAD_FIT: Refusal = (
    "the photos do not fit together ({rest:.1f} pixels off)",
    "Take them with the main camera, sharp, without zoom, cropping or panorama",
)
MIXED: Refusal = (
    "differs from the others in {what}",
    "Take all photos of a set with one camera and one zoom, within {minutes} minutes",
)
NOTHING_SEEN: Refusal = (
    "no ground is seen finely enough by two photos",
    "Go closer: stand about 1.5 m from the square",
)

WHAT_DIFFERS = {"size": "pixel size", "camera": "camera", "focal": "focal length", "time": "time"}

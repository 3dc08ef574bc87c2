"""What relief photos say to the keeper: templates with named fields; of a refusal what is wrong, and how to retake."""

from __future__ import annotations

Refusal = tuple[str, str]

FEW_PHOTOS: Refusal = (
    "too few photos of the sand ({photos})",
    "Take five from an arc around the square, a sidestep of 0.6 m (2 ft) apart, all within {minutes} minutes",
)
MANY_PHOTOS: Refusal = (
    "{photos} photos in one set; {most} are the most",
    "Keep {most} that stand evenly on the arc, and move the others out of the folder",
)
FAR_APART: Refusal = (
    "{apart:.0f} degrees lie between this photo and the next, seen from the square",
    "Take another in between: a sidestep of 0.6 m (2 ft), then a photo, about 20 degrees each",
)
CLOSE_TOGETHER: Refusal = (
    "all photos were taken from nearly one place ({apart:.0f} degrees apart)",
    "Walk on an arc around the square, a sidestep of 0.6 m (2 ft) between photos",
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

FEW_PEGS: Refusal = (
    "only {pegs} pegs are seen whole in three photos; {least} are needed",
    "Set {least} pegs or more within 1 m (3 ft) of the square, marks up and clean, and keep them all in every photo",
)
TOO_STEEP: Refusal = (
    "looks almost straight down on the square ({degrees:.0f} degrees)",
    "Step back to about 1.5 m (5 ft) from the square's middle, phone at eye height",
)
TOO_SHALLOW: Refusal = (
    "looks too flat across the square ({degrees:.0f} degrees)",
    "Step closer, to about 1.5 m (5 ft) from the square's middle, phone at eye height",
)
SAME_CAMERA = "Take it again with the camera and zoom of the first"

WHAT_DIFFERS = {"size": "pixel size", "camera": "camera", "focal": "focal length", "time": "time"}

MEASURED = (
    "{photos} photos of {date} at {point} give the heights of {area} of ground, each good to {error} (95 %)."
)
DIP = "{number}. {place}: {gap} low under a straightedge of {edge}; {sand} of sand fills it ({low} to {high}). {action}"
DRAG = "Drag twice across it while the sand is loose, then take the photos again."
NO_DIPS = "No dip is {least} or more below the ground around it; the largest gap under a {edge} straightedge is {gap}."
NOT_IN_PHOTOS = (
    "Fall, crown and drainage cannot be read from these photos: check them with a string level or a laser."
)
PLACES = "Leaf covers about {leaf:.0f} % of the ground, so the photos give no depth and no sand. {places}"
PROBE = "These places look low; probe them with a straightedge: {where}."
NOTHING_LOW = "No place looks low."
PLACE = "{x} to the {side} of corner mark 0 and {y} {depth}"
SIDES = ("right", "left")
DEPTHS = ("farther away", "nearer to you")
COMPARED = "{place}: was {before} low, is {after}."
NO_DAY: Refusal = (
    "the photos carry no date",
    "Copy the originals with their dates from the phone",
)

ARC_FIRST = (
    "Stand about 1.6 m (5 ft) from the middle of the square, in front of corner marks 0 and 1, with all four marks in "
    "the picture, and take the first photo."
)
ARC_NEXT = (
    "{done} of {wanted}: go about {metric:.1f} m ({feet:.0f} ft) to your {side} on the arc, "
    "and take the next photo."
)
ARC_SAME = "This photo was taken from nearly the same place as another. "
ARC_DONE = "All {photos} photos are there: nothing is missing."
ARC_FAULT = "The last photo cannot be used: {fault}."
HANDS = ("right", "left")
PEGS = (
    "{photos} photos of {date} at {point} give the heights of {pegs} pegs, each good to {error} (95 %): from {low} low "
    "(peg {number}) to {high} high."
)
PEGS_OUT = "Pegs {numbers} were left out: they moved, or fewer than three photos show them whole."

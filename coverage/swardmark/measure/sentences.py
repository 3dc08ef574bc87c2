"""What is said about measuring, as templates with named fields: findings about the square, notes, why nothing came."""

# Findings: what is wrong, then how to retake the photo.
RIM = (
    "The square almost touches the edge of the photo",
    "Bring the whole square closer to the middle of the picture",
)
SMALL = (
    "The square is small in the photo: ground 2 m beyond it may be {value:.0f} cm off",
    "Step closer, hold the camera higher, use the main lens without zoom, or lay out a larger square",
)
SLANT = (
    "The square is seen {value:.0f} degrees from the vertical, so leaves hide the sand behind them",
    "Step closer and hold the camera higher, from a firm step or a porch",
)
FLAT = (
    "The camera was held almost level ({value:.0f} degrees down), so it sees little ground steeply",
    "Tilt the camera down until the square is near the middle of the picture",
)
TURNED = (
    "The photo lies on its side or upside down ({value:.0f} degrees), as the order of the marks shows",
    "Turn it upright and save it, or copy the original from the camera: its orientation is missing or wrong",
)
LOW_SUN = (
    "The light is as warm as from a low sun",
    "Take it closer to noon, or under even cloud",
)
WET_SAND = (
    "The sand is darker than in other photos from this spot ({value:.0%} of its usual light), so it may be wet",
    "Take it when the surface is dry",
)

# A photo of another place, and how to put it right.
ELSEWHERE = (
    "this photo shows another place than most of its photo point: {agree} of {photos} photos agree with each other,"
    " not with this one"
)
ELSEWHERE_REMEDY = (
    "Move it into the folder of the photo point where it was taken, or remove it; if it does show this place, mark its"
    " square by hand (swardmark mark)"
)

LATE = "measuring it took longer than {seconds:.0f} s"
LATE_REMEDY = "Export it again as a plain JPEG, or remove it"

# Notes of cover.csv.
PATCHES = "zones are named patches"
NOT_IN_VIEW = "zone not in view"
STRIP = "only {share:.0%} of the zone is in view: step back or aim at it"
NO_WHITE = "colors not balanced: no white of the square found"

ODD = {
    ("something lies there", True): ("something lay here ({area:.1f} m²)", "its ground was not seen"),
    ("something lies there", False): (
        "something may lie here ({area:.1f} m²)",
        "clear it and take the photo again",
    ),
    ("reads low", True): ("the grass read low, as under dew or glare", "next time wait until it is dry"),
    ("reads low", False): ("the grass reads low, as under dew or glare", "take another photo once it is dry"),
    ("reads high", True): (
        "bare ground read leafy, as with clippings or wet sand",
        "next time rake, or wait until it is dry",
    ),
    ("reads high", False): (
        "bare ground reads leafy, as with clippings or wet sand",
        "rake, or wait until it is dry, and take another photo",
    ),
}
"""Odd ground and what follows, by kind and by whether a later photo took the change back."""
ODD_NOTE = "{what}: {ask}"
ODD_IN_ZONES = "{what} in {zones}: {ask}"
NOTED = "{photo}: {what}."

OTHER_OPENCV = (
    "OpenCV is {now} now, {before} before: every photo is measured again, and covers may move by 0.2 points."
)
OR_CLEAR = "{remedy}. If the corners given by hand on {photo} are wrong, take them back: swardmark mark {photo} --clear"

# What the keeper wrote of photos and does not count, and days that cannot be right.
STRAY_COUNTS = (
    "Points counted by eye on {photo} do not count ({count}): no measured photo has that name. Give the photo its name"
    " back, or correct it in counts.csv."
)
STRAY_COUNTS_ZONE = (
    "Points counted by eye in the zone '{zone}' on {photo} do not count ({count}): there is no such zone. Correct its"
    " name in counts.csv."
)
STRAY_MARKS = (
    "marks.toml speaks of {photo}, which is not there: give the photo its name back, or mark it anew."
)
AT_TWO_POINTS = (
    "{photo} and {other} are one photo, at two photo points: its ground counts twice. Remove the one that was not taken"
    " there."
)
STRAY_POINT = (
    "{file} speaks of the photo point '{point}', which is not there: what is said of it is laid on no photo. Did you"
    " mean '{meant}'?"
)
ONE_OUTLINE = (
    "The lawn's outline is laid at the square of each photo point ({points}): where their squares lie at different"
    " places it fits one of them alone, and zones tell the ground better."
)
OTHER_DAY = (
    "{photo} is of {camera} by its camera and of {named} by its name. If the camera's clock was wrong, give the day it"
    " was taken: on the page, or by swardmark add with --date."
)
LONG_BEFORE = (
    "{photo} is of {day}, more than a year before all others. If the camera's clock was wrong, give the day it"
    " was taken: on the page, or by swardmark add with --date."
)

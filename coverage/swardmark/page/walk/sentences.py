"""What the walk around the square says, as templates with named fields."""

TITLE = "Is the sand level?"
INTRO = (
    "While the sand is loose, five photos on an arc, within three minutes, show where it lies low. Walk around the "
    "measured sand, not across it, and do not touch the marks between photos."
)
INTRO_TODAY = "While the sand is loose, five photos show where it lies low and how much sand is missing."
GO = "Take the five photos"
WORDS = {
    "plan": (
        "The square from above: places where photos were taken are filled, the next one has a ring, later ones are "
        "dashed"
    ),
    "side": "Stand {metric} ({feet}) from the middle, phone at eye height, all four marks in the picture.",
    "point": "Photo point",
    "first": "Take the first photo",
    "take": "Take the next photo",
    "choose": "Choose photos",
    "measure": "Measure the sand",
    "measuring": "Measuring, about half a minute",
    "over": "Start over",
    "sure": "Put these photos away?",
    "sending": "Sending photo {count} of {all}",
    "held": "A photo waits in this browser, and is sent when the page answers.",
    "late": "More than three minutes after the first photo: this one begins a new set.",
}
MEASURING = "Measuring the sand"
PUT_AWAY = "The photos of this set are in the bin."
TOO_MANY = "there are {most} photos in this folder already"
TOO_MANY_REMEDY = "Move old sets out of the lawn's folder"

# The answer.
ANSWER_OF = "{day}, {point}: {photos} photos, {area}"
DRAG_ONE = "Drag twice across {number}: {gap} low, {sand}."
DRAG_PLACE = "{place}. Ground {area}; sand {low} to {high} (95 %)."
LOW_UNDER = (
    "Low is what you would see under a straightedge of {edge}; the sand is what fills the dip in place."
)
TOO_DEEP = (
    "Deeper than two passes of {depth} ({numbers}): fill half of it now, let the leaf through, and fill the rest "
    "later. Leaf tips must stay in sight."
)
WAS_AND_IS = "{place}: was {before} low, is {after}."
LEVEL = "Level: no dip of {least} or more."
LEVEL_GAP = "The largest gap under a straightedge of {edge} is {gap}, each height good to {error} (95 %)."
GALLONS = "{gallons:.2g} gal"
AFTER_DRAG = "Then take five new photos: they say what is left."
PLACES_ONLY = (
    "Leaf hides the ground: {leaf:.0f} % of the view. The photos give places, and neither depth nor sand."
)
PROBE = "Probe {number} with a straightedge: {place}."
NO_PLACES = "No place looks low."
PEGS = "{pegs} pegs, each good to {error} (95 %): from {low} low at peg {number} to {high} high."
PEGS_OUT = (
    "Left out, because it moved or is hidden: peg {numbers}.",
    "Left out, because they moved or are hidden: pegs {numbers}.",
)
NOT_IN_PHOTOS = "Fall and drainage are not in the photos: check them with a string level or a laser."
MAP_ALT = (
    "Map of the measured ground: low is blue, high is sand; {dips} low spot with its number",
    "Map of the measured ground: low is blue, high is sand; {dips} low spots with their numbers",
)
NO_MAP = "There is no such map."

"""What is said about mowing, as templates with named fields; the logic picks one and fills it.

The first mow, then the checks, then the preparation. What is to do on a day stands in today_sentences.py.
"""

# The first mow: what to do.
MOW_NOW = "Mow now at {cut}{round}."
MOW_NOW_MEASURE = "Mow now{round}; measure the leaf first, it sets the height of cut."
MOW_ONCE = "Mow once {looks}{round}: {cover}."
MOW_WHEN_FIRM = "The cover is there, but the ground was {soft}: mow when it is firm{round}."
STEER = ", and steer round {parts} ({share:.0f} % of the ground)"
OVERDUE = "Overdue at {leaf}: set the mower to {cut} now, and come down later{round}."
OVERDUE_SOFT = "Overdue at {leaf}, but the ground was {soft}: mow at {cut} the day it is firm."
OVERDUE_BARE = " Only {share:.0f} % of the ground has the cover: keep the wheels off bare sand."
WAIT_FOR_LEAF = (
    "Wait for the leaf: it stands at {leaf}, and a cut to {target} is due at {due}{tidy}. {cover}."
)
TIDY = " ({tidy} will do for a tidy lawn)"
WAIT_LIKELY = (
    "Wait with the first mow: {cover}. Enough of the ground is likely to be ready {window} "
    "(chance {odds} by {by})."
)
WAIT_MAYBE = (
    "Wait with the first mow: {cover}. Enough of the ground may be ready {window} (chance {odds} by {by})."
)
NO_DATE = (
    "No date for the first mow: {cover}, and the chance that enough of the ground is ready this season is "
    "only {odds}."
)
TOO_EARLY = "{cover}. {why}"
NOT_MEASURED = "Too early to say when to mow: {why}"
NEW_PHOTO = (
    "Enough of the ground should be ready by now: the photo of {day} put the first mow before today. Take a new photo "
    "before you mow."
)
MOWED = "The first mow was on {day}{now}."
MOWED_NOW = "; {cover} now"
FOOTNOTE = (
    "The cover for the first mow, {gate:.0f} % on {ground:.0f} % of the ground, is swardmark's own rule: no published "
    "one exists."
)
COVER = "{pct:.0f} % of the {area} is covered"
COVER_RANGE = "{low:.0f} to {high:.0f} % of the {area} is covered{there}"
AREA = "{area} in view"
AREA_OF_LAWN = "{area} in view ({share:.0f} % of the lawn)"
COVER_THERE = ": the cover is there"
BETWEEN = "between {first} and {last}"
ON_OR_BY = "by {last}"
MORE_PARTS = "{number} more"
PART_OF_POINT = "{part} ({point})"

# The checks before the first mow.
LOOKS = {
    "dry": "the surface is dry",
    "firm": "the ground is firm",
    "tug_test_passed": "a tug does not lift the turf",
    "no_loose_ridges": "no ridges of sand are left",
}
COVER_NOT_MEASURED = "not measured yet; {gate:.0f} % is wanted"
COVER_OF = "{pct:.0f} % of {gate:.0f} % covered"
COVER_PARTS = "; {share:.0f} % of the ground is ready"
NO_TARGET = "set target_height_mm under [mowing], and note leaf heights in readings.csv"
NO_HEIGHT = "measure it and note it in readings.csv; {due} is high enough to cut it to {target}"
HEIGHT = "{leaf} of {due} ({times:g} times the height of cut)"
HEIGHT_TIDY = "; enough by the 1.33 times rule ({tidy})"
HEIGHT_OVERDUE = "{leaf}, above {limit} (1.5 times the height of cut): overdue"
NOT_CONFIRMED = "not confirmed; {note}"
CONFIRMED_LONG_AGO = "last confirmed on {day}; look again and {note}"
CONFIRMED = "confirmed on {day}"
SOFT = "noted as soft on {day}"
NOTE_IT = "note the day as {name} under [confirmed] in lawn.toml"
OWN_LOOK = "your own look: {looks}; note the day of each under [confirmed] in lawn.toml"

# The way down before the sand.
MOW_USUAL = "Mow at {height}, your usual height, once more; take the clippings off."
MOW_DOWN = "Mow at {height} (the leaf stands near {leaf}); take the clippings off."
THIRD = (
    "Take no more than a third of the leaf: where it stands above 1.5 times the height of cut, set the mower higher "
    "and cut again two days later."
)
MOWER_AGAIN = "Mow it dry, and pick up stones and toys first."
WHY_DOWN = "Short turf takes the sand; small cuts do not shock it."
DAILY = "A cut every day wears grass and mower: begin earlier, or scalp less low."
NOT_BELOW = "{grass} is not cut below {lowest}: the sand goes on at that height, not at {asked}."
NO_SCALP = (
    "Do not scalp {grass}: it has no rhizomes to come back from. One notch below its usual range, {lowest}, is the "
    "lowest."
)
DORMANT_MONTH = (
    "{day} is no time to level {grass}: it is not growing then. Choose a day from {first} to {last}."
)
DORMANT_MONTH_COOL = (
    "{day} is no time to level {grass}: it hardly grows then. Choose a day in early fall, or in spring "
    "({first})."
)
HOT_MONTH = "{day} is no time to level {grass}: summer heat stops it. Choose spring or early fall."
EDGE_MONTH = "{day} is at the edge of the season for {grass}: make sure that it is green, growing and {soil} or warmer."
EDGE_MONTH_COOL = (
    "{day} is at the edge of the season for {grass}: the soil should be between {soil} and {most}."
)
NEAR_FROST = (
    "{day} is {weeks} before your first frost ({frost}): sand needs eight weeks of growth. Level earlier, or "
    "wait until spring."
)
DEEP_LAYER = (
    "{depth} at once is more than {grass} stands in a pass ({most}): expect a slower, poorer recovery."
)
BURIED = "{depth} of sand covers more than half of a leaf of {leaf}: no tip would show."
PREPARE = {
    "look": (
        "Check that the grass is green and growing, and order the sand.",
        "Only growing turf comes through sand.",
    ),
    "feed": ("Decide whether feeding is due before the sand.", "A soil test says what is missing."),
    "lines": ("Have buried lines marked if you will drive stakes or core.", "Marking takes a few days."),
    "heads": ("Find and flag sprinkler heads, valve boxes and lids.", "What is flagged is not buried."),
    "moist": (
        "Make sure the ground is moist but firm; water if it is dry.",
        "Wheels and rakes tear dry turf.",
    ),
    "mark": ("Mark the spots and the edges after the last cut.", "Short grass shows them best."),
    "sand": ("Spread the sand thin and work it in until leaf tips show everywhere.", "Buried leaves die."),
}
LOCAL_WATER = "Follow local watering rules."

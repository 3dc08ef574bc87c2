"""What is said about mowing, as templates with named fields: first mow, checks, preparation, what to do on a day."""

# The first mow: what to do.
MOW_NOW = "Mow now at {cut}{round}."
MOW_NOW_MEASURE = "Mow now{round}; measure the leaf first, it sets the height of cut."
MOW_ONCE = "Mow once {looks}{round}: {cover}."
MANY_LOOKS = "the ground passes your checks"
MOW_WHEN_FIRM = "The cover is there, but the ground was {soft}: mow when it is firm{round}."
STEER = ", and steer around {parts} ({share:.0f} % of the ground)"
OVERDUE = "Overdue at {leaf}: set the mower to {cut} now{round}; come down later."
OVERDUE_SOFT = "Overdue at {leaf}, but the ground was {soft}: mow at {cut} the day it is firm."
OVERDUE_BARE = " Only {share:.0f} % of the ground has the cover: keep the wheels off bare sand."
OVERDUE_ALL_BARE = " No part of the ground has the cover yet: keep the wheels off bare sand."
WAIT_FOR_LEAF = (
    "Wait for the leaf: it stands at {leaf}, and a cut to {target} is due at {due}{tidy}. {cover}."
)
TIDY = " ({tidy} will do for a tidy lawn)"
WAIT = (
    "Wait with the first mow: {cover}. Enough of the ground {may} be ready {window} (chance {odds} by {by})."
)
IS_LIKELY, MAY = "is likely to", "may"
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
COVERED_LONG_AGO = (
    "Take a new photo first: that of {day}, with {pct:.0f} % of the {area} covered, is too old to mow by."
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
PART = "“{part}”"
MORE_PARTS = "{number} more"
PART_OF_POINT = "“{part}” ({point})"

# The checks before the first mow.
LOOKS = {
    "dry": "the surface is dry",
    "firm": "the ground is firm",
    "tug_test_passed": "a tug does not lift the turf",
    "no_loose_ridges": "no ridges of sand are left",
}
COVER_NOT_MEASURED = "not measured yet; {gate:.0f} % is wanted"
COVER_OF = "{pct:.0f} % covered, {gate:.0f} % wanted"
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
NO_NOTCH = (
    "The mower has no lower height that takes a third of the leaf at most, so the sand goes on at this one."
)
DAILY = "A cut every day wears grass and mower: begin earlier, or scalp less low."
NOT_BELOW = "{grass} is not cut below {lowest}: the sand goes on at that height, not at {asked}."
NO_SCALP = (
    "Do not scalp {grass}: it has no rhizomes to come back from. One notch below its usual range, {lowest}, is the "
    "lowest."
)
NO_SCALP_HEAT = (
    "Do not scalp {grass}: it recovers slowly, and bare crowns suffer in heat. One notch below its usual range, "
    "{lowest}, is the lowest."
)
DORMANT_MONTH = "{day} is no time to level {grass}: it is not growing then. Choose a day from {season}."
DORMANT_MONTH_COOL = "{day} is no time to level {grass}: it hardly grows then. Choose {season}."
HOT_MONTH = "{day} is no time to level {grass}: summer heat stops it. Choose {season}."
WARM_SEASON, COOL_SEASON = "{first} to {last}", "spring or early fall"
EDGE_MONTH = "{day} is at the edge of the season for {grass}: make sure that it is green, growing and {soil} or warmer."
EDGE_MONTH_COOL = "{day} is at the edge of the season for {grass}: the soil should be {soil} to {most}."
NEAR_FROST = "{day} is {weeks} before your first frost ({frost}): sand needs eight weeks of growth. {remedy}"
EARLIER_OR_SPRING, IN_SPRING = "Level earlier, or wait until spring.", "Wait until spring."
AFTER_FROST = "{day} is after your first frost ({frost}): too little growth is left. Wait until spring."
TOO_SOON = (
    "{day} is only {days} days after the sand of {before}: grass needs about two months to grow through it."
)
SMOTHERED = "{depth} of sand smothers turf; {most} is the most. Lay it on more ground, or in several passes."
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

# What to do today: (what to do, why, what to take care of).
REFUSED = (
    "Do not level on {when}: change the date in lawn.toml.",
    "{why}",
    "Sand on grass that does not grow kills it.",
)
CHECK_PLAN = (
    "Check the plan before the sand comes.",
    "{why}",
    "What goes wrong with the sand costs weeks later.",
)
SOIL = (
    "Take a soil sample to your extension office or a lab.",
    "It tells acidity and what the grass lacks, and takes a week or two.",
    "Sample before you feed, from several places, 10 cm (4 in) deep.",
)
WEEDS = (
    "Leave weed killers alone now, or read their labels against the day of the sand.",
    "Some keep grass from rooting and runners from spreading for weeks.",
    "The label is the law.",
)
THATCH = (
    "Cut a plug and look at the thatch: above 1/2 in (13 mm), core or rake it out first.",
    "Sand over thick thatch stays loose and dries out.",
    "Have buried lines marked before you core.",
)
HAUL = (
    "Get the sand to the lawn: washed, medium to coarse, the kind you used before; no play or beach sand.",
    "Fine sand packs, and salt burns.",
    "{care}",
)
BEGIN_LATER = ("Nothing to do for the sand until {when}.", "The preparation takes three weeks.", "")
NEXT_STEP = ("Nothing to do today; next, on {when}: {what}", "The steps follow the date of the sand.", "")

SPREAD = (
    "Spread {depth} from small piles, and drag it in two directions.",
    "A thin pass lets the leaf through, and the drag carries the sand into the low places.",
    "{care}",
)
TIPS = (
    "Stop when leaf tips show everywhere; rake off what buries them.",
    "Leaf that sees no light dies.",
    "Keep sand thin over tree roots and off the trunks.",
)
GRADE = (
    "Leave the edges, the lids and the fall away from the house as they were.",
    "Water must still run off.",
    "{care}",
)
WATER_IN = (
    "Water it in until the sand has settled between the leaves.",
    "Water carries sand down where no rake reaches.",
    "{care}",
)
PHOTO = (
    "Take a photo from the same spot at the same zoom, all four marks in view.",
    "Every forecast rests on it.",
    "Light overcast or late morning, no dew.",
)
PHOTO_STALE = (
    "Take a photo first: the newest is from {last}, too old to say how the lawn stands today.",
    "All that is said of the cover rests on it.",
    "Light overcast or late morning, no dew.",
)
FIRST_PHOTO = (
    "Take the first photo when the sand is in, with all four marks in view.",
    "The days are counted from it.",
    "Light overcast or late morning.",
)

DRAG = (
    "Drag again when the top has just dried, in two directions; stop when tips show.",
    "Dry sand runs off the leaf into the low places.",
    "Not in the heat of the day, and never while it is dusty.",
)
WATER_OFTEN = (
    "Water lightly, as often as the top dries out.",
    "Fresh sand dries from the top, where the new shoots come through.",
    "No puddles and no washing; follow local watering rules.",
)
WATER_HOT = (
    "Water lightly, and look again at midday: it is hot.",
    "Fresh sand dries within hours in such heat.",
    "No puddles and no washing; follow local watering rules.",
)
WATERED = (
    "No water needed: rain or watering is noted for today.",
    "Sand that stays wet crusts over and washes away.",
    "Look again tomorrow.",
)
WATER_LESS = (
    "Water less often and deeper.",
    "As the grass roots into the sand, deep water draws the roots down.",
    "Follow local watering rules.",
)
KEEP_OFF = (
    "Keep off: no wheels, no pets, no play.",
    "Every step presses leaf into the sand and leaves a dent.",
    "Photograph from beside it.",
)
KEEP_OFF_STILL = ("Keep off until a tug lifts nothing.", "Fresh roots tear under a heel or a wheel.", "")
RIDGES = (
    "Knock ridges down with the back of a rake.",
    "A mower scalps every ridge.",
    "Do not drag up what has rooted.",
)
EDGE = (
    "Cut the edges along paths and beds.",
    "Runners cross bare edges first.",
    "Eye protection, closed shoes; sweep the sand back damp.",
)
FEED = (
    "Decide whether feeding is due, by your soil test.",
    "Grass that fills a layer of sand uses more than usual.",
    "{care}",
)
MEASURE_LEAF = (
    "Measure the leaf at five places and note it in readings.csv.",
    "Its height decides the first mow{due}.",
    "Push the ruler to the sand, not into it.",
)
DUE_AT = ": at {due} it may be cut to {target}"
LOOK_AT = ("Look closely at “{part}”.", "{why} {look}", "Step on boards or along the edge.")
OVERSEED = (
    "Overseed the gaps now.",
    "{grass} grows in bunches and hardly fills gaps by itself.",
    "Keep seeded places damp with light water, whatever the rest of the lawn gets; no weed killer until the label "
    "allows it.",
)
SEED_NEXT_FALL = (
    "Plan to overseed the gaps next fall; it is too late in the year now.",
    "{grass} grows in bunches and hardly fills gaps by itself.",
    "Weed killers put down before can stop the seed: read their labels.",
)
SEED_LATER = (
    "Plan to overseed the gaps in early fall.",
    "{grass} grows in bunches and hardly fills gaps by itself.",
    "Weed killers put down before can stop the seed: read their labels.",
)

FIRST_MOW = ("{what}", "{why}", "{care}")
MOW_THE_LEAF = "Mow for the first time at {cut}, once the ground is dry and firm: the leaf stands at {leaf}."
WHY_FIRST_MOW = "A third of the leaf at most comes off, so that it can grow on."
FIRST_MOW_UNSEEN = (
    "Mow for the first time when the leaf is {due}, at {target}.",
    "Watered warm-season grass is ready at about day 10 in hot weather, other lawns later; the height decides.",
    "{care}",
)
FIRST_MOW_NO_TARGET = (
    "Set target_height_mm in lawn.toml, and mow when the leaf is half as tall again.",
    "Without it no height can be named.",
    "{care}",
)
FIRST_MOW_AHEAD = ("First mow: enough of the ground is expected to be ready.", "{why}", "{care}")
LOOK_AT_GROUND = (
    "Look at the ground: {looks}; note the day of each under [confirmed].",
    "Wheels tear what is wet or loose.",
    "Tug at a few places only.",
)
NOTE_MOWING = (
    "Note the mowing in diary.csv, with its height.",
    "The way up to your usual height counts from it.",
    "Check the blade with the engine off and the spark plug lead or battery out: sand dulls it.",
)

MOW_UP = (
    "Mow at {cut}; the leaf stands near {leaf}.",
    "{step}, and {share:.0f} % of the leaf off. Note it in the diary, so that the list moves on.",
    "{care}",
)
NOTE_MISSED = (
    "Note your mowings in diary.csv; the last one there is of {when}.",
    "The way up to your usual height counts from them.",
    "If you have not mown since, take no more than a third at a time.",
)
ONE_NOTCH, USUAL_HEIGHT = "One notch up", "Your usual height"
MOWED_TODAY = ("Mowed today; the next is on {when}, at {cut}.", "Every four to six days, one notch up.", "")
MOW_NEXT = ("No mowing today; the next is on {when}, at {cut}.", "Every four to six days, one notch up.", "")
SET_USUAL = (
    "Set usual_height_mm and target_height_mm in lawn.toml.",
    "Without it no way up to your usual height can be planned.",
    "",
)

PROBE = (
    "Lay a straightedge over {spots} and note the depths in readings.csv.",
    "A photo sees cover, not height.",
    "Straightedge or string only; no stakes.",
)
PROBE_ALL = (
    "Lay a 2.4 m (8 ft) straightedge over the lawn and note what is more than 6 mm (1/4 in) low.",
    "What is still low is the list for the next leveling.",
    "Straightedge or string only; no stakes.",
)
LEVEL_AGAIN = (
    "Plan the next leveling: put its date into lawn.toml.",
    "The season for {grass} is {season}, and a pass needs about two months.",
    "At least eight weeks before the first frost, and never on dormant grass.",
)
LEVEL_NEXT_SEASON = (
    "Leave the sand for the next season.",
    "The season for {grass} is {season}.",
    "Never on dormant grass.",
)
MOW_AS_USUAL = (
    "Mow at your usual height before the leaf stands at 1.5 times it.",
    "No cut takes more than a third.",
    "Pick up stones and toys first; mow it dry.",
)
SET_DATE = ("Put the day of your next sand into lawn.toml.", "The preparation is planned back from it.", "")

# What counts for nothing.
STRAY = "readings.csv names the zone '{zone}', which does not exist, so what was read there does not count."
STRAY_AT = (
    "readings.csv names the zone '{zone}' at the point '{point}', which is not there, so it does not count."
)
STRAY_MEANT = "Did you mean '{meant}'?"
IN_THE_FUTURE = "{file} has a line dated {day}, in the future: it does not count before that day."
ZONE_WITHOUT_POINT = "The zone '{zone}' is of the photo point '{point}', which has no measured photo."
ZONE_OUT_OF_VIEW = "No photo shows the zone '{zone}': move it into the ground in view, or delete it."

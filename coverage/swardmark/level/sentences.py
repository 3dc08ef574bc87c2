"""What is said of level ground, as templates with named fields."""

# The verdict: how level the lawn is, and what it takes.
BEFORE_THE_SAND = (
    "What was measured on {day} is the ground before the sand of {sand}: measure again to know what is low."
)
LEVEL_ENOUGH = (
    "Level enough: 95 of 100 places lie within {high} under a straightedge of {edge} ({good} is good)."
)
NOT_LEVEL = (
    "Not level yet: 5 of 100 places are more than {high} off under a straightedge of {edge}, half of them more than "
    "{median} ({good} is good)."
)
NOT_LEVEL_LITTLE = (
    "Not level yet: 5 of 100 places are more than {high} off under a straightedge of {edge} ({good} is good)."
)
FILL = "The low ground takes {litres} of sand in place, {low} to {high} (95 %): {spots}."
NO_FILL = "No low spot is deeper than the reading errors: nothing to fill."
CUT = "{spots} stand out by up to {highest}: take off {litres}. Never add sand there."
CUT_ONE = "One high spot stands out by up to {highest}: take off {litres}. Never add sand there."
WHERE_LOW = (
    "Low {letter}: {where}, {area}, {deepest} at its deepest, {mean} in the mean, {litres} ({low} to {high})."
)
WHERE_HIGH = "High {letter}: {where}, {area}, {deepest} at its highest, cut {litres} ({low} to {high})."
LETTER_AT = "{letter} ({point})"
PLACE = "x {x}, y {y}"

# What it rests on.
READINGS = (
    "{readings} heights on {date} ({hows}), about every {spacing}; the ground between is estimated with a length scale "
    "of {scale}, and a reading is foretold from the others within {loo}."
)
FALL_FITTED = "A fall of {percent:.1f} % toward {direction} is taken out and kept."
FALL_DESIGNED = (
    "The designed fall of {percent:.1f} % toward {direction} is kept; "
    "measured: {measured:.1f} % toward {other}."
)
FALL_OFF = (
    "The ground falls {measured:.1f} % toward {other}, and {percent:.1f} % toward {direction} are meant: that is "
    "grading, not leveling. Ask before you change how water runs from a house or to a neighbor."
)
LITTLE_FALL = (
    "It falls by {percent:.1f} % only: where a house stands near, ground should drop 6 in (15 cm) "
    "in the first 10 ft (3 m)."
)
KEEP_FALL = (
    "Keep the fall: fill hollows, never against siding, weep holes or a drain, and never so that water runs to a "
    "neighbor. Local code decides."
)
COARSE = "Every {spacing} misses {share} of the sand: measure every {finer}."

# Other ways of measuring.
STRAIGHTEDGE = "Straightedge, {layings} layings on {date}: mean gap {gap}, {low} to {high} (95 %)."
STRAIGHTEDGE_FILL = "On {area} that is {litres} of sand, {least} to {most}."
NO_AREA = "Give area_m2 in lawn.toml, and the straightedge says how much sand that is."
HOLLOW = "{name}: {where}, {area}, {deepest} at its deepest: {litres}, {low} to {high} (taken for a bowl)."
HOLLOW_NAME = {"deepest": "Hollow {name}", "puddle": "Puddle {name}"}

# Before and after.
BEFORE_AFTER = (
    "From {first} to {last} the deviation under {edge} went from {before} to {after}; "
    "low ground from {litres} to {now}."
)
LAID_FOUND = "{laid} of sand laid, {found} of hollows gone ({low} to {high})."
LAID_NONE = "{laid} of sand laid, and the hollows take no less than before."

# What to do next.
NOTHING_YET = (
    "No heights yet. Print a sheet with: swardmark level {folder} --grid {grid} --size {size}, and write what you "
    "read into heights.csv."
)
CARE = (
    "Stretch strings over pegs only where no line is buried (in the US call 811 a few days ahead); take pegs and "
    "strings up at once: they trip people, and a mower throws them."
)
SHARES = (
    (0.55, "more than half"),
    (0.42, "almost half"),
    (0.29, "a third"),
    (0.22, "a quarter"),
    (0.0, "a fifth"),
)

# The sheets.
SHEET_TITLE = "Heights by string: {lawn}"
SHEET_HOW = (
    "1. Peg two strings, tight, along the left and right side ({length} long); level each with a line level.",
    "2. Stretch a third string across from one to the other and step it along the rows, every {spacing}.",
    "3. At each place read down from the string to the soil (part the grass), in {unit}. All from the same strings.",
    "4. Place 1 is near left: {start}. Numbers run to the right, then row by row away from you.",
    "5. Any extra hollow that you see between the places: read its deepest point and note where it is.",
    "6. Type the numbers into {file}, column {column}, and save it as heights.csv in the lawn's folder.",
)
LAYINGS_TITLE = "Straightedge by lot: {lawn}"
LAYINGS_HOW = (
    "1. These places are drawn by lot: read them all, also where the lawn looks level. That makes the figure honest.",
    "2. Mark the five ticks of a place with tees, {tick} apart. Lay a straight edge of {edge} over them.",
    "3. Slide it a foot either way along its own line, and note the largest gap at each tick, in {unit}.",
    "4. The ground touches the edge: write 0. It rocks: hold it level over the ticks.",
    "5. Type the numbers into {file}, column {column}, and save it as heights.csv in the lawn's folder.",
)
WROTE = "Wrote {sheet} to print and {table} to fill in."
NO_MAP_YET = (
    "{count} height of {day} makes no map yet: read {least} places at least, in rows 0.5 to 1 m apart both ways.",
    "{count} heights of {day} make no map yet: read {least} places at least, in rows 0.5 to 1 m apart both ways.",
)
NOT_JOINED = (
    "{count} height {how} on {day} is left out: too little to lay it on the others of that day. Read nine at least, in "
    "rows both ways.",
    "{count} heights {how} on {day} are left out: too few, or all on a line, to lay them on the others of that day. "
    "Read nine at least, in rows both ways.",
)
HOW_MEASURED = {
    "string": "below a string",
    "board": "below a level board",
    "laser": "by laser",
    "photos": "from photos",
    "pegs": "of pegs",
}

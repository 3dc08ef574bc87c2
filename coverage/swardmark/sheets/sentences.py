"""What the printed sheets say, as templates with named fields."""

# The target: layout and marks.
TARGET_TITLE = "The reference square"
TARGET_WHY = "Four marks on the grass tell swardmark how large the ground in the photo is."
TARGET_LAYING = (
    "Check the 100 mm bar on each page with a ruler. The black marks must be {mark_mm:g} mm wide.",
    "Lay all four flat with their arrow away from you: 0 near left, 1 near right, 2 far right,\n3 far left.",
    "Outer corner to outer corner, each side is {side}.",
    "Both diagonals are {diagonal}: equal diagonals make it square.",
    "If your square has another side, write it as square_side_m in lawn.toml;\nif the marks have, as mark_side_mm.",
)
TARGET_SIDE = "side {length}"
TARGET_DIAGONALS = "both diagonals\n{length}"
TARGET_FAR = "far side"
TARGET_NEAR = "near side: you stand here, looking this way ↑"
LASTING_TITLE = "So that they last"
LASTING = (
    "Print at 100 % (never “fit to page”) on matt paper, or on a laser printer.",
    "Glue each mark flat on a stiff board and cover it with clear matt film or a matt pouch: gloss glares.",
    "Seal the cut edges with tape so that dew does not creep in.",
    "Weigh the boards down with a flat stone on the white margin. No stakes are needed.",
    "Take the boards up before mowing and before the sprinklers run.",
)
MARK_TITLE = "Mark {number}: {place}"
MARK_AWAY = ("This side away from you,", "toward the far side of the square")
MARK_CUT = "✂ cut along the dashed line, keep the white margin"
MARK_CORNER = "square's\ncorner"
MARK_CORNER_IS = "The square's corner is the {corner} corner of the black mark, at the cross lines."
SCALE_ADVICE = "lay a ruler here: if this is not 100 mm, print again at 100 %"

# How to take the photo.
PHOTO_TITLE = "How to take the photo"
PHOTO_ADVICE = (
    ("Stand at the same spot each time.", "Mark it flat: a paver or a golf-tee pin, taken up before mowing."),
    ("Hold the phone at 1.5 to 1.9 m (5 to 6 ft),", "level from side to side, tilted 35 to 40 degrees down."),
    ("Higher is better.", "A firm step or a porch shows the ground steeper; never an unsteady ladder."),
    ("All four marks in view, square in the lower middle.", "Some fixed background (fence, path) helps next time."),
    ("Same zoom each time: the main camera, 1x.", "No wide angle, no portrait mode, no filter, no flash."),
    ("Stand on the north side (south of the equator: south side)", "so that your shadow falls behind you."),
    ("Light overcast is best; else late morning.", "Not at dusk, not on dew or wet sand, not with low sun."),
    ("Every 3 days for two weeks, then every 4 to 7 days.", "Three photos over five days begin the forecast."),
)  # fmt: skip
PHOTO_SOURCE = (
    "North side and step: Interagency Technical Reference, Sampling Vegetation Attributes. "
    "Same place and framing: Hall 2002, PNW-GTR-526."
)
PHOTO_PITCH = "35 to 40° down"
PHOTO_HEIGHT = "1.5 to 1.9 m"
PHOTO_SQUARE = "the square"
PHOTO_MEASURED = "measured ground behind and beside it"
PLAN_SQUARE = "square"
PLAN_YOU = "you"
PLAN_SHADOW = "your shadow"
PLAN_SUN = "midday sun"
PLAN_NORTH = "N"
PLAN_SOUTHERN = "south of the equator\nturn this drawing around"

# The wedge gauge.
WEDGE_TITLE = "Wedge gauge and ruler strip"
WEDGE_HOW = (
    "Glue this page on stiff plastic or plywood of 3 mm (1/8 in), and cut the two wedges out along their outline.",
    "Part the grass, stand a wedge on the soil, thin end first, and push it in under the straightedge.",
    "Where it stops, read the last step that went in: mm in bold above, inches below.",
    "Over 18 mm (11/16 in), take the second wedge; over 36 mm (1 7/16 in), use the ruler strip.",
    "Write it into heights.csv as drop_mm or drop_in, with how = wedge.",
)
WEDGE_RANGE = "{first} to {last} mm; the first step is {first} mm high"
WEDGE_RULER = "ruler strip"

# The pegs.
PEGS_TITLE = "Pegs of one length"
PEGS_WHY = "Photos of the marks on them give the height of the soil, in a lawn of any height."
PEG_NUMBER = "peg {number}"
PEG_LENGTH = "all alike: 100 mm (4 in), or taller than the grass"
PEG_BOARD = "mark on a stiff board, 76 mm (3 in)"
PEG_NAIL = "nail, 13 mm (1/2 in) out"
PEGS_PLAN = "nine pegs or more, every 0.4 m (16 in)"
PEGS_STAND = "three to five photos from an arc, 2 m (6 1/2 ft) away"
PEGS_TAKE_CARE = "Take care"
PEGS_MAKING = (
    ("Cut the blocks in one go.",
     "20 mm (3/4 in) square wood, 100 mm (4 in) long, sawn against a stop so that all are alike."),
    ("Glue each mark flat on a board and screw the board on a block.",
     "Check the 100 mm bar first. A short nail in the foot keeps the peg upright; the foot stands on the soil."),
    ("Stand all of them on a table and lay a straightedge across.",
     "It must touch every one: sort out those that differ by more than 0.5 mm (1/64 in)."),
    ("Lay out the square with marks 0 to 3, then set the pegs in and around it.",
     "Part the grass and press each foot on firm soil, not thatch; plumb, mark up,\n"
     "0.3 m (1 ft) from the corner marks."),
    ("Take three to five photos, 20 to 25 degrees apart, within three minutes.",
     "All corner marks and pegs in every photo; touch nothing in between.\n"
     "Copy the photos into photos/relief/ of the lawn."),
    ("Run swardmark level, and write down nothing.",
     "The heights of the pegs, the map and the sand go into out/level.csv."),
)  # fmt: skip

# The sheet that is carried out on the day of the sand.
CARRY_TITLE = "Sand: what to carry where"
CARRY_HEAD = "{lawn}, heights of {date} at {point}"
CARRY_TOTAL = (
    "The hollows take {place} of sand in place ({low} to {high}); damp and loose that is {loose}: {barrows} or "
    "{buckets}. The number in each square of {step} is its share in {many}; one {one} is "
    "{holds} and weighs up to {mass} wet."
)
CARRY_NAMES = {"barrow": ("wheelbarrow load", "wheelbarrow loads"), "bucket": ("bucket", "buckets")}
CARRY_PILE = "tip the pile here"
CARRY_X = "{unit} to the right of corner mark 0"
CARRY_Y = "{unit} away from it"
CARRY_COLUMNS = ("spot", "its deepest place", "area", "mean (deepest)", "loose sand", "passes")
CARRY_DEPTH = "{mean} ({deepest})"
CARRY_PASSES = ("1 pass", "{count} passes")
CARRY_MORE = (
    "and {count} smaller spot that takes {loose}: its depth stands in out/level_spots.csv",
    "and {count} smaller spots that take {loose} together: their depths stand in out/level_spots.csv",
)
CARRY_CARE = "Take care"
CARRY_TIPS = "Leaf tips must stay visible: what is left of a deep spot waits two months for the next pass."
CARRY_OLD = "the low ground was measured before sand that was laid since"
CARRY_OLD_REMEDY = "Measure heights again: swardmark level DIR --grid 0.75m prints the sheet"
CARRY_NOTHING = "no low ground was measured, so there is no sand to carry"
CARRY_NOTHING_REMEDY = "Measure heights first: swardmark level DIR --grid 0.75m prints the sheet"

# The sheets for heights.
GRID_RIGHT = "{unit} to the right; you stand here"
GRID_FAR = "far side ({unit} away on the left)"
GRID_FROM_MARK = "the square's corner mark 0, or any peg you keep"
GRID_FROM = "{x} {unit} to the right and {y} {unit} away from corner mark 0"
UNIT_INCHES = "inches and eighths"
SHORT_EDGE = "a straightedge of {edge} does not reach over the ticks"
SHORT_EDGE_REMEDY = "Use one of {least} or more (straightedge_m under [level]), or read a grid: --grid"
FORM_PLACE = "place"
FORM_FIRST = "first tick"
FORM_LAID = "laid"
FORM_TICK = "tick {number}"
FORM_RIGHT = "to the right"
FORM_AWAY = "away"

NOT_A_PAPER = "'{paper}' is not a paper size"
PAPERS = "Choose a4 or letter"

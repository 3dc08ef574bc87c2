"""What the places of the page say, as templates with named fields."""

# Today: the sentence.
FIRST_PHOTO = "Take the first photo, with the square in view."
PHOTOS_WAIT = "The photos are being measured."
AT = ", at {cut}"
STEER_ONE = " Steer round one part."
STEER_MANY = " Steer round {count} parts."
MOW_NOW = "Mow now{cut}.{steer}"
OVERDUE = "The leaf is too long: mow today{cut}."
OVERDUE_SOFT = "The leaf is too long: mow{cut} the day the ground is firm."
PHOTO_TOO_OLD = "Take a photo before you mow: the newest is of {day}."
MOW_AFTER_LOOKS = "Look at the ground, then mow.{steer}"
WAIT_FOR_LEAF = "The cover is there; wait for the leaf to grow."
WAIT_FOR_GROUND = "The cover is there; mow when the ground is firm."
WAIT_LIKELY = "Wait with the first mow. Likely {window} ({chance})."
WAIT_MAYBE = "Wait with the first mow. Perhaps {window} ({chance})."
NO_DAY = "Wait with the first mow. No day is in sight yet."
TOO_EARLY = "Too early to say when to mow. Keep taking photos."
MOWED = "The first mow was on {day}."
MOW_NEXT = "Mow next on {day}, at {cut}."
GROUND = "of {area} in view is covered"
GROUND_RANGE = "of {area} in view is covered ({low:.0f} to {high:.0f})"
CHANGE = "{before:.0f} → {now:.0f} %, {points:+d} in {days} days"
CHANGE_DAY = "{before:.0f} → {now:.0f} %, {points:+d} in a day"
CHIP = "{part} {cover:.0f} %"
CHIP_STATE = "{part} {cover:.0f} %, {state}"
PHOTO_ALT = "The lawn on {day}, bare ground outlined"

# Today: the card.
CARD = "{day}: {phase}"
DO_LEAF = "Measure the leaf at five places; enter the mean."
DO_LOOKS = "Look at the ground and tick what you find."
DO_NOTE_MOWING = "Tick this when you have mown."
DO_FIRST_MOW = "Make the first mow as said above; tick when it is done."
DO_TARGET = "Set the height of the first cut; mow when the leaf is half as tall again."
DO_USUAL = "Set your usual height and the height of the first cut."
DO_SET_DATE = "Set the day of your next sand."
DO_LEVEL_AGAIN = "Plan the next leveling: set its day."
DONE_NOTE = "Done: {do}"
LOOKS = {
    "dry": "The surface is dry",
    "firm": "The ground is firm underfoot",
    "tug_test_passed": "A tug does not lift the turf",
    "no_loose_ridges": "No loose ridges of sand are left",
}
LOOK_ON = "{look}, {day}"
TO_LEVELING = "Leveling days"
TO_HEIGHTS_OF_CUT = "Heights of cut"
TO_STRAIGHTEDGE = "Enter depths"

# Sentences of other rooms in the page's words.
PLAIN_NO_LEVELING = "No leveling day is given"
PLAIN_LEVELING_DAY = "day"
PLAIN_AREA = "Give the lawn’s area under Settings"
PLAIN_PAYLOAD = "set what your vehicle may carry"
PLAIN_TARGET = "the height of the first cut"
PLAIN_USUAL = "your usual height"

TODAY_WORDS = {
    "in_full": "In full",
    "why": "why",
    "careful": "careful",
    "save": "Save",
    "leaf": "Leaf height",
    "not_done": "Not done",
    "take": "Take it now",
    "measuring": "Measuring",
    "new_photo": "The photo that was just taken",
}
PROGRESS = "{what}: photo {count} of {total}"
PROGRESS_BEGINS = "{what} …"
SAVED = "Saved."
UNDONE = "Taken back."

# How it goes.
NO_COURSE = "Once photos are measured, the curves and the parts of the lawn are here."
BEFORE_FIRST_MOW = "Before the first mow"
CHECK = "{name}: {detail} "
ZONE_BY_ZONE = "Part by part"
ZONE_OF_POINT = "{point}: {zone}"
FULL = "Full: {full}"

# Photos and zones.
PHOTOS = "Photos"
NOT_TAKEN_IN = "{photo} was not added: "
CLEAR_LIST = "Clear this list"
CORNERS_UNREADABLE = "These corners could not be read. Reload the page and try again."
CORNERS_KEPT = "Corners kept. The photo is being measured again."
DAY_KEPT = "The day was changed."
LEFT_OUT = "The photo is left out."
BINNED = "The photo is in the bin."
PUT_BACK = "The photo is back."
TWO_DAYS = "Two days compared"
TWO_DAYS_FROM = "Two days compared, from {point}"
ZONES = "Zones"
ZONES_INTRO = (
    "Draw the parts of the lawn that you want to watch. Without zones, the ground around the square is measured as "
    "patches."
)
ZONES_KEPT = "Zones kept."
FROM_POINT = "From the photo point {point}"
SAVED_ELSEWHERE = "Someone saved other zones since you opened these. Nothing was overwritten."
ZONES_UNREADABLE = "These zones could not be read. Reload the page and draw them again."

# Next leveling.
NEXT = "Next leveling"
BUDGET = "Budget for the season"
PRICE_YARD = "Sand, per cubic yard"
PRICE_M3 = "Sand, per cubic meter"
DELIVERY = "Each delivery"
WHOLE_SPOTS = "Never leave a spot half filled"
NO_SPOTS = "Spots appear here once the season’s photos are measured."
NOT_NUMBERS = "Budget and prices must be numbers."
SPOT = "Spot {number}"
SPOT_ABOUT = "{where}; depth: {depth}; sand: {sand}"
CAUTION = "{action}: {text}"

SPOT_DEPTH = "Depth under the straightedge, {unit}"
HEIGHTS = "Heights below a string"
HEIGHTS_INTRO = (
    "Stretch a level string over the lawn. The grid begins at the near left corner mark of the square."
)
GRID_WIDTH = "Width of the ground"
GRID_LENGTH = "Length, away from you"
GRID_SPACING = "A place every"
GRID_BEGIN = "Begin with the first place"
GRID_PLACE = "Place {number}: {right} right, {away} away"
GRID_UNIT = "Below the string, {unit}"
GRID_KEPT = "{count} of {all} heights kept."
GRID_WORDS = {
    "keep": "Keep, next place",
    "skip": "Skip",
    "more": "Each height is kept at once. Nine places at least make a surface.",
    "finish": "Finish",
    "undo": "Undo",
    "back": "Back",
    "plan": "The places seen from above; those that are read are filled",
}
PROBE = "Look at a spot"
PROBE_SAND = "Sand over the crowns, {unit}"
PROBE_WORDS = {
    "where": "Which spot",
    "keep": "Keep the answers",
    "asks": {
        "ground": {
            "ask": "Under a straightedge",
            "answers": {"low": "low", "level": "level", "high": "high"},
        },
        "soil": {"ask": "A day after water", "answers": {"wet": "wet", "moist": "moist", "dry": "dry"}},
        "light": {"ask": "Light", "answers": {"sun": "sun, six hours or more", "shade": "shade"}},
    },
}

# Counting by eye.
COUNT = "Check by eye"
COUNT_INTRO = (
    "{points} points of the newest photo, each with a small ring: say what is inside it. Stop at any time."
)
COUNT_BEGIN = "Begin counting"
COUNT_SO_FAR = "by eye {eye:.0f} % ({low:.0f} to {high:.0f}), measured {tool:.0f} %"
COUNT_WORDS = {
    "alt": "A piece of the photo with a ring",
    "ask": "What is inside the ring?",
    "answers": {"leaf": "Leaf", "ground": "Ground", "cannot tell": "Cannot tell"},
    "undo": "Undo",
    "done": "That was the last point. Thank you.",
}

# Notes.
READING = "A reading"
DAY = "Day"
ZONE = "Zone"
WHOLE_LAWN = "the whole lawn"
LEAF_HEIGHT = "Leaf height, {unit}"
DIP = "Depth under a straightedge, {unit}"
DIP_SPOT = "Spot number, for a depth"
FIRM = "Firm underfoot?"
FIRM_ANSWERS = {"": "did not check", "yes": "yes", "no": "no"}
NOTE = "Note"
SAVE_READING = "Keep the reading"
DIARY = "The diary"
WHAT = "What"
AMOUNT = "How much"
AMOUNT_HINT = "In your own words: 10 mm, 20 minutes."
SAVE_ENTRY = "Keep the entry"
LINE_REMOVED = "The line was removed."
REMOVE = "Remove"
REMOVE_LINE = "Remove: {line}"
JOINED = ", "
LEAF_OF = "leaf {height}"
DIP_OF = "{depth} low"
DIP_OF_SPOT = "spot {spot} {depth} low"
IS_FIRM = "firm"
IS_SOFT = "soft"

# Share.
SHARE = "Share"
REPORT = "The report"
REPORT_INTRO = "One file that opens anywhere, even without the internet. It can take half a minute."
REPORT_BUTTON = "Write and download the report"
PICTURE = "One picture"
PICTURE_INTRO = "The newest photo, the answer and the curve, without names or place."
PICTURE_BUTTON = "Download the picture"
CALENDAR_BUTTON = "Calendar of the days ahead"
PICTURE_DAYS = ("covered, {days} day after the sand", "covered, {days} days after the sand")
PICTURE_DAYS_OF_PHOTOS = (
    "covered, {days} day after the first photo",
    "covered, {days} days after the first photo",
)
PICTURE_AXIS = ("days after the sand", "days after the first photo")
PRINTED = "To print"
PRINTS = {
    "a4.pdf": "Corner marks and how to photograph, A4",
    "letter.pdf": "Corner marks and how to photograph, letter",
}
NO_SHEET = "There is no such sheet."
BACKUP = "Everything in one file"
BACKUP_INTRO = (
    "Photos, settings, zones, readings and diary, to keep elsewhere. Unpacked into an empty folder, it is this lawn "
    "again."
)
BACKUP_BUTTON = "Download everything"
BACKUP_NAME = "lawn.zip"
BACKUP_TOO_LARGE = "More than 4 GB: unpack it into an empty folder by hand."
BACKUP_TOO_SLOW = "The connection is too slow: try again closer to the router."
TABLES = "Tables and calendar"
FILES = {
    "cover.csv": "Cover of every zone in every photo",
    "outlook.csv": "Outlook of every zone",
    "spots.csv": "Spots to level",
    "readings.csv": "Your readings",
    "diary.csv": "Your diary",
}
SAND = "How much sand?"
SAND_AREA = "Ground"
SAND_AREA_HINT = "Such as 60 m²."
SAND_AREA_HINT_US = "Such as 1500 sq ft."
SAND_DEPTH = "Mean depth"
SAND_DEPTH_HINT = "Such as 6 mm or 1/4 in."
SAND_EMPTY = "Enter the ground, and the order stands here."

# Settings.
SETTINGS_TITLE = "Settings"
SETTINGS_INTRO = (
    "What you change is kept at once; Undo takes it back. An emptied field goes back to its default."
)
WITH_UNIT = "{label}, {unit}"
SETTING_KEPT = "{label}: kept."
GROUPS = {"lawn": "The lawn", "mowing": "Mowing", "sand": "Sand and money"}
DATES = {"": "as usual with these units", "day month": "14 June", "month day": "June 14", "iso": "2026-06-14"}
UNITS = {"metric": "meters and liters", "us": "feet and yards"}
KEEP = "Keep"
ADD = "Add"
LEVELINGS = "Leveling days"
LEVELINGS_INTRO = "Each day on which sand was spread, or will be. A second season is a second day."
LEVELING_DAY = "Day of the sand"
LEVELING_NEW = "Another day of sand"
LEVELING_DEPTH = "Mean depth, {unit}"
LEVELING_KEPT = "The leveling day was kept."
LEVELING_REMOVED = "The leveling day was removed."
LEVELING_UNREADABLE = "Choose the day in the calendar."
LEVELING_NO_DAY = "Choose a day first."
SETTINGS = {
    "name": ("Name", ""),
    "grass": ("Grass", ""),
    "units": ("Show lengths and amounts in", ""),
    "dates": ("Write dates as", ""),
    "square_side_m": (
        "Side of the square",
        "From outer black corner to outer black corner, such as 1 m or 36 in.",
    ),
    "area_m2": ("Area of the lawn", "For the sand of a whole topdressing, where no outline is drawn."),
    "first_frost": (
        "First frost",
        "Month and day, such as 10-25. Nothing is leveled in the eight weeks before it, and growth ends about then.",
    ),
    "mowing.usual_height_mm": ("Usual height of cut", ""),
    "mowing.target_height_mm": (
        "Height of the first cut",
        "The first mow is due when the leaf is half as tall again.",
    ),
    "mowing.scalp_height_mm": ("Height right before the sand", ""),
    "mowing.notch_mm": ("One notch of the mower", ""),
    "mowing.notches_mm": ("Or all heights that the mower has", "Such as 20, 26, 33."),
    "outlook.first_mow_cover_pct": (
        "Cover for the first mow, %",
        "The tool’s own rule; no published one exists.",
    ),
    "outlook.ready_ground_pct": ("Share of the ground that must have it, %", ""),
    "outlook.full_cover_pct": ("Cover that counts as full, %", ""),
    "sand.pass_depth_mm": ("Depth of one pass", ""),
    "sand.price_per_m3": ("Price of sand", ""),
    "sand.delivery_price": ("Price of each delivery", ""),
    "sand.currency": ("Currency", "A sign or code, such as $ or EUR."),
    "sand.sold_as": ("Sand is sold in", ""),
    "sand.payload_kg": ("Your vehicle may carry", "From the label on its door frame."),
    "sand.aboard_kg": ("People and tools aboard", ""),
    "sand.settling_pct": ("More to order for settling, %", ""),
    "sand.passes_per_season": ("Passes over a spot in a season, at most", ""),
}

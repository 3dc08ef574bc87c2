"""What the command line says, as templates with named fields; the help of its options stands beside them."""

# Begin, add, measure, write.
ASK_FIRST_FROST = "Usual day of the first frost, month and day such as 10-25 (Enter: not known)"
BEGAN = "Began {file}. Next: swardmark add {folder} PHOTO..."
ADDED = "{added} added, {known} already there."
MEASURED = "{now} measured now, {all} in all. Wrote {path}"
MEASURED_LAWN = "{lawn}: {photos} photos, {now} measured now; newest from {newest}"
MEASURED_LAWN_REFUSED = "{lawn}: {photos} photos, {now} measured now, {refused} refused; newest from {newest}"
ONE_LAWN = "1 lawn. Wrote {path}"
LAWNS = "{done} lawns. Wrote {path}"
SOME_LAWNS = "{done} of {all} lawns. Wrote {path}"
PAST_SEASONS = "Seasons photographed to their end: {count}, from which the next forecasts start. Wrote {path}"
ONLY_LAWN_FAILED = "the only lawn could not be measured ({reason})"
ALL_LAWNS_FAILED = "none of the {all} lawns could be measured ({reason})"
NO_LAWN_READ = "none of the {all} lawns can be read ({reason})"
NO_LAWN_WITH_PHOTOS = "none of the lawns has a photo that could be measured"
DIPS_OF_MANY = "a file of low spots belongs to one lawn"
DIPS_OF_MANY_REMEDY = "Write them into that lawn's readings.csv"
MEASURED_AGAIN = "Measured {photos} photos again."
WROTE = "Wrote {path}"
UNCHANGED = "Nothing is new: {path} stays as it is"
WROTE_TARGET = "Wrote {path}. Print it at 100 % and check the 100 mm bar with a ruler."
KEPT_MARKS = "Kept in {path}. Next: swardmark measure {folder}"
DREW_RELIEF = "Drew {photos} photos of dragged sand. Next: swardmark level {folder}"
DREW = "Drew {photos} photos. Next: swardmark report {folder}"

VERSION = "swardmark {version}"

# Check.
FIT = {
    "good": "{photo}: fit to measure",
    "fair": "{photo}: can be measured, but less surely",
    "unfit": "{photo}: not fit to measure",
}
FINDING = "  {text}"
STRAIGHT_DOWN = (
    "{photo}: {cover_pct:.0f} % covered ({low_pct:.0f} to {high_pct:.0f} %), {points:,} points read, "
    "{readable_pct:.0f} % of the photo; only for a photo taken straight down"
)
STRAIGHT_DOWN_UNREADABLE = "{photo}: too dark to read"

# What ends a run.
REFUSED = "refused  {line}"
STOPPED = "stopped. What was measured is kept; run the same command to continue."
MEMORY_LIMIT = "a program may have only {limit:.0f} MB of memory here"
MEMORY_LIMIT_REMEDY = "Allow at least {least:.0f} MB (ulimit -v)"
NO_MEMORY = "not enough memory. Use fewer --workers, or smaller photos."
NOT_WRITTEN = (
    "the system refused ({reason}). Check the free space, and that the folder may be read and written."
)
FAULT = (
    "an unforeseen fault ({kind}: {error}). Please report it with what these print: swardmark doctor, and "
    "swardmark --traceback COMMAND"
)
NO_LIBGL = (
    "OpenCV needs the system library libGL.so.1. On Debian or Ubuntu, install it with: apt install libgl1"
)
NO_LIBRARY = "a library cannot be loaded ({error}). Install again with: pip install --upgrade swardmark"

NO_MODULE = "no module named {module}"

# Doctor.
HEALTH = "{state}  {name}: {detail}"
HEALTH_STATES = {"well": "ok", "missing": "MISSING", "absent": "absent"}
PYTHON_ON = "{version} on {system}"
OPENCV_SYSTEM = "cannot be loaded ({error}); apt install libgl1 libglib2.0-0"
OPENCV_MISSING = "cannot be loaded ({error}); pip install opencv-python"
OPENCV_TWICE = "{wheels} overwrite each other; uninstall all, then pip install opencv-python"
OPENCV_FROM = "{version} ({origin})"
OPENCV_NO_WHEEL = "not from a wheel"
LIBRARY_OLD = "{version} is older than {lowest}; pip install --upgrade '{package}>={lowest}'"
LIBRARY_ABSENT = "not installed; pip install {package}"

# Sand.
SCOOPS_OF = "{count:g} scoops of {size}"
MONEY_BUYS = "{money} buys {bought}, which"

# Count.
PAGES = "{first} to {last}"
COUNT_HOW_TO = (
    "In each picture of {pages}, look at the ring and write leaf, ground or ? into the column said of {table} (l and g "
    "will do; skip none). Then: swardmark count {folder} --filled {table}"
)
COUNT_KEPT = "{answers} answers kept in {path}."

TODAY_HEAD = "{lawn}, {day}: {phase}."
TODAY_DO = "{number}. {do}"
TODAY_WHY = "{indent}{text}"
TODAY_AHEAD = "{day}: {do}"

# Taking back.
CLEARED_MARKS = "The corners and the day that you gave for {photo} are removed; the next run uses its own."
NO_MARKS = "There is nothing marked on {photo}."
REMOVED = "{photo} is in the bin. Take it back with: swardmark restore {folder} {photo}"
RESTORED = "{photo} is among the photos again."
EMPTY_BIN = "The bin is empty."
REDATED = "{photo} was there already; its day is now {day}. To take that back: swardmark mark PHOTO --clear"

"""What the command line says, as templates with named fields."""

COUNTED = (
    "{photo}, {zone}: counted by eye {cover:.0f} % ({low:.0f} to {high:.0f}), "
    "measured {tool:.0f} % ({points} points)."
)
COUNTED_APART = "They differ by more than chance."
COUNTED_CANNOT_TELL = "{blank} points could not be told."
COUNTED_EYE_ERROR = "Points shown twice: the eye errs in {error:.0f} %, and the count allows for it."
COUNT_HOW_TO = (
    "Look at the ring in each picture of {pages} and write leaf, ground or ? into the column said of {table} (l and g "
    "will do; skip none). Then: swardmark count {folder} --filled {table}"
)

TODAY_HEAD = "{lawn}, {day}: {phase}."
TODAY_DO = "{number}. {do}"
TODAY_WHY = "   {text}"
TODAY_AHEAD = "{day}: {do}"

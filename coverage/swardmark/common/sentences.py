"""Dates, chances and counts as every room says them: templates with named fields, filled by phrases.py."""

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
DATES = {
    "day month": ("{day} {month}", "{day} {month} {year}"),
    "month day": ("{month} {day}", "{month} {day}, {year}"),
}

CHANCE = "{chance:.0f} %"
CHANCE_NEXT_TO_NONE = "under 1 %"
CHANCE_NEAR_CERTAIN = "over 99 %"
CHANCE_UNKNOWN = "not known yet"

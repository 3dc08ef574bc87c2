"""Cautions where work can hurt someone, each written once."""

DUST_CAUTION = (
    "Dry sand dust harms the lungs: keep the sand damp, stay upwind, and do not sweep or blow it dry. "
    "Follow the supplier's safety sheet."
)
MOWER_CAUTION = (
    "Clear stones and toys first, mow only dry grass, guards on, bystanders away, eye and ear protection, "
    "closed shoes."
)
THIRD_CAUTION = (
    "At no cut more than a third of the leaf: where it stands higher than half as much again as the cut, "
    "set the mower higher and cut once more two days later."
)
FEEDING_CAUTION = "Read the label and the local rules first: some places forbid feeding in some months."
STAKES_CAUTION = (
    "Before driving any stake ask where lines are buried (in the US call 811 a few days ahead), keep 0.6 m "
    "(24 in) from the marks; paint or flat discs are safer, and take all of it up before mowing."
)
MARKS_CAUTION = "Paint or flat discs; no stake unless the buried lines are known."
DORMANT_CAUTION = "Never on dormant grass: sand only turf that is green and growing."

"""Cautions where work can hurt someone: each written once, for the step at which it matters."""

DUST_CAUTION = (
    "Dry sand dust harms the lungs: keep the sand damp, stay upwind, never sweep or blow it dry; follow the supplier's "
    "safety sheet."
)
HEAT_CAUTION = "Start early, drink water, rest in the shade, and stop when you feel dizzy."
CORD_CAUTION = "Run cords to a GFCI (RCD) outlet: wet sand conducts."
LOAD_CAUTION = (
    "Stay under the payload on the door frame, people and tools counted; cover and tie the load, use ramps, and let "
    "nobody stand behind the tailgate."
)
PILE_CAUTION = "Cover the pile from children and pets, and keep it off the street and the drains."
MOWER_CAUTION = (
    "Pick up stones and toys first; mow dry grass only, guards on, nobody near, eye and ear protection, closed shoes; "
    "across slopes only as the manual says."
)
FIRST_MOW_CAUTION = (
    "Fresh sand hides stones and a mower throws them: walk the lawn and pick them up first. Closed shoes, eye and ear "
    "protection, nobody near; not on wet or soft ground; follow the mower's manual."
)
BLADE_CAUTION = (
    "Engine off and spark plug lead or battery out before you touch a blade; sand dulls it, so check it after the "
    "first cuts."
)
FEEDING_CAUTION = (
    "A soil test and the label set the rate, and some places forbid feeding in some months; keep feed off paving and "
    "out of water."
)
DIG_CAUTION = (
    "Before you drive stakes, core, dig or lift sod, have buried lines marked (in the US call 811 a few days ahead) "
    "and stay 0.6 m (24 in) from the marks."
)
STAKES_CAUTION = f"{DIG_CAUTION} Paint or flat discs are safer; take up all of it before you mow."
MARKS_CAUTION = "Use paint or flat discs, no stakes, and take them up before you mow."
LIDS_CAUTION = "Never bury valve boxes, meter lids, cleanouts or sprinkler heads."
DRAINAGE_CAUTION = (
    "Never raise the ground against the house or toward a neighbor: it must fall away from the wall, 6 in in the first "
    "10 ft (150 mm in 3 m) or as the local code says."
)
DORMANT_CAUTION = "Never on dormant grass: sand only turf that is green and growing."
PEGS_CAUTION = (
    "Keep the nail short: sprinkler heads, drip tubing, lighting cables and the wires of robot mowers and pet fences "
    "lie just below the grass. Find and mark them first, and have buried lines marked before you drive anything longer "
    "(in the US call 811). Nobody runs or plays between the pegs; count all of them back in before you mow."
)

"""What is said about sand and the next leveling, as templates with named fields; the logic picks one and fills it."""

# How much sand.
NO_SAND = "No sand is needed."
ORDER = "Order {own} ({other})."
ORDER_ABOUT = "Order about {own} ({other})."
WEIGHS = "It weighs {dry} dry to {wet} wet."
SOLD = "As it is sold: {sold}."
SOLD_UNIT = {
    "scoops": ("1 loader scoop of {size}", "{count} loader scoops of {size}"),
    "bags": ("1 bag of {size}", "{count} bags of {size}"),
    "half yards": ("half a yard", "{count} half yards"),
}
BAGS = "Or {bags} of {size}."
BAGS_DO = "{bags} of {size} will do."
BAG_COUNT = ("1 bag", "{count} bags")
LOADS = "Wheelbarrow loads, {part} full and {mass} wet each: {count}."
BUCKETS = "In full buckets: {count}. {lift}"
ONE_BUCKET = "One bucket holds it, and one person can carry that; bend your knees and do not twist."
TRIPS = (
    "Trips for what you buy, wet, with a vehicle that may carry {payload} besides people and tools: {count}."
)
ASK_PAYLOAD = "For the number of trips {give}: it stands on the label in the driver's door frame."
GIVE_OPTION = "give --payload"
GIVE_SETTING = {
    "metric": "write payload_kg under [sand] in lawn.toml",
    "us": "write payload_lb under [sand] in lawn.toml",
}
NO_PAYLOAD = "People and tools alone weigh all that your vehicle may carry: have the sand delivered."
SCOOP_TOO_HEAVY = (
    "One wet scoop weighs {scoop}, more than the {payload} that your vehicle may carry besides people and tools: have "
    "it dumped short, or take half a scoop."
)
PILES = "Spread it as a grid: one wheelbarrow load every {spacing} each way."
BULKING = (
    "Damp sand lies {least:.0f} to {most:.0f} % looser in the truck than on the lawn: have {low} to {high} delivered "
    "for it, or give a settling of {usual:.0f} % to count it in."
)
BULKED_DEPTH = (
    "Damp sand lies {least:.0f} to {most:.0f} % looser in the truck: count on {low} to {high} of depth."
)
COST = "Cost: {cost} for {sold}{delivery}."
COST_LOOSE = "Bought loose: {cost} for {sold}{delivery}."
WITH_DELIVERY = (", one delivery in it", ", {count} deliveries in it")
NO_DELIVERY = "; no delivery counted"
FROM_RECEIPT = "The price is that of your receipt of {day}: {price} {per}."
PER = {"metric": "a cubic meter", "us": "a cubic yard"}
DEPTH_OF = "{amount} on {area} is {depth} deep: {judged}."
ONE_PASS = "one pass"
SOME_PASSES = "{count} passes of {each}, about two months apart"
TOO_DEEP = (
    "more than living turf stands ({most} at most): spread part of it, or lift the turf and fill below it"
)
TOO_THIN = "too thin to level anything; keep it for the low spots"
DEEP_PASS = "{depth} in a pass is deep: above {limit} grass may not grow through. Keep leaf tips visible."
SMOTHERS = "{depth} of sand smothers living turf; {most} is the most that is ever laid over it"
SMOTHERS_REMEDY = "Plan several thin passes, or lift the turf and fill below it"
NO_DEPTH = "a depth is above zero, not {depth:g} mm"
NO_DEPTH_REMEDY = "Give the mean depth of the sand; 6 mm (1/4 in) a pass is usual"
NO_AREA = "an area is zero or more, not {area} m²"
NO_AREA_REMEDY = "Give the area that is to be sanded"
BUDGET_TOO_SMALL = "{budget} does not buy {sold} and its delivery ({cost})"
RAISE_BUDGET, RAISE_BUDGET_OR_BAGS = "Raise the budget", "Raise the budget, or ask for bags: --sold-as bags"
LIFT = "A full bucket weighs {dry} dry to {wet} wet"
LIFT_EASY = "; bend your knees and do not twist."
LIFT_HEAVY = ", over the {limit} one person should lift: fill it {part} at most, do not twist."
PARTS = ((1.0, ""), (3 / 4, "three quarters"), (2 / 3, "two thirds"), (1 / 2, "half"), (1 / 3, "a third"))
LEAST_PART = "a quarter"
LESS_THAN = "less than {volume}"

# Why a place is a spot.
STILL_BARE, SLOW = "still bare", "slow"
BEHIND = "{days:.0f} days behind the lawn"
BEHIND_SOME = "behind the lawn"
SPOT_WHY = "{state}, {lag}; {cover:.0f} % where the lawn has {lawn:.0f} %"
SEEN_SEASONS = "seen after {count} levelings running"
AT_EDGE = "reaches the edge of the ground in view and may go on beyond it"
SPOT_TOO_DEEP = "deeper than {most}: lift the turf and fill below it, sand on top would smother it"
SPOT_LEVEL = "level within {least}: sand is not what it lacks"
LOOK_FOR = "look for shade, dryness, roots or pests, then seed or plug it"
SPOT_UNPROBED = "not yet probed: lay a straightedge over it, and push a screwdriver through the sand"
SPOT_BURIED = (
    "buried under {sand} of sand: rake or take it off down to the crowns, plug what is dead, never add"
)
SPOT_HIGH = "high ground: rake or take sand off, never add"
SPOT_LOW = "low by {depth} in the mean: sand"
SPOT_LOW_GREEN = "green and low by {depth} in the mean: it greened over first because it is low; sand"
SPOT_LOW_UNMEASURED = "low, by the keeper's probe: read its depth"
SPOT_SHARED = "part of a low spot that is counted with another number"
SOIL = {
    "wet": "wet a day after rain: let water off first",
    "dry": "dry a day after watering: loosen it and water longer, less often",
}
SHADE = "shade: thin the branches, or choose a grass that stands it"
SPOT_WIDE = "a wide place: look for shade, dryness or sand too deep before adding more"
NO_SAND_HERE = "none"
MEASURE_FOR_SAND = "measure first"
SAND_RANGE = "{own} ({ends})"
NONE_BARE = "No place in view stayed bare or lagged; the heights show low or high ground."

# The plan.
AT_POINT = "{point}: {why}."
TOO_EARLY = "It is too early to name spots."
NOTHING = "Nothing to level again: no place of the lawn in view stayed bare or lagged. Well grown."
FOUND = ("One spot of {area} stayed bare or lagged: {share} of the ground in view.",
         "{count} spots, together {area}, stayed bare or lagged: {share} of the ground in view.")  # fmt: skip
MEASURE_FIRST = (
    "Measure these first: {spots}. A photo sees cover, not height: lay a straightedge or string line over each and "
    "note the depth at several places."
)
MEASURE_UNTIL = (
    "Until then they cost nothing and get no sand: what stays bare is as often buried, dry or shaded as low."
)
TOO_DEEP_CAUSE = "too deep"
CAUSES = {
    "low": "Low, so that sand helps: {spots}.",
    TOO_DEEP_CAUSE: "Low, but too deep for sand on living turf: {spots}. Lift the turf and fill below it.",
    "high or buried": "High or buried, never add sand: {spots}. Rake or take sand off, plug what is dead.",
    "level but bare": "Level but bare, sand is not what it lacks: {spots}.",
}
NONE_NEEDS = ("It gets no sand.", "None of them gets sand.")
NO_OTHER_NEEDS = ("The other one gets no sand.", "None of the others gets sand.")
ALL_SPOTS = "All spots: {order}"
WHOLE_LAWN = "One pass of {depth} over the whole lawn would take {alone}{trade}, {both} with all spots."
TRADE = " ({yards:.2f} cu yd on 1000 sq ft)"
SPOTS_FIRST = (
    "Fill the spots first: they are {share:.0f} % of the ground and take {spots}{spots_cost}; a pass over the "
    "whole lawn takes {lawn}{lawn_cost}, most of it on ground that is level."
)
LAWN_FIRST = (
    "Go over the whole lawn first: low ground is {share:.0f} % of it, so that single spots take {spots}"
    "{spots_cost} and a pass of {depth} takes {lawn}{lawn_cost}."
)
HARDLY_MORE = "hardly more"
NOW = "In the coming season: {spots}, with {volume} of sand{cost}."
FOR_COST = " for {cost}"
UNFINISHED = "Begun now and finished later in thin passes: {spots}."
LATER = "Waiting for a later season: {spots}."
NEVER = "Beyond what any one season's budget and passes allow: {spots}."
BAGS_INSTEAD = ("{delivery} of {cost} is delivery: {bags} of {size} hold{s} this sand and would be cheaper up to "
                "{most} a bag.")  # fmt: skip
LEVEL_WHEN = "Level {window}. {interval}"
WARM_WINDOW = (
    "once the grass is fully green and the soil is at {low} and warming, and at least eight weeks before the "
    "first frost"
)
COOL_WINDOW = "in early fall or in spring, with the soil between {low} and {high}"
OVERSEED = "Overseed the gaps in early fall: {grass} grows in bunches and hardly fills them by itself."
INTERVAL = "The next pass waits until the grass has grown through the first, about two months, for example {example}."
INTERVAL_WARM, INTERVAL_COOL = (
    "early {first} and again in mid-{second}",
    "one in spring and the next in early fall",
)
OUTDATED = "What was measured on {day} does not count: sand was laid on it on {sand}. Measure again before you order."
LOOSE = (
    "1 measured depth lies in no spot and is left out.",
    "{count} measured depths lie in no spot and are left out.",
)
LEFT_OUT = (
    "Left out as a path, a bed or a fence's foot, because it is bare and the edge of the view cuts it off: {places}. "
    "If it is lawn, draw the lawn's outline or a zone around it in lawn.toml."
)
SPOT_NUMBERS = ("spot {last}", "spots {first} and {last}")

# Season against season, or the second sand of a season against the first.
THIS_SEASON, LAST_SEASON = "this season", "last season"
THIS_SAND, LAST_SAND = "after this sand", "after the sand before"
AGAINST = "On day {day}: {now:.0f} % {this}, {then:.0f} % {last}; {spots}."
AGAINST_SPOTS = "{spots}."
AGAINST_COVERS = "On day {day}: {now:.0f} % {this}, {then:.0f} % {last}."
OLD_SPOTS = "{mended} of {seen} old spots {are} mended, {new} {new_are} new"
NO_OLD_SPOTS = "there were no spots {last}, and {new} {new_are} new"
NO_SAME_DAY = "The covers cannot be compared: there is no photo within {days} days of day {day} {last}."
UNSEEN = (
    "1 old spot lies outside the photos {this} and cannot be compared.",
    "{count} old spots lie outside the photos {this} and cannot be compared.",
)
UNJUDGED = (
    "1 old spot cannot be judged yet: the lawn must grow back first.",
    "{count} old spots cannot be judged yet: the lawn must grow back first.",
)
MENDED_WHERE = "Mended: {places}{more}."
STILL_WHERE = "Still there: {spots}."
NEW_WHERE = "New: {spots}."
AND_MORE = ", and more"

# Cautions, by the step at which they matter.
STEP_MARK, STEP_DAY, STEP_CARRY, STEP_SPREAD, STEP_DEPTH, STEP_TREES, STEP_EDGES, STEP_HAUL, STEP_FIRST = (
    "marking the spots", "choosing the day", "carrying sand", "spreading sand", "depth of a pass", "near trees",
    "along the house and at lids", "hauling sand", "the first mow after",
)  # fmt: skip
TIPS = "Leaf tips must stay visible."
TREES = "Keep sand thin over tree roots and off the trunk; ask an arborist before laying more than a little."

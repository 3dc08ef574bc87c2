"""The practice ground: dragged sand with known heights, seen by a hand-held phone from an arc."""

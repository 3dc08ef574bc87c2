"""The walk around the square on sand day: five photos on an arc, what is still missing after each, and the answer."""

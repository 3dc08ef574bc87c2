"""Which spots need sand again, and how much."""

"""Figures, maps and pictures of a season, and what is written on them."""

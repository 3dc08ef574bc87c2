"""Sheets to print: corner marks, how to take photos, the wedge, grids of heights, points to count."""

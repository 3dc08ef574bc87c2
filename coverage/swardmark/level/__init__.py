"""Measured heights to a cut-and-fill map: surface, straightedge, low and high ground, volumes with their interval."""

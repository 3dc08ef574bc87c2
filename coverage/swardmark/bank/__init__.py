"""Curves, bank, recovery: what the covers say of the weeks to come."""

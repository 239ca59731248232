"""Ladders: one shared set of rungs for a challenge."""

"""Checks of a rule base that is read: each module looks for one sort of mistake and points at its place."""

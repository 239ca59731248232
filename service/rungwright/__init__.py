"""Pitch a hands-on engineering challenge for each class section."""

from importlib.metadata import version

__version__ = version("rungwright")

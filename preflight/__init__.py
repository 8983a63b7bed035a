"""Guided, computed, signed check of a wide-belt sander before the first board."""

__version__ = "0.1.0"

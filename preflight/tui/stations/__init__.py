"""One module a station: its rows as data, and its picture. `TITLES` is plain data for the first frame."""

from __future__ import annotations

TITLES: tuple[tuple[str, str], ...] = (
    ("stock", "stock"),
    ("glue", "glue"),
    ("belts", "belts"),
    ("backing", "backing"),
    ("condition", "condition"),
    ("tension", "tension"),
    ("extraction", "extraction"),
    ("removal", "removal"),
    ("feed", "feed"),
    ("running", "running"),
    ("test_board", "test board"),
)
"""Station ids, which are the checks' names, in working order, with the titles of the station list."""

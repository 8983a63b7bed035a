"""The stations of the start-up run in working order, each with its rows, picture and safety caution."""

from __future__ import annotations

from preflight.tui.run import Station
from preflight.tui.stations import (
    TITLES,
    backing,
    belts,
    condition,
    extraction,
    feed,
    glue,
    removal,
    running,
    stock,
    tension,
    test_board,
)

_TITLE = dict(TITLES)

STATIONS: tuple[Station, ...] = (
    Station(
        "stock",
        _TITLE["stock"],
        "The thickest piece sets the opening; no metal goes in.",
        stock.rows,
        ("WARNING", "Metal throws sparks into the dust: all of it comes out first."),
    ),
    Station("glue", _TITLE["glue"], "Squeeze-out comes off upstream, not on the belt.", glue.rows),
    Station(
        "belts",
        _TITLE["belts"],
        "The right belt, inside the head's window.",
        belts.rows,
        ("DANGER", "Hands in only locked off, stored air released, by the book."),
        belts.picture,
    ),
    Station("backing", _TITLE["backing"], "Backing and grit suit the head they run on.", backing.rows),
    Station(
        "condition",
        _TITLE["condition"],
        "Looks with the doors open, locked off.",
        condition.rows,
        ("DANGER", "Your own lock stays on until the doors are shut again."),
    ),
    Station(
        "tension",
        _TITLE["tension"],
        "Doors shut, air on: the gauge of each head.",
        tension.rows,
        ("WARNING", "Hands clear of the rollers when tension comes on."),
        tension.picture,
    ),
    Station(
        "extraction",
        _TITLE["extraction"],
        "Extraction first, machine second, feed last.",
        extraction.rows,
        ("DANGER", "Burning smell, sparks, smoke: alarm first, never open the bin."),
        extraction.picture,
    ),
    Station(
        "removal", _TITLE["removal"], "What each head takes, in how many passes.", removal.rows, None, removal.picture
    ),
    Station(
        "feed",
        _TITLE["feed"],
        "The whole width works, not the middle only.",
        feed.rows,
        ("WARNING", "Gloves off near the infeed, nothing loose, stand out of its line."),
        feed.picture,
    ),
    Station(
        "running",
        _TITLE["running"],
        "One stop of all heads, then a look at the belts.",
        running.rows,
        ("DANGER", "Doors stay shut until all is still. Ears and lungs protected."),
    ),
    Station(
        "test_board",
        _TITLE["test_board"],
        "One board across the width proves the set-up.",
        test_board.rows,
        ("WARNING", "Stand beside the infeed, not in its line; nobody pulls boards out."),
        test_board.picture,
    ),
)

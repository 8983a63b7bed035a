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
        ("WARNING", "Metal throws sparks into the dust: every piece of it comes out before sanding."),
    ),
    Station("glue", _TITLE["glue"], "Squeeze-out comes off upstream, not on the belt.", glue.rows),
    Station(
        "belts",
        _TITLE["belts"],
        "The right belt, inside the head's window.",
        belts.rows,
        ("DANGER", "Lock off power and air before hands go in. Release the stored air. The machine book decides."),
    ),
    Station("backing", _TITLE["backing"], "Backing and grit suit the head they run on.", backing.rows),
    Station(
        "condition",
        _TITLE["condition"],
        "Looks with the doors open, locked off.",
        condition.rows,
        ("DANGER", "Locked off with your own lock until the doors are shut again. Doors never open on running heads."),
    ),
    Station(
        "tension",
        _TITLE["tension"],
        "Doors shut, air on: the gauge of each head.",
        tension.rows,
        ("WARNING", "Hands clear of the rollers when tension comes on."),
    ),
    Station(
        "extraction",
        _TITLE["extraction"],
        "Extraction first, machine second, feed last.",
        extraction.rows,
        ("DANGER", "Smell of burning, sparks or smoke: raise the alarm first. Never open or feel a suspect bin."),
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
        ("WARNING", "Gloves off near the infeed, nothing loose, and stand out of line with it."),
        feed.picture,
    ),
    Station(
        "running",
        _TITLE["running"],
        "One stop of all heads, then a look at the belts.",
        running.rows,
        ("DANGER", "Doors stay shut until every drum is still. Hearing and breathing protection on."),
    ),
    Station(
        "test_board",
        _TITLE["test_board"],
        "One board across the width proves the set-up.",
        test_board.rows,
        ("WARNING", "Stand beside the infeed, never in line with it. Nobody pulls at the outfeed."),
        test_board.picture,
    ),
)

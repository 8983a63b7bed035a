"""Chains of practice: kept apart from every machine's, told by their name and by the kind of their records.

A practice record in a machine's chain would pass for a start-up, and a start-up among practice would be lost: both are
refused when a record is saved, and called wrong when one is found.
"""

from __future__ import annotations

PREFIX = "practice-"
"""Begins the name of a chain of practice; machines' chains begin with `m-`, the register's with `shop-`."""
KIND = "practice"
"""Kind of every record in it, and of no other."""
NOTE = "Practice, no start-up."
"""Stands before whatever is said of a practice record."""


def is_practice(chain: str) -> bool:
    """Whether a chain of that name holds practice.

    >>> is_practice("practice-5a0c"), is_practice("m-8de350431919")
    (True, False)
    """
    return chain.startswith(PREFIX)


def misplaced(chain: str, kind: str | None) -> str:
    """Why a record of that kind does not belong into a chain, as a sentence; empty when it does.

    >>> misplaced("m-8de350431919", "practice")
    "A practice record does not belong into a machine's chain: it is no start-up."
    """
    if kind == KIND and not is_practice(chain):
        return "A practice record does not belong into a machine's chain: it is no start-up."
    if kind != KIND and is_practice(chain):
        return f"A record of the kind {kind or 'not named'!r} does not belong into a chain of practice."
    return ""

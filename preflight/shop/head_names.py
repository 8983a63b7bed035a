"""Names: words that no head may be called, since a sheet or a station uses them, and names taken for each other."""

from __future__ import annotations

import difflib
import unicodedata
from typing import Final

TENSION_KEYS: Final = ("gauge", "running", "supply", "leak_fall", "gauge_resolution")
"""Keys of a sheet's tension table that stand beside those of the heads."""

ROW_NAMES: Final = ("leak", "feed", "plan", "or", "test", "whatif", "stop", "current", "swing")
"""Words that entries beside those of the heads are called by."""


def claimed_by_tension(key: str) -> bool:
    """Whether a key is one of the tension table's own, or so near to one that it is taken for it misspelt."""
    return bool(difflib.get_close_matches(key, TENSION_KEYS, n=1, cutoff=0.7))


def is_claimed(head_id: str) -> bool:
    """Whether a head of that id would be taken for something else."""
    return claimed_by_tension(head_id) or head_id in ROW_NAMES


def folded(name: str) -> str:
    """A name as somebody, or a file system, that knows no case and no accents might take it."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())

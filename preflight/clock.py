"""The terminal's clock. Nothing else in the app asks what time it is: below the command line and the screens a moment
comes in as an argument.
"""

from __future__ import annotations

from datetime import datetime


def now() -> datetime:
    """Local time with its offset from UTC."""
    return datetime.now().astimezone()

"""The draft of what is on the screen: kept at every change, and tried again until it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Callable

    from preflight.tui.run import Run

KEPT_AGAIN = "The draft is kept again."


class KeptDraft:
    """Knows whether the newest run is in the draft, and says so."""

    def __init__(self, save: Callable[[Run], str | None], tell: Callable[[str], None]) -> None:
        """save: puts a run into the draft and returns what is wrong with it; tell: is given what changed."""
        self._save = save
        self._tell = tell
        self.trouble = ""
        """Why it is not kept; empty while it is."""

    def keep(self, run: Run, *, quiet: bool = False) -> bool:
        """Put the run into the draft; whether it is there now. Quiet: the same trouble is not said again."""
        before = self.trouble
        try:
            self.trouble = self._save(run) or ""
        except PreflightError as error:
            self.trouble = str(error)
        if self.trouble != before or (self.trouble and not quiet):
            self._tell(self.trouble or KEPT_AGAIN)
        return not self.trouble

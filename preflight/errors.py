"""The one family of errors that a person is meant to read.

The top of the command line and of the app catches `PreflightError`, prints message and hint, and leaves with its exit
status.
"""

from __future__ import annotations

from preflight.outside_text import shown

INPUT = 3
"""Exit status: input that cannot be read or cannot be checked."""

OWN_FAILURE = 4
"""Exit status: the tool's own failure."""


class PreflightError(Exception):
    """Something a person can put right: what is wrong, and what to do about it."""

    def __init__(self, message: str, hint: str = "", exit_status: int = INPUT) -> None:
        super().__init__(message)
        self.message = shown(message, keep="\n")
        """What is wrong, one plain sentence; it may repeat text of a file."""
        self.hint = shown(hint, keep="\n")
        """What to do about it; empty when the message says it."""
        self.exit_status = exit_status
        """Exit status of the command line: 3 input that cannot be read or checked, 4 the tool's own failure."""

    def __str__(self) -> str:
        return f"{self.message} {self.hint}".rstrip()


def out_of_reach(error: OSError) -> PreflightError:
    """A file or folder that the system does not let us use, as something a person can put right."""
    where = f"{error.filename}: " if error.filename else ""
    return PreflightError(
        f"{where}{error.strerror or error}.", "Bring the folder and the right to use it back, then try again."
    )

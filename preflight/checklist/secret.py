"""A PIN or passphrase on its way from the screen to the key, which no report prints. Imports nothing."""

from __future__ import annotations


class Secret:
    """A PIN or passphrase on its way to the key. Its `repr` shows nothing: a crash report prints local variables."""

    __slots__ = ("_text",)

    def __init__(self, text: str = "") -> None:
        self._text = text

    def __repr__(self) -> str:
        return "Secret(not shown)"

    def reveal(self) -> str:
        """The text itself; for `unlock` alone."""
        return self._text

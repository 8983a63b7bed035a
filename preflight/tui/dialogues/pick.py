"""Pick one of a list: machine, job, person, belt card, action, event, or what to do next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from preflight.tui.dialogues.frame import Dialogue, content

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from textual.app import App
    from textual.events import Key
    from textual.widget import Widget

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Span
    from preflight.tui.wiring import Pick


class PickScreen(Dialogue[str]):
    """Returns the id of the pick, or None."""

    def __init__(self, question: str, picks: Sequence[Pick], charset: Charset) -> None:
        super().__init__(charset)
        self.question = question
        self.picks = picks

    def fields(self) -> Iterable[Widget]:
        """The question and the list; a digit picks too."""
        yield self.said(self.question)
        if self.picks:
            yield OptionList(*(Option(self._prompt(at, pick), id=str(at)) for at, pick in enumerate(self.picks)))
        else:
            yield self.said("There is nothing to choose from.", "hint")

    def _prompt(self, at: int, pick: Pick) -> Content:
        number = f"{at + 1} " if at < 9 else "  "
        spans: list[Span] = [(f" {number} ", "key"), (pick.label, "text")]
        lines = [content(spans, self.charset)]
        if pick.detail:
            lines.append(content([("    ", "text"), (pick.detail, "dim")], self.charset))
        return Content("\n").join(lines)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter or a click."""
        self.dismiss(self.picks[event.option_index].id)

    def on_key(self, event: Key) -> None:
        """A digit picks that line."""
        if event.character and event.character in "123456789" and int(event.character) <= len(self.picks):
            event.stop()
            self.dismiss(self.picks[int(event.character) - 1].id)


class NamePick(PickScreen):
    """Who it is. Nobody is current at first, so that Enter alone signs in nobody's name."""

    def on_mount(self) -> None:
        """A digit, the arrows or a click choose."""
        for names in self.query(OptionList):
            names.highlighted = None


async def pick(app: App[object], question: str, picks: Sequence[Pick], charset: Charset) -> str | None:
    """Ask, inside a worker; the id of the pick or None."""
    return await app.push_screen_wait(PickScreen(question, picks, charset))

"""The entries of a station: one painted table, and the one real text input on the current row's cell.

The input stays focused all the time, also on rows that are chosen: keys then come through one queue and fast
typing is never reordered, and no focus change or mount slows a move.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Input

from preflight.tui.commands import ENTRY_KEYS
from preflight.tui.widgets.cells import Painted
from preflight.tui.widgets.entry_foot import Stay
from preflight.tui.widgets.entry_lines import VALUE_AT, choice_line, header, rows_seen, table_lines, value_width

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import ComposeResult
    from textual.events import Click, Key, MouseScrollDown, MouseScrollUp, Paste
    from textual.strip import Strip

    from preflight.tui.attention import Look
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line
    from preflight.tui.rows import Row
    from preflight.tui.run import Run
    from preflight.tui.widgets.entry_lines import Window

EDITING = {
    "backspace": "delete_left",
    "delete": "delete_right",
    "left": "cursor_left",
    "right": "cursor_right",
    "home": "home",
    "end": "end",
    "ctrl+u": "delete_left_all",
}
"""Editing keys done at once: as bindings they would bubble, and the next digit could overtake them."""


LONGEST_REFUSED = 7
"""Characters of what was refused that are shown: "1908.18"."""


class EntryInput(Input):
    """The one real input; on a row that is chosen it paints the choice and hands every key to the table."""

    DEFAULT_CSS = """
    EntryInput, EntryInput.-textual-compact, EntryInput:focus {
        position: absolute;
        background: $field-ground;
        color: $foreground;
        &.-chosen { background: $current-ground; }
    }
    EntryInput:nocolor { text-style: underline; }
    """

    def __init__(self, table: EntryTable) -> None:
        super().__init__(compact=True, select_on_focus=False, id="entry")
        self.table = table

    def watch_value(self, value: str) -> None:
        """Judged here and not on a message: text, verdict, list and panel are then painted in one frame."""
        self.table.value_changed(value)

    def on_key(self, event: Key) -> None:
        """Keys in the order typed. The base class handles the event too unless its default is prevented."""
        if self.table.press(event.key, event.character):
            event.stop()
            event.prevent_default()

    def on_paste(self, event: Paste) -> None:
        """Nothing is pasted into a choice, nor over an answer at which Enter stayed."""
        if not self.table.types or self.table.held:
            event.stop()
            event.prevent_default()
            self.table.refuse(event.text)

    def on_click(self, event: Click) -> None:
        """A click on a choice goes to the next one."""
        if not self.table.types:
            event.stop()
            self.table.press("space", " ")

    def render_line(self, y: int) -> Strip:
        """The text, or the choice in its place."""
        row = self.table.row
        if row is None or not self.table.open:
            return self.table.strip((), self.size.width)
        if self.table.types or y:
            return super().render_line(y)
        return self.table.strip(choice_line(row, self.table.text, self.size.width, self.table.charset), self.size.width)


class EntryTable(Painted):
    """Paints a station's rows and keeps the input on the current one."""

    DEFAULT_CSS = "EntryTable { background: $background; }"

    def __init__(self, run: Run, station_id: str, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(charset, id=id)
        self.run = run
        self.station_id = station_id
        self.key = ""
        """The current row's key; empty before there are rows."""
        self.rows: Sequence[Row] = ()
        self.look: Look | None = None
        """The answer at which Enter stayed."""
        self.refused = ""
        """What was typed on the current row and not taken."""
        self.ready = False
        """Profiles are loaded: before that no key is taken."""
        self._followed = False
        """The text was put into the input, not typed."""
        self.picture_here = True
        self.titled = True
        self.on_early: Callable[[], None] = lambda: None
        self.on_typed: Callable[[str, str], None] = lambda _key, _text: None
        self.on_command: Callable[[str], None] = lambda _command: None
        self.on_row: Callable[[str], None] = lambda _key: None
        self.on_refused: Callable[[str], None] = lambda _why: None
        self.input = EntryInput(self)

    def compose(self) -> ComposeResult:
        """The input, and nothing else, ever."""
        yield self.input

    def on_mount(self) -> None:
        """No row, no input to see."""
        self.place()

    def on_resize(self) -> None:
        """The input follows its row."""
        self.place()

    @property
    def row(self) -> Row | None:
        """The current row."""
        return next((row for row in self.rows if row.key == self.key), None)

    @property
    def open(self) -> bool:
        """Whether the current row takes an answer at all."""
        return self.row is not None and self.run.takes(self.row)

    @property
    def types(self) -> bool:
        """Whether the current row takes typed text."""
        return self.row is not None and self.open and not self.row.choices

    @property
    def text(self) -> str:
        """The current row's answer."""
        return self.run.typed.get(self.key, "")

    def show(self, run: Run, station_id: str, key: str) -> None:
        """Show that run, station and row."""
        self.run, self.station_id = run, station_id
        self.rows = run.rows(station_id)
        moved = key != self.key
        if moved:
            self.look, self.refused = None, ""
        self.key = key
        if moved or self.input.value != (self.text if self.types else ""):
            self._followed = True
            self.input.value = self.text if self.types else ""
            self.input.cursor_position = len(self.input.value)
        if moved:
            self.mark_all()
        self.place()
        self.repaint()

    @property
    def held(self) -> bool:
        """Whether Enter has stayed at the current answer: then only a key that is meant for it changes it."""
        return self.look is not None and self.look.holds(self.run, self.key)

    def mark_all(self) -> None:
        """Mark what stands, so that the first key replaces it; a long answer is added to."""
        if self.types and self.input.value and self.row is not None and not self.row.long:
            self.input.select_all()

    @property
    def _marked(self) -> bool:
        return bool(self.input.value) and self.input.selected_text == self.input.value

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """All lines, the input's cell included: it lies on top."""
        return table_lines(
            self.run,
            self.station_id,
            self.key,
            width,
            height,
            self.charset,
            picture=self.picture_here,
            titled=self.titled,
            stay=self.stay,
        )

    @property
    def stay(self) -> Stay | None:
        """What the keys do at the current answer, where Enter has stayed at it."""
        if self.look is None or not self.held or self.row is None:
            return None
        return Stay.at(self.run, self.station_id, self.row, self.look)

    def value_changed(self, value: str) -> None:
        """From the input's watcher; a value that only follows the row changes nothing."""
        if self.types and value != self.text:
            self.on_typed(self.key, value)

    def press(self, key: str, character: str | None) -> bool:
        """Do what a key means here; False leaves it to the input or, for function keys, to the bindings."""
        if not self.ready:
            self.on_early()
            return True
        if key in ENTRY_KEYS:
            self.on_command(ENTRY_KEYS[key])
            return True
        printed = character if character is not None and character.isprintable() else ""
        if self.refused.strip() and key in ("backspace", "delete"):
            self.refuse()  # it takes back what was typed before it, not what stands
            return True
        if self._takes(key, printed):
            if self.types:
                return self._edited(key)
            answer = self._chosen(key, printed)
            if answer is not None:
                self.on_typed(self.key, answer)
                return True
        if self.row is not None and (printed or (self.held and key in ("left", "right"))):
            self.refuse(printed or self.charset.after.strip())
        return key in EDITING or bool(printed)

    def _edited(self, key: str) -> bool:
        """Do an editing key; a reading that it gave back is marked, as on coming to its row."""
        self._followed = False
        if key in EDITING:
            getattr(self.input, f"action_{EDITING[key]}")()
            if self._followed:
                self.mark_all()
        return key in EDITING

    def _takes(self, key: str, printed: str) -> bool:
        """Whether the current row takes that key now.

        Digits typed ahead of a stop are meant for the next row: where Enter has stayed, only a key that is meant for
        this answer begins another one. In an answered choice a letter means nothing, and a reading is begun anew only
        by a key that can begin one.
        """
        if self.row is None or not self.open:
            return False
        if self.held:
            return key in ("backspace", "delete", "ctrl+u") or (self.types and key in EDITING)
        if not self.types:
            return not (self.text and printed.isalpha())
        return not (printed and self._marked) or self.row.begins(printed)

    def refuse(self, typed: str = "") -> None:
        """Take nothing of what was typed, and say why; without `typed` the last of it is taken back."""
        self.refused = f"{self.refused}{typed}" if typed else self.refused[:-1]
        if self.row is not None:
            what = f"Not taken: {self.refused_text}. " if self.open and typed else ""
            self.on_refused(f"{what}{self._refusal(self.row, typed)}")

    @property
    def refused_text(self) -> str:
        """What was not taken, to be said; longer than a reading it may be a secret typed at the wrong place."""
        text = self.refused.strip()
        return text if 0 < len(text) <= LONGEST_REFUSED else "what was typed"

    def _refusal(self, row: Row, typed: str) -> str:
        if self.run.signed is not None:
            return self.run.signed.sentence
        if (stay := self.stay) is not None:
            return stay.sentence
        if self.types and self.text:
            return f"{row.as_read(self.text.strip())} stands. A digit reads it anew, Backspace clears it."
        if row.choices and self.text and not typed.isdigit():
            return f"{self.text!r} stands. Space and the arrows change it, Backspace clears it."
        return row.refusal

    def _chosen(self, key: str, character: str) -> str | None:
        """The answer that a key chooses, "" to clear it, None for a key that means nothing."""
        row = self.row
        labels = [choice.label for choice in row.choices] if row else []
        at = labels.index(self.text) if self.text in labels else -1
        if key in ("backspace", "delete"):
            return ""
        if key in ("space", "right"):
            return None if len(labels) == 1 and at == 0 else labels[(at + 1) % len(labels)]
        if key == "left":
            return labels[at - 1 if at >= 0 else -1]
        if not character.isalpha():
            return None  # a digit is a reading typed one row too high, not a choice
        return next((label for label in labels if label[0].lower() == character.lower()), None)

    def place(self) -> None:
        """Put the input on the current row's cell."""
        row = self.row
        width = self.size.width
        if row is None or not width:
            self.input.styles.offset = (0, 0)
            self.input.styles.width = 1
            return
        seen, at = self._seen(), self.rows.index(row)
        self.input.set_class(not self.types, "-chosen")
        # where nothing can be typed the input waits behind the line's end
        line = header(self.titled) + at - seen.start
        self.input.styles.offset = (VALUE_AT if self.open else width - 1, line)
        self.input.styles.width = value_width(row, width, current=True) if self.open else 1
        self.input.refresh()

    def _seen(self) -> Window:
        at = next((i for i, row in enumerate(self.rows) if row.key == self.key), 0)
        width, height = self.size
        return rows_seen(self.run, self.station_id, self.rows, at, width, height, self.charset, titled=self.titled)

    def on_click(self, event: Click) -> None:
        """A click goes to the row; on a choice that is current already it goes to the next one."""
        if not self.rows:
            return
        seen = self._seen()
        line = event.y - header(self.titled)
        clicked = line + seen.start
        if line >= 0 and seen.start <= clicked < seen.stop:
            event.stop()
            self.on_row(self.rows[clicked].key)

    def on_mouse_scroll_down(self, event: MouseScrollDown) -> None:
        """The wheel moves the current row."""
        event.stop()
        self.on_command("row_down")

    def on_mouse_scroll_up(self, event: MouseScrollUp) -> None:
        """The wheel moves the current row."""
        event.stop()
        self.on_command("row_up")

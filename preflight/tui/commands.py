"""Every command of the run, declared once: keys, footer, palette and key help are made from this table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection


@dataclass(frozen=True, slots=True)
class Command:
    """One thing the operator can ask for."""

    id: str
    """Also the name of its action on the run screen, and what a key is remapped by."""
    keys: tuple[str, ...]
    """First the one that is shown; the others are aliases that some terminals keep for themselves."""
    label: str
    """A few words for footer and palette."""
    help: str
    """One sentence."""
    footer: int = 0
    """Place in the footer, 1 first; 0: not there."""
    narrow: bool = False
    """Also in the footer of a narrow terminal."""
    entry: bool = False
    """Moves within the entries: the entry takes the key itself, in the order typed."""


COMMANDS = (
    Command("accept", ("enter",), "next", "Accept what stands and go to the next entry.", 1, narrow=True, entry=True),
    Command("row_down", ("down",), "next entry", "Go one entry down.", entry=True),
    Command("row_up", ("up",), "entry before", "Go one entry up.", entry=True),
    Command("restore", ("escape",), "as it was", "Give up a re-read: the answer before it stands again.", entry=True),
    Command("next_station", ("pagedown",), "next station", "Go to the next station.", entry=True),
    Command("previous_station", ("pageup",), "station before", "Go to the station before.", entry=True),
    Command("happened", ("f2",), "what happened?", "Ask again only what an event voids.", 2, narrow=True),
    Command("take_back", ("ctrl+z",), "take back", "Take back what F2 said has happened, until the next answer."),
    Command("why", ("f3", "f1"), "why", "All findings of this station, with workings and sources.", 3, narrow=True),
    Command("act", ("f4",), "act", "Say what was done about a caution; take the reading meant.", 4),
    Command("job", ("f7", "f5"), "job, belts", "Choose the machine, the job and the belt cards.", 5),
    Command("review", ("f8", "f10"), "review, sign", "What is open, cautioned, stopped; sign or hold.", 6, narrow=True),
    Command("done", ("ctrl+o",), "job done", "After the job: what was really fed, hours, belts off and why."),
    Command("words", ("f9", "f6"), "words", "What the words of the trade mean here."),
    Command("practice", ("ctrl+t",), "practice", "Drills with planted faults; nothing is started or signed."),
    Command("audit", ("ctrl+r",), "records", "All saved records: today, lists, patterns, trends."),
    Command("quit", ("ctrl+q",), "leave", "Leave; the draft is kept."),
)  # fmt: skip

MOST_WANTED = ("accept", "review", "why", "happened", "act", "job", "done")
"""Commands of the footer; where it has no room for all, the last gives way first."""

KEY_NAMES = {
    "enter": "Enter",
    "pagedown": "PgDn",
    "pageup": "PgUp",
    "ctrl+q": "^Q",
    "ctrl+o": "^O",
    "ctrl+r": "^R",
    "ctrl+t": "^T",
    "ctrl+z": "^Z",
    "down": "Down",
    "up": "Up",
    "escape": "Esc",
}

ENTRY_KEYS = {key: command.id for command in COMMANDS if command.entry for key in command.keys}
"""Keys that the entry itself takes, so that fast typing is never reordered."""


def key_name(command: Command) -> str:
    """The key as printed: "F2", "Enter"."""
    key = command.keys[0]
    return KEY_NAMES.get(key, key.upper())


def footer_commands(narrow: bool, needed: Collection[str] = ()) -> list[Command]:
    """The commands for the footer, the most wanted first: Enter, those `needed` now, then the others."""
    shown = [one for one in COMMANDS if one.id in needed or (one.footer and (one.narrow or not narrow))]
    return sorted(shown, key=lambda one: (one.id != "accept", one.id not in needed, MOST_WANTED.index(one.id)))

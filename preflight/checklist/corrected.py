"""What later corrections say of a record: the right answers beside the wrong ones, and the texts they ask to hide.

The sealed bytes stay as they are. What is hidden is hidden on pages, and shown there on request.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from preflight.checklist.machine_records import Kept

HIDDEN = "[hidden]"
"""In place of a text that a correction asks to hide."""
NAME = "record.name"
WORKED_OUT = ("record", "refers", "released", "profiles", "entries", "findings", "limits")
"""Tables of a record that nobody typed, or that are taken apart by themselves."""
TELLING = 5
"""A hidden text at least so long is looked for inside all others; a shorter one, all too common, only at its key."""


@dataclass(frozen=True, slots=True)
class Correction:
    """One answer put right."""

    key: str
    was: str
    """Empty for what it hides: a correction does not repeat that."""
    text: str
    reason: str
    hides: bool
    number: int
    by: str
    local: str

    def sentence(self, was: str = "") -> str:
        """What is right, what stood there, and who says so. `was`: what it hides, to be shown."""
        before = self.was or was or HIDDEN
        when = self.local[:16].replace("T", " ")
        return f"{self.key} is {self.text}, not {before}: {self.reason}. {self.by}, {when}, record {self.number}."


def corrections(later: Iterable[Kept]) -> tuple[Correction, ...]:
    """Those among the records about one, the oldest first; only those that count."""
    found = []
    for kept in later:
        table = kept.document.get("correction")
        if table is not None and kept.counts:
            found.append(
                Correction(
                    table["key"],
                    table.get("was", ""),
                    table["text"],
                    table["reason"].rstrip("."),
                    table.get("hides", False),
                    kept.reference.sequence,
                    kept.heading.name,
                    kept.document["record"]["local"],
                )
            )
    return tuple(sorted(found, key=lambda one: one.number))


def typed_texts(document: Mapping[str, Any]) -> dict[str, str]:
    """Every text of a record that somebody typed, by the key it is corrected under.

    Answers by their own key, "tension.1", and what stood there before as "tension.1 before 1"; all else by its place,
    "held.told", "run.off.1.why". A name is "record.name".
    """
    texts = {NAME: str(document["record"].get("name", ""))}
    for table, value in document.items():
        if table not in WORKED_OUT:
            texts.update(_leaves(value, table))
    for entry in document.get("entries", ()):
        texts[entry["key"]] = entry["text"]
        for place, before in enumerate(entry.get("earlier", ()), 1):
            texts[f"{entry['key']} before {place}"] = before["text"]
    return texts


def masked(document: Mapping[str, Any], made: Iterable[Correction]) -> Mapping[str, Any]:
    """The document as it is shown: what a correction hides does not stand in it, wherever it stood."""
    keys = [one.key for one in made if one.hides]
    if not keys:
        return document
    typed = typed_texts(document)
    long = sorted({typed[key] for key in keys if len(typed.get(key, "")) >= TELLING}, key=len, reverse=True)
    shown: dict[str, Any] = _without(document, long)
    for key in keys:
        _hide(shown, key)
    return shown


def _leaves(value: Any, path: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, f"{path}.{key}")
    elif isinstance(value, list):
        for place, inner in enumerate(value, 1):
            yield from _leaves(inner, f"{path}.{place}")
    else:
        yield path, str(value)


def _without(value: Any, texts: list[str]) -> Any:
    if isinstance(value, dict):
        return {key: _without(inner, texts) for key, inner in value.items()}
    if isinstance(value, list):
        return [_without(inner, texts) for inner in value]
    if isinstance(value, str):
        for text in texts:
            value = value.replace(text, HIDDEN)
    return value


def _hide(document: dict[str, Any], key: str) -> None:
    """Put the mark at one key, in place."""
    for entry in document.get("entries", ()):
        if entry["key"] == key:
            entry["text"] = HIDDEN
        for place, before in enumerate(entry.get("earlier", ()), 1):
            if key == f"{entry['key']} before {place}":
                before["text"] = HIDDEN
    parts = key.split(".")
    at: Any = document
    for part in parts[:-1]:
        at = _step(at, part)
    if isinstance(at, dict) and parts[-1] in at:
        at[parts[-1]] = HIDDEN
    elif isinstance(at, list) and parts[-1].isdecimal() and 0 < int(parts[-1]) <= len(at):
        at[int(parts[-1]) - 1] = HIDDEN


def _step(at: Any, part: str) -> Any:
    if isinstance(at, dict):
        return at.get(part)
    if isinstance(at, list) and part.isdecimal() and 0 < int(part) <= len(at):
        return at[int(part) - 1]
    return None

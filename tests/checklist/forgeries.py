"""Random spellings of a record that an operator signs and would have taken for a lead's.

A writer of TOML that knows every spelling: quoted, literal, escaped and dotted keys, texts over several lines, tables
in braces, headers with blanks, remarks, tables out of their order or twice. Into that it puts a second `[record]`, the
operator's own, where one reader finds it and another does not, or the other way round.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import random
    from collections.abc import Callable, Mapping

Heading = dict[str, Any]


@dataclass(frozen=True)
class Forgery:
    """A body, and what was done to it."""

    body: bytes
    how: tuple[str, ...]


class Writer:
    """Writes a document in a random spelling. `wild`: how often another spelling than a record's is taken."""

    def __init__(self, rng: random.Random, wild: float) -> None:
        self._rng = rng
        self._wild = wild
        self.how: set[str] = set()

    def _takes(self, what: str, share: float = 1.0) -> bool:
        taken = self._rng.random() < self._wild * share
        if taken:
            self.how.add(what)
        return taken

    def key(self, key: str) -> str:
        if self._takes("escaped key", 0.2):
            at = self._rng.randrange(len(key)) if key else 0
            return f'"{key[:at]}\\u{ord(key[at]):04x}{key[at + 1 :]}"' if key else '""'
        if self._takes("literal key", 0.2) and "'" not in key:
            return f"'{key}'"
        if self._takes("quoted key", 0.3):
            return json.dumps(key, ensure_ascii=False)
        bare = key and key.isascii() and key.replace("-", "a").replace("_", "a").isalnum()
        return key if bare else json.dumps(key, ensure_ascii=False)

    def text(self, text: str) -> str:
        if "\n" in text and self._takes("text of several lines"):
            plain = text.replace("\\", "\\\\").replace('"', '\\"')
            return f'"""\n{plain}"""'
        if self._takes("literal text", 0.2) and "'" not in text and text.isprintable():
            return f"'{text}'"
        if self._takes("escaped text", 0.1) and text:
            at = self._rng.randrange(len(text))
            quoted = [json.dumps(part, ensure_ascii=False)[1:-1] for part in (text[:at], text[at + 1 :])]
            return f'"{quoted[0]}\\U{ord(text[at]):08x}{quoted[1]}"'
        if self._takes("text in three quotes", 0.1):
            return '""' + json.dumps(text, ensure_ascii=False) + '""' if text else '""""""'
        return json.dumps(text, ensure_ascii=False)

    def value(self, value: Any) -> str:
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, bool):
            return "true" if value else "false"
        if isinstance(value, datetime):
            text = str(value)
            return text.replace(" ", "T").replace("+00:00", "Z") if self._takes("time with T or Z", 0.5) else text
        if isinstance(value, int | float | date):
            text = str(value)
            return f"+{text}" if text[:1].isdigit() and self._takes("number with a sign", 0.2) else text
        if isinstance(value, list):
            return self._list(value)
        pairs = ", ".join(f"{self.key(key)} = {self.value(item)}" for key, item in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"

    def _list(self, items: list[Any]) -> str:
        if not items:
            return "[]"
        if self._takes("list on one line", 0.3):
            return f"[{', '.join(map(self.value, items))}]"
        return "[\n" + "".join(f"    {self.value(item)},\n" for item in items) + "]"

    def table(self, table: Mapping[str, Any], header: list[str], *, listed: bool = False) -> list[str]:
        """The blocks of a table."""
        values = {key: item for key, item in table.items() if not _tables(item)}
        tables = {key: item for key, item in table.items() if _tables(item)}
        for key in list(tables):
            if isinstance(tables[key], dict) and self._takes("table in braces", 0.2):
                values[key] = tables.pop(key)
        lines = []
        if header and (values or listed or not tables):
            name = ".".join(map(self.key, header))
            if self._takes("header with blanks", 0.2):
                name = f" {name} "
            lines.append(f"[[{name}]]" if listed else f"[{name}]")
        for key, item in values.items():
            if self._takes("remark", 0.1):
                lines.append(f"# {key}")
            equals = "=" if self._takes("no blanks", 0.1) else " = "
            lines.append(f"{self.key(key)}{equals}{self.value(item)}")
        for key in list(tables):
            if isinstance(tables[key], dict) and not listed and self._takes("dotted keys", 0.15):
                inner = tables.pop(key)
                lines += [f"{self.key(key)}.{self.key(k)} = {self.value(item)}" for k, item in inner.items()]
        blocks = ["\n".join(lines)] if lines else []
        for key, item in tables.items():
            if isinstance(item, dict):
                blocks += self.table(item, [*header, key])
            else:
                blocks += [block for one in item for block in self.table(one, [*header, key], listed=True)]
        return blocks


def _tables(item: Any) -> bool:
    if isinstance(item, list):
        return bool(item) and all(isinstance(one, dict) for one in item)
    return isinstance(item, dict)


def _joined(blocks: list[str]) -> str:
    return "\n\n".join(blocks) + "\n"


def _block(heading: Heading, header: str = "[record]") -> str:
    return "\n".join([header, *(f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in heading.items())])


PLACES: Mapping[str, Callable[[list[str], Heading, random.Random], list[str]]] = {
    "nowhere": lambda blocks, _own, _rng: blocks,
    "first": lambda blocks, own, _rng: [_block(own), *blocks],
    "last": lambda blocks, own, _rng: [*blocks, _block(own)],
    "among them": lambda blocks, own, rng: _inserted(blocks, _block(own), rng),
    "in a text of several lines": lambda blocks, own, rng: _inserted(blocks, f'[x]\nx = """\n{_block(own)}\n"""', rng),
    "in a literal text": lambda blocks, own, rng: _inserted(blocks, f"[x]\nx = '''\n{_block(own)}\n'''", rng),
    "in a text at the top": lambda blocks, own, _rng: [f'by = """\n{_block(own)}\n"""', *blocks],
    "in remarks": lambda blocks, own, _rng: ["# " + _block(own).replace("\n", "\n# "), *blocks],
    "of another table": lambda blocks, own, rng: _inserted(blocks, _block(own, "[glue.record]"), rng),
    "as a list": lambda blocks, own, rng: _inserted(blocks, _block(own, "[[record]]"), rng),
    "quoted": lambda blocks, own, rng: _inserted(blocks, _block(own, '["record"]'), rng),
    "with blanks": lambda blocks, own, rng: _inserted(blocks, _block(own, "[ record ]"), rng),
    "in other letters": lambda blocks, own, rng: _inserted(blocks, _block(own, "[Record]"), rng),
    "below itself": lambda blocks, own, rng: _inserted(blocks, _block(own, "[record.record]"), rng),
    "as lines of another table": lambda blocks, own, _rng: [*blocks, "[x]\n" + _block(own, "y = 1")],
}
"""Where the second `[record]` is put."""


def _inserted(blocks: list[str], block: str, rng: random.Random) -> list[str]:
    at = rng.randint(0, len(blocks))
    return [*blocks[:at], block, *blocks[at:]]


def forgery(document: Mapping[str, Any], own: Heading, rng: random.Random) -> Forgery:
    """A body around the document, which is a lead's, with the operator's own heading somewhere; or exchanged."""
    writer = Writer(rng, rng.choice((0.0, 0.02, 0.1, 0.5)))
    lead = document["record"]
    exchanged = rng.random() < 0.3
    shown, hidden = (own, lead) if exchanged else (lead, own)
    made = {key: shown if key == "record" else item for key, item in document.items()}
    if rng.random() < 0.1:  # the heading in the text of an answer, as far as that is one line
        made["record"] = {**made["record"], "meaning": _block(hidden)}
    blocks = writer.table(made, [])
    place = rng.choice(list(PLACES))
    blocks = PLACES[place](blocks, hidden, rng)
    if rng.random() < 0.1:
        rng.shuffle(blocks)
        place += ", shuffled"
    text = _joined(blocks)
    if rng.random() < 0.1:
        at = text.rfind("\n", 0, rng.randrange(len(text))) + 1
        text = text[:at] + rng.choice(("\n", " ", "\t", "# x\n", "x = 1\n", "[record]\n")) + text[at:]
        place += ", disturbed"
    return Forgery(text.encode(), (place, "exchanged" if exchanged else "claimed", *sorted(writer.how)))

"""Heads as a short text to print, mail or write down, and to read back: what the shop held at that time.

    preflight heads 1
    made 2026-11-25T09:58:00+00:00
    founder k-<32 digits> T. Varga
    chain m-7f3a91c2d04e 340
      <SHA-256 as eight groups of eight digits>
    check 3f9a01bc

The text survives blank lines, indents, marks of quoted mail and line breaks between groups; the last line finds a slip.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.checklist.chain import ChainError, Head
from preflight.checklist.register import PREFIX
from preflight.checklist.seal import LAST_SEQUENCE, NO_PREVIOUS, is_machine_id

if TYPE_CHECKING:
    from collections.abc import Sequence

FIRST = "preflight heads 1"
_FOUNDER = re.compile(r"founder (k-[0-9a-f]{32}) (.+)")
_CHAIN = re.compile(r"chain (\S+) ([0-9]{1,8})((?: [0-9a-f]{8}){8})")


class HeadTextError(ChainError):
    """A text that is no export of heads, or was copied wrongly."""


@dataclass(frozen=True, slots=True)
class HeadText:
    """The newest record of every chain at one moment, and the key that founded the shop."""

    made: datetime
    heads: tuple[Head, ...]
    founder: str = ""
    """Key id; empty: a shop without people."""
    founder_name: str = ""

    @property
    def register(self) -> str:
        """Name of the register's chain; empty without people."""
        return PREFIX + self.founder.removeprefix("k-") if self.founder else ""

    @property
    def text(self) -> str:
        """As printed; `read_heads` is the inverse."""
        lines = [FIRST, f"made {self.made.isoformat(timespec='seconds')}"]
        if self.founder:
            lines.append(f"founder {self.founder} {self.founder_name}")
        for head in self.heads:
            groups = " ".join(head.sha256[at : at + 8] for at in range(0, 64, 8))
            lines += [f"chain {head.machine} {head.sequence}", f"  {groups}"]
        return "\n".join([*lines, f"check {_check(_joined(lines))}", ""])


def read_heads(text: str) -> HeadText:
    """The heads in such a text. HeadTextError says what is wrong with it."""
    cleaned = [" ".join(line.strip().lstrip(">").split()) for line in text.splitlines()]
    lines = _joined([line for line in cleaned if line])
    if not lines or lines[0] != FIRST:
        raise HeadTextError(f"This is no text of heads: its first line is not '{FIRST}'.")
    *said, last = lines
    if last != f"check {_check(said)}":
        raise HeadTextError("This text of heads was copied wrongly, or its end is missing: its check does not fit.")
    made, founder, name, heads = None, "", "", []
    for line in said[1:]:
        if found := _FOUNDER.fullmatch(line):
            founder, name = found[1], found[2]
        elif found := _CHAIN.fullmatch(line):
            heads.append(_head(found[1], int(found[2]), found[3].replace(" ", "")))
        elif line.startswith("made "):
            made = _moment(line.removeprefix("made "))
        else:
            raise HeadTextError(f"This line of the heads is not understood: {line}")
    if made is None:
        raise HeadTextError("The text of heads does not say when it was made.")
    return HeadText(made, tuple(heads), founder, name)


def _joined(lines: Sequence[str]) -> list[str]:
    """Each statement on one line: groups of digits go on from the line before."""
    joined: list[str] = []
    for line in lines:
        if joined and re.fullmatch(r"\s*[0-9a-f]{8}( [0-9a-f]{8})*", line):
            joined[-1] += " " + line.strip()
        else:
            joined.append(line)
    return joined


def _check(lines: Sequence[str]) -> str:
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:8]


def _head(machine: str, sequence: int, sha256: str) -> Head:
    if not is_machine_id(machine) or sequence > LAST_SEQUENCE or (sequence == 0) != (sha256 == NO_PREVIOUS):
        raise HeadTextError(f"'chain {machine} {sequence}' is no head of a chain.")
    return Head(machine, sequence, sha256)


def _moment(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise HeadTextError(f"{text} is no time.") from error
    if moment.tzinfo is None:
        raise HeadTextError(f"{text} has no offset.")
    return moment

"""What this terminal remembers of the shops it saw: who founded each, and how far its register had come.

It lies in the user's own data folder and never in the shop: whoever can write to a shop folder can take the register
away, shorten it or put another one beside it, and a shop without a register is one where nobody needs a key. A shop is
known again by the ids of its chains, so one that was moved or copied is the same, and by the folder it lies in, so one
whose records were all taken away is missed.
"""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from preflight.checklist.register import PREFIX, chain_names, founder_of
from preflight.checklist.seal import is_machine_id
from preflight.disk import Folder
from preflight.errors import PreflightError
from preflight.outside_text import shown_in

if TYPE_CHECKING:
    from datetime import datetime

    from preflight.checklist.chain import Head
    from preflight.checklist.register import Register

APP = "widebelt-preflight-founders"
LARGEST = 1_000_000
"""Bytes of one file."""
MOST_CHAINS = 500
"""Remembered of one shop, the first ones seen: whoever heaps up others pushes none out."""
MOST_FOLDERS = 50
"""Remembered of one shop, the last ones."""
SHOWN = 10
"""Characters of a key id in a sentence."""
_FILE = re.compile(rf"({PREFIX}[0-9a-f]{{32}})\.json")
_SHA256 = re.compile(r"[0-9a-f]{64}")


class FounderError(PreflightError):
    """A memory of founders that cannot be written."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """One founded shop as this terminal saw it last."""

    chain: str
    """Name of its register's chain, which is made from the founder's key."""
    name: str
    """The founder's printed name."""
    sequence: int
    """Number of the register's newest record."""
    sha256: str
    """Of that record."""
    seen: str
    """Date and time, as shown."""
    folders: tuple[str, ...]
    """Where the shop lay, the newest last."""
    chains: tuple[str, ...]
    """Ids of the chains seen in it."""

    @property
    def key_id(self) -> str:
        """The founder's key."""
        return founder_of(self.chain)

    @property
    def words(self) -> str:
        """Founder and key, to tell two apart."""
        return f"{self.name} (key {short(self.key_id)})"


def short(key_id: str) -> str:
    """Enough of a key id to tell two founders apart by eye."""
    return key_id[:SHOWN]


class Founders:
    """The memory of one user at one terminal: one file a founder."""

    def __init__(self, path: Path | None = None) -> None:
        self._path = path

    @property
    def path(self) -> Path:
        """Its folder. Looking it up makes nothing."""
        if self._path is None:
            import platformdirs

            self._path = Path(platformdirs.user_data_dir(APP, appauthor=False))
        return self._path

    def all(self) -> tuple[list[Remembered], list[str]]:
        """Every founder that is remembered, by chain; and the names of files that cannot be read."""
        known, unread = [], []
        try:
            with Folder.open(self.path) as folder:
                for entry in folder.entries():
                    if match := _FILE.fullmatch(entry.name):
                        try:
                            known.append(_remembered(match[1], shown_in(json.loads(folder.read(entry.name, LARGEST)))))
                        except (OSError, ValueError, RecursionError):
                            unread.append(entry.name)
        except FileNotFoundError:
            return [], []
        except OSError as error:
            return [], [str(error.strerror)]
        return known, unread

    def remember(self, shop: Path, register: Register, head: Head, now: datetime) -> None:
        """Note this shop's register up to `head`. Writes only what is new. FounderError when it cannot be kept."""
        known = next((one for one in self.all()[0] if one.chain == register.chain), None)
        founder = register.find(founder_of(register.chain))
        folder, chains = str(shop.resolve()), chain_names(shop)
        noted = Remembered(
            register.chain,
            founder.person if founder else "",
            head.sequence,
            head.sha256,
            f"{now:%Y-%m-%d %H:%M}",
            _added(known.folders if known else (), [folder])[-MOST_FOLDERS:],
            _added(known.chains if known else (), chains)[:MOST_CHAINS],
        )
        if known is None or replace(noted, seen=known.seen) != known:
            self._write(noted)

    def forget(self, shop: Path) -> None:
        """Nothing that lies in this folder, nor the folder, belongs to a founder any more. FounderError as above."""
        folder, chains = str(shop.resolve()), set(chain_names(shop))
        for one in self.all()[0]:
            left = replace(
                one,
                folders=tuple(name for name in one.folders if name != folder),
                chains=tuple(name for name in one.chains if name not in chains),
            )
            if left != one:
                self._write(left)

    def _write(self, one: Remembered) -> None:
        table = asdict(one)
        del table["chain"]
        data = json.dumps({"schema": 1, **table}, indent=1).encode()
        try:
            self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
            with Folder.open(self.path) as folder:
                folder.replace(f"{one.chain}.json", data, mode=0o600)
        except OSError as error:
            raise FounderError(
                f"This terminal cannot note who founded the shop, in {self.path}: {error.strerror}.",
                "Until it can, it would not notice a register that was taken away.",
            ) from error


def _added(before: tuple[str, ...], now: list[str]) -> tuple[str, ...]:
    """Those before and now, once each; what was already there keeps its place, so that nothing is written anew."""
    return tuple(dict.fromkeys([*before, *now]))


def _remembered(chain: str, table: Any) -> Remembered:
    """The inverse of `_write`. ValueError for anything else."""
    try:
        texts = [table[key] for key in ("name", "sha256", "seen")]
        lists = [table[key] for key in ("folders", "chains")]
        sequence = table["sequence"]
    except (KeyError, TypeError) as error:
        raise ValueError("not a founder") from error
    if table.get("schema") != 1 or type(sequence) is not int or sequence < 0 or not _SHA256.fullmatch(str(texts[1])):
        raise ValueError("not a founder")
    if not all(isinstance(text, str) for text in [*texts, *(text for texts in lists for text in texts)]):
        raise ValueError("not a founder")
    folders, chains = lists
    if not all(is_machine_id(one) for one in chains):
        raise ValueError("not a founder")
    return Remembered(chain, texts[0], sequence, texts[1], texts[2], tuple(folders), tuple(chains))

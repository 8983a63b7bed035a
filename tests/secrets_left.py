"""Looks for typed secrets wherever one could have come to lie: files of shop and logs, and screens that were shown."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path


class NoSecretLeft(Protocol):
    """What the fixture `no_secret_left` gives."""

    def __call__(self, secrets: Sequence[str], shop: Path, screens: Iterable[str] = ()) -> None: ...


def secrets_left(secrets: Sequence[str], folders: Iterable[Path], screens: Iterable[str] = ()) -> list[str]:
    """Every file below `folders` and every screen that holds one of the secrets, plain, as base64 or as hex."""
    spellings = [spelling for secret in secrets for spelling in _spellings(secret)]
    held = [str(path) for path, data in _files(folders) if any(one in data or one in _name(path) for one in spellings)]
    shown = ["".join(screen.split()).encode() for screen in screens]
    return held + [
        f"screen {number}"
        for number, text in enumerate(shown)
        if any(b"".join(one.split()) in text for one in spellings)
    ]


def _spellings(secret: str) -> Iterator[bytes]:
    plain = secret.encode()
    yield from (plain, base64.b64encode(plain).rstrip(b"="), plain.hex().encode())


def _files(folders: Iterable[Path]) -> Iterator[tuple[Path, bytes]]:
    for folder in folders:
        paths = sorted(folder.rglob("*")) if folder.is_dir() else [folder]
        yield from ((path, path.read_bytes()) for path in paths if path.is_file())


def _name(path: Path) -> bytes:
    return path.name.encode()

"""One machine's chain of records as files: where each lies, which are there, which is the newest. Read only."""

from __future__ import annotations

import hashlib
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from preflight import disk
from preflight.checklist.seal import LARGEST_RECORD, NO_PREVIOUS, SealError, is_machine_id, read_seal
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import TracebackType

    from preflight.checklist.seal import Sealed

FOLDER = "checklists"
"""Folder of a shop that holds one folder per machine."""

_THOUSAND = re.compile(r"[0-9]{5}")
_RECORD = re.compile(r"([0-9]{8})\.toml")


@dataclass(frozen=True)
class Head:
    """The newest record of a chain. Kept elsewhere, it proves later that the tail was not cut off."""

    machine: str
    """Id of the machine."""
    sequence: int
    """Number of the newest record; 0 for a chain without records."""
    sha256: str
    """SHA-256 of that whole file; 64 zeros for a chain without records."""


class ChainError(PreflightError):
    """A chain that cannot be read or gone on with."""


@dataclass(frozen=True)
class Chain:
    """The chain of one machine in one shop folder. Making one touches nothing. ValueError on a bad machine id."""

    shop: Path
    """The shop folder."""
    machine: str
    """Id of the machine."""

    def __post_init__(self) -> None:
        if not is_machine_id(self.machine):
            raise ValueError(f"not a machine id: {self.machine!r}")

    @property
    def folder(self) -> Path:
        """The folder of this chain."""
        return self.shop / FOLDER / self.machine

    def path(self, sequence: int) -> Path:
        """Where the record of that number lies: a function of the number alone."""
        return self.folder / relative_path(sequence)

    def head(self, *, accept_damaged: bool = False) -> Head:
        """The newest record. ChainError when it cannot be read, or is not a sealed record of this chain.

        With `accept_damaged` a newest file that fails its seal is taken as it lies: the chain goes on behind it, and
        verification goes on naming it.
        """
        sequence = newest(self.folder)
        return (
            self.read_head(sequence, accept_damaged=accept_damaged) if sequence else Head(self.machine, 0, NO_PREVIOUS)
        )

    def read_head(self, sequence: int, *, accept_damaged: bool = False) -> Head:
        """The record of that number as a head; errors as in `head`."""
        path = self.path(sequence)
        try:
            with self.files() as files:
                data = files.read(sequence)
        except OSError as error:
            raise ChainError(
                f"The newest record, {path.name}, cannot be read: {error.strerror}.",
                "Look whether the shop folder is reachable.",
            ) from error
        try:
            sealed = read_seal(data)
            if (sealed.machine, sealed.sequence) != (self.machine, sequence):
                raise SealError("Its seal names another machine or number.")
        except SealError as error:
            if accept_damaged:
                return Head(self.machine, sequence, hashlib.sha256(data).hexdigest())
            raise ChainError(
                f"The newest record, {path.name}, is not a whole record. {error.message}",
                "It may still be on its way from a copy: try again. If not, a lead decides whether to go on behind it.",
            ) from error
        return Head(self.machine, sequence, sealed.sha256)

    def files(self) -> ChainFiles:
        """The record files, to be read one after another. OSError when the folder cannot be opened."""
        return ChainFiles(self.shop, FOLDER, self.machine)


class ChainFiles:
    """The files of one chain, opened here and nowhere else. Use it in a `with`.

    A chain is read in the order of its numbers, so that the folder of a thousand stays open for the next one.
    """

    def __init__(self, root: Path, *below: str) -> None:
        self._chain = disk.Folder.open(root, *below)
        self._thousand: disk.Folder | None = None
        self._number = -1

    def __enter__(self) -> ChainFiles:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let the folders go."""
        self._close_thousand()
        self._chain.close()

    def read(self, sequence: int) -> bytes:
        """The bytes of the record of that number. OSError when there is none or it cannot be read.

        `disk.RefusedError`: what lies there is no file, or larger than any record.
        """
        if self._thousand is None or self._number != sequence // 1000:
            self._close_thousand()
            self._thousand = self._chain.folder(f"{sequence // 1000:05d}")
            self._number = sequence // 1000
        return self._thousand.read(f"{sequence:08d}.toml", LARGEST_RECORD)

    def seal(self, sequence: int) -> Sealed | None:
        """The sealed record of that number, its body unread; None when there is none."""
        try:
            return read_seal(self.read(sequence))
        except (OSError, SealError):
            return None

    def _close_thousand(self) -> None:
        if self._thousand is not None:
            self._thousand.close()
            self._thousand = None


def read_alone(path: Path) -> bytes:
    """The bytes of a record's file that lies anywhere; errors as in `ChainFiles.read`."""
    return disk.read_named(path, LARGEST_RECORD)


def relative_path(sequence: int) -> Path:
    """Path of a record inside its chain's folder: thousands with five digits, then the number with eight."""
    return Path(f"{sequence // 1000:05d}", f"{sequence:08d}.toml")


def newest(folder: Path) -> int:
    """The highest record number in a chain's folder; 0 when there is none. Opens no file. ChainError if unreadable."""
    for thousand in sorted(thousands(folder), reverse=True):
        numbers = numbers_in(folder / f"{thousand:05d}", thousand)
        if numbers:  # a kill between making the folder and publishing leaves an empty one
            return numbers[-1]
    return 0


def thousands(folder: Path) -> list[int]:
    """The thousands that have a folder, in order."""
    return sorted(int(entry.name) for entry in _entries(folder) if _is_thousand(entry))


def numbers_in(folder: Path, thousand: int) -> list[int]:
    """The record numbers in one folder of a thousand, in order; names that do not belong there are left out.

    Whatever lies under a record's name counts: what is no file is said when it is read.
    """
    names = (_RECORD.fullmatch(entry.name) for entry in _entries(folder))
    return sorted(number for name in names if name and (number := int(name[1])) // 1000 == thousand and number)


def strays(folder: Path) -> Iterator[Path]:
    """What lies where no record of the chain belongs: files with a record's ending, links, pipes, devices.

    Names with a dot first are ours.
    """
    for entry in _entries(folder):
        path = folder / entry.name
        if entry.name.startswith("."):
            continue
        if not _is_thousand(entry):
            yield from _strays_below(path, entry)
            continue
        belonging = {f"{number:08d}.toml" for number in numbers_in(path, int(entry.name))}
        for inner in _entries(path):
            if inner.name not in belonging and not inner.name.startswith("."):
                yield from _strays_below(path / inner.name, inner)


def chains_root(folder: Path) -> Path:
    """The folder that holds one folder a chain: a shop's, or a copy of it by itself."""
    return folder / FOLDER if os.path.lexists(folder / FOLDER) else folder


def chain_folders(folder: Path) -> list[disk.Entry]:
    """What lies beside one another in the folder of chains, by name. OSError when it cannot be read."""
    below = () if chains_root(folder) == folder else (FOLDER,)
    with disk.Folder.open(folder, *below) as files:
        return files.entries()


def _is_thousand(entry: disk.Entry) -> bool:
    return entry.is_folder and _THOUSAND.fullmatch(entry.name) is not None


def _strays_below(path: Path, entry: disk.Entry) -> Iterator[Path]:
    """Never recurses: folders can lie in each other thousands deep."""
    waiting = [(path, entry)]
    while waiting:
        path, entry = waiting.pop()
        if entry.is_folder:
            waiting += [(path / inner.name, inner) for inner in reversed(_entries(path))]
        elif not entry.is_file or path.suffix.lower() == ".toml":
            yield path


def _entries(folder: Path) -> list[disk.Entry]:
    """What lies in a folder of the chains, none of which is a link; nothing where there is no such folder."""
    parts = folder.parts
    at = len(parts) - 1 - parts[::-1].index(FOLDER) if FOLDER in parts else len(parts) - 1
    try:
        return disk.entries(Path(*parts[:at]), *parts[at:])
    except OSError as error:
        refused = isinstance(error, disk.RefusedError)
        raise ChainError(
            f"{folder} {error.strerror}." if refused else f"The folder {folder} cannot be read: {error.strerror}.",
            "A lead looks who put it there." if refused else "Look whether the shop folder is reachable.",
        ) from error

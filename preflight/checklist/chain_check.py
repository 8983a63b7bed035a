"""Checking one chain of saved records: every record, each link to the one before, and the tail, as values."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from preflight.checklist.chain import (
    ChainError,
    ChainFiles,
    Head,
    numbers_in,
    read_alone,
    relative_path,
    strays,
    thousands,
)
from preflight.checklist.heading import Heading
from preflight.checklist.record import Status, heading_in, standing, unreadable
from preflight.checklist.seal import Sealed, SealError, read_seal

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.signing import Keyring

Headings = Callable[[Sealed], Heading | str]
"""What the body of a sealed record prints of it, or why it cannot be read: `heading_in`, or a memory of it."""
Progress = Callable[[int, int], None]
"""Called now and then with the records done and the records in all; an exception it raises ends the verification."""

AHEAD = timedelta(days=1)
"""So far clocks and zones may differ before a record that is dated ahead is noted."""
_PROGRESS_EVERY = 64


@dataclass(frozen=True)
class Problem:
    """One thing found."""

    status: Status
    """Which kind."""
    paths: tuple[Path, ...]
    """The files concerned; for a gap and a cut tail the first file that is missing."""
    statement: str
    """What is the matter, in a sentence or two."""


@dataclass(frozen=True)
class ChainResult:
    """What the records of one machine show together."""

    machine: str
    """Id of the machine: the name of its folder."""
    status: Status
    """The worst of records, links and head."""
    intact: int
    """Records with a good signature."""
    unsigned: int
    """Records whose seal fits, without a signature."""
    unchecked_signatures: int
    """Records whose seal fits and whose signature could not be checked."""
    problems: tuple[Problem, ...]
    """Everything found, in the order of the files."""
    head: Head | None
    """The newest record with a good seal; None when there is none."""
    tail_proven: bool
    """Whether a head kept elsewhere shows that nothing was cut off up to its number."""
    beyond_head: int
    """Records newer than the head kept elsewhere: its proof does not reach them. All, without such a head."""
    backward: tuple[Path, ...] = ()
    """Records dated before the one before them: a clock that ran backwards, or somebody who dated back. Noted only."""
    ahead: tuple[Path, ...] = ()
    """Records dated more than `AHEAD` after the newest known time. Noted only: a clock was wrong, theirs or ours."""
    unsigned_later: tuple[Path, ...] = ()
    """Unsigned records after signed ones: where people have keys the product saves none. Noted, and counted above."""


def verify_chain(
    folder: Path,
    keyring: Keyring | None,
    *,
    head: Head | None = None,
    now: datetime | None = None,
    progress: Progress | None = None,
    headings: Headings = heading_in,
) -> ChainResult:
    """Check every record of one machine's folder, and each against the one before it.

    head: the head kept elsewhere, which proves the tail; ValueError when it is another machine's.
    now: the newest known time, with offset; None: not known, and no record is ahead of it.
    One file is in memory at a time.
    """
    if head and head.machine != folder.name:
        raise ValueError(f"the head of {head.machine} cannot prove the chain of {folder.name}")
    walk = _Walk(folder, keyring, head, now, headings)
    try:
        numbers = numbers_of(folder)
        with _files(folder) as files:
            for done, number in enumerate(numbers):
                if progress and done % _PROGRESS_EVERY == 0:
                    progress(done, len(numbers))
                walk.step(number, files)
        walk.finish()
        if progress:
            progress(len(numbers), len(numbers))
    except ChainError as error:
        walk.report(Status.CANNOT_CHECK, str(error), folder)
    return walk.result()


class _Walk:
    """One pass over a chain, record by record."""

    def __init__(
        self, folder: Path, keyring: Keyring | None, kept: Head | None, now: datetime | None, headings: Headings
    ) -> None:
        self._folder = folder
        self._headings = headings
        self._keyring = keyring
        self._kept = kept
        self._latest = now + AHEAD if now else None
        self._counts = dict.fromkeys(Status, 0)
        self._unchecked = 0
        self._problems: list[Problem] = []
        self._number = 0
        self._last: Sealed | None = None  # the record before, when its digest can be trusted for the link
        self._loose: Problem | None = None  # the last link did not fit; the next one tells whose fault it is
        self._head: Sealed | None = None
        self._newer = 0
        self._at: datetime | None = None
        self._backward: list[Path] = []
        self._ahead: list[Path] = []
        self._unsigned_later: list[Path] = []
        self._proven = kept is not None and kept.sequence == 0

    def report(self, status: Status, statement: str, *paths: Path) -> None:
        self._problems.append(Problem(status, paths, statement))

    def step(self, number: int, files: ChainFiles) -> None:
        """Check the record of that number; numbers come in rising order."""
        if number > self._number + 1:
            self._close_link()
            self._last = None
            first, last = self._number + 1, number - 1
            which = f"Number {first} is" if first == last else f"Numbers {first} to {last} are"
            self.report(Status.GAP, f"{which} missing.", self._path(first))
        self._number = number
        status, statement, sealed, heading = self._read(number, files)
        self._counts[status] += 1
        if status is Status.UNSIGNED and self._counts[Status.INTACT]:
            self._unsigned_later.append(self._here)
        self._check_link(sealed)
        if status in (Status.WRONG, Status.CANNOT_CHECK):
            if sealed:
                self._unchecked += 1
            self.report(status, statement, self._here)
        if sealed and heading:
            self._note_time(heading.utc)
        if self._kept:
            self._check_kept(self._kept, sealed)
        self._head = sealed or self._head
        self._last = sealed

    def finish(self) -> None:
        """What can be said only after the last record."""
        self._close_link()
        if self._kept and self._number < self._kept.sequence:
            missing = self._path(self._number + 1)
            text = f"Cut off after number {self._number}: the head kept elsewhere is number {self._kept.sequence}."
            self.report(Status.CUT_TAIL, text, missing)
        for path in strays(self._folder):
            self._problems.append(self._stray(path))

    def result(self) -> ChainResult:
        statuses = [problem.status for problem in self._problems]
        statuses += [status for status, count in self._counts.items() if count]
        return ChainResult(
            machine=self._folder.name,
            status=worst(statuses),
            intact=self._counts[Status.INTACT],
            unsigned=self._counts[Status.UNSIGNED],
            unchecked_signatures=self._unchecked,
            problems=tuple(self._problems),
            head=Head(self._head.machine, self._head.sequence, self._head.sha256) if self._head else None,
            tail_proven=self._proven,
            beyond_head=self._newer if self._kept else sum(self._counts.values()),
            backward=tuple(self._backward),
            ahead=tuple(self._ahead),
            unsigned_later=tuple(self._unsigned_later),
        )

    def _read(self, number: int, files: ChainFiles) -> tuple[Status, str, Sealed | None, Heading | None]:
        """How the record of that number stands; without its seal when it is wrong."""
        try:
            data = files.read(number)
        except OSError as error:
            record = unreadable(error)
            return record.status, record.statement, None, None
        try:
            sealed = read_seal(data)
        except SealError as error:
            return Status.WRONG, error.message, None, None
        heading = self._headings(sealed)
        status, statement = standing(sealed, heading, self._keyring, self._folder.name, number)
        if status is Status.WRONG:
            return status, statement, None, None
        return status, statement, sealed, heading if isinstance(heading, Heading) else None

    @property
    def _here(self) -> Path:
        return self._path(self._number)

    def _path(self, number: int) -> Path:
        return self._folder / relative_path(number)

    def _check_link(self, sealed: Sealed | None) -> None:
        fits = not (sealed and self._last) or sealed.previous == self._last.sha256
        if not fits and self._loose and self._last and not self._last.key_id:
            # Neither neighbour fits an unsigned record between them: that one was rewritten, both others are right.
            text = "The records before and after it know it otherwise: it was changed after it was saved."
            self._loose = None
            self._counts[Status.UNSIGNED] -= 1
            self._counts[Status.WRONG] += 1
            self.report(Status.WRONG, text, self._path(self._number - 1))
            return
        self._close_link()
        if not fits:
            before = self._path(self._number - 1)
            text = f"{self._here.name} follows another {before.name} than the one that lies here: two histories meet."
            if self._last and not self._last.key_id:
                text += " Or the earlier one was rewritten: it carries no signature."
            self._loose = Problem(Status.FORK, (before, self._here), text)

    def _note_time(self, at: datetime) -> None:
        if self._at and at < self._at:
            self._backward.append(self._here)
        if self._latest and at > self._latest:
            self._ahead.append(self._here)
        self._at = at

    def _close_link(self) -> None:
        if self._loose:
            self._problems.append(self._loose)
            self._loose = None

    def _check_kept(self, kept: Head, sealed: Sealed | None) -> None:
        if self._number > kept.sequence:
            self._newer += 1
        elif self._number == kept.sequence and sealed:
            self._proven = sealed.sha256 == kept.sha256
            if not self._proven:
                text = f"{self._here.name} is another record than the head kept elsewhere: two histories, or rewritten."
                self.report(Status.FORK, text, self._here)

    def _stray(self, path: Path) -> Problem:
        """A record's file in a place or under a name that no record has."""
        sealed = _sealed(path)
        if isinstance(sealed, str) or sealed.machine != self._folder.name:
            text = "This lies among the records and is none of this chain."
            return Problem(Status.WRONG, (path,), f"{text} {sealed}" if isinstance(sealed, str) else text)
        rightful = self._path(sealed.sequence)
        other = _sealed(rightful)
        if isinstance(other, str):
            return Problem(Status.WRONG, (path,), f"This is number {sealed.sequence} under a wrong name.")
        if other.sha256 == sealed.sha256:
            return Problem(Status.WRONG, (path,), f"This is a copy of number {sealed.sequence} under a wrong name.")
        text = f"There are two records with number {sealed.sequence}."
        return Problem(Status.FORK, (rightful, path), text)


def _files(folder: Path) -> ChainFiles:
    try:
        return ChainFiles(folder.parent, folder.name)
    except OSError as error:
        raise ChainError(f"The folder {folder} cannot be read: {error.strerror or error}.") from error


def _sealed(path: Path) -> Sealed | str:
    """The sealed record in a file, or why there is none."""
    try:
        return read_seal(read_alone(path))
    except OSError as error:
        return unreadable(error).statement
    except SealError as error:
        return error.message


def numbers_of(folder: Path) -> list[int]:
    """Numbers of the records that lie in a chain's folder, rising. ChainError when it cannot be read."""
    return [number for t in thousands(folder) for number in numbers_in(folder / f"{t:05d}", t)]


def worst(statuses: Iterable[Status]) -> Status:
    """The worst of them; intact for none."""
    order = list(Status)
    return max(statuses, key=order.index, default=Status.INTACT)

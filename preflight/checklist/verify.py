"""Checking every chain of a folder, and that none is gone. By whose keys, `shop_check` says.

Chains are checked by `chain_check`, records by `record`; their names are given on here, so that a caller needs one
module.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.chain import ChainError, Head, chain_folders, chains_root, read_alone
from preflight.checklist.chain_check import (
    ChainResult,
    Headings,
    Problem,
    Progress,
    numbers_of,
    verify_chain,
    worst,
)
from preflight.checklist.record import Record, Status, heading_in, read_record, unreadable
from preflight.checklist.seal import is_machine_id

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.signing import Keyring

_RECORD_STEM = re.compile(r"[0-9]{8}")

__all__ = [
    "ChainResult",
    "Problem",
    "Progress",
    "ShopResult",
    "Status",
    "verify_chain",
    "verify_record",
    "verify_shop",
]


@dataclass(frozen=True)
class ShopResult:
    """What all chains of a folder show."""

    status: Status
    """The worst of the chains and of the problems."""
    chains: tuple[ChainResult, ...]
    """One per machine folder, by name."""
    problems: tuple[Problem, ...]
    """What belongs to no chain: folders that cannot be a machine's, chains that are gone."""


def verify_shop(
    folder: Path,
    keyring: Keyring | None,
    *,
    heads: Mapping[str, Head] | None = None,
    now: datetime | None = None,
    progress: Progress | None = None,
    headings: Headings = heading_in,
) -> ShopResult:
    """Check every chain in a shop folder, or in a folder that holds the chains' folders themselves.

    heads: heads kept elsewhere, by machine id; a chain that is gone altogether is found by them too.
    now: the newest known time, for the notes; with offset.
    """
    root = chains_root(folder)
    heads = heads or {}
    problems: list[Problem] = []
    machines: dict[Path, int] = {}
    try:
        for entry in chain_folders(folder):
            path = root / entry.name
            if entry.name.startswith("."):
                continue
            if entry.is_folder and is_machine_id(entry.name):
                machines[path] = len(numbers_of(path)) if progress else 0
            elif not entry.is_file or path.suffix == ".toml":
                problems.append(Problem(Status.WRONG, (path,), f"This belongs to no machine's chain: {entry.kind}."))
    except (OSError, ChainError) as error:
        reason = error.message if isinstance(error, ChainError) else f"The folder cannot be read: {error.strerror}."
        problem = Problem(Status.CANNOT_CHECK, (root,), reason)
        return ShopResult(Status.CANNOT_CHECK, (), (problem,))
    chains: list[ChainResult] = []
    before = 0
    for machine, records in machines.items():
        part = _part(progress, before, sum(machines.values())) if progress else None
        kept = heads.get(machine.name)
        chains.append(verify_chain(machine, keyring, head=kept, now=now, progress=part, headings=headings))
        before += records
    for name in sorted(heads.keys() - {machine.name for machine in machines}):
        if heads[name].sequence:
            text = f"All records of {name} are gone: the head kept elsewhere is number {heads[name].sequence}."
            problems.append(Problem(Status.CUT_TAIL, (root / name,), text))
    statuses = [chain.status for chain in chains] + [problem.status for problem in problems]
    return ShopResult(worst(statuses), tuple(chains), tuple(problems))


def verify_record(path: Path, keyring: Keyring | None) -> Record:
    """Check one file: all of it, and the name and folder where these follow the rule of a shop.

    keyring: the admitted public keys; None: none at hand, and a signed record cannot be checked.
    """
    sequence = int(path.stem) if _RECORD_STEM.fullmatch(path.stem) and path.suffix == ".toml" else None
    machine, thousand = path.absolute().parts[-3:-1] if len(path.absolute().parts) > 3 else ("", "")
    lies_in_a_chain = sequence is not None and thousand == f"{sequence // 1000:05d}" and is_machine_id(machine)
    try:
        data = read_alone(path)
    except OSError as error:
        return unreadable(error)
    return read_record(data, keyring, machine if lies_in_a_chain else None, sequence)


def _part(progress: Progress, before: int, total: int) -> Progress:
    """Progress of one chain, as a part of the whole."""
    return lambda done, _total: progress(before + done, total)

"""Verifying a whole folder by its own register: chains, signatures, who was admitted, and what only a lead may do."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preflight.checklist.chain import FOLDER, Chain, ChainError, chains_root, relative_path
from preflight.checklist.head_text import HeadText
from preflight.checklist.record import heading_in
from preflight.checklist.register import Register, chain_names, pinned_register, read_register
from preflight.checklist.signing import SigningUnavailableError
from preflight.checklist.verify import Problem, ShopResult, Status, verify_shop

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.chain_check import Headings
    from preflight.checklist.verify import Progress


@dataclass(frozen=True, slots=True)
class Trust:
    """By whose keys a folder is verified."""

    register: Register | None
    """None: no public keys at hand."""
    problem: Problem | None = None
    """Why there are none, where that is something found."""


def trust(folder: Path, kept: HeadText | None = None) -> Trust:
    """The register of a folder; with a head kept elsewhere only the founder's that it names."""
    root = chains_root(folder)
    try:
        register = pinned_register(folder, kept.register) if kept and kept.founder else read_register(folder)
    except (SigningUnavailableError, ChainError) as error:
        return Trust(None, Problem(Status.CANNOT_CHECK, (root,), str(error)))
    alarm = register.alarm
    return Trust(register.keyring, Problem(alarm.status, (root,), alarm.statement) if alarm else None)


def verify_folder(
    folder: Path,
    kept: HeadText | None = None,
    progress: Progress | None = None,
    now: datetime | None = None,
    headings: Headings = heading_in,
) -> ShopResult:
    """Every chain of a shop folder, or of a copy that holds only chains, against its register and the kept heads.

    now: the terminal's time, with offset. A head that was made later, on another terminal, is taken instead.
    headings: a memory of what bodies print; without it each body is read.
    """
    trusted = trust(folder, kept)
    heads = {head.machine: head for head in kept.heads} if kept else None
    known = max(now, kept.made) if now and kept else now
    found = verify_shop(folder, trusted.register, heads=heads, now=known, progress=progress, headings=headings)
    problems = [trusted.problem] if trusted.problem else []
    if trusted.register is not None:
        problems += _faults(chains_root(folder), trusted.register, found)
    if not problems:
        return found
    order = list(Status)
    status = max([found.status, *(problem.status for problem in problems)], key=order.index)
    return replace(found, status=status, problems=(*found.problems, *problems))


def heads_of(shop: Path, now: datetime) -> HeadText:
    """The newest record of every chain of a shop, to be kept elsewhere.

    ChainError when one cannot be read, or the register is not the shop's: its head would prove the wrong thing.
    """
    if not os.path.lexists(shop / FOLDER):
        raise ChainError(f"{shop} holds no records yet.")
    heads = tuple(Chain(shop, name).head() for name in chain_names(shop))
    register = read_register(shop)
    register.require_sound()
    key = register.find(register.founder)
    return HeadText(now, heads, register.founder, key.person if key else "")


def _faults(root: Path, register: Register, found: ShopResult) -> list[Problem]:
    """Records of the register whose seal and signature are good and which no lead of that time signed."""
    named = {path for chain in found.chains for problem in chain.problems for path in problem.paths}
    faults = ((root / register.chain / relative_path(number), text) for number, text in register.faults)
    return [Problem(Status.WRONG, (path,), f"It changes nothing. {text}") for path, text in faults if path not in named]

"""Which machine a terminal opens on: the one used there last, else the one of the newest draft, else it asks."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

from preflight.checklist.open_draft import FOLDER, open_draft
from preflight.disk import Folder, read
from preflight.errors import PreflightError
from preflight.shop.machine import Machine
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from preflight.shop.folder import Shop

DRAFTS = FOLDER
"""Folder of a shop that holds the drafts, and for each terminal the machine it had open last."""
LONGEST_NAME = 1000
"""Bytes of a machine's name in its file."""


class TerminalMachine:
    """The memory of one terminal for one shop. Reads profiles and drafts; takes nothing."""

    def __init__(self, shop: Shop, root: Path, host: str) -> None:
        self._shop = shop
        self._root = root
        self._name = f"{host}.machine"

    def remember(self, machine: str) -> None:
        """The machine that is open now. Its folder must exist."""
        with Folder.open(self._root, DRAFTS) as files:
            files.replace(self._name, machine.encode(), durable=False)

    def known(self) -> str:
        """The machine to open without asking; empty when several could be meant, or the one used last is not to be had.

        PreflightError when the shop has no machine that can be used.
        """
        usable, wrong = self._shop.every(Machine)
        if not usable:
            none = PreflightError("This shop has no machine profile.", "Write one with: preflight profiles new")
            raise wrong[0] if wrong else none
        if len(usable) == 1 and not wrong:
            return next(iter(usable))
        chains = {machine: file.value.id for machine, file in usable.items()}
        if last := self._last_here():
            return "" if last not in chains or self._held(chains[last]) else last
        return next((machine for machine in self._drafted(chains) if not self._held(chains[machine])), "")

    def picks(self) -> list[Pick]:
        """Every machine of the shop, with who has its draft open."""
        usable, _ = self._shop.every(Machine)
        unusable = "its profile cannot be used; see: preflight profiles check"
        return [
            Pick(ref, usable[ref].value.name, self._held(usable[ref].value.id) or ref)
            if ref in usable
            else Pick(ref, ref, unusable)
            for ref in self._shop.ids(Machine)
        ]

    def _last_here(self) -> str:
        try:
            return read(self._root, f"{DRAFTS}/{self._name}", LONGEST_NAME).decode().strip()
        except (OSError, ValueError):
            return ""

    def _held(self, chain: str) -> str:
        """Who has the draft of the machine of that id open at another terminal; empty when nobody has."""
        held = open_draft(self._root, chain)
        return f"open at {held.holder.host} since {held.holder.since}" if held is not None else ""

    def _drafted(self, chains: Mapping[str, str]) -> list[str]:
        """Machines that have a draft, the newest first; `chains` holds the id of each."""
        ages = {}
        with contextlib.suppress(OSError), Folder.open(self._root, DRAFTS) as files:
            for machine, chain in chains.items():
                with contextlib.suppress(OSError):
                    ages[machine] = files.changed(f"{chain}.json")
        return sorted(ages, key=lambda machine: -ages[machine])

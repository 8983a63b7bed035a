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
        """The machine to open without asking; empty when several could be meant, or another terminal has it.

        PreflightError when the shop has no machine.
        """
        machines = self._shop.ids(Machine)
        if not machines:
            raise PreflightError("This shop has no machine profile.", "Write one with: preflight profiles new")
        if len(machines) == 1:
            return machines[0]
        last = self._last_here()
        if last in machines:
            return "" if self._held(last) else last
        return next((machine for machine in self._drafted(machines) if not self._held(machine)), "")

    def picks(self) -> list[Pick]:
        """Every machine of the shop, with who has its draft open."""
        return [self._pick(machine) for machine in self._shop.ids(Machine)]

    def _pick(self, machine: str) -> Pick:
        try:
            return Pick(machine, self._shop.load(Machine, machine).value.name, self._held(machine) or machine)
        except PreflightError:
            return Pick(machine, machine, "its profile cannot be read")

    def _last_here(self) -> str:
        try:
            return read(self._root, f"{DRAFTS}/{self._name}", LONGEST_NAME).decode().strip()
        except (OSError, ValueError):
            return ""

    def _held(self, machine: str) -> str:
        """Who has this machine's draft open at another terminal; empty when nobody has."""
        found = open_draft(self._root, self._chain(machine))
        return f"open at {found.holder.host} since {found.holder.since}" if found is not None else ""

    def _chain(self, machine: str) -> str:
        try:
            return str(self._shop.load(Machine, machine).value.id)
        except PreflightError:
            return ""

    def _drafted(self, machines: list[str]) -> list[str]:
        """Machines that have a draft, the newest first."""
        ages = {}
        with contextlib.suppress(OSError), Folder.open(self._root, DRAFTS) as files:
            for machine in machines:
                with contextlib.suppress(OSError):
                    ages[machine] = files.changed(f"{self._chain(machine)}.json")
        return sorted(ages, key=lambda machine: -ages[machine])

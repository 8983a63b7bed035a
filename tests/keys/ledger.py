"""What must hold after any keys: every answer that Enter left standing is there, and nothing was released unasked."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from keys.listening import Committed
from keys.shops import desk_of, records

from preflight.checklist.seal import read_seal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from keys.shops import MonkeyShop

    from preflight.tui.rows import Row
    from preflight.tui.run import Run

RELEASE = "startup"


def lost(shop: MonkeyShop, committed: Iterable[Committed]) -> list[str]:
    """Committed answers that neither the draft, as it is opened again, nor a record of this run holds."""
    wanted = list(dict.fromkeys(committed))
    held = {answer for machine in machines(shop) for answer in _in_draft(shop, machine)}
    held |= {answer for machine, document in new_records(shop) for answer in _in_record(machine, document)}
    return [f"{one.row} = {one.text!r} was left standing by Enter and is nowhere" for one in wanted if one not in held]


def released(shop: MonkeyShop) -> list[str]:
    """Releases that were saved in this run."""
    found = [one["record"] for _, one in new_records(shop) if one["record"]["kind"] == RELEASE]
    return [f"released by {one['name']} at {one['local']}" for one in found]


def rows_of(run: Run) -> list[Row]:
    """Every row of every station."""
    return [row for station in run.stations for row in run.rows(station.id)]


def machines(shop: MonkeyShop) -> dict[str, str]:
    """Name of the profile by the machine's id, of every machine that has a draft or a record."""
    profiles = {}
    for path in (shop.root / "machines").glob("*.toml"):
        profiles[tomllib.loads(path.read_text(encoding="utf-8"))["id"]] = path.stem
    return {
        machine: name
        for machine, name in profiles.items()
        if (shop.root / "drafts" / f"{machine}.json").exists() or (shop.root / "checklists" / machine).is_dir()
    }


def new_records(shop: MonkeyShop) -> Iterator[tuple[str, dict[str, Any]]]:
    """Chain and body of every record saved in this run."""
    for name in sorted(set(records(shop.root)) - shop.records_before):
        sealed = read_seal((shop.root / name).read_bytes())
        yield sealed.machine, tomllib.loads(sealed.body.decode())


def _in_draft(shop: MonkeyShop, machine: str) -> Iterator[Committed]:
    desk = desk_of(shop, "after", machines(shop)[machine])
    try:
        yield from _in_run(machine, desk.load().run)
    finally:
        desk.close()


def _in_run(machine: str, run: Run) -> Iterator[Committed]:
    for row, text in run.typed.items():
        yield Committed(machine, row, text.strip())
    for row, (_, text) in run.accepted.items():
        yield Committed(machine, row, text.strip())
    for row, values in run.earlier.items():
        for _, text in values:
            yield Committed(machine, row, text.strip())


def _in_record(machine: str, document: dict[str, Any]) -> Iterator[Committed]:
    for entry in document.get("entries", ()):
        for text in (entry["text"], *(one["text"] for one in entry.get("earlier", ()))):
            yield Committed(machine, entry["key"], text.strip())

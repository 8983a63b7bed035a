"""What must hold after any keys: every answer that Enter left standing is there, and nothing was released unasked."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from keys.listening import Heard, Kind
from keys.shops import desk_of, records

from preflight.checklist.seal import read_seal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from keys.shops import MonkeyShop

    from preflight.tui.rows import Row
    from preflight.tui.run import Run

RELEASE = "startup"
SIGN_FORM = "sign"


Answer = tuple[str, str, str]
"""Machine, row and text."""


def failures(shop: MonkeyShop, heard: Sequence[Heard], *, secret_known: bool) -> list[str]:
    """Everything that does not hold in the shop after what was heard."""
    return [*released(shop, heard, secret_known=secret_known), *lost(shop, heard)]


def lost(shop: MonkeyShop, heard: Iterable[Heard]) -> list[str]:
    """Answers left standing by Enter that neither the draft, as it is opened again, nor a record of this run holds."""
    wanted = list(dict.fromkeys((one.machine, one.row, one.text) for one in heard if one.kind is Kind.COMMITTED))
    held = {answer for machine in machines(shop) for answer in _in_draft(shop, machine)}
    held |= {answer for machine, document in new_records(shop) for answer in _in_record(machine, document)}
    return [f"{one[1]} = {one[2]!r} was left standing by Enter and is nowhere" for one in wanted if one not in held]


def released(shop: MonkeyShop, heard: Iterable[Heard], *, secret_known: bool) -> list[str]:
    """Releases of this run without the key that signs; in a shop with people every one while no PIN was known."""
    confirmed = sum(one.kind is Kind.CONFIRMED and one.row == SIGN_FORM for one in heard)
    allowed = confirmed if secret_known or not shop.peopled else 0
    return [f"released by {one['name']} at {one['local']}, unasked" for one in releases(shop)[allowed:]]


def releases(shop: MonkeyShop) -> list[dict[str, Any]]:
    """The heads of the releases saved in this run."""
    return [one["record"] for _, one in new_records(shop) if one["record"]["kind"] == RELEASE]


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


def _in_draft(shop: MonkeyShop, machine: str) -> Iterator[Answer]:
    desk = desk_of(shop, "after", machines(shop)[machine])
    try:
        yield from _in_run(machine, desk.load().run)
    finally:
        desk.close()


def _in_run(machine: str, run: Run) -> Iterator[Answer]:
    for row, text in run.typed.items():
        yield machine, row, text.strip()
    for row, (_, text) in run.accepted.items():
        yield machine, row, text.strip()
    for row, values in run.earlier.items():
        for _, text in values:
            yield machine, row, text.strip()


def _in_record(machine: str, document: dict[str, Any]) -> Iterator[Answer]:
    for entry in document.get("entries", ()):
        for text in (entry["text"], *(one["text"] for one in entry.get("earlier", ()))):
            yield machine, entry["key"], text.strip()

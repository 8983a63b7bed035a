"""`preflight train`: the written drills, where people stand, trainers' marks, the measuring test, and the results."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from preflight.audit.report import as_csv
from preflight.checklist.heading import Signature
from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.people import PersonError
from preflight.checklist.register import read_register
from preflight.cli.asked import named, now, signing, token
from preflight.cli.folded import show
from preflight.cli.practice_text import PRACTICE
from preflight.cli.shop_path import shop_path
from preflight.errors import PreflightError
from preflight.quantities import Kind, parse
from preflight.training.drill_file import written, written_drill
from preflight.training.gate import gate_of
from preflight.training.records import MEANING, PracticeBook, practice
from preflight.training.report import standing_lines
from preflight.training.standing import TRAINERS, repeat_deviation, standings

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from preflight.checklist.signatory import Signatory
    from preflight.training.standing import Standing

COLUMNS = ("at", "trainee", "counts", "drill", "level", "station", "truth", "said", "outcome", "safety", "kinds",
           "cause", "remedy", "seconds")  # fmt: skip


class NobodyPractisedError(PreflightError):
    """A person without any practice."""


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked. Raises `PreflightError` when it was not done."""
    if arguments.what == "list":
        _list(arguments.json)
        return 0
    shop = shop_path(arguments.shop).needed
    {"standing": _standing, "mark": _mark, "strips": _strips, "export": _export}[arguments.what](shop, arguments)
    return 0


def _list(as_json: bool) -> None:
    drills = [written_drill(drill_id) for drill_id in written()]
    if as_json:
        rows = [
            {"drill": one.id, "title": one.title, "machine": one.machine, "stations": list(one.asked)} for one in drills
        ]
        print(json.dumps(rows, indent=2))
        return
    show(f"{one.id}: {one.title} ({one.machine}; {len(one.asked)} stations)" for one in drills)
    show([f"{len(drills)} written drills. Run one: preflight train run DRILL; without a name one is drawn for you."])


def _standing(shop: Path, arguments: argparse.Namespace) -> None:
    found = standings(practice(shop, read_register(shop)), gate_of(shop), now())
    if arguments.name:
        found = [one for one in found if one.name == arguments.name]
        if not found:
            raise NobodyPractisedError(f"There is no practice of {arguments.name} on record.", "Is the name spelt so?")
    if arguments.json:
        print(json.dumps([_as_json(one) for one in found], indent=2))
        return
    show([line for one in found for line in standing_lines(one)] or ["Nobody has practised here yet."])


def _as_json(one: Standing) -> dict[str, Any]:
    return {
        "name": one.name,
        "drills": one.drills,
        "given_up": one.given_up,
        "not_ended": one.not_ended,
        "last": one.last.isoformat(timespec="seconds"),
        "score": one.score,
        "stations": dict(one.stations),
        "kinds": dict(one.kinds),
        "due": [shelf.kind for shelf in one.due],
        "gate": [{"name": part.name, "met": part.met, "statement": part.statement} for part in one.gate],
        "gate_met": one.gate_met,
        "mark": one.marked,
        "mark_holds": one.holds,
    }


def _mark(shop: Path, arguments: argparse.Namespace) -> None:
    register = read_register(shop)
    planned = named(register, KeyFolder(key_folder(arguments.keys)), arguments.by)
    if register.founded and planned.role not in TRAINERS:
        raise PersonError(f"Only a trainer or a lead puts down a mark; {planned.name} is {planned.role}.")
    if planned.name == arguments.name:
        raise PersonError("Nobody puts down a mark on oneself.", "Another trainer or lead does.")
    by, role = _signs(shop, arguments, arguments.by, {"--note": arguments.note})
    mark = arguments.mark.replace("-", " ")
    meaning = f"I put down for {arguments.name}: {mark}."
    signature = Signature(by.name, role, meaning, now())
    saved = PracticeBook(shop, token).save_mark(arguments.name, mark, arguments.note, signature, by.signer)
    print(f"{PRACTICE}: {mark} of {arguments.name}, by {by.name}: record {saved.head.sequence}.")


def _signs(
    shop: Path, arguments: argparse.Namespace, name: str, texts: Mapping[str, str] | None = None
) -> tuple[Signatory, str]:
    """Who signs, and as what: a shop without people takes whoever says so as a trainer, unsigned."""
    register = read_register(shop)
    by = signing(register, KeyFolder(key_folder(arguments.keys)), name, texts=texts)
    return by, by.role if register.founded else TRAINERS[0]


def _strips(shop: Path, arguments: argparse.Namespace) -> None:
    reference, first, second = (
        [parse(text.strip(), Kind.LENGTH).value for text in getattr(arguments, name).split(",")]
        for name in ("reference", "first", "second")
    )
    if not len(reference) == len(first) == len(second):
        raise PreflightError(
            f"{len(reference)} references, {len(first)} first and {len(second)} second readings: as many of each."
        )
    differences = [one - other for one, other in zip(first, reference, strict=True)]
    repeats = [one - other for one, other in zip(second, first, strict=True)]
    by, _ = _signs(shop, arguments, arguments.name)
    saved = PracticeBook(shop, token).save_strips(
        differences, repeats, Signature(by.name, by.role, MEANING, now()), by.signer
    )
    furthest = max(map(abs, differences)) * 1000
    own = repeat_deviation(repeats) * 1000
    measured = f"furthest {furthest:.3f} mm from the reference, own repeat {own:.3f} mm (standard deviation)"
    show([f"{PRACTICE}: {measured}."])
    print(f"Kept: record {saved.head.sequence} of {saved.head.machine}.")


def _export(shop: Path, arguments: argparse.Namespace) -> None:
    rows = list(_rows(shop))
    if arguments.json:
        print(json.dumps(rows, indent=2))
        return
    cells = [{**row, "kinds": " ".join(row["kinds"])} for row in rows]
    print(as_csv(COLUMNS, [["" if row[name] is None else str(row[name]) for name in COLUMNS] for row in cells]), end="")


def _rows(shop: Path) -> Iterator[dict[str, Any]]:
    for record in practice(shop, read_register(shop)):
        for one in record.marks:
            yield {
                "at": record.at.isoformat(timespec="seconds"),
                "trainee": record.trainee,
                "counts": record.counts,
                "drill": record.table["drill"],
                "level": record.table["level"],
                "station": one.check,
                "truth": one.truth.word,
                "said": one.said.word,
                "outcome": one.outcome.value,
                "safety": one.safety,
                "kinds": list(one.kinds),
                "cause": one.cause,
                "remedy": one.remedy,
                "seconds": one.seconds,
            }

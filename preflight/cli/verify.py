"""`preflight verify`: seals, links and signatures of the saved records, chain by chain, or of one file."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from preflight import clock
from preflight.checklist.body_memory import BodyMemory, memory_for
from preflight.checklist.chain import chains_root
from preflight.checklist.head_text import HeadText, HeadTextError, read_heads
from preflight.checklist.practice_chain import is_practice
from preflight.checklist.register import PREFIX, chain_names
from preflight.checklist.shop_check import trust, verify_folder
from preflight.checklist.verify import verify_record
from preflight.cli.shop_path import NoShopError, shop_path
from preflight.disk import read_named
from preflight.outside_text import joined, overwrite, shown

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from preflight.checklist.record import Record
    from preflight.checklist.verify import ChainResult, Problem, ShopResult

LARGEST_HEADS = 1_000_000
"""Bytes of a file of heads."""
BAR = 30
"""Columns of the progress bar."""


def run(arguments: argparse.Namespace) -> int:
    """Verify a folder or a file and print what was found. Raises `NoShopError` when there is no such thing."""
    kept = head_text(arguments.head) if arguments.head else None
    named = Path(arguments.folder) if arguments.folder else None
    if named is not None and named.is_file() and arguments.explain is None:
        return _file(named, kept, arguments)
    folder = named or shop_path(arguments.shop).needed
    if not folder.is_dir():
        raise NoShopError(f"{folder}: is not a folder.")
    if arguments.explain is not None:
        return _explained(folder, kept, arguments)
    if (folder / "machines").is_dir() and chains_root(folder) == folder and kept is None:
        print(json.dumps(as_json(None), indent=2) if arguments.json else "No records here: no start-up was saved yet.")
        return 0
    bar = progress if sys.stderr.isatty() else None
    with BodyMemory() if arguments.anew else memory_for(folder) as bodies:
        found = verify_folder(folder, kept, bar, clock.now(), bodies.heading)
    print(json.dumps(as_json(found), indent=2) if arguments.json else joined(lines(found)))
    return found.status.exit_status


def head_text(given: str) -> HeadText:
    """The heads kept elsewhere: a file, the text itself, or "-" for standard input. HeadTextError else."""
    if given == "-":
        return read_heads(sys.stdin.read())
    if "\n" in given or given.startswith("preflight heads"):
        return read_heads(given)
    try:
        return read_heads(read_named(Path(given), LARGEST_HEADS).decode())
    except (OSError, ValueError) as error:
        raise HeadTextError(
            f"{given}: no file of heads that can be read.", "Write one with: preflight people head"
        ) from error


def progress(done: int, total: int) -> None:
    """A bar on standard error."""
    filled = BAR * done // max(1, total)
    end = "\n" if done >= total else ""
    overwrite(sys.stderr, f"[{'#' * filled}{'.' * (BAR - filled)}] {done} of {total}{end}")


def lines(found: ShopResult) -> Iterator[str]:
    """The result as plain lines: one a chain, under it what was found, at the end the whole."""
    for chain in found.chains:
        practice = " (practice, no start-ups)" if is_practice(chain.machine) else ""
        yield f"{chain.machine}{practice}: {chain.status.value}, {_counts(chain)}"
        if chain.head:
            yield f"    newest record {chain.head.sequence}, {_tail(chain)}"
        if chain.backward:
            yield f"    noted: dated before the record before it: {', '.join(path.name for path in chain.backward)}"
        if chain.ahead:
            ahead = ", ".join(path.name for path in chain.ahead)
            yield f"    noted: dated more than a day ahead of this terminal's clock and of any head: {ahead}"
        if chain.unsigned_later:
            yield f"    noted: unsigned after signed ones: {', '.join(path.name for path in chain.unsigned_later)}"
        yield from (_problem(problem) for problem in chain.problems)
    yield from (_problem(problem) for problem in found.problems)
    if not found.chains:
        yield "No records here."
    yield f"Verification: {found.status.value} (exit status {found.status.exit_status})."


def as_json(found: ShopResult | None) -> dict[str, Any]:
    """The stable document of a verification; None: a shop without records."""
    if found is None:
        return {"status": "no records", "chains": [], "problems": []}
    chains = [
        {
            "chain": chain.machine,
            "practice": is_practice(chain.machine),
            "status": chain.status.value,
            "intact": chain.intact,
            "unsigned": chain.unsigned,
            "unchecked_signatures": chain.unchecked_signatures,
            "newest": chain.head.sequence if chain.head else 0,
            "sha256": chain.head.sha256 if chain.head else None,
            "tail_proven": chain.tail_proven,
            "beyond_head": chain.beyond_head,
            "backward": [str(path) for path in chain.backward],
            "ahead": [str(path) for path in chain.ahead],
            "unsigned_later": [str(path) for path in chain.unsigned_later],
            "problems": [_problem_json(problem) for problem in chain.problems],
        }
        for chain in found.chains
    ]
    problems = [_problem_json(problem) for problem in found.problems]
    return {"status": found.status.value, "chains": chains, "problems": problems}


def _explained(folder: Path, kept: HeadText | None, arguments: argparse.Namespace) -> int:
    """One record of a chain, step by step."""
    from preflight.cli import explain

    chain = _chain(folder, arguments.machine)
    explanation = explain.explain(folder, chain, arguments.explain, trust(folder, kept))
    if arguments.json:
        print(json.dumps(explain.as_json(explanation), indent=2))
    else:
        print(joined(explain.script(explanation)))
    return explanation.status.exit_status


def _chain(folder: Path, called: str | None) -> str:
    """Name of the chain that is meant: itself, or by a machine's id in the shop; without either the only machine's."""
    chains = chain_names(folder)
    if called in chains:
        return called
    if called:
        from preflight.cli.machine_ref import records_of  # it loads the profiles' models

        return records_of(folder, called)
    machines = [name for name in chains if not is_practice(name) and not name.startswith(PREFIX)]
    if len(machines) == 1:
        return machines[0]
    raise NoShopError("Say whose record: --machine ID.", f"Chains here: {', '.join(chains) or 'none'}.")


def _file(path: Path, kept: HeadText | None, arguments: argparse.Namespace) -> int:
    """One record: by the register of the folder it lies in, else of the shop. Its link to others is not looked at."""
    around = path.absolute().parents[2] if len(path.absolute().parts) > 3 else path.parent
    trusted = trust(around, kept)
    if trusted.register is None and trusted.problem is None:
        shop = shop_path(arguments.shop).existing
        trusted = trust(shop, kept) if shop else trusted
    found = verify_record(path, trusted.register)
    statement = " ".join([found.statement, *([trusted.problem.statement] if trusted.problem else [])])
    if arguments.json:
        print(json.dumps(_file_json(path, found, statement), indent=2))
    else:
        print(shown(f"{path}: {found.status.value}. {statement}"))
        print("One file alone: whether records before or after it are missing was not looked at.")
    return found.status.exit_status


def _file_json(path: Path, found: Record, statement: str) -> dict[str, Any]:
    sealed = found.sealed
    return {
        "status": found.status.value,
        "file": str(path),
        "statement": statement,
        "chain": sealed.machine if sealed else None,
        "sequence": sealed.sequence if sealed else None,
        "sha256": sealed.sha256 if sealed else None,
        "key_id": sealed.key_id or None if sealed else None,
    }


def _counts(chain: ChainResult) -> str:
    return f"{chain.intact} signed and intact, {chain.unsigned} unsigned, {chain.unchecked_signatures} not checked"


def _tail(chain: ChainResult) -> str:
    if chain.tail_proven:
        newer = f"; {chain.beyond_head} newer than it" if chain.beyond_head else ""
        return f"nothing cut off before the head kept elsewhere{newer}"
    return "whether newer ones were cut off cannot be proven without a head kept elsewhere"


def _problem(problem: Problem) -> str:
    return f"    {problem.status.value}: {', '.join(map(str, problem.paths))}: {problem.statement}"


def _problem_json(problem: Problem) -> dict[str, Any]:
    return {
        "status": problem.status.value,
        "files": [str(path) for path in problem.paths],
        "statement": problem.statement,
    }

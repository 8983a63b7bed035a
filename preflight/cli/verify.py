"""`preflight verify`: seals, links and signatures of the saved records, chain by chain."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from preflight.checklist.chain import FOLDER
from preflight.checklist.verify import ChainResult, Problem, ShopResult, verify_shop
from preflight.cli.shop_path import NoShopError, shop_path

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator


def run(arguments: argparse.Namespace) -> int:
    """Verify a folder and print what was found. Raises `NoShopError` when there is no folder."""
    folder = Path(arguments.folder) if arguments.folder else shop_path(arguments.shop).existing
    if folder is None:
        raise NoShopError("There is no shop folder yet, so there are no records to verify.", "preflight where")
    if not folder.is_dir():
        raise NoShopError(f"{folder}: is not a folder.")
    if (folder / "machines").is_dir() and not (folder / FOLDER).is_dir():
        print("No records here: this shop has not saved a start-up yet.")
        return 0
    found = verify_shop(folder, keyring=None)
    print("\n".join(lines(found)))
    return found.status.exit_status


def lines(found: ShopResult) -> Iterator[str]:
    """The result as plain lines: one a chain, under it what was found, at the end the whole."""
    for chain in found.chains:
        yield f"{chain.machine}: {chain.status.value}, {_counts(chain)}"
        if chain.head:
            yield f"    newest record {chain.head.sequence}, {_tail(chain)}"
        yield from (_problem(problem) for problem in chain.problems)
    yield from (_problem(problem) for problem in found.problems)
    if not found.chains:
        yield "No records here."
    yield f"Verification: {found.status.value} (exit status {found.status.exit_status})."


def _counts(chain: ChainResult) -> str:
    return f"{chain.intact} signed and intact, {chain.unsigned} unsigned, {chain.unchecked_signatures} not checked"


def _tail(chain: ChainResult) -> str:
    if chain.tail_proven:
        return "nothing cut off before the head kept elsewhere"
    return "whether newer ones were cut off cannot be proven without a head kept elsewhere"


def _problem(problem: Problem) -> str:
    return f"    {problem.status.value}: {', '.join(map(str, problem.paths))}: {problem.statement}"

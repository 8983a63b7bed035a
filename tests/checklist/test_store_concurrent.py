"""Eight processes that save on one machine at once."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from checklist.record_samples import MACHINE, Keys, record_id

from preflight.checklist.chain import Chain
from preflight.checklist.store import prepare_shop
from preflight.checklist.verify import ChainResult, verify_chain

TESTS = Path(__file__).parents[1]
PEOPLE = [f"terminal-{number}" for number in range(8)]


def save_at_once(shop: Path, each: int, locks: str) -> tuple[dict[int, str], ChainResult]:
    """Let eight processes save `each` records, with "locks" or with "no locks".

    What they reported by number, and what verification finds.
    """
    prepare_shop(shop)
    children = [
        subprocess.Popen(
            [sys.executable, "-m", "checklist.committing_child", str(shop), person, str(each), locks],
            cwd=TESTS,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for person in PEOPLE
    ]
    for child in children:
        assert child.stdout
        assert child.stdout.readline() == "ready\n"
    for child in children:
        assert child.stdin
        child.stdin.write("go\n")
        child.stdin.flush()
    reported: list[tuple[int, str]] = []
    for child in children:
        answer, _ = child.communicate(timeout=300)
        assert child.returncode == 0
        reported += [(int(number), name) for number, name in (line.split() for line in answer.splitlines())]
    assert len({number for number, _ in reported}) == len(reported)
    chain = Chain(shop, MACHINE)
    return dict(reported), verify_chain(chain.folder, Keys.of(*PEOPLE), head=chain.head())


@pytest.mark.parametrize(("locks", "each"), [("locks", 50), ("no locks", 15)])
def test_eight_processes_get_distinct_numbers_and_make_one_intact_chain(tmp_path: Path, locks: str, each: int) -> None:
    reported, result = save_at_once(tmp_path, each, locks)
    assert (result.status.value, result.intact, result.problems) == ("intact", 8 * each, ())
    assert sorted(reported) == list(range(1, 8 * each + 1))
    chain = Chain(tmp_path, MACHINE)
    assert all(record_id(chain, number) == name for number, name in reported.items())
    assert not list(chain.folder.rglob("*.tmp"))

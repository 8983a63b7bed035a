"""The run's stations in working order, and `assess`: the one call that every screen, script and drill makes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preflight.checks.backing import check as backing
from preflight.checks.belts import check as belts
from preflight.checks.condition import check as condition
from preflight.checks.extraction import check as extraction
from preflight.checks.feed import check as feed
from preflight.checks.finding import CheckResult, Finding, Verdict, as_json, worst
from preflight.checks.glue import check as glue
from preflight.checks.removal import check as removal
from preflight.checks.running import check as running
from preflight.checks.stock import check as stock
from preflight.checks.tension import check as tension
from preflight.checks.test_board import check as test_board

if TYPE_CHECKING:
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView

Check = Callable[["SetupSheet", "ShopView", "History | None"], Sequence[Finding]]

ROUTE: tuple[tuple[str, Check], ...] = (
    ("stock", stock.check),
    ("glue", glue.check),
    ("belts", belts.check),
    ("backing", backing.check),
    ("condition", condition.check),
    ("tension", tension.check),
    ("extraction", extraction.check),
    ("removal", removal.check),
    ("feed", feed.check),
    ("running", running.check),
    ("test_board", test_board.check),
)
"""Working order: bench, locked off with doors open, doors shut, extraction on, running, test board."""

BEFORE_TEST_BOARD = tuple(name for name, _ in ROUTE[:-1])
"""Stations that must hold before the test board is fed."""


@dataclass(frozen=True, slots=True)
class Assessment:
    """Every finding of one sheet."""

    machine: str
    profile_sha256: str
    extraction_sha256: str
    checks: tuple[CheckResult, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of all stations."""
        return worst(result.verdict for result in self.checks)

    @property
    def ready_for_test_board(self) -> bool:
        """First gate: nothing open and no stop in stations 1 to 10."""
        return all(r.verdict <= Verdict.CAUTION for r in self.checks if r.check in BEFORE_TEST_BOARD)

    @property
    def releasable(self) -> bool:
        """Second gate: nothing open and no stop anywhere."""
        return self.verdict <= Verdict.CAUTION

    def as_json(self) -> dict[str, Any]:
        """The stable document that `assess --json` prints."""
        return {
            "verdict": self.verdict.word,
            "machine": self.machine,
            "profile_sha256": self.profile_sha256,
            "extraction_sha256": self.extraction_sha256,
            "checks": [
                {"check": r.check, "verdict": r.verdict.word, "findings": [as_json(f) for f in r.findings]}
                for r in self.checks
            ],
        }


def assess(sheet: SetupSheet, shop: ShopView, history: History | None = None) -> Assessment:
    """Judge every station of the sheet. Pure: reads no clock, no file."""
    return Assessment(
        machine=shop.machine_id or shop.machine.name,
        profile_sha256=shop.machine_sha256,
        extraction_sha256=shop.extraction_sha256,
        checks=tuple(CheckResult(name, tuple(check(sheet, shop, history))) for name, check in ROUTE),
    )

"""Which belts on the rack fit a head and a job: every rule of the belts and backing stations, card by card."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from preflight.checks.backing import check as backing
from preflight.checks.belts import check as belts
from preflight.checks.finding import Verdict, worst
from preflight.sheet import SetupSheet

if TYPE_CHECKING:
    from datetime import datetime

    from preflight.checks.finding import Finding
    from preflight.shop.cards import BeltCard, JobCard
    from preflight.shop.machine import Head
    from preflight.shop.view import ShopView

Platen = Literal["down", "lifted"]
BY_EYE = ("looks", "arrow")
"""Subjects that need the belt before one, not its card."""


@dataclass(frozen=True, slots=True)
class BeltFit:
    """One belt card against one head."""

    ref: str
    card: BeltCard
    verdict: Verdict
    reasons: tuple[str, ...]
    """Statements that are not ok, worst first."""

    @property
    def fits(self) -> bool:
        """Nothing of its card forbids it here."""
        return self.verdict <= Verdict.CAUTION


def belts_for(
    shop: ShopView, head: Head, job: str | JobCard | None, at: datetime, platen: Platen = "lifted"
) -> list[BeltFit]:
    """Every belt card of the shop for a head: ok ones first, then cautions, open ones and those that do not fit.

    `at` is the time of the sheet that is judged; it decides nothing here. Belts marked for another head count as
    they are: their card says so.
    """
    one_head = replace(shop, machine=shop.machine.model_copy(update={"heads": (head,)}))
    fits = [_fit(one_head, head, ref, card, job, at, platen) for ref, card in shop.belts.items()]
    return sorted(fits, key=lambda fit: (fit.verdict, len(fit.reasons), fit.card.head != head.id, fit.ref))


def _fit(
    shop: ShopView, head: Head, ref: str, card: BeltCard, job: str | JobCard | None, at: datetime, platen: Platen
) -> BeltFit:
    on = {"head": head.id, "card": card, "arrow": "with", "looked": belts.LOOKS}
    if head.has_platen:
        on["platen"] = platen
    sheet = SetupSheet.model_validate({"schema": 1, "machine": shop.machine_id, "at": at, "job": job, "belts": [on]})
    found = [f for check in (belts.check, backing.check) for f in check(sheet, shop, None) if not _by_eye(f)]
    bad = sorted((f for f in found if f.verdict is not Verdict.OK), key=lambda f: -f.verdict)
    reasons = tuple(
        f"Its card says head {card.head}." if f.subject == f"head {head.id} card" else f.statement for f in bad
    )
    return BeltFit(ref, card, worst(f.verdict for f in found), reasons)


def _by_eye(finding: Finding) -> bool:
    return finding.subject.split()[-1] in BY_EYE

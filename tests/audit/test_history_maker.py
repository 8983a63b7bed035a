"""The invented history: the same every time, sealed like any other, with its planted faults in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from audit.audit_samples import NOW

from preflight.audit.history_maker import make_history
from preflight.audit.queries import series
from preflight.audit.shop_audit import ShopAudit
from preflight.checklist.verify import Status, verify_shop
from preflight.cli.init import make_shop

if TYPE_CHECKING:
    from pathlib import Path


def test_an_invented_history_has_whole_chains(invented: Path) -> None:
    found = verify_shop(invented, None)
    assert found.status is Status.UNSIGNED
    assert len(found.chains) == 3
    assert all(not chain.problems for chain in found.chains)


def test_the_same_seed_gives_the_same_readings_and_another_seed_others(tmp_path: Path) -> None:
    def texts(name: str, seed: int) -> list[str]:
        shop = tmp_path / name
        make_shop(shop, empty=False)
        made = make_history(shop, NOW, 4, seed=seed, sheets=("ok-one-head",))
        audit = ShopAudit(shop, tmp_path / f"{name}-cache")
        audit.fill()
        machine = made.machines["annex-one"]
        found = [one.text for one in audit.ask(lambda c: series(c, machine, "tension: head 1"))]
        audit.close()
        return found

    assert texts("a", 1) == texts("b", 1) != texts("c", 2)

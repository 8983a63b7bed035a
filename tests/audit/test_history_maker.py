"""The invented history: the same every time, sealed like any other, with its planted faults in it."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import pytest
from audit.audit_samples import NOW

from preflight.audit.history_maker import Plan, make_history
from preflight.audit.patterns import patterns
from preflight.audit.queries import Filter, listed, page, series
from preflight.audit.rules import Rules
from preflight.audit.shop_audit import ShopAudit
from preflight.checklist.chain import FOLDER
from preflight.checklist.past import past
from preflight.checklist.register import Register
from preflight.checklist.run_record import RunDone, run_table
from preflight.checklist.verify import Status, verify_shop
from preflight.cli.init import make_shop
from preflight.quantities import Kind, parse
from preflight.sheet import SetupSheet
from preflight.shop.bundled import bundled
from preflight.shop.folder import shop_at

if TYPE_CHECKING:
    from pathlib import Path


def test_an_invented_history_has_whole_chains(invented: Path) -> None:
    found = verify_shop(invented, None)
    assert found.status is Status.UNSIGNED
    assert len(found.chains) == 3
    assert all(not chain.problems for chain in found.chains)


def runs_of(shop: Path, machine: str) -> list[dict[str, Any]]:
    """The run records of a machine, oldest first."""
    paths = sorted((shop / FOLDER / machine).glob("*/*.toml"))
    found = (tomllib.loads(path.read_text(encoding="utf-8")) for path in paths)
    return [one for one in found if one["record"]["kind"] == "run"]


def test_an_invented_run_has_the_table_of_a_real_one(invented: Path) -> None:
    raw = tomllib.loads((bundled() / "sheets" / "ok-two-heads.toml").read_text(encoding="utf-8"))
    sheet = SetupSheet.model_validate(raw)
    view = shop_at(invented).view(sheet)
    told = {
        "hours": "1 h",
        "began": NOW,
        "off": [{"head": "1", "why": "torn"}],
        "drums": [{"head": "1"}],
        "glue": {"lots": 1},
    }
    real = run_table(sheet, RunDone.model_validate(told), view, None, NOW.replace(hour=14))
    shapes = {key: set(one[0] if isinstance(one, list) else one) for key, one in real.items() if _nested(one)}
    runs = runs_of(invented, view.machine.id)
    assert runs
    for one in runs:
        made = one["run"]
        assert set(made) <= set(real)
        assert {"job", "times", "began", "hours", "area", "boards", "wear"} <= set(made)
        for key, shape in shapes.items():
            for row in made.get(key, []) if isinstance(made.get(key), list) else filter(None, [made.get(key)]):
                assert set(row) - {"drum"} <= shape | {"belt"}
        own = {key: made[key] for key in ("hours", "glue") if key in made}
        own["off"] = [{key: off[key] for key in ("head", "why")} for off in made.get("off", [])]
        RunDone.model_validate(own)


def _nested(value: object) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and isinstance(value[0], dict))


def test_the_wear_maps_of_an_invented_history_hold_all_wood_that_was_fed(invented: Path) -> None:
    for machine in (path.name for path in (invented / FOLDER).iterdir() if path.name.startswith("m-")):
        runs = [one["run"] for one in runs_of(invented, machine)]
        drums = past(invented, machine, Register()).history().drum_wear
        head = next(iter(drums))
        since = max((n + 1 for n, run in enumerate(runs) if "drums" in run), default=0) if head == "1" else 0
        fed = sum(parse(run["area"], Kind.AREA).value for run in runs[since:])
        assert sum((s.right - s.left) * s.metres for s in drums[head]) == pytest.approx(fed, rel=2e-3)


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


@pytest.mark.parametrize(("share", "runs_on_held"), [(0.0, False), (1.0, True)])
def test_what_is_held_is_mended_and_released_before_the_run_unless_it_is_planted(
    tmp_path: Path, share: float, *, runs_on_held: bool
) -> None:
    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    made = make_history(shop, NOW, 60, plan=Plan(on_held=share), sheets=("ok-one-head",))
    audit = ShopAudit(shop, tmp_path / "cache")
    audit.fill()
    flags, counts = audit.ask(lambda c: patterns(c, Rules(), 0, 2**40))
    held = audit.ask(lambda c: page(c, Filter(kind="held"), rows=-1))
    machine = made.machines["annex-one"]
    after = [audit.ask(lambda c, n=one.sequence + 1: listed(c, machine, n)) for one in held]  # type: ignore[misc]
    audit.close()
    assert len(held) >= 2
    assert sum(count.held for count in counts) == (len(held) if runs_on_held else 0)
    assert ("worked on a held start-up" in {one.pattern for one in flags}) == runs_on_held
    kinds = {one.kind for one in after if one is not None}
    assert kinds == ({"run"} if runs_on_held else {"startup"})

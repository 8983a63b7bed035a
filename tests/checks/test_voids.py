"""What an event asks again."""

from __future__ import annotations

from preflight.checks.voids import EVENTS, event, kept

TYPED = {
    "stock.job": "Ash",
    "stock.thickest": "27.7",
    "glue.state": "none",
    "belts.1.card": "H-204",
    "belts.1.look": "edges",
    "tension.1": "4.2",
    "extraction.static": "930",
    "running.stop.1": "6.5",
    "running.tracking": "evenly",
    "test_board.left": "27.4",
}
FACTS = {"belts.1.card": True}


def stands(event_id: str) -> set[str]:
    return set(kept(TYPED, event(event_id), FACTS))


def test_a_new_job_asks_stock_glue_and_test_board_again_and_leaves_tension_alone() -> None:
    left = stands("new job")
    assert {"tension.1", "extraction.static", "running.stop.1", "belts.1.look"} <= left
    assert not left & {"stock.thickest", "glue.state", "test_board.left"}


def test_a_belt_change_voids_size_tension_tracking_and_test_board_but_not_the_stop_test() -> None:
    left = stands("belt changed")
    assert {"running.stop.1", "extraction.static", "stock.thickest"} <= left
    assert not left & {"belts.1.look", "tension.1", "running.tracking", "test_board.left"}


def test_air_or_power_off_voids_tension_extraction_running_and_test_board() -> None:
    left = stands("power or air off")
    assert {"stock.thickest", "belts.1.look"} <= left
    assert not left & {"tension.1", "extraction.static", "running.stop.1", "test_board.left"}


def test_a_shift_change_keeps_only_facts() -> None:
    assert stands("shift change") == {"belts.1.card"}


def test_facts_are_never_voided() -> None:
    assert all("belts.1.card" in stands(one.id) for one in EVENTS)

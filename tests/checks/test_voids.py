"""What an event asks again."""

from __future__ import annotations

from preflight.checks.voids import EVENTS, again, event, kept

TYPED = {
    "stock.job": "Ash",
    "stock.thickest": "27.7",
    "glue.state": "none",
    "belts.1.card": "H-204",
    "belts.1.look": "edges",
    "belts.2.look": "edges",
    "tension.1": "4.2",
    "tension.2": "3.4",
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
    left = stands("belt changed:1")
    assert {"running.stop.1", "extraction.static", "stock.thickest", "belts.2.look", "tension.2"} <= left
    assert not left & {"belts.1.card", "belts.1.look", "tension.1", "running.tracking", "test_board.left"}


def test_a_belt_change_names_the_heads_it_is_about() -> None:
    assert again(event("belt changed:2")) == (
        "Asks again: belt and looks head 2, tension head 2, tracking, removal, feed, test board."
    )
    assert "tension head 1, tension head 2" in again(event("belt changed:1,2"))
    assert "of that head" in again(event("belt changed"))
    assert event("belt changed:1,2").full_id == "belt changed:1,2"


def test_an_action_goes_with_the_readings_it_was_taken_on() -> None:
    typed = {"action:tension:head 1": "lead told", "action:glue:glue": "lot sent back"}
    assert set(kept(typed, event("power or air off"), {})) == {"action:glue:glue"}


def test_air_or_power_off_voids_tension_extraction_running_and_test_board() -> None:
    left = stands("power or air off")
    assert {"stock.thickest", "belts.1.look"} <= left
    assert not left & {"tension.1", "extraction.static", "running.stop.1", "test_board.left"}


def test_a_shift_change_keeps_only_facts() -> None:
    assert stands("shift change") == {"belts.1.card"}


def test_facts_are_not_voided_by_what_is_not_about_them() -> None:
    assert all("belts.1.card" in stands(one.id) for one in EVENTS)
    assert "belts.1.card" in stands("belt changed:2")

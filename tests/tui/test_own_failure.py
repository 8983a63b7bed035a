"""The app's own failure at a real terminal: status 4, one sentence, a log without values, and the draft is kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from at_terminal import CONTROLS, CTRL_Q, CTRL_R, ENTER, F2, F3, F8, AtTerminal
from desk_samples import Clock, tokens
from failing_app import SECRET

from preflight.cli.init import make_shop
from preflight.own_failure import log_path
from preflight.tui.demo_shop import MACHINE, add_history

FAILING = Path(__file__).parents[1] / "failing_app.py"
KEPT, UNKEPT = "what was entered is kept in the draft", "what was entered last could not be kept"
CLOSED = "preflight: Preflight itself failed and was closed"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """One machine, so that it is opened at once, and its yesterday."""
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    for machine in (folder / "machines").glob("*.toml"):
        if machine.stem != MACHINE:
            machine.unlink()
    add_history(folder, Clock(), tokens("demo"))
    return folder


def typed(shop: Path) -> dict[str, str]:
    """What the draft on disk holds."""
    drafts = list((shop / "drafts").glob("m-*.json"))
    return dict(json.loads(drafts[0].read_text("utf-8"))["content"]["typed"]) if drafts else {}


def failed(app: AtTerminal, *, draft: str = KEPT) -> None:
    """What is left of the app on the terminal, and in its log."""
    assert app.ended() == 4
    after = app.written.rpartition(b"\x1b[?1049l")[2]  # the screen was given back
    lines = CONTROLS.sub(b"", after).decode().replace("\r", "").splitlines()
    log = log_path()
    assert lines == [f"{CLOSED}; {draft}, and what happened stands in {log}."]
    assert "Traceback" not in app.text
    assert SECRET not in app.text
    written = log.read_text("utf-8")
    assert "InjectedError" in written or "InputFailedError" in written
    assert "in fail" in written
    assert SECRET not in written
    assert log.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("place", ["compose", "mount", "load"])
def test_a_failure_at_start_leaves_one_sentence_and_status_4(shop: Path, place: str) -> None:
    with AtTerminal(place, str(shop), program=(str(FAILING),)) as app:
        failed(app)


def test_a_failure_before_the_screens_leaves_one_sentence_and_status_4(shop: Path) -> None:
    with AtTerminal("wiring", str(shop), program=(str(FAILING),)) as app:
        assert app.ended() == 4
        assert "own failure: InjectedError" in app.text
        assert f"What happened stands in {log_path()}." in app.text
        assert "Traceback" not in app.text
        assert SECRET not in log_path().read_text("utf-8")


@pytest.mark.parametrize(
    ("place", "keys"),
    [("handler", F3), ("worker", F2), ("dialogue", F8), ("paint", b"x"), ("keyboard", b"xy"), ("records", CTRL_R)],
)
def test_a_failure_while_somebody_types_keeps_the_draft(shop: Path, place: str, keys: bytes) -> None:
    with AtTerminal(place, str(shop), program=(str(FAILING),)) as app:
        app.until("job card")
        app.send(b" ")
        app.until("thickest piece")
        app.send(b"\r27.4\r")
        app.quiet(0.5)
        for key in (keys[at : at + 1] for at in range(len(keys))) if place == "keyboard" else (keys,):
            app.send(key)
            app.quiet(0.5)
        failed(app)
    assert typed(shop)["stock.thickest"] == "27.4"


def test_a_failure_while_a_record_is_saved_keeps_the_draft_and_saves_nothing_twice(shop: Path) -> None:
    before = sorted(shop.glob("checklists/*/*/*.toml"))
    with AtTerminal("saving", str(shop), program=(str(FAILING),)) as app:
        app.until("job card")
        app.send(b" \r27.4\r")
        app.quiet(0.5)
        app.send(F8)
        app.until("11 stations")
        app.send(b"h")
        app.until("Who signs?")
        app.send(b"1")
        app.until("Who was told?")
        app.send(b"regulator sticks\rthe lead\rtapped it\r")
        app.quiet(0.5)
        app.send(F8)
        failed(app)
    assert typed(shop)["stock.thickest"] == "27.4"
    assert sorted(shop.glob("checklists/*/*/*.toml")) == before


@pytest.mark.parametrize("place", ["copy", "draft"])
def test_a_failure_of_the_draft_itself_is_told_as_that(shop: Path, place: str) -> None:
    with AtTerminal(place, str(shop), program=(str(FAILING),)) as app:
        app.until("job card")
        app.send(b" ")
        failed(
            app,
            draft="what was entered is kept in the draft"
            if place == "copy"
            else "what was entered last could not be kept",
        )


def test_the_log_does_not_grow_without_end_and_a_place_for_it_that_is_none_is_said(home: Path) -> None:
    from datetime import UTC, datetime

    from preflight.own_failure import LARGEST, logged

    at = datetime(2026, 11, 26, 6, 40, tzinfo=UTC)
    assert logged([ValueError(SECRET)], at) == f"what happened stands in {log_path()}"
    log_path().write_bytes(b"x" * (LARGEST + 1))
    logged([ValueError(SECRET)], at)
    assert log_path().stat().st_size < 1000
    assert SECRET not in log_path().read_text("utf-8")
    log_path().unlink()
    log_path().mkdir()
    assert logged([ValueError(SECRET)], at).startswith("no log of it could be written: ")


# what is no failure of the app ------------------------------------------------------------------------------------


@pytest.mark.parametrize("arguments", [(), ("demo",)])
@pytest.mark.parametrize("kind", ["dumb", "unknown"])
def test_a_terminal_that_cannot_draw_is_said_with_the_plain_commands(
    shop: Path, kind: str, arguments: tuple[str, ...]
) -> None:
    with AtTerminal(*arguments, changes={"TERM": kind, "PREFLIGHT_SHOP": str(shop)}) as app:
        assert app.ended() == 3
        assert f"this one says TERM={kind}." in app.text
        assert "preflight assess SHEET" in app.text
        assert b"\x1b[?1049h" not in app.written


def test_a_shop_folder_that_is_gone_is_said(tmp_path: Path) -> None:
    with AtTerminal("--shop", str(tmp_path / "gone")) as app:
        assert app.ended() == 3
        assert "this shop folder (--shop) does not exist." in app.text
        assert b"\x1b[?1049h" not in app.written


def test_a_drafts_folder_that_is_none_is_said_and_leaving_ends_with_status_3(shop: Path) -> None:
    for left in (shop / "drafts").glob("*"):
        left.unlink()
    (shop / "drafts").rmdir()
    (shop / "drafts").write_text("a file")
    with AtTerminal("--shop", str(shop)) as app:
        app.until("cannot be kept")
        app.send(CTRL_Q)
        assert app.ended() == 3
        assert "cannot be kept" in app.text.rpartition("preflight: ")[2]


def test_the_app_is_left_with_status_0(shop: Path) -> None:
    with AtTerminal("--shop", str(shop)) as app:
        app.until("job card")
        app.send(CTRL_Q)
        app.quiet(0.5)
        app.send(ENTER)
        assert app.ended() == 0
        assert "preflight:" not in app.text
    assert not log_path().exists()

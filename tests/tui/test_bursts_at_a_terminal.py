"""Keys in one write at a real terminal: one answer, and nothing behind it or before the app is ready goes further."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from at_terminal import CTRL_Q, ENTER, F2, F7, F8, AtTerminal
from desk_samples import Clock, tokens

from preflight.cli.init import make_shop
from preflight.tui.demo_shop import MACHINE, add_history

if TYPE_CHECKING:
    from pathlib import Path

PIN = "48291573"
STALL = 0.7


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


def draft(shop: Path) -> dict[str, str]:
    """The answers that the draft on disk holds."""
    drafts = list((shop / "drafts").glob("m-*.json"))
    typed = json.loads(drafts[0].read_text("utf-8"))["content"]["typed"] if drafts else {}
    return {key: text for key, text in typed.items() if text}


def leave(app: AtTerminal) -> None:
    """Ctrl+Q until the app is left, as somebody does who does not know what is open."""
    for keys in (b"\x1b", b"\x1b", CTRL_Q, ENTER):
        if app.status is None:
            app.send(keys)
            app.quiet(0.6)
    assert app.ended() == 0
    assert "Traceback" not in app.text


@pytest.mark.parametrize("stall", [0.0, STALL])
@pytest.mark.parametrize(
    ("opens", "shown", "keys"),
    [
        (F8, "11 stations", ENTER * 2),
        (F7, "Job and belts", b"11"),
        (F2, "What happened?", b"\x1b\x1b7 5\r"),
        (F7, "Job and belts", b"1\r7\r5 2\r9\r"),
        (F8, "11 stations", b"h1" + PIN.encode() + ENTER),
    ],
)
def test_a_burst_answers_one_dialogue_and_leaves_the_draft_as_it_was(
    shop: Path, opens: bytes, shown: str, keys: bytes, stall: float
) -> None:
    with AtTerminal("--shop", str(shop)) as app:
        app.until("job card")
        app.send(b" \r27.4")
        app.until("27.4")
        app.quiet(0.3)
        before = draft(shop)
        assert before["stock.thickest"] == "27.4"
        app.send(opens)
        app.until(shown)
        app.quiet(0.3)
        if stall:
            app.stall(stall, keys)
        else:
            app.send(keys)
        app.quiet(1.5)
        assert draft(shop) == before
        leave(app)
    assert draft(shop) == before


@pytest.mark.parametrize("keys", [b"27.4\r27.4\r", F8 + b"s1" + PIN.encode() + ENTER, F7 + b"12 " + F2 + b"1"])
def test_what_is_typed_before_the_app_is_ready_is_in_no_draft(shop: Path, keys: bytes) -> None:
    with AtTerminal("--shop", str(shop)) as app:
        app.until("Reading profiles")
        app.send(keys)
        app.until("What was typed before this was shown is not taken.")
        app.quiet(0.5)
        assert not list((shop / "drafts").glob("m-*.json"))
        leave(app)
    assert not any(PIN in path.read_text("utf-8", "replace") for path in (shop / "drafts").iterdir())

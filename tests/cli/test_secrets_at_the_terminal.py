"""A PIN typed at the command line of a real terminal: nothing of it is shown or left for the shell."""

from __future__ import annotations

import os
import pty
import select
import sys
import time
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from checklist.people_samples import FOUNDER, PASSPHRASE, PIN, PeopledShop
from secrets_left import secrets_left

from preflight.__main__ import main
from preflight.cli.init import make_shop
from preflight.tui.demo_shop import MACHINE, add_history

if TYPE_CHECKING:
    from collections.abc import Sequence

TREE = Path(__file__).parents[2]
WRONG = "20481937"
OPERATOR = "D. Marrow"


@pytest.fixture
def people(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PeopledShop:
    """A shop with one released start-up, then founded; the keys of the lead and an operator are here."""
    from desk_samples import MORNING, Clock, tokens

    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    add_history(shop, Clock(), tokens("demo"))
    made = PeopledShop.founded(shop, tmp_path / "keys", at=MORNING + timedelta(hours=1))
    made.admit(OPERATOR, "operator", keep=True)
    monkeypatch.setenv("PREFLIGHT_SHOP", str(shop))
    monkeypatch.setenv("PREFLIGHT_KEYS", str(tmp_path / "keys"))
    monkeypatch.setenv("PYTHONPATH", str(TREE))
    return made


class Shell:
    """A command at a terminal of its own, and after it whoever reads what is left to read: as a shell would."""

    def __init__(self, command: Sequence[str]) -> None:
        quoted = " ".join(f"'{one}'" for one in (sys.executable, "-m", "preflight", *command))
        script = f'{quoted}; echo "STATUS $?"; read -t 2 line; echo "LEFT <$line>"'
        self.child, self.terminal = pty.fork()
        if self.child == 0:
            os.execvp("bash", ["bash", "-c", script])
        self.seen = ""

    def until(self, text: str, times: int = 1, seconds: float = 120) -> None:
        """Read until the terminal has shown that so often."""
        end = time.monotonic() + seconds
        while self.seen.count(text) < times and time.monotonic() < end:
            if select.select([self.terminal], [], [], 0.1)[0]:
                try:
                    self.seen += os.read(self.terminal, 65536).decode()
                except OSError:  # the other side is gone
                    break
        assert self.seen.count(text) >= times, self.seen

    def type(self, text: str) -> None:
        os.write(self.terminal, text.encode())

    def end(self) -> str:
        self.until("LEFT <")
        self.until(">\r\n")
        os.waitpid(self.child, 0)
        os.close(self.terminal)
        return self.seen


def correct(*more: str, text: str = "3.5", reason: str = "misread") -> list[str]:
    return ["record", "correct", MACHINE, "1", "--key", "tension.2", "--text", text, "--reason", reason, *more]


def test_after_three_wrong_tries_what_is_typed_on_reaches_no_shell(people: PeopledShop, tmp_path: Path) -> None:
    shell = Shell(correct("--by", OPERATOR))
    for count in (1, 2, 3):
        shell.until("PIN of D. Marrow: ", count)
        shell.type(f"{WRONG}\r")
    # typed while the key is tried, and again by whoever did not read that it has ended
    shell.type(f"{PIN}\r")
    shell.until("third try")
    shell.type(f"{PIN}\r")
    text = shell.end()
    assert "STATUS 3" in text
    assert "Nothing was saved." in text
    assert "LEFT <>" in text
    assert secrets_left([PIN, WRONG], [people.shop], [text]) == []


def test_a_pin_typed_a_second_time_while_the_key_opens_is_not_shown_and_not_left(people: PeopledShop) -> None:
    shell = Shell(correct("--by", OPERATOR))
    shell.until("PIN of D. Marrow: ")
    shell.type(f"{PIN}\r")
    shell.until("Opening the key")
    shell.type(f"{PIN}\r")
    text = shell.end()
    assert "STATUS 0" in text
    assert "LEFT <>" in text
    assert secrets_left([PIN], [people.shop], [text]) == []


@pytest.mark.parametrize(
    ("text", "reason", "said"),
    [
        ("3.5", PIN, "--reason looks like a PIN."),
        ("3.5", f"it is {PIN} of course", "--reason holds somebody's PIN or passphrase."),
        ("3.5", PASSPHRASE, "--reason holds somebody's PIN or passphrase."),
        (PIN + PIN, "misread", "--text looks like a PIN."),
    ],
)
def test_a_secret_among_the_words_of_a_command_saves_nothing(
    people: PeopledShop, capsys: pytest.CaptureFixture[str], text: str, reason: str, said: str
) -> None:
    before = sorted(people.shop.rglob("checklists/**/*.toml"))
    assert main(correct("--by", FOUNDER, text=text, reason=reason)) == 3
    error = capsys.readouterr().err
    assert said in error
    assert "Nothing was saved." in error
    assert sorted(people.shop.rglob("checklists/**/*.toml")) == before
    assert secrets_left([PIN, PASSPHRASE], [people.shop], [error]) == []

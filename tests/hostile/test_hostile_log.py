"""What fails over hostile names leaves a log and a sentence of text that can be seen."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from hostile.hostile_samples import UNSEEN, assert_shown

from preflight import own_failure
from preflight.__main__ import main
from preflight.cli import where
from preflight.own_failure import log_path, logged

if TYPE_CHECKING:
    from pathlib import Path

AT = datetime(2026, 11, 26, 6, 40, tzinfo=UTC)


@pytest.mark.parametrize(
    "error",
    [
        FileNotFoundError(2, "No such file", f"/shop/{UNSEEN}"),
        NameError(UNSEEN),
        OSError(UNSEEN),
        ImportError(f"no module {UNSEEN}"),
        ValueError(UNSEEN),
    ],
    ids=lambda error: type(error).__name__,
)
def test_a_log_holds_no_character_that_steers_or_hides(error: Exception, home: Path) -> None:
    try:
        raise error
    except Exception as caught:  # noqa: BLE001  (whatever it is, it is logged)
        said = logged([caught], AT)
    assert log_path().is_relative_to(home)
    assert type(error).__name__ in log_path().read_text(encoding="utf-8")
    assert_shown(log_path().read_text(encoding="utf-8"))
    assert_shown(said)


def test_a_failure_of_a_command_prints_one_line_that_can_be_seen(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(_: object) -> int:
        raise RuntimeError(UNSEEN)

    monkeypatch.setattr(where, "run", fails)
    assert main(["where"]) == 4
    said = capsys.readouterr()
    assert_shown(said.out + said.err)
    assert own_failure.FILE in said.err
    assert_shown(log_path().read_text(encoding="utf-8"))

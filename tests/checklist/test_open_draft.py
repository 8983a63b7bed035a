"""A draft looked at from outside: who has it open now, and how far it is."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from preflight.checklist.draft import Draft, Holder
from preflight.checklist.open_draft import open_draft

if TYPE_CHECKING:
    from pathlib import Path

MACHINE = "m-7f3a91c2d04e"
ME = Holder("R. Onslow", "bay-two", 4711, "2026-11-25 06:40")
AT = datetime(2026, 11, 25, 6, 52, tzinfo=UTC)


def opened(shop: Path) -> Draft:
    (shop / "drafts").mkdir(exist_ok=True)
    return Draft.open(shop / "drafts", MACHINE, ME)


def test_an_open_draft_names_its_holder_its_answers_and_when_the_newest_was_given(tmp_path: Path) -> None:
    draft = opened(tmp_path)
    assert open_draft(tmp_path, MACHINE) is not None
    typed = {"tension.1": "4.1", "glue.state": "scraped", "stock.job": "carried over"}
    entered = {"tension.1": AT.isoformat(), "glue.state": AT.replace(minute=41).isoformat()}
    draft.change({"typed": typed, "entered": entered})
    found = open_draft(tmp_path, MACHINE)
    assert found is not None
    assert (found.holder, found.answers, found.newest) == (ME, 2, AT)
    draft.close()


def test_a_draft_that_was_closed_or_left_by_a_kill_is_not_open(tmp_path: Path) -> None:
    assert open_draft(tmp_path, MACHINE) is None
    opened(tmp_path).close()
    assert open_draft(tmp_path, MACHINE) is None
    lock = tmp_path / "drafts" / f".{MACHINE}.lock"
    lock.write_text('{"who": "R. Onslow", "host": "bay-two", "pid": 1, "since": "06:40"}')  # its lock went with it
    assert open_draft(tmp_path, MACHINE) is None


def test_looking_neither_takes_nor_changes_the_draft(tmp_path: Path) -> None:
    draft = opened(tmp_path)
    draft.change({"typed": {"tension.1": "4.1"}, "entered": {"tension.1": AT.isoformat()}})
    before = draft.path.read_bytes()
    open_draft(tmp_path, MACHINE)
    assert draft.path.read_bytes() == before
    draft.close()
    again = opened(tmp_path)
    assert again.content == {"typed": {"tension.1": "4.1"}, "entered": {"tension.1": AT.isoformat()}}
    again.close()


def test_a_draft_whose_content_makes_no_sense_still_names_its_holder(tmp_path: Path) -> None:
    draft = opened(tmp_path)
    draft.change({"typed": [], "entered": {"tension.1": "soon"}})
    found = open_draft(tmp_path, MACHINE)
    assert found is not None
    assert (found.holder, found.answers, found.newest) == (ME, 0, None)
    draft.close()

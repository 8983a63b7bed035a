"""A folder of drafts that somebody else wrote into: nothing outside it is read or written, and the start-up goes on."""

from __future__ import annotations

import os
import stat
from typing import TYPE_CHECKING

import pytest
from checklist.record_samples import MACHINE, chain_of

from preflight.checklist.draft import LARGEST_DRAFT, Draft, DraftError, Holder
from preflight.checklist.open_draft import drafts_folder, open_draft
from preflight.checklist.register import read_register
from preflight.shop.bundled import bundled
from preflight.shop.folder import shop_at
from preflight.tui.begun import saved_as
from preflight.tui.terminal_machine import TerminalMachine

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

ME = Holder(who="R. Onslow", host="bay-two", pid=4711, since="25 Nov 06:52")
KEY = b"sealed private key"
PLACES = (f"{MACHINE}.json", f".{MACHINE}.safe.json", f".{MACHINE}.lock", f".{MACHINE}.tmp", f".{MACHINE}.safe.tmp")
"""Names that a draft has or had; the last two are where a draft was once written through a link."""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "shop" / "drafts").mkdir(parents=True)
    (tmp_path / "key").write_bytes(KEY)
    return tmp_path / "shop"


@pytest.fixture
def draft_of(shop: Path) -> Iterator[list[Draft]]:
    """Drafts to close at the end: their locks and threads."""
    opened: list[Draft] = []
    yield opened
    for draft in opened:
        draft.close()


def plant(path: Path, what: str) -> None:
    if what == "link":
        path.symlink_to(path.parent.parent.parent / "key")
    elif what == "link to nothing":
        path.symlink_to(path.parent.parent.parent / "new")
    elif what == "hard link":
        path.hardlink_to(path.parent.parent.parent / "key")
    elif what == "pipe":
        os.mkfifo(path)
    elif what == "folder":
        path.mkdir()
    elif what == "zeros":
        with path.open("wb") as file:
            file.truncate(LARGEST_DRAFT * 500)  # sparse


@pytest.mark.parametrize("what", ["link", "link to nothing", "hard link", "pipe", "folder", "zeros"])
@pytest.mark.parametrize("place", PLACES)
def test_what_lies_under_a_draft_s_name_costs_neither_a_key_nor_the_start_up(
    shop: Path, draft_of: list[Draft], place: str, what: str
) -> None:
    plant(shop / "drafts" / place, what)
    assert open_draft(shop, MACHINE) is None
    draft = Draft.open(drafts_folder(shop), MACHINE, ME, sync_seconds=0.01)
    draft_of.append(draft)
    draft.change({"a": "typed"})
    draft.close()
    again = Draft.open(drafts_folder(shop), MACHINE, ME)
    draft_of.append(again)
    assert again.content == {"a": "typed"}
    again.discard()
    assert (shop.parent / "key").read_bytes() == KEY
    assert not (shop.parent / "new").exists()


@pytest.mark.parametrize("what", ["link", "hard link", "pipe", "folder"])
def test_a_lock_that_is_none_is_named_once_and_the_machine_opens(shop: Path, draft_of: list[Draft], what: str) -> None:
    plant(shop / "drafts" / f".{MACHINE}.lock", what)
    draft = Draft.open(drafts_folder(shop), MACHINE, ME)
    draft_of.append(draft)
    assert len(draft.notices) == 1
    assert f".{MACHINE}.lock" in draft.notices[0]
    assert "Open this machine's draft on one terminal only." in draft.notices[0]


@pytest.mark.parametrize("what", ["link", "pipe", "folder", "zeros"])
def test_what_is_no_draft_is_set_aside_as_it_is(shop: Path, draft_of: list[Draft], what: str) -> None:
    plant(shop / "drafts" / f"{MACHINE}.json", what)
    before = stat.S_IFMT((shop / "drafts" / f"{MACHINE}.json").lstat().st_mode)
    draft = Draft.open(drafts_folder(shop), MACHINE, ME)
    draft_of.append(draft)
    aside = shop / "drafts" / f"{MACHINE}.json.unreadable-1"
    assert stat.S_IFMT(aside.lstat().st_mode) == before
    assert draft.notices == (f"A draft could not be read. It was kept as {aside.name}.",)


def test_a_folder_of_drafts_that_is_a_link_is_refused_in_words(shop: Path) -> None:
    (shop / "drafts").rmdir()
    (shop / "drafts").symlink_to(shop.parent, target_is_directory=True)
    with pytest.raises(DraftError, match="drafts cannot be kept: is not a folder but a link"):
        drafts_folder(shop)
    assert open_draft(shop, MACHINE) is None
    (shop / "drafts").unlink()
    os.mkfifo(shop / "drafts")
    with pytest.raises(DraftError, match="is not a folder but a named pipe"):
        drafts_folder(shop)


def test_what_a_kill_left_half_written_is_swept_and_nothing_else(shop: Path, draft_of: list[Draft]) -> None:
    names = [f".{MACHINE}.json.0a1b2c3d.tmp", f".{MACHINE}.safe.json.00000000.tmp"]
    others = [".m-000000000000.json.0a1b2c3d.tmp", "bay-two.machine", f"{MACHINE}.json.unreadable-1"]
    for name in (*names, *others):
        (shop / "drafts" / name).write_bytes(b"")
    draft_of.append(Draft.open(drafts_folder(shop), MACHINE, ME))
    left = sorted(path.name for path in (shop / "drafts").iterdir())
    assert left == sorted((*others, f".{MACHINE}.lock"))


def test_the_note_of_which_machine_was_open_does_not_go_through_a_link(shop: Path) -> None:
    note = shop / "drafts" / "bay-two.machine"
    plant(note, "link")
    terminal = TerminalMachine(shop_at(bundled()), shop, "bay-two")
    terminal.remember("hall-two")
    assert (shop.parent / "key").read_bytes() == KEY
    assert note.read_bytes() == b"hall-two"
    note.unlink()
    for what in ("link", "pipe", "folder", "zeros"):
        plant(note, what)
        assert terminal._last_here() == ""
        note.rmdir() if what == "folder" else note.unlink()


@pytest.mark.parametrize("since", [-(10**12), 10**12])
def test_a_draft_that_names_an_impossible_number_neither_hangs_nor_is_taken_for_saved(shop: Path, since: int) -> None:
    chain_of(shop, 2)
    note = {"record": "record-0000000009", "since": since}
    assert saved_as(shop, MACHINE, note, read_register(shop)) == 0

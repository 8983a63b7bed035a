"""Files of a folder that everybody writes to: nothing in it is followed, waited for or written through."""

from __future__ import annotations

import os
import socket
import stat
from pathlib import Path

import pytest

from preflight import disk
from preflight.disk import Folder, RefusedError
from preflight.publishing import NotOfferedError

MOST = 1000


@pytest.fixture(params=["with handles", "without handles"], autouse=True)
def handles(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both ways: relative to a folder's handle, and as on a system that has none."""
    if request.param == "without handles":
        monkeypatch.setattr(disk, "HANDLES", False)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "shop" / "belts").mkdir(parents=True)
    (tmp_path / "secret").write_bytes(b"a key")
    return tmp_path / "shop"


def plant(path: Path, what: str) -> None:
    """Put something under the name that is no regular file."""
    if what == "link":
        path.symlink_to(path.parent.parent / "secret")
    elif what == "dead link":
        path.symlink_to(path.parent / "nowhere")
    elif what == "pipe":
        os.mkfifo(path)
    elif what == "folder":
        path.mkdir()
    elif what == "device":
        os.mknod(path, stat.S_IFCHR | 0o666, os.makedev(1, 5))
    else:
        before = Path.cwd()
        os.chdir(path.parent)  # the name of a socket is short
        with socket.socket(socket.AF_UNIX) as listener:
            listener.bind(path.name)
        os.chdir(before)


ODD = {
    "link": "a link, which is not followed",
    "dead link": "a link, which is not followed",
    "pipe": "a named pipe",
    "folder": "a folder",
    "socket": "a socket",
}
if os.geteuid() == 0:
    ODD["device"] = "a device"


@pytest.mark.parametrize("what", ODD)
def test_only_a_regular_file_is_read_and_the_reason_is_said_at_once(shop: Path, what: str) -> None:
    plant(shop / "odd.toml", what)
    with pytest.raises(RefusedError) as caught:
        disk.read(shop, "odd.toml", MOST)
    assert caught.value.strerror == f"is not a file but {ODD[what]}"
    assert caught.value.filename == str(shop / "odd.toml")


@pytest.mark.parametrize("what", ODD)
def test_only_a_regular_file_is_opened_to_be_locked(shop: Path, what: str) -> None:
    plant(shop / ".lock", what)
    with Folder.open(shop) as folder, pytest.raises(RefusedError, match=ODD[what]):
        folder.open_kept(".lock")
    assert (shop.parent / "secret").read_bytes() == b"a key"


def test_a_file_with_a_second_name_is_not_written_in_place(shop: Path) -> None:
    (shop / ".lock").hardlink_to(shop.parent / "secret")
    with Folder.open(shop) as folder, pytest.raises(RefusedError, match="has a second name"):
        folder.open_kept(".lock")


@pytest.mark.parametrize("what", ["link", "dead link", "pipe", "socket"])
def test_what_lies_there_is_replaced_and_not_written_through(shop: Path, what: str) -> None:
    plant(shop / "draft.json", what)
    with Folder.open(shop) as folder:
        folder.replace("draft.json", b"typed")
    assert (shop / "draft.json").read_bytes() == b"typed"
    assert not (shop / "draft.json").is_symlink()
    assert (shop.parent / "secret").read_bytes() == b"a key"
    assert [path.name for path in shop.iterdir() if path.is_file()] == ["draft.json"]


def test_a_folder_in_the_way_of_a_file_is_an_error_that_leaves_nothing(shop: Path) -> None:
    with Folder.open(shop) as folder, pytest.raises(OSError, match="director"):
        folder.replace("belts", b"typed")
    assert [path.name for path in shop.iterdir()] == ["belts"]


@pytest.mark.parametrize("what", ["file", *ODD])
def test_a_new_file_takes_no_name_that_is_taken(shop: Path, what: str) -> None:
    if what == "file":
        (shop / "card.toml").write_bytes(b"first")
    else:
        plant(shop / "card.toml", what)
    with Folder.open(shop) as folder, pytest.raises(FileExistsError):
        folder.create("card.toml", b"second")
    assert sorted(path.name for path in shop.iterdir()) == ["belts", "card.toml"]
    if what == "file":
        assert (shop / "card.toml").read_bytes() == b"first"


def test_a_new_file_is_there_whole_or_not_at_all(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Folder.open(shop, "belts") as folder:
        folder.create("a.toml", b"whole", mode=0o600)
        assert stat.S_IMODE((shop / "belts" / "a.toml").stat().st_mode) == 0o600

        def refuse(*_: object, **__: object) -> bool:
            raise NotOfferedError("b.toml")

        monkeypatch.setattr(disk, "link_or_rename", refuse)
        with pytest.raises(NotOfferedError):
            folder.create("b.toml", b"never seen")
    assert [path.name for path in (shop / "belts").iterdir()] == ["a.toml"]


def test_no_folder_below_the_root_is_a_link_but_the_root_may_be_one(shop: Path) -> None:
    (shop / "belts" / "a.toml").write_bytes(b"a")
    (shop / "jobs").symlink_to(shop / "belts", target_is_directory=True)
    (shop.parent / "by another name").symlink_to(shop, target_is_directory=True)
    assert disk.read(shop.parent / "by another name", "belts/a.toml", MOST) == b"a"
    with pytest.raises(RefusedError, match="is not a folder but a link"):
        disk.read(shop, "jobs/a.toml", MOST)
    with pytest.raises(RefusedError, match="is not a folder but a link"):
        disk.entries(shop, "jobs")
    with Folder.open(shop) as folder, pytest.raises(RefusedError, match="is not a folder but a link"):
        folder.folder("jobs", make=True)


@pytest.mark.parametrize("what", ["pipe", "file"])
def test_what_is_no_folder_is_not_listed(shop: Path, what: str) -> None:
    if what == "pipe":
        plant(shop / "jobs", what)
    else:
        (shop / "jobs").write_bytes(b"")
    with pytest.raises(RefusedError, match="is not a folder but a"):
        disk.entries(shop, "jobs")
    with pytest.raises(OSError, match=r"[Nn]ot a (directory|folder)"):
        disk.entries(shop / "jobs")


@pytest.mark.parametrize("name", ["", ".", "..", "../secret", "a/b", "a\0b"])
def test_a_name_is_a_single_name_in_the_folder(shop: Path, name: str) -> None:
    with Folder.open(shop) as folder:
        for use in (folder.folder, folder.remove, folder.open_kept, folder.entry):
            with pytest.raises(OSError, match="no file can have this name"):
                use(name)
        with pytest.raises(OSError, match="no file can have this name"):
            folder.replace(name, b"")
    assert (shop.parent / "secret").exists()


def test_a_path_below_the_root_does_not_climb_out(shop: Path) -> None:
    for inside in ("../secret", "belts/../../secret", str(shop.parent / "secret")):
        with pytest.raises(OSError, match="no file can have this name"):
            disk.read(shop, inside, MOST)


def test_a_file_too_large_is_refused_unread(shop: Path) -> None:
    (shop / "fits").write_bytes(bytes(MOST))
    with (shop / "zeros").open("wb") as file:
        file.truncate(10**12)  # sparse: it takes no room on the disk, and reading it would take all memory
    assert disk.read(shop, "fits", MOST) == bytes(MOST)
    with pytest.raises(RefusedError, match="is larger than 1 kB"):
        disk.read(shop, "zeros", MOST)


def test_a_file_that_states_no_size_is_read_up_to_the_limit() -> None:
    with pytest.raises(RefusedError, match="is larger than 1 kB"):
        disk.read(Path("/proc"), "kallsyms", MOST)
    assert disk.read(Path("/proc"), "uptime", MOST).strip()


def test_the_listing_says_what_each_name_is(shop: Path) -> None:
    (shop / "a").write_bytes(b"")
    plant(shop / "b", "link")
    plant(shop / "c", "pipe")
    assert [(entry.name, entry.kind) for entry in disk.entries(shop)] == [
        ("a", "a file"),
        ("b", "a link, which is not followed"),
        ("belts", "a folder"),
        ("c", "a named pipe"),
    ]
    assert [entry.name for entry in disk.entries(shop) if entry.is_file] == ["a"]
    assert [entry.name for entry in disk.entries(shop) if entry.is_folder] == ["belts"]
    assert disk.entries(shop, "no such folder") == []


def test_a_file_that_a_person_named_is_no_link_either(shop: Path) -> None:
    plant(shop / "sheet.toml", "link")
    assert disk.read_named(shop.parent / "secret", MOST) == b"a key"
    with pytest.raises(RefusedError, match="is not a file but a link"):
        disk.read_named(shop / "sheet.toml", MOST)
    for nameless in (Path(), Path("/")):
        with pytest.raises(RefusedError, match="is not a file but a folder"):
            disk.read_named(nameless, MOST)


@pytest.mark.parametrize("what", ODD)
def test_a_file_that_a_person_names_to_be_written_replaces_a_file_and_nothing_else(shop: Path, what: str) -> None:
    plant(shop / "report.html", what)
    with pytest.raises(RefusedError, match="is not a file but a"):
        disk.write_named(shop / "report.html", b"page")
    assert (shop.parent / "secret").read_bytes() == b"a key"
    for page in (b"page", b"the next"):
        disk.write_named(shop / "other.html", page)
        assert (shop / "other.html").read_bytes() == page


def test_something_set_aside_keeps_what_it_was_and_takes_no_name(shop: Path) -> None:
    plant(shop / "draft.json", "link")
    with Folder.open(shop) as folder:
        with pytest.raises(FileExistsError):
            folder.rename("draft.json", "belts")
        folder.rename("draft.json", "draft.json.unreadable-1")
        assert folder.entry("draft.json") is None
    assert (shop / "draft.json.unreadable-1").is_symlink()


def test_a_link_put_in_place_while_it_is_opened_is_not_followed(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The moment between looking and opening, which only the system itself can close."""
    (shop / "card.toml").write_bytes(b"card")
    real = os.open

    def swap(name: str, flags: int, mode: int = 0o777, *, dir_fd: int | None = None) -> int:
        if str(name).endswith("card.toml"):
            (shop / "card.toml").unlink()
            plant(shop / "card.toml", "link")
        return real(name, flags, mode, dir_fd=dir_fd)

    monkeypatch.setattr(os, "open", swap)
    with pytest.raises(RefusedError, match="a link"):
        disk.read(shop, "card.toml", MOST)


def test_a_folder_that_was_swapped_for_a_link_is_still_the_one_that_was_opened(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(disk, "HANDLES", True)
    (shop / "belts" / "a.toml").write_bytes(b"a")
    with Folder.open(shop, "belts") as folder:
        (shop / "belts").rename(shop / "moved")
        (shop / "belts").symlink_to(shop.parent, target_is_directory=True)
        assert folder.read("a.toml", MOST) == b"a"
        folder.replace("secret", b"typed")
    assert (shop.parent / "secret").read_bytes() == b"a key"
    assert (shop / "moved" / "secret").read_bytes() == b"typed"

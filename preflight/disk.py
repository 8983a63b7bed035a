"""Files of a folder that everybody writes to: read, listed and written without ever following what lies there.

A shop folder is shared, copied and mailed, so a name in it can be a link to a private key, a pipe that never answers,
or a gigabyte of zeros. Everything that opens, lists or writes a file of a shop does it here. A `Folder` is held open by
its handle and every name is taken relative to it, so that nothing can be put in its place meanwhile. Where the system
has no folder handles (Windows), each name is looked at right before it is used, which is the nearest there is.

What is refused is an `OSError` like any other, with the reason in words as its `strerror`.
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import IO, TYPE_CHECKING

from preflight.publishing import link_or_rename

if TYPE_CHECKING:
    from types import TracebackType

HANDLES = os.open in os.supports_dir_fd and os.scandir in os.supports_fd
"""Whether this system opens names relative to the handle of a folder."""

_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
_NO_WAIT = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0)
_FOLDER = os.O_RDONLY | getattr(os, "O_DIRECTORY", 0) | getattr(os, "O_CLOEXEC", 0)
_CANNOT_SYNC = frozenset({errno.EPERM, errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP})
_LINKS_OF_WINDOWS = frozenset({0xA000000C, 0xA0000003})
"""Reparse tags of a symbolic link and of a junction."""

_KINDS = {
    stat.S_IFREG: "a file",
    stat.S_IFDIR: "a folder",
    stat.S_IFLNK: "a link, which is not followed",
    stat.S_IFIFO: "a named pipe",
    stat.S_IFSOCK: "a socket",
}


class RefusedError(OSError):
    """A name that is not used: a link, pipe or device, a folder where a file belongs, a file too large."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(errno.EINVAL, why, str(path))


@dataclass(frozen=True, slots=True)
class Entry:
    """One name in a folder."""

    name: str
    mode: int
    """As `stat` gives it, of the name itself and not of what a link points to."""

    @property
    def is_file(self) -> bool:
        """A regular file."""
        return stat.S_ISREG(self.mode)

    @property
    def is_folder(self) -> bool:
        """A folder."""
        return stat.S_ISDIR(self.mode)

    @property
    def kind(self) -> str:
        """In words, for messages."""
        return _words(self.mode)


class Folder:
    """A folder held open. Use it in a `with`; names are single names in it, never paths.

    Only the root that a person named may be a link; of the names below it none is followed.
    """

    def __init__(self, path: Path, handle: int | None) -> None:
        self.path = path
        """For messages."""
        self._handle = handle

    @classmethod
    def open(cls, root: Path, *below: str) -> Folder:
        """The folder `root`, or the one below it by these names. OSError when it is not there or not a folder."""
        folder = cls(root, os.open(root, _FOLDER)) if HANDLES else cls(root, None)
        try:
            if not HANDLES and not root.is_dir():
                raise NotADirectoryError(errno.ENOTDIR, "is not a folder", str(root))
            for name in below:
                inner = folder.folder(name)
                folder.close()
                folder = inner
        except BaseException:
            folder.close()
            raise
        return folder

    def __enter__(self) -> Folder:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let the handle go."""
        if self._handle is not None and self._handle >= 0:
            handle, self._handle = self._handle, -1
            os.close(handle)

    # looking ------------------------------------------------------------------------------------------------------

    def entry(self, name: str) -> Entry | None:
        """What lies under that name; None when nothing does."""
        try:
            return Entry(name, _mode(self._stat(name)))
        except FileNotFoundError:
            return None

    def entries(self) -> list[Entry]:
        """Everything in the folder, by name."""
        with os.scandir(self.path if self._handle is None else self._handle) as names:
            return sorted((_entry(name) for name in names), key=lambda entry: entry.name)

    def changed(self, name: str) -> float:
        """When the file was last written, in seconds since 1970."""
        return self._stat(name).st_mtime

    def read(self, name: str, most: int) -> bytes:
        """The bytes of a regular file of at most `most`. RefusedError for anything else, unread."""
        handle = self._open(name, os.O_RDONLY)
        try:
            size = os.fstat(handle).st_size
            pieces: list[bytes] = []
            left = most + 1
            while size <= most and left > 0 and (piece := os.read(handle, min(max(size, 4096) + 1, left))):
                pieces.append(piece)
                left -= len(piece)
        finally:
            os.close(handle)
        if size > most or left <= 0:
            raise RefusedError(self.path / name, f"is larger than {_size(most)}, so it is no file of this kind")
        return b"".join(pieces)

    # writing ------------------------------------------------------------------------------------------------------

    def folder(self, name: str, *, make: bool = False) -> Folder:
        """The folder of that name in this one, with `make` a new one where there is none."""
        if make:
            with contextlib.suppress(FileExistsError):
                os.mkdir(self._name(name), dir_fd=self._handle)
        path = self.path / name
        if self._handle is None:
            self._require(name, "folder", _mode(self._stat(name)))
            return Folder(path, None)
        try:
            return Folder(path, os.open(self._name(name), _FOLDER | _NO_LINK, dir_fd=self._handle))
        except OSError as error:
            if error.errno in (errno.ENOTDIR, errno.ELOOP):
                self._require(name, "folder", _mode(self._stat(name)))
            raise

    def replace(self, name: str, data: bytes, *, durable: bool = True, mode: int = 0o666) -> None:
        """Put a whole file in place of what has that name, if anything has: a link is replaced, not written through.

        `durable`: wait until the disk has it. On failure what was there stays.
        """
        temporary = f".{name.removeprefix('.')}.{secrets.token_hex(4)}.tmp"
        self.write_new(temporary, data, durable=durable, mode=mode)
        try:
            os.replace(self._name(temporary), self._name(name), src_dir_fd=self._handle, dst_dir_fd=self._handle)
        except OSError:
            with contextlib.suppress(OSError):
                self.remove(temporary)
            raise
        if durable:
            self.sync()

    def create(self, name: str, data: bytes, *, mode: int = 0o666) -> None:
        """Put a whole new file there and wait until the disk has it. FileExistsError when the name is taken.

        NotOfferedError when the folder has no operation that does so without the risk of replacing another file.
        """
        temporary = f".{name.removeprefix('.')}.{secrets.token_hex(4)}.tmp"
        self.write_new(temporary, data, mode=mode)
        try:
            if not self.publish(temporary, name):
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(self.path / name))
        finally:
            with contextlib.suppress(OSError):
                self.remove(temporary)
        self.sync()

    def write_new(self, name: str, data: bytes, *, durable: bool = True, mode: int = 0o666) -> None:
        """Write a file under a name that is free. OSError otherwise; then nothing is left under it by this call."""
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_LINK  # exclusive: never through a link, not even a dead one
        handle = os.open(self._name(name), flags, mode, dir_fd=self._handle)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                if durable:
                    os.fsync(file.fileno())
        except OSError:
            with contextlib.suppress(OSError):
                self.remove(name)
            raise

    def publish(self, temporary: str, final: str) -> bool:
        """Give a finished file its name. True: it has it; False: the name is taken. Errors as in `link_or_rename`."""
        return link_or_rename(self._name(temporary), self._name(final), self._handle)

    def remove(self, name: str) -> None:
        """Take a name away; of a link the link."""
        os.unlink(self._name(name), dir_fd=self._handle)

    def rename(self, name: str, new: str) -> None:
        """Give a file, or whatever lies there, another name that is free."""
        if self.entry(new) is not None:
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(self.path / new))
        os.rename(self._name(name), self._name(new), src_dir_fd=self._handle, dst_dir_fd=self._handle)

    def sync(self) -> None:
        """Wait until the disk has the names of this folder. Does nothing where a folder cannot be synced."""
        if self._handle is None:
            return
        try:
            os.fsync(self._handle)
        except OSError as error:
            if error.errno not in _CANNOT_SYNC:
                raise

    def open_kept(self, name: str, *, make: bool = True) -> IO[bytes]:
        """A file to lock and write in place, with `make` a new one where there is none.

        RefusedError where another name leads to it too, since that file would be changed.
        """
        handle = self._open(name, os.O_RDWR | (os.O_CREAT if make else 0))
        if os.fstat(handle).st_nlink > 1:
            os.close(handle)
            raise RefusedError(self.path / name, "has a second name, and writing to it would change that file too")
        return os.fdopen(handle, "r+b", buffering=0)

    # one name -----------------------------------------------------------------------------------------------------

    def _open(self, name: str, flags: int) -> int:
        """The handle of a regular file. Looked at before, since opening a device does something, and after."""
        try:
            self._require(name, "file", _mode(self._stat(name)))
        except FileNotFoundError:
            if not flags & os.O_CREAT:
                raise
        try:
            handle = os.open(self._name(name), flags | _NO_LINK | _NO_WAIT, 0o666, dir_fd=self._handle)
        except OSError as error:
            if error.errno == errno.ELOOP:  # a link since it was looked at
                raise RefusedError(self.path / name, f"is not a file but {_KINDS[stat.S_IFLNK]}") from error
            raise
        try:
            self._require(name, "file", _mode(os.fstat(handle)))
        except RefusedError:
            os.close(handle)
            raise
        return handle

    def _require(self, name: str, word: str, mode: int) -> None:
        if not (stat.S_ISREG(mode) if word == "file" else stat.S_ISDIR(mode)):
            raise RefusedError(self.path / name, f"is not a {word} but {_words(mode)}")

    def _stat(self, name: str) -> os.stat_result:
        return os.stat(self._name(name), dir_fd=self._handle, follow_symlinks=False)

    def _name(self, name: str) -> str:
        strange = "\0/" if os.name == "posix" else "\0/\\:"
        if name in ("", ".", "..") or any(sign in name for sign in strange):
            raise OSError(errno.EINVAL, "no file can have this name", str(self.path / name))
        return name if self._handle is not None else str(self.path / name)


def read(root: Path, inside: str | PurePath, most: int) -> bytes:
    """The bytes of the file that lies at `inside` below `root`; errors as in `Folder.read`."""
    *way, name = PurePath(inside).parts
    with Folder.open(root, *way) as folder:
        return folder.read(name, most)


def read_named(path: Path, most: int) -> bytes:
    """The bytes of a file that a person named: its folder is taken as named, the file itself is no link."""
    if not path.name:
        raise RefusedError(path, "is not a file but a folder")
    with Folder.open(path.parent) as folder:
        return folder.read(path.name, most)


def write_named(path: Path, data: bytes) -> None:
    """Put a whole file where a person named it, in place of a file that is there. RefusedError where a link is."""
    if not path.name:
        raise RefusedError(path, "is not a file but a folder")
    with Folder.open(path.parent) as folder:
        there = folder.entry(path.name)
        if there is not None and not there.is_file:
            raise RefusedError(path, f"is not a file but {there.kind}")
        folder.replace(path.name, data)


def entries(root: Path, *below: str) -> list[Entry]:
    """What lies in the folder below `root`, by name; nothing where there is no such folder."""
    try:
        with Folder.open(root, *below) as folder:
            return folder.entries()
    except FileNotFoundError:
        return []


def _entry(name: os.DirEntry[str]) -> Entry:
    """Without a look at the file where the system said what it is with the name."""
    if name.is_symlink():
        return Entry(name.name, stat.S_IFLNK)
    if name.is_dir(follow_symlinks=False):
        return Entry(name.name, stat.S_IFDIR)
    if name.is_file(follow_symlinks=False):
        return Entry(name.name, stat.S_IFREG)
    return Entry(name.name, name.stat(follow_symlinks=False).st_mode)


def _mode(status: os.stat_result) -> int:
    """What it is; a Windows junction, which calls itself a folder, is a link."""
    return stat.S_IFLNK if getattr(status, "st_reparse_tag", 0) in _LINKS_OF_WINDOWS else status.st_mode


def _words(mode: int) -> str:
    return _KINDS.get(stat.S_IFMT(mode), "a device")


def _size(most: int) -> str:
    return f"{most // 1_000_000} MB" if most >= 1_000_000 else f"{most // 1000} kB"

"""Putting a finished file in place: durable, whole, and never over another file.

Used by the store for records. A file opened under its final name and then written would be left half-written by a kill,
so a record is written under a temporary name first and appears under its own by one operation of the system.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

_AT_FDCWD = -100
_RENAME_NOREPLACE = 1
_NOT_OFFERED = frozenset(
    {errno.EPERM, errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EMLINK, errno.EXDEV}
)
"""What systems answer when a folder does not have the operation, rather than the operation having failed."""


class NotOfferedError(Exception):
    """The folder has no operation that publishes a file without the risk of replacing one."""


def write_durably(path: Path, data: bytes) -> None:
    """Write a new file and wait until the disk has it. OSError otherwise; then nothing is left under that name."""
    try:
        with path.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        if not isinstance(error, FileExistsError):
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)
        raise


def publish(temporary: Path, final: Path) -> bool:
    """Give the finished file its name. True: it has it; False: another file holds that name.

    Never replaces a file. Raises NotOfferedError when the folder has no such operation, OSError when it failed.
    The temporary name may be left over: the caller removes it.
    """
    if os.name == "nt":
        return _rename_on_windows(temporary, final)
    try:
        os.link(temporary, final)
    except OSError as error:
        # A network file system can lose the answer to a link that was made: the link count tells.
        if _link_count(temporary) == 2:
            return True
        if isinstance(error, FileExistsError):
            return False
        if error.errno not in _NOT_OFFERED:
            raise
        return _rename_without_replacing(temporary, final, error)
    return True


def sync_folder(folder: Path) -> None:
    """Wait until the disk has the folder's names. Does nothing where a folder cannot be synced."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in _NOT_OFFERED:
            raise
    finally:
        os.close(handle)


def _link_count(path: Path) -> int:
    try:
        return path.stat().st_nlink
    except OSError:
        return 0


def _rename_on_windows(temporary: Path, final: Path) -> bool:
    try:
        temporary.rename(final)  # on Windows a rename refuses a name that is taken
    except FileExistsError:
        return False
    return True


def _rename_without_replacing(temporary: Path, final: Path, cause: OSError) -> bool:
    """Linux `renameat2` with NOREPLACE, for file systems without hard links."""
    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if sys.platform == "linux" else None
    if renameat2 is None:
        raise NotOfferedError(str(final.parent)) from cause
    answer = renameat2(_AT_FDCWD, os.fsencode(temporary), _AT_FDCWD, os.fsencode(final), _RENAME_NOREPLACE)
    if answer == 0:
        return True
    code = ctypes.get_errno()
    if code == errno.EEXIST:
        return False
    if code in _NOT_OFFERED:
        raise NotOfferedError(str(final.parent)) from cause
    raise OSError(code, os.strerror(code), os.fspath(final))

"""Giving a finished file its name by one operation of the system that never replaces another file.

A file opened under its final name and then written would be left half-written by a kill, so whoever writes one writes
it under a temporary name first. Names are relative to the handle of their folder, or whole paths where there are none.
"""

from __future__ import annotations

import ctypes
import errno
import os
import sys

_AT_FDCWD = -100
_RENAME_NOREPLACE = 1
_NOT_OFFERED = frozenset(
    {errno.EPERM, errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EMLINK, errno.EXDEV}
)
"""What systems answer when a folder does not have the operation, rather than the operation having failed."""


class NotOfferedError(Exception):
    """The folder has no operation that publishes a file without the risk of replacing one."""


def link_or_rename(temporary: str, final: str, folder: int | None) -> bool:
    """Give the finished file its name. True: it has it; False: something else holds that name.

    Never replaces a file. Raises NotOfferedError when the folder has no such operation, OSError when it failed.
    The temporary name may be left over: the caller removes it.
    """
    if os.name == "nt":
        return rename_on_windows(temporary, final)
    try:
        os.link(temporary, final, src_dir_fd=folder, dst_dir_fd=folder, follow_symlinks=False)
    except OSError as error:
        # A network file system can lose the answer to a link that was made: the link count tells.
        if _link_count(temporary, folder) == 2:
            return True
        if isinstance(error, FileExistsError):
            return False
        if error.errno not in _NOT_OFFERED:
            raise
        return _rename_without_replacing(temporary, final, folder, error)
    return True


def rename_on_windows(temporary: str, final: str) -> bool:
    """On Windows a rename refuses a name that is taken."""
    try:
        os.rename(temporary, final)  # noqa: PTH104 (the names may be relative to a handle elsewhere)
    except FileExistsError:
        return False
    return True


def _link_count(name: str, folder: int | None) -> int:
    try:
        return os.stat(name, dir_fd=folder, follow_symlinks=False).st_nlink
    except OSError:
        return 0


def _rename_without_replacing(temporary: str, final: str, folder: int | None, cause: OSError) -> bool:
    """Linux `renameat2` with NOREPLACE, for file systems without hard links."""
    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if sys.platform == "linux" else None
    if renameat2 is None:
        raise NotOfferedError(final) from cause
    at = _AT_FDCWD if folder is None else folder
    answer = renameat2(at, os.fsencode(temporary), at, os.fsencode(final), _RENAME_NOREPLACE)
    if answer == 0:
        return True
    code = ctypes.get_errno()
    if code == errno.EEXIST:
        return False
    if code in _NOT_OFFERED:
        raise NotOfferedError(final) from cause
    raise OSError(code, os.strerror(code), final)

"""Real processes to be killed. `python -m checklist.kill_children` forks one child per line, so that each starts fast.

A line holds: kind, shop folder, log file, name. The child appends to the log what it begins and what it reports done;
the log is written without buffering, so a kill loses none of it. The pid of the child is printed.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from checklist.people_samples import PIN, seed
from checklist.record_samples import DAWN, MACHINE, PERSON, constant, record_body

from preflight.checklist.chain import Chain
from preflight.checklist.draft import Draft, Holder
from preflight.checklist.key_folder import KeyFolder
from preflight.checklist.signing import Ed25519Signer
from preflight.checklist.store import commit

if TYPE_CHECKING:
    from preflight.checklist.signing import Signer


def type_into_draft(shop: Path, log: int, name: str) -> None:
    """One keystroke after another into the draft, for ever."""
    draft = Draft.open(shop, MACHINE, Holder(name, "bay-two", os.getpid(), "now"), sync_seconds=0.02)
    content = draft.content or {"keystrokes": 0, "typed": ""}
    while True:
        count = content["keystrokes"] + 1
        content = {"keystrokes": count, "typed": (content["typed"] + chr(97 + count % 26))[-2000:]}
        os.write(log, f"begun {count}\n".encode())
        draft.change(content)
        os.write(log, f"done {count}\n".encode())


def save_signed(shop: Path, log: int, name: str) -> None:
    """The same, signed with a key out of the folder `keys` beside the shop, opened anew by each child."""
    key = Ed25519Signer(seed(PERSON))
    by = KeyFolder(shop.parent / "keys").opened(key.key_id, PERSON, PIN, DAWN)
    save_records(shop, log, name, by)


def save_records(shop: Path, log: int, name: str, by: Signer | None = None) -> None:
    """One record after another, each held in the draft until it is saved; first the one a kill left over."""
    chain = Chain(shop, MACHINE)
    draft = Draft.open(shop, MACHINE, Holder(name, "bay-two", os.getpid(), "now"), sync_seconds=0.02)
    pending = draft.content
    number = 0
    while True:
        if not pending or "record_id" not in pending:
            number += 1
            pending = {"record_id": f"{name}-{number:06d}", "since": chain.head().sequence}
            draft.change(pending)
            os.write(log, f"begun {pending['record_id']}\n".encode())
        record_id: str = pending["record_id"]
        body = record_body(record_id, text="x" * 3000)
        saved = commit(chain, constant(body), record_id=record_id, signer=by, token=name, since=pending["since"])
        os.write(log, f"saved {record_id} {saved.head.sequence} {saved.was_there}\n".encode())
        draft.change({})
        pending = None


def main() -> None:
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # killed children vanish without being waited for
    for line in sys.stdin:
        kind, shop, log, name = line.split("\t")
        pid = os.fork()
        if pid == 0:
            handle = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            work = {"draft": type_into_draft, "records": save_records, "signed": save_signed}[kind]
            work(Path(shop), handle, name.strip())
        print(pid, flush=True)


if __name__ == "__main__":
    main()

"""A process that saves records, once a line comes in: `python -m checklist.committing_child SHOP NAME COUNT LOCK`.

LOCK is "locks" or "no locks"; the second acts as a file system that has none.
"""

from __future__ import annotations

import errno
import fcntl
import sys
from pathlib import Path
from unittest import mock

from checklist.record_samples import MACHINE, constant, record_body, signer

from preflight.checklist.chain import Chain
from preflight.checklist.store import commit


def main() -> None:
    shop, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
    by = signer(name)
    if sys.argv[4] == "no locks":
        mock.patch.object(fcntl, "flock", side_effect=OSError(errno.ENOLCK, "no locks")).start()
    print("ready", flush=True)
    sys.stdin.readline()
    for number in range(count):
        record_id = f"{name}-{number:06d}"
        body = record_body(record_id)
        saved = commit(Chain(shop, MACHINE), constant(body), record_id=record_id, signer=by, token=name)
        print(saved.head.sequence, record_id)


if __name__ == "__main__":
    main()

"""A process that saves records: `python -m checklist.committing_child SHOP NAME COUNT`; waits for a line before it starts."""

from __future__ import annotations

import sys
from pathlib import Path

from checklist.record_samples import MACHINE, constant, record_body, signer

from preflight.checklist.chain import Chain
from preflight.checklist.store import commit


def main() -> None:
    shop, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
    by = signer(name)
    print("ready", flush=True)
    sys.stdin.readline()
    for number in range(count):
        record_id = f"{name}-{number:06d}"
        body = record_body(record_id)
        saved = commit(Chain(shop, MACHINE), constant(body), record_id=record_id, signer=by, token=name)
        print(saved.head.sequence, record_id)


if __name__ == "__main__":
    main()

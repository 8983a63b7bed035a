"""Saving what a job really fed: the run record out of the answers, in the machine's chain."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checklist.chain import Chain, newest
from preflight.checklist.heading import Signature
from preflight.checklist.run_record import MEANING, run_body
from preflight.checklist.store import commit
from preflight.tui.job_done import finished

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.reference import Reference
    from preflight.checklist.signatory import Signatory
    from preflight.tui.run import Run


def save_run(
    shop: Path,
    run: Run,
    answers: Mapping[str, str],
    by: Signatory,
    at: datetime,
    record_id: str,
    token: Callable[[], str],
    refers: Reference | None,
) -> str:
    """Commit the record under that id and say which it is. Raises `PreflightError`; then nothing was saved."""
    sheet, done = finished(run, answers)
    assert run.view is not None
    body = run_body(sheet, done, run.view, run.history, record_id, Signature(by.name, by.role, MEANING, at), refers)
    chain = Chain(shop, run.view.machine.id)
    since = newest(chain.folder)
    saved = commit(chain, lambda _: body, record_id=record_id, signer=by.signer, token=token(), since=since)
    how = f"signed by {by.name}" if by.signer is not None else "unsigned (no key yet)"
    return f"Run recorded at {at:%H:%M}: record {saved.head.sequence}, {how}. The wear map goes on from it."

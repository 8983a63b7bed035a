"""`preflight run-record`: the record after a job, from a setup sheet with a `[run]` table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from preflight.checklist.body_memory import memory_for
from preflight.checklist.chain import Chain, newest
from preflight.checklist.heading import Signature
from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.past import past
from preflight.checklist.register import read_register
from preflight.checklist.run_record import MEANING, RunSheet, run_body
from preflight.checklist.store import commit, prepare_shop
from preflight.checks.sheet_names import refuse_strange_names
from preflight.cli.asked import now, signing, token
from preflight.cli.shop_path import shop_path
from preflight.shop.files import load
from preflight.shop.folder import shop_at

if TYPE_CHECKING:
    import argparse


def run(arguments: argparse.Namespace) -> int:
    """Save the record and say which it is. Raises `PreflightError` when it was not saved."""
    shop = shop_path(arguments.shop).needed
    path = Path(arguments.file)
    sheet = load(path, RunSheet).value
    view = shop_at(shop).view(sheet, file=path)
    refuse_strange_names(path, sheet, view)
    register = read_register(shop)
    with memory_for(shop) as bodies:
        earlier = past(shop, view.machine.id, register, bodies)
    record_id, history = token(), earlier.history()
    nobody = Signature("", "", MEANING, now())
    run_body(sheet, sheet.run, view, history, record_id, nobody)  # refused before a secret is asked for
    by = signing(register, KeyFolder(key_folder(arguments.keys)), arguments.by)
    signature = Signature(by.name, by.role, MEANING, now())
    body = run_body(sheet, sheet.run, view, history, record_id, signature, next(iter(earlier.references), None))
    prepare_shop(shop)
    chain = Chain(shop, view.machine.id)
    since = newest(chain.folder)
    saved = commit(chain, lambda _: body, record_id=record_id, signer=by.signer, token=token(), since=since)
    how = f"signed by {by.name}" if by.signer else "unsigned: this shop has no people yet"
    print(f"Record {saved.head.sequence} saved, {how}.")
    return 0

"""`preflight profiles approve`: a lead signs a profile as it is now; any change after that is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.register import RegisterError, read_register
from preflight.checklist.register_record import RegisterBook, approval_table
from preflight.cli.asked import now, signing, token
from preflight.cli.profiles import check_file
from preflight.cli.shop_path import shop_path
from preflight.shop.extraction import Extraction
from preflight.shop.files import load
from preflight.shop.folder import FOLDERS, NotInShopError, shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from preflight.shop.folder import Shop

DIGITS = 12
"""Of a profile's SHA-256, enough to tell two states of it apart by eye."""


def run(arguments: argparse.Namespace) -> int:
    """Approve the profiles named, but for those that stand approved as they are, which are only said.

    Raises `PreflightError` when one is not to be approved; none is then.
    """
    root = shop_path(arguments.shop).needed
    register = read_register(root)
    register.require_sound()
    if not register.founded:
        raise RegisterError("This shop has no people yet.", "The first lead begins: preflight people found NAME")
    shop = shop_at(root)
    chosen = list(dict.fromkeys(_profile(shop, root, ref) for ref in arguments.refs))
    left = [one for one in chosen if register.standing(*one)]
    for was in (register.approvals[name] for name, sha256 in chosen if (name, sha256) not in left):
        when, digest = f"{was.at:%Y-%m-%d %H:%M}", was.sha256[:DIGITS]
        print(f"{was.profile} is approved already as it is now: by {was.by} on {when}, digest {digest}.")
    if not left:
        print("Nothing was written.")
        return 0
    by = signing(register, KeyFolder(key_folder(arguments.keys)), arguments.by, lead=True)
    assert by.signer is not None
    for name, sha256 in left:
        saved = RegisterBook(root, now, token).add("approval", approval_table(name, sha256), by.name, by.signer)
        print(f"{name} approved by {by.name}, digest {sha256[:DIGITS]}: record {saved.head.sequence}.")
    return 0


def _profile(shop: Shop, root: Path, ref: str) -> tuple[str, str]:
    """Name and digest of a machine or extraction profile of this shop that has nothing wrong in it."""
    for model in (Machine, Extraction):
        folder = FOLDERS[model]
        if (stem := ref.removeprefix(f"{folder}/")) in shop.ids(model):
            path = shop.find(model, stem)
            check_file(path, shop)
            return f"{folder}/{stem}", load(path, model, root).sha256
    known = [f"{FOLDERS[model]}/{one}" for model in (Machine, Extraction) for one in shop.ids(model)]
    raise NotInShopError(f"No profile {ref!r} in this shop.", f"Known here: {', '.join(known)}.")

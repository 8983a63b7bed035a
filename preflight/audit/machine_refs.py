"""Machines by what people call them: profile id, printed name or machine id."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from preflight.checklist.practice_chain import is_practice
from preflight.checklist.seal import is_machine_id
from preflight.errors import PreflightError
from preflight.shop.folder import NotInShopError, shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path


def machine_refs(shop: Path) -> dict[str, str]:
    """The profile's id in the shop by machine id; profiles that cannot be read are left out."""
    return {profile.id: ref for ref, profile in _profiles(shop)}


def profile_ref(shop: Path, called: str) -> str:
    """The profile that a printed name or an id in the shop means. NotInShopError with the nearest one."""
    known = shop_at(shop).ids(Machine)
    if called in known or "/" in called or called.endswith(".toml"):
        return called
    by_name = [(profile.name, ref) for ref, profile in _profiles(shop)]
    found = [ref for name, ref in by_name if name.casefold() == called.strip().casefold()]
    if len(found) == 1:
        return found[0]
    if found:
        raise PreflightError(f"{len(found)} machines are called {called!r}.", f"Name one of: {', '.join(found)}.")
    raise NotInShopError(f"No machine {called!r} here.", did_you_mean(called, [*known, *(name for name, _ in by_name)]))


def machine_id(shop: Path, called: str | None) -> str:
    """The chain's name for what a machine is called; a machine id and a chain of practice stand for themselves."""
    if not called:
        return ""
    if (called.startswith("m-") or is_practice(called)) and is_machine_id(called):
        return called
    return shop_at(shop).load(Machine, profile_ref(shop, called)).value.id


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """The nearest of what is known, or all of it."""
    every = {one.casefold(): one for one in known}
    close = difflib.get_close_matches(word.casefold(), every, n=1, cutoff=0.5)
    return f"Did you mean {every[close[0]]!r}?" if close else f"Known here: {', '.join(every.values()) or 'none'}."


def _profiles(shop: Path) -> list[tuple[str, Machine]]:
    usable, _ = shop_at(shop).every(Machine)
    return [(ref, file.value) for ref, file in usable.items()]

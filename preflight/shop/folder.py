"""The shop folder: where profiles, cards, drafts and records lie, and how an id becomes a file.

The only module below the saved records that reads files by name. Looking a path up never creates it.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from pydantic import BaseModel

from preflight.errors import PreflightError
from preflight.shop.bundled import bundled
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.consistency import refuse_contradictions
from preflight.shop.extraction import Extraction
from preflight.shop.files import Loaded, is_file, load
from preflight.shop.machine import Machine
from preflight.shop.view import ShopView

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preflight.shop.named import NamesFiles

Model = TypeVar("Model", bound=BaseModel)

FOLDERS: dict[type[BaseModel], str] = {
    Machine: "machines",
    Extraction: "extraction",
    JobCard: "jobs",
    BeltCard: "belts",
}
WORDS: dict[type[BaseModel], str] = {
    Machine: "machine profile",
    Extraction: "extraction profile",
    JobCard: "job card",
    BeltCard: "belt card",
}


class NotInShopError(PreflightError):
    """An id that no file answers to."""


@dataclass(frozen=True, slots=True)
class Shop:
    """Folders searched in order; the first is the shop's own, the last the bundled one."""

    roots: tuple[Path, ...]

    def ids(self, model: type[BaseModel]) -> list[str]:
        """Ids of that kind of file, sorted; a file in an earlier root hides a later one of the same id."""
        return sorted({path.stem for root in self.roots for path in (root / FOLDERS[model]).glob("*.toml")})

    def find(self, model: type[Model], ref: str, near: Path | None = None) -> Path:
        """The file that `ref` names: a path (relative to `near`), or an id. Raises `NotInShopError`."""
        if ref.endswith(".toml") or "/" in ref or "\\" in ref:
            path = (near or Path()) / ref
            if is_file(path) or near is None or not is_file(Path(ref)):
                return path
            return Path(ref)
        for root in self.roots:
            path = root / FOLDERS[model] / f"{ref}.toml"
            if re.fullmatch(r"[^\x00-\x1f]{1,80}", ref) and is_file(path):
                return path
        known = self.ids(model)
        close = difflib.get_close_matches(ref, known, n=1)
        hint = f"Did you mean {close[0]!r}?" if close else f"Known here: {', '.join(known) or 'none'}."
        raise NotInShopError(f"No {WORDS[model]} {ref!r} here.", hint)

    def load(self, model: type[Model], ref: str, near: Path | None = None) -> Loaded[Model]:
        """Find and read one file. Raises `NotInShopError` or `FileProblemsError`."""
        return load(self.find(model, ref, near), model)

    def with_neighbours(self, file: Path | None) -> Shop:
        """This shop with the folders around a file searched too, before the bundled profiles."""
        if file is None:
            return self
        extra = [folder for folder in (file.parent, file.parent.parent) if folder not in self.roots]
        return Shop((*self.roots[:-1], *extra, *self.roots[-1:]))

    def view(self, sheet: NamesFiles, *, machine: str | None = None, file: Path | None = None) -> ShopView:
        """What the checks need for this sheet, every named file read.

        `file` is the sheet's own: relative paths start at its folder, and ids are looked up beside it too.
        `machine` stands in for the sheet's. Raises as `load` does.
        """
        near = file.parent if file is not None else None
        around = self.with_neighbours(file)
        profile = around.load(Machine, machine or sheet.machine, None if machine else near)
        around = around.with_neighbours(profile.path)
        jobs = {sheet.job: around.load(JobCard, sheet.job, near)} if isinstance(sheet.job, str) else {}
        cards = {on.card for on in sheet.belts if isinstance(on.card, str)}
        belts = {card: around.load(BeltCard, card, near) for card in sorted(cards)}
        return around.machine_view(profile, jobs, belts)

    def machine_view(
        self,
        profile: Loaded[Machine],
        jobs: Mapping[str, Loaded[JobCard]],
        belts: Mapping[str, Loaded[BeltCard]],
    ) -> ShopView:
        """The view of one machine with the cards given. Raises as `load` does, and for profiles without sense."""
        named = profile.value.extraction
        ducts = self.load(Extraction, named, profile.path.parent) if named else None
        refuse_contradictions(profile, ducts)
        raw = {"machine": profile.raw}
        if ducts is not None:
            raw["extraction"] = ducts.raw
        raw |= {f"jobs/{ref}": card.raw for ref, card in jobs.items()}
        raw |= {f"belts/{ref}": card.raw for ref, card in belts.items()}
        return ShopView(
            machine=profile.value,
            machine_sha256=profile.sha256,
            machine_id=profile.path.stem,
            extraction=ducts.value if ducts else None,
            extraction_sha256=ducts.sha256 if ducts else "",
            jobs={ref: card.value for ref, card in jobs.items()},
            belts={ref: card.value for ref, card in belts.items()},
            raw=raw,
        )


def shop_at(folder: Path | None, more: Sequence[Path] = ()) -> Shop:
    """The shop in `folder` (None: only the bundled profiles), with further roots before the bundled one."""
    own = (folder,) if folder is not None else ()
    return Shop((*own, *more, bundled()))

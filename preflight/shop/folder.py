"""The shop folder: where profiles, cards, drafts and records lie, and how an id becomes a file.

The only module below the saved records that reads files by name. Looking a path up never creates it.
"""

from __future__ import annotations

import contextlib
import difflib
import os
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from pydantic import BaseModel

from preflight.disk import entries
from preflight.errors import PreflightError
from preflight.outside_text import unfit
from preflight.shop.bundled import SAMPLES, bundled
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.consistency import belt_problems, refuse_contradictions
from preflight.shop.extraction import Extraction
from preflight.shop.files import AnyTable, Loaded, in_words, load
from preflight.shop.head_names import folded
from preflight.shop.machine import Machine
from preflight.shop.problems import FileProblemsError, Problem
from preflight.shop.view import ShopView

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.shop.named import NamesFiles

Model = TypeVar("Model", bound=BaseModel)

FOLDERS: dict[type[BaseModel], str] = {
    Machine: "machines",
    Extraction: "extraction",
    JobCard: "jobs",
    BeltCard: "belts",
}
_ENDING = ".toml"
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
    """One shop's files; a second folder only for a profile or sheet that was named by its path elsewhere.

    A name that no file answers to is an error: no other shop's file, and none of the demo's, ever stands in for it.
    """

    roots: tuple[Path, ...]
    """Folders searched in order."""

    def ids(self, model: type[BaseModel]) -> list[str]:
        """Ids of that kind of file, sorted. Raises `FileProblemsError` for a folder that cannot be listed."""
        return sorted({name for root in self.roots for name in _stems(root, model)})

    def every(self, model: type[Model]) -> tuple[dict[str, Loaded[Model]], list[PreflightError]]:
        """Every file of that kind that can be used, by id, and what is wrong with the others.

        One that cannot be used costs itself and nothing else.
        """
        usable: dict[str, Loaded[Model]] = {}
        wrong: list[PreflightError] = []
        for root in self.roots:
            try:
                shelf = _Shelf.of(root, model)
            except PreflightError as error:
                wrong.append(error)
                continue
            for stem in shelf.stems:
                try:
                    usable.setdefault(stem, shelf.load(model, shelf.path(stem)))
                except PreflightError as error:
                    wrong.append(error)
        return usable, wrong

    def find(self, model: type[BaseModel], ref: str, near: Path | None = None) -> Path:
        """The file that `ref` names: a path (relative to `near`), or an id. Raises `NotInShopError`."""
        if is_path(ref):
            path = (near or Path()) / ref
            if near is not None and (root := self._root_of(near / "file")) is not None and self._root_of(path) != root:
                raise NotInShopError(f"{ref!r} leads out of the shop folder {root}.", "Name a file inside it.")
            return path
        for root in self.roots:
            if ref in _stems(root, model):
                return root / FOLDERS[model] / f"{ref}{_ENDING}"
        known = self.ids(model)
        close = difflib.get_close_matches(ref, known, n=1)
        hint = f"Did you mean {close[0]!r}?" if close else f"Known here: {', '.join(known) or 'none'}."
        raise NotInShopError(f"No {WORDS[model]} {ref!r} here.", hint)

    def load(self, model: type[Model], ref: str, near: Path | None = None) -> Loaded[Model]:
        """Find and read one file. Raises `NotInShopError` or `FileProblemsError`."""
        return self.load_file(model, self.find(model, ref, near))

    def load_file(self, model: type[Model], path: Path) -> Loaded[Model]:
        """Read one file, and hold it against the others of its kind in the shop. Raises `FileProblemsError`."""
        root = self._root_of(path)
        if root is not None and path.parent.name == FOLDERS.get(model):
            return _Shelf.of(root, model).load(model, path)
        return _without_contradiction(load(path, model, root), [])

    def with_home_of(self, file: Path) -> Shop:
        """This shop with the one that a file lies in searched too, after it."""
        home = home_of(file)
        return self if home is None or home in self.roots else Shop((*self.roots, home))

    def _root_of(self, path: Path) -> Path | None:
        """The root that a path lies in, as it is written: no link is followed to find that out."""
        whole = Path(os.path.abspath(path))  # noqa: PTH100 (Path.resolve would follow links)
        return next((root for root in self.roots if whole.is_relative_to(os.path.abspath(root))), None)  # noqa: PTH100

    def view(self, sheet: NamesFiles, *, machine: str | None = None, file: Path | None = None) -> ShopView:
        """What the checks need for this sheet, every named file read.

        `file` is the sheet's own: relative paths start at its folder. `machine` stands in for the sheet's.
        Raises as `load` does.
        """
        near = file.parent if file is not None else None
        profile = self.load(Machine, machine or sheet.machine, None if machine else near)
        around = self.with_home_of(profile.path)
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


def shop_at(folder: Path | None) -> Shop:
    """The shop in `folder`; None: the demo's profiles and cards that come with the tool."""
    return Shop((bundled() if folder is None else folder,))


def is_path(ref: str) -> bool:
    """Whether a reference is a path rather than an id."""
    return ref.endswith(_ENDING) or "/" in ref or "\\" in ref


def home_of(file: Path) -> Path | None:
    """The shop folder that a profile, card or sheet lies in; None when it lies in none."""
    if file.parent.name in (SAMPLES, *FOLDERS.values()):
        return file.parent.parent
    return file.parent if (file.parent / FOLDERS[Machine]).is_dir() else None


@dataclass(frozen=True, slots=True)
class _Shelf:
    """The files of one kind in one shop, as far as they can be taken for each other."""

    root: Path
    folder: str
    stems: tuple[str, ...]
    ids: Mapping[str, object]
    """Of machine profiles, what they say is their id, by file."""

    @classmethod
    def of(cls, root: Path, model: type[BaseModel]) -> _Shelf:
        stems = _stems(root, model)
        shelf = cls(root, FOLDERS[model], stems, {})
        if model is not Machine or len(stems) < 2:
            return shelf
        ids = {}
        for stem in stems:
            with contextlib.suppress(PreflightError):  # it costs itself, when it is opened
                ids[stem] = load(shelf.path(stem), AnyTable, root).raw.get("id")
        return replace(shelf, ids=ids)

    def path(self, stem: str) -> Path:
        return self.root / self.folder / f"{stem}{_ENDING}"

    def load(self, model: type[Model], path: Path) -> Loaded[Model]:
        if why := unfit(path.stem):
            raise FileProblemsError(str(path), [Problem("", f"its name {why}: give it another one")])
        loaded = load(path, model, self.root)
        others = [stem for stem in self.stems if stem != path.stem]
        problems = [
            Problem("", f"differs from {stem}{_ENDING} in nothing but case: one of the two needs another name")
            for stem in others
            if folded(stem) == folded(path.stem)
        ]
        if isinstance(loaded.value, Machine):
            problems += [
                Problem("id", f"is that of {stem}{_ENDING} too; every machine has its own: preflight profiles new")
                for stem in others
                if self.ids.get(stem) == loaded.value.id
            ]
        return _without_contradiction(loaded, problems)


def _without_contradiction(loaded: Loaded[Model], problems: list[Problem]) -> Loaded[Model]:
    if isinstance(loaded.value, BeltCard):
        problems = [*problems, *belt_problems(loaded.value, loaded.path.stem)]
    if problems:
        raise FileProblemsError(str(loaded.path), problems)
    return loaded


def _stems(root: Path, model: type[BaseModel]) -> tuple[str, ...]:
    """File names without their ending, whatever lies under them: what is no file is named when it is read."""
    folder = FOLDERS[model]
    try:
        names = [entry.name for entry in entries(root, folder)]
    except OSError as error:
        raise FileProblemsError(str(root / folder), [Problem("", in_words(error))]) from error
    return tuple(name.removesuffix(_ENDING) for name in names if name.endswith(_ENDING) and not name.startswith("."))

"""The product and the second reader side by side, on tampered shops and on forged bodies."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from checklist import second_reader
from checklist.forgery_trial import OPERATOR, Trial
from checklist.malformed import MACHINE_KINDS, full, spoilt
from checklist.people_samples import FOUNDED, FOUNDER, PeopledShop
from checklist.record_samples import MACHINE, OTHER_MACHINE, PERSON, chain_of, signer, whole
from checklist.tampering import TAMPERINGS, Bench

from preflight.checklist.body import write_body
from preflight.checklist.body_reader import BodyError
from preflight.checklist.chain import FOLDER
from preflight.checklist.heading import Signature, heading
from preflight.checklist.record import read_record
from preflight.checklist.register_record import person_table
from preflight.checklist.seal import SealError, read_seal, seal
from preflight.checklist.shop_check import heads_of, trust, verify_folder
from preflight.checklist.verify import verify_record

if TYPE_CHECKING:
    from pathlib import Path

Files = dict[str, bytes]
QUANTITY = re.compile(r"is wanted, in |which unit\?")


@dataclass
class Agreement:
    """How often both said the same, and each time they did not."""

    shops: int = 0
    records: int = 0
    bodies: int = 0
    wrong: int = 0
    beyond: int = 0
    """Refused for a quantity that nobody can read, which is beyond the specification."""
    disagreements: list[str] = field(default_factory=list)


class Shops:
    """A shop with people, a machine's chain and its register, tampered with and put back again and again."""

    def __init__(self, folder: Path, seed: int, *, misplaced: bool = False) -> None:
        """misplaced: kinds of the register are laid into machines' chains and the other way round as well."""
        self._rng = random.Random(seed)
        self._misplaced = misplaced
        (folder / "bench").mkdir()
        shop = PeopledShop.founded(folder / "shop", folder / "keys")
        for name, role in ((PERSON, "operator"), ("D. Marrow", "trainer")):
            shop.now += timedelta(hours=1)
            public = signer(name).public
            shop.book.add(
                "enrolment", person_table("enrolment", name, role=role, public=public), FOUNDER, shop.signer(FOUNDER)
            )
        shop.change("role", "D. Marrow", "lead")
        shop.change("renewal", "D. Marrow", "lead", public=shop.signer("D. Marrow", 2).public)
        chain_of(shop.shop, 7, PERSON)
        chain_of(shop.shop, 3, PERSON, machine=OTHER_MACHINE)
        other = PeopledShop.founded(folder / "other", folder / "other-keys", FOUNDED - timedelta(days=1))
        other.admit("N. Fell", "operator")
        self._shop, self._root = shop, shop.shop / FOLDER
        self._bench = Bench(folder / "bench")
        self._kept = heads_of(shop.shop, shop.now)
        self._files = read_folder(self._root)
        self._strange = read_folder(folder / "other" / FOLDER)
        self._on_disk = dict(self._files)
        self._bench.files = {
            path.removeprefix(MACHINE + "/"): data for path, data in self._files.items() if path.startswith(MACHINE)
        }

    def tampered(self) -> tuple[str, Files]:
        """What was done, one to three things after another, and the files that lie there then."""
        files, done = dict(self._files), []
        for _ in range(self._rng.choice((1, 1, 2, 3))):
            if self._rng.random() < 0.5:
                kind = self._rng.choice(TAMPERINGS)
                made = kind(self._bench, self._rng).files
                changed = {MACHINE + "/" + path: data for path, data in made.items()}
                gone = {MACHINE + "/" + path for path in self._bench.files.keys() - made.keys()}
                before = {MACHINE + "/" + path: data for path, data in self._bench.files.items()}
                files = {path: data for path, data in files.items() if path not in gone}
                files |= {path: data for path, data in changed.items() if before.get(path) != data}
                done.append(kind.__name__)
            else:
                done.append(self._anywhere(files))
        return ", ".join(done), files

    def _anywhere(self, files: Files) -> str:
        """Something done to any file of any chain, also to the register."""
        rng = self._rng
        if not files:
            return "nothing"
        path = rng.choice(sorted(files))
        data, chain = files[path], path.split("/")[0]
        way = rng.choice(
            ("byte", "gone", "copy", "other ending", "beside", "strange", "chain", "resealed", "laid", "move")
        )
        if way == "byte":
            at = rng.randrange(len(data))
            files[path] = data[:at] + bytes([data[at] ^ rng.randint(1, 255)]) + data[at + 1 :]
        elif way == "gone":
            del files[path]
        elif way == "copy":
            files[rng.choice(sorted(files))] = data
        elif way == "other ending":
            files[path.replace(".toml", rng.choice((".TOML", ".Toml", " 2.toml", ".txt")))] = data
        elif way == "beside":
            places = ("x.toml", "X Y/00000/00000001.toml", "con/00000/00000001.toml", f"{chain}/a/b.toml", "x.txt")
            files[rng.choice((*places, f"{chain}/.hidden.toml", f"{chain}/00000/00000000.toml"))] = data
        elif way == "strange":
            files |= self._strange
        elif way == "chain":
            for name in [name for name in files if name.startswith(chain)]:
                del files[name]
        elif way == "resealed":
            self._resealed(files, path, rng.choice((None, FOUNDER, PERSON, "D. Marrow", "S. Ollery")))
        elif way == "laid":
            self._laid(files, rng.choice((None, FOUNDER, PERSON, "D. Marrow", "S. Ollery")))
        else:
            files[f"m-{rng.randrange(16**12):012x}/00000/00000001.toml"] = files.pop(path)
        return f"{way} {path}"

    def _by(self, name: str | None) -> Any:
        if name is None:
            return None
        return self._shop.signer(name) if name == FOUNDER else signer(name)

    def _resealed(self, files: Files, path: str, name: str | None) -> None:
        try:
            old = read_seal(files[path])
        except SealError:
            return
        body = old.body.replace(b"2026-11-2", b"2026-11-1") if self._rng.random() < 0.3 else old.body
        files[path] = seal(
            body, machine=old.machine, sequence=old.sequence, previous=old.previous, signer=self._by(name)
        )

    def _laid(self, files: Files, name: str | None) -> None:
        """A new record at the end of a chain: of the register, or of a kind that may not belong there."""
        rng = self._rng
        chain = rng.choice(sorted({path.split("/")[0] for path in files if path.count("/") == 2}) or [MACHINE])
        mine = sorted(path for path in files if path.startswith(chain + "/0") and path.count("/") == 2)
        try:
            last = read_seal(files[mine[-1]]) if mine else None
        except SealError:
            return
        number, previous = (last.sequence + 1, last.sha256) if last else (1, "0" * 64)
        register = chain.startswith("shop-")
        kinds = ["practice"] + (["repair"] if self._misplaced or not register else [])
        kinds += second_reader.REGISTER_KINDS if self._misplaced or register else []
        kind = rng.choice(kinds)
        at = self._shop.now + timedelta(hours=rng.choice((-30, -1, 0, 1)))
        said = rng.choice(("operator", "lead", "trainer"))
        record = heading(kind, f"token-{rng.randrange(10**8):08d}", Signature(name or PERSON, said, "As it says.", at))
        tables: dict[str, Any] = {"record": record}
        if kind == "approval":
            tables["approval"] = {"profile": "machines/bay-two", "sha256": "ab" * 32}
        elif kind == "practice":
            tables["practice"] = {"what": "mark", "trainee": PERSON, "mark": "near miss", "note": ""}
        elif kind == "repair":
            tables = whole(tables)
        else:
            who = rng.choice((PERSON, "D. Marrow", FOUNDER, "S. Ollery", "S. Ollery", "S. Ollery ", "S\u200bO", "N\\F"))
            public = self._by(rng.choice((who, PERSON, "S. Ollery"))).public if rng.random() < 0.7 else b""
            tables |= person_table(kind, who, role=rng.choice(("operator", "lead", "chief")), public=public)
        place = f"{chain}/{number // 1000:05d}/{number:08d}.toml"
        files[place] = seal(
            write_body(tables), machine=chain, sequence=number, previous=previous, signer=self._by(name)
        )

    def run(self, count: int, found: Agreement) -> None:
        for _ in range(count):
            done, files = self.tampered()
            self._lay(files)
            found.shops += 1
            for kept in (None, self._kept):
                found.disagreements += [f"{done}: {text}" for text in self._compared(kept, found)]

    def _compared(self, kept: Any, found: Agreement) -> list[str]:
        root = self._root
        second = second_reader.judge(root, second_reader.read_head(kept.text) if kept else None)
        register = trust(root, kept).register
        said = {file: verify_record(root / file, register).status.value for file in second.records}
        texts = [
            f"{file}: product {said[file]}, second {how}" for file, how in second.records.items() if how != said[file]
        ]
        found.records += len(said)
        found.wrong += sum(how == "wrong" for how in said.values())
        first = verify_folder(root, kept)
        chains = {chain.machine: chain.status.value for chain in first.chains}
        if chains != second.chains:
            texts.append(f"chains: product {chains}, second {second.chains}")
        if first.status.value != second.status:
            texts.append(f"folder: product {first.status.value}, second {second.status}")
        every = [*(problem for chain in first.chains for problem in chain.problems), *first.problems]
        one = {
            (problem.status.value, frozenset(path.relative_to(root).as_posix() for path in problem.paths))
            for problem in every
            if root not in problem.paths and problem.status.value != "cannot check"
        }
        two = {(how, frozenset(paths)) for how, paths in second.problems if paths and how != "cannot check"}
        if one != two:
            plain = [sorted((how, *sorted(paths)) for how, paths in some) for some in (one - two, two - one)]
            texts.append(f"found: product alone {plain[0]}, second alone {plain[1]}")
        return texts

    def _lay(self, files: Files) -> None:
        for path in self._on_disk.keys() - files.keys():
            (self._root / path).unlink()
        for folder in sorted((p for p in self._root.rglob("*") if p.is_dir()), reverse=True):
            if not any(folder.iterdir()):
                folder.rmdir()
        for path, data in files.items():
            if self._on_disk.get(path) != data or not (self._root / path).exists():
                (self._root / path).parent.mkdir(parents=True, exist_ok=True)
                (self._root / path).write_bytes(data)
        self._on_disk = dict(files)


class Bodies(Trial):
    """Forged spellings and spoilt documents, each sealed and signed as an operator's next record."""

    def __init__(self, folder: Path, seed: int) -> None:
        super().__init__(folder, seed)
        self._keys = second_reader.judge(self._shop.shop / FOLDER).keys

    def compare(self, count: int, found: Agreement) -> None:
        while count:
            body = self._forged().body if self._rng.random() < 0.7 else self._spoilt()
            try:
                data = seal(body, machine=MACHINE, sequence=2, previous=self._held, signer=self._shop.signer(OPERATOR))
            except ValueError:  # a body that no seal takes
                continue
            count -= 1
            one = read_record(data, self._register, MACHINE, 2)
            two = second_reader.Record("", MACHINE, 2, data)
            second_reader.read(two)
            two.standing = two.standing or second_reader.signed(two, self._keys)
            found.bodies += 1
            found.wrong += one.status.value == "wrong"
            if one.status.value == "wrong" and QUANTITY.search(one.statement):
                found.beyond += 1
            elif one.status.value != two.standing:
                found.disagreements.append(
                    f"product {one.status.value} ({one.statement}), second {two.standing}: {body!r}"
                )

    def _spoilt(self) -> bytes:
        kind = self._rng.choice(MACHINE_KINDS)
        signature = Signature(OPERATOR, "operator", "As it says.", self._shop.now)
        document = whole(full(kind, heading(kind, self._shop.token(), signature), self._shop.now))
        while True:
            try:
                return write_body(spoilt(document, self._rng) if self._rng.random() < 0.9 else document)
            except (ValueError, TypeError, BodyError):  # what no writer takes
                continue


def read_folder(root: Path) -> Files:
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in sorted(root.rglob("*.toml"))}

"""A second verifier of saved records, written from the specification in DEVELOPERS.md alone."""

import base64
import binascii
import hashlib
import json
import math
import re
import stat
import unicodedata
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from itertools import pairwise
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

STANDINGS = ["intact", "unsigned", "cannot check", "cut tail", "gap", "fork", "wrong"]
LARGEST, DEEPEST = 1_048_576, 16
REGISTER_KINDS = ["founding", "enrolment", "renewal", "role", "retirement", "approval"]
ROLES = ["operator", "trainer", "lead"]
CHAIN = re.compile(r"(?!(?:con|prn|aux|nul|com[0-9]|lpt[0-9])\Z)(?=.{1,64}\Z)[a-z0-9]+(?:-[a-z0-9]+)*")
REGISTER = re.compile(r"shop-[0-9a-f]{32}")
SEAL = re.compile(
    rb'\[seal\]\nlayout = 1\nmachine = "([a-z0-9-]{1,64})"\nsequence = ([1-9][0-9]{0,7})\nprevious = "([0-9a-f]{64})"\n'
    rb'body_bytes = (0|[1-9][0-9]*)\nbody_sha256 = "([0-9a-f]{64})"\nkey_id = "(k-[0-9a-f]{32}|)"\n'
    rb'signature = "([A-Za-z0-9+/]{86}==|)"\n'
)
BARE = re.compile(r"[A-Za-z0-9_-]+")
TEXT = re.compile(r'"((?:\\(?:["\\bnfr]|u00(?:0[0-7be-f]|1[0-9a-f]|7f))|[^\x00-\x08\x0a-\x1f\x7f"\\])*)"')
PLAIN = re.compile(r"[^\n,\]}]+")
DAY, HOUR, OFFSET = r"\d{4}-\d\d-\d\d", r"\d\d:\d\d:\d\d", r"(?!-00:00)[+-]\d\d:[0-5]\d"
FRACTION = r"(?:\.(?!000000)\d{6})?"
MOMENT = re.compile(DAY + "T" + HOUR + OFFSET, re.ASCII)
TIME = re.compile(f"{DAY} {HOUR}{FRACTION}(?:{OFFSET})?", re.ASCII)
ESCAPES = {'"': '"', "\\": "\\", "b": "\b", "n": "\n", "f": "\f", "r": "\r"}
IGNORABLE = [(0xAD, 0xAD), (0x34F, 0x34F), (0x61C, 0x61C), (0x115F, 0x1160), (0x17B4, 0x17B5), (0x180B, 0x180F)]
IGNORABLE += [
    (0x200B, 0x200F),
    (0x202A, 0x202E),
    (0x2060, 0x206F),
    (0x3164, 0x3164),
    (0xFE00, 0xFE0F),
    (0xFEFF, 0xFEFF),
]
IGNORABLE += [(0xFFA0, 0xFFA0), (0xFFF0, 0xFFF8), (0x1BCA0, 0x1BCA3), (0x1D173, 0x1D17A), (0xE0000, 0xE0FFF)]
KINDS: dict[str, Any] = json.loads((Path(__file__).parent / "vectors" / "kinds.json").read_bytes())


class WrongError(Exception):
    """The bytes are not what the specification allows."""


def must(held: object) -> None:
    if not held:
        raise WrongError


class Body:
    """A body as its text is walked through, once, from front to back."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.top: dict[str, Any] = {}
        self.begun: set[int] = set()  # lists that began with headers, by identity
        self.bare: set[int] = set()  # tables with a header of their own and no line
        self.first = ""
        self.read()

    def took(self, token: str) -> bool:
        if found := self.text.startswith(token, self.at):
            self.at += len(token)
        return found

    def key(self) -> str:
        if found := BARE.match(self.text, self.at):
            self.at = found.end()
            return found[0]
        name = self.quoted()
        must(not BARE.fullmatch(name))
        return name

    def quoted(self) -> str:
        found = TEXT.match(self.text, self.at)
        if not found:
            raise WrongError
        self.at = found.end()
        return re.sub(r"\\(u(....)|.)", lambda e: chr(int(e[2], 16)) if e[2] else ESCAPES[e[1]], found[1])

    def read(self) -> None:
        must(self.text.endswith("\n") and not self.text.endswith("\n\n"))
        while self.at < len(self.text):
            table = self.top
            if self.at:
                must(self.took("\n"))
            if self.text.startswith("[", self.at):
                table = self.header()
            else:
                must(self.at == 0)
            lines = 0
            while self.at < len(self.text) and not self.text.startswith("\n", self.at):
                name = self.key()
                must(name not in table and self.took(" = ") and not self.text.startswith("{", self.at))
                table[name] = self.value(0)
                must(self.took("\n"))
                lines += 1
            must(lines or table is not self.top)
            if lines:
                self.bare.discard(id(table))

    def header(self) -> dict[str, Any]:
        start = self.at
        many = self.took("[[") or not self.took("[")
        path = [self.key()]
        while self.took("."):
            path.append(self.key())
        must(self.took("]]\n" if many else "]\n"))
        self.first = self.first or self.text[start : self.at - 1]
        table = self.top
        must(len(path) <= DEEPEST)
        for name in path[:-1]:
            if name in table:
                must(next(reversed(table)) == name)
                inner = table[name]
                if isinstance(inner, list):
                    must(id(inner) in self.begun)
                    inner = inner[-1]
                must(isinstance(inner, dict) and id(inner) not in self.bare)
            else:
                inner = table[name] = {}
            table = inner
        name, new = path[-1], dict[str, Any]()
        if many:
            if name in table:
                must(next(reversed(table)) == name and id(table[name]) in self.begun)
            else:
                table[name] = []
                self.begun.add(id(table[name]))
            table[name].append(new)
        else:
            must(name not in table)
            table[name] = new
            self.bare.add(id(new))
        return new

    def value(self, lists: int) -> Any:
        """Behind " = ", or an item of a list of lines: the only values that may go over several lines."""
        if not self.text.startswith("[\n", self.at):
            must(lists < DEEPEST or not self.text.startswith("{", self.at))
            return self.inline(lists)
        must(lists < DEEPEST)
        self.at += 2
        items = []
        while not self.text.startswith(" " * 4 * lists + "]", self.at):
            must(self.took(" " * 4 * (lists + 1)))
            must(not self.text.startswith("[", self.at) or self.text.startswith(("[]", "[\n"), self.at))
            items.append(self.value(lists + 1))
            must(self.took(",\n"))
        must(items and self.took(" " * 4 * lists + "]"))
        return items

    def inline(self, level: int) -> Any:
        if self.text.startswith('"', self.at):
            return self.quoted()
        if self.took("[]"):
            return []
        if self.took("{}"):
            return {}
        if self.took("{ "):
            must(level + 1 < DEEPEST)
            table: dict[str, Any] = {}
            while not table or self.took(", "):
                name = self.key()
                must(name not in table and self.took(" = "))
                table[name] = self.inline(level + 1)
            must(self.took(" }"))
            return table
        if self.took("["):
            must(level + 1 < DEEPEST and not self.text.startswith("[\n", self.at - 1))
            items = [self.inline(level + 1)]
            while self.took(", "):
                items.append(self.inline(level + 1))
            must(self.took("]"))
            return items
        found = PLAIN.match(self.text, self.at)
        if not found:
            raise WrongError
        token = found[0].removesuffix(" ") if self.text.startswith("}", found.end()) else found[0]
        self.at += len(token)
        return plain(token)


def plain(token: str) -> Any:
    if token in ("true", "false"):
        return token == "true"
    try:
        if re.fullmatch(r"0|-?[1-9][0-9]{0,18}", token):
            must(-(2**63) <= int(token) < 2**63)
            return int(token)
        if re.fullmatch(r"-?[0-9]+(\.[0-9]+)?(e[+-][0-9]{2,})?", token):
            number = float(token)
            must(math.isfinite(number) and repr(number) == token)
            return number
        if TIME.fullmatch(token):
            return datetime.fromisoformat(token)
        if re.fullmatch(HOUR + FRACTION, token, re.ASCII):
            return time.fromisoformat(token)
        must(re.fullmatch(DAY, token, re.ASCII))
        return date.fromisoformat(token)
    except ValueError as why:
        raise WrongError from why


def moment(text: object) -> datetime | None:
    try:
        return datetime.fromisoformat(text) if isinstance(text, str) and MOMENT.fullmatch(text) else None
    except ValueError:
        return None


def fits(value: Any, shape: Any) -> bool:
    """Whether a value is of the type that `kinds.json` names."""
    if isinstance(shape, list):
        return isinstance(value, list) and all(fits(item, shape[0]) for item in value)
    if isinstance(shape, dict):
        if "either" in shape:
            return any(fits(value, one) for one in shape["either"])
        if "one of" in shape:
            return isinstance(value, str) and value in shape["one of"]
        if not isinstance(value, dict):
            return False
        named = {name.removesuffix("?"): inner for name, inner in shape.items() if name != "*"}
        if any(name not in value for name in shape if name != "*" and not name.endswith("?")):
            return False
        return all(
            fits(inner, named[name]) if name in named else "*" in shape and fits(inner, shape["*"])
            for name, inner in value.items()
        )
    kind, _, limit = shape.partition(" >= ")
    whole = isinstance(value, int) and not isinstance(value, bool)
    if kind.startswith("text like "):
        return isinstance(value, str) and re.fullmatch(kind.removeprefix("text like "), value) is not None
    found = {
        "anything": True,
        "text": isinstance(value, str),
        "flag": isinstance(value, bool),
        "whole": whole,
        "number": whole or isinstance(value, float),
        "quantity": whole or isinstance(value, float | str),
        "time": isinstance(value, datetime) and value.tzinfo is not None,
        "date": isinstance(value, date) and not isinstance(value, datetime),
        "moment": moment(value) is not None,
    }[kind]
    return found and (not limit or value >= int(limit))


@dataclass
class Record:
    """One file at a place: what it holds, and how it stands so far."""

    file: str
    chain: str
    number: int
    data: bytes = b""
    standing: str = ""
    previous: str = ""
    key: str = ""
    signature: bytes = b""
    sealed: bool = False
    body: dict[str, Any] = field(default_factory=dict)

    @property
    def digest(self) -> str:
        return hashlib.sha256(self.data).hexdigest()

    @property
    def utc(self) -> datetime:
        return datetime.fromisoformat(self.body["record"]["utc"])


def sealed(record: Record) -> bytes:
    """The body, where the seal is well formed and fits it."""
    data = record.data
    start = data.rfind(b"\n[seal]\n") + 1
    found = SEAL.fullmatch(data, start)
    must(start and found and len(data) <= LARGEST)
    assert found
    chain, number, previous, length, digest, key, signature = (part.decode() for part in found.groups())
    body = data[: start - 1]
    must(int(length) == len(body) and hashlib.sha256(body).hexdigest() == digest and bool(key) == bool(signature))
    must((previous == "0" * 64) == (number == "1") and CHAIN.fullmatch(chain))
    record.signature = base64.b64decode(signature)
    must(base64.b64encode(record.signature).decode() == signature)
    record.sealed = True
    must((record.chain, record.number or int(number)) == (chain, int(number)))
    record.previous, record.key, record.number = previous, key, int(number)
    return body


def look(path: Path, record: Record) -> None:
    """Steps 1 and 2 of how a record stands; a standing that stays empty waits for the register."""
    try:
        found = path.lstat()
        must(stat.S_ISREG(found.st_mode) and found.st_size <= LARGEST)
        record.data = path.read_bytes()
        read(record)
    except WrongError:
        record.standing = "wrong"
    except OSError:
        record.standing = "cannot check"


def read(record: Record) -> None:
    """The same for bytes at hand."""
    try:
        body = sealed(record)
        must(not body.startswith(b"\xef\xbb\xbf") and b"\r" not in body)
        walked = Body(body.decode())
        record.body = walked.top
        must(walked.first == "[record]" and "seal" not in walked.top)
        kind = record.body["record"].get("kind")
        must(isinstance(kind, str) and kind in KINDS and fits(record.body, KINDS[kind]))
        head = record.body["record"]
        must(head["utc"].endswith("+00:00") and moment(head["utc"]) == moment(head["local"]))
        if REGISTER.fullmatch(record.chain):
            must(kind in REGISTER_KINDS)
        else:
            must(kind not in REGISTER_KINDS and (kind == "practice") == record.chain.startswith("practice-"))
        record.standing = "" if record.key else "unsigned"
    except (WrongError, UnicodeDecodeError, RecursionError):
        record.standing = "wrong"


@dataclass
class Key:
    """A key that the register admitted."""

    person: str
    public: bytes
    since: datetime
    roles: list[tuple[datetime, str]]
    until: datetime | None = None

    def roles_at(self, at: datetime) -> set[str]:
        ends = [since for since, _ in self.roles[1:]] + [datetime.max.replace(tzinfo=UTC)]
        return {role for (since, role), end in zip(self.roles, ends, strict=True) if since <= at <= end}


def signed(record: Record, keys: dict[str, Key]) -> str:
    """Steps 4 and 5."""
    key, head = keys.get(record.key), record.body["record"]
    if key is None or record.utc < key.since or (key.until and record.utc > key.until):
        return "wrong"
    if head["name"] != key.person or head["role"] not in key.roles_at(record.utc):
        return "wrong"
    message = b"preflight/record/1\n" + record.data[: record.data.rindex(b'signature = "')]
    try:
        Ed25519PublicKey.from_public_bytes(key.public).verify(record.signature, message)
    except (InvalidSignature, ValueError):
        return "wrong"
    return "intact"


def public_key(person: dict[str, Any]) -> tuple[str, bytes]:
    text = person.get("public", "")
    try:
        raw = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        raise WrongError from None
    must(len(raw) == 32 and base64.b64encode(raw).decode() == text)
    return "k-" + hashlib.sha256(raw).hexdigest()[:32], raw


def is_name(name: str) -> bool:
    def allowed(letter: str) -> bool:
        if letter in '"\\' or any(low <= ord(letter) <= high for low, high in IGNORABLE):
            return False
        return letter == " " or unicodedata.category(letter)[0] in "LMNPS"

    return name != "" and name == name.strip(" ") and all(map(allowed, name))


def change(record: Record, keys: dict[str, Key], last: datetime | None) -> None:
    """Let one register record change what holds; raises where it changes nothing."""
    head = record.body["record"]
    kind, at, person = head["kind"], record.utc, record.body.get("person", {})
    name, role = person.get("name", ""), person.get("role", "")
    if kind == "founding":
        named, raw = public_key(person)
        must(record.number == 1 and record.chain == "shop-" + named[2:] and record.key == named)
        must(role == "lead" and is_name(name))
        own = {named: Key(name, raw, at, [(at, role)])}
        must(signed(record, own) == "intact")
        keys.update(own)
        return
    must(
        signed(record, keys) == "intact" and last is not None and at >= last and "lead" in keys[record.key].roles_at(at)
    )
    if kind == "approval":
        return
    before = [key for key in keys.values() if key.person == name]
    must(kind == "retirement" or role in ROLES)
    if kind in ("enrolment", "renewal"):
        named, raw = public_key(person)
        must(named not in keys and bool(before) == (kind == "renewal") and is_name(name))
        keys[named] = Key(name, raw, at, (before[-1].roles if before else []) + [(at, role)])
        if before:
            before[-1].until = before[-1].until or at
    else:
        must(before and before[-1].until is None)
        if kind == "role":
            before[-1].roles.append((at, role))
        else:
            before[-1].until = at


@dataclass
class Head:
    """What somebody kept elsewhere."""

    founder: str
    newest: dict[str, tuple[int, str]]


def read_head(text: str) -> Head:
    found = re.findall(r"^chain (\S+) (\d+)\n((?: +[0-9a-f]{8}){8})$", text, re.MULTILINE)
    founder = re.search(r"^founder (k-\S+)", text, re.MULTILINE)
    return Head(founder[1] if founder else "", {c: (int(n), d.replace(" ", "")) for c, n, d in found})


def place(chain: str, number: int) -> str:
    return f"{chain}/{number // 1000:05}/{number:08}.toml"


@dataclass
class Folder:
    """How a folder of checklists stands, with all that was found in it."""

    records: dict[str, str] = field(default_factory=dict)
    chains: dict[str, str] = field(default_factory=dict)
    problems: set[tuple[str, tuple[str, ...]]] = field(default_factory=set)
    keys: dict[str, Key] = field(default_factory=dict)

    @property
    def status(self) -> str:
        return worst([*self.records.values(), *self.chains.values(), *(standing for standing, _ in self.problems)])


def worst(standings: list[str]) -> str:
    return max(standings, key=STANDINGS.index, default="intact")


def visible(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if not path.name.startswith("."))


def is_folder(path: Path) -> bool:
    return stat.S_ISDIR(path.lstat().st_mode)


def gather(folder: Path, chain: str) -> tuple[dict[int, Record], list[Path]]:
    """The records of a chain by number, and the .toml files that lie where none does."""
    records: dict[int, Record] = {}
    strays: list[Path] = []
    waiting = [folder / chain]
    while waiting:
        for path in visible(waiting.pop()):
            file = path.relative_to(folder).as_posix()
            digits = re.fullmatch(r"([0-9]{8})\.toml", path.name)
            if digits and int(digits[1]) and file == place(chain, int(digits[1])):
                records[int(digits[1])] = record = Record(file, chain, int(digits[1]))
                look(path, record)
            elif is_folder(path):
                waiting.append(path)
            elif path.name.lower().endswith(".toml"):
                strays.append(path)
    return records, strays


def judge_chain(
    out: Folder, folder: Path, chain: str, records: dict[int, Record], strays: list[Path], head: Head | None
) -> None:
    """Gaps, forks and files out of place."""
    found: list[tuple[str, tuple[str, ...]]] = []
    present = [0, *sorted(records)]
    found += [("gap", (place(chain, a + 1),)) for a, b in pairwise(present) if b > a + 1]
    sound = {n: r for n, r in records.items() if r.standing != "wrong" and r.previous}
    torn = {n for n, r in sound.items() if n - 1 in sound and r.previous != sound[n - 1].digest}
    between = {n for n in torn if n + 1 in torn and sound[n].standing == "unsigned"}
    found += [("wrong", (sound[n].file,)) for n in between]
    found += [("fork", (place(chain, n - 1), place(chain, n))) for n in torn if not {n, n - 1} & between]
    for path in strays:
        stray = Record(path.relative_to(folder).as_posix(), chain, 0)
        try:
            must(stat.S_ISREG(path.lstat().st_mode) and path.lstat().st_size <= LARGEST)
            stray.data = path.read_bytes()
            sealed(stray)
            must(stray.number in records and records[stray.number].sealed)
            must(records[stray.number].digest != stray.digest)
            found.append(("fork", (stray.file, place(chain, stray.number))))
        except (WrongError, OSError):
            found.append(("wrong", (stray.file,)))
    found += [("wrong", (r.file,)) for r in records.values() if r.standing == "wrong"]
    if head and chain in head.newest:
        number, digest = head.newest[chain]
        if number in sound and sound[number].digest != digest:
            found.append(("fork", (place(chain, number),)))
        if present[-1] < number:
            found.append(("cut tail", (place(chain, present[-1] + 1),)))
    out.chains[chain] = worst([*(r.standing for r in records.values()), *(standing for standing, _ in found)])
    out.problems.update(found)


def judge(folder: Path, head: Head | None = None) -> Folder:
    """Judge every file of a shop's folder `checklists`."""
    out = Folder()
    chains: dict[str, tuple[dict[int, Record], list[Path]]] = {}
    for path in visible(folder):
        if CHAIN.fullmatch(path.name) and is_folder(path):
            chains[path.name] = gather(folder, path.name)
        elif path.is_dir() or path.name.lower().endswith(".toml"):
            out.problems.add(("wrong", (path.name,)))
    registers = [name for name, (records, _) in chains.items() if records and REGISTER.fullmatch(name)]
    if head and head.founder:
        registers = [name for name in registers if name == "shop-" + head.founder[2:]]
    elif len(registers) > 1:
        out.problems.add(("fork", ()))
    idle: list[Record] = []
    if len(registers) == 1:
        last: datetime | None = None
        for _, record in sorted(chains[registers[0]][0].items()):
            try:
                must(not record.standing)
                change(record, out.keys, last)
                last = record.utc
            except WrongError:
                idle.append(record)
    for name, (records, strays) in chains.items():
        for record in records.values():
            if not record.standing:
                record.standing = signed(record, out.keys) if out.keys else "cannot check"
            out.records[record.file] = record.standing
        judge_chain(out, folder, name, records, strays, head)
    if out.keys:
        named = {file for _, files in out.problems for file in files}
        out.problems.update(("wrong", (record.file,)) for record in idle if record.file not in named)
    elif len(registers) == 1 and not head:
        out.problems.add(("wrong", ()))
    for name in head.newest.keys() - chains.keys() if head else ():
        out.problems.add(("cut tail", (name,)))
    return out

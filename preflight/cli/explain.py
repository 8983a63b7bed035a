"""`preflight verify --explain N`: the check of one record, step by step, each with the commands that repeat it.

What is printed is a POSIX shell script: statements are comments, and after `#>` stands how a command's output begins
where the step holds. Who distrusts this program runs the commands with a system's own shell and OpenSSL instead.
"""

from __future__ import annotations

import base64
import hashlib
import shlex
from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from preflight.checklist.chain import ChainError, ChainFiles, chains_root, newest, relative_path
from preflight.checklist.chain_check import worst
from preflight.checklist.record import Status, read_record, unreadable
from preflight.checklist.seal import NO_PREVIOUS, SealError, read_seal
from preflight.checklist.signing import signature_fits
from preflight.outside_text import shown

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preflight.checklist.record import Record
    from preflight.checklist.register import Register
    from preflight.checklist.seal import Sealed
    from preflight.checklist.shop_check import Trust
    from preflight.checklist.signing import AdmittedKey

WIDTH = 78
"""Columns of a statement; commands are not broken."""
VERIFIED = "Signature Verified Successfully"
"""What OpenSSL prints."""
_DER_HEAD = r"\060\052\060\005\006\003\053\145\160\003\041\000"
"""What stands before the 32 bytes of an Ed25519 key in the form that OpenSSL reads (RFC 8410), as octal numbers."""


@dataclass(frozen=True, slots=True)
class Command:
    """One line for the shell."""

    text: str
    prints: str = ""
    """How its output begins where the step holds; empty: it prints nothing, or something to be read."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that is looked at."""

    statement: str
    holds: bool = True
    commands: tuple[Command, ...] = ()
    status: Status | None = None
    """What a link makes of the record when it does not hold; the record's own steps are in its standing."""
    broken: str = ""
    """What is said then."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """One record, and how its standing comes about."""

    root: Path
    """The folder of chains, in which the commands are run."""
    chain: str
    number: int
    record: Record
    steps: tuple[Step, ...]
    register: str = ""
    """What was found about the register, whose keys then count for nothing."""

    @property
    def status(self) -> Status:
        """How the record stands, its links to its neighbours included."""
        return worst([self.record.status, *(step.status for step in self.steps if step.status and not step.holds)])

    @property
    def statement(self) -> str:
        """Why."""
        broken = [step.broken for step in self.steps if step.status and not step.holds]
        return " ".join(text for text in (self.record.statement, *broken, self.register) if text)


def explain(folder: Path, chain: str, number: int, trusted: Trust) -> Explanation:
    """The steps for one record of a shop folder, or of a copy of its chains. ChainError when it is not there."""
    root, register = chains_root(folder), trusted.register
    found = trusted.problem.statement if trusted.problem else ""
    last = newest(root / chain)
    if not 1 <= number <= last:
        raise ChainError(f"{chain} has no record {number}.", f"Its newest is {last}." if last else "It has no records.")
    with ChainFiles(root, chain) as files:
        try:
            data = files.read(number)
        except OSError as error:
            record = unreadable(error)
            return Explanation(root, chain, number, record, (Step(record.statement, holds=False),), found)
        record = read_record(data, register, chain, number)
        steps = [_place(record, chain, number, data)]
        if record.sealed is not None:
            steps += [_body(record.sealed, chain, number), *_links(record.sealed, files, chain, number)]
            steps += [_printed(record, chain, number), *_signature(record, register, root, chain, number)]
    if register and chain == register.chain:
        steps += [_idle(text) for fault, text in register.faults if fault == number and record.status is Status.INTACT]
    return Explanation(root, chain, number, record, tuple(steps), found)


def script(explanation: Explanation) -> Iterator[str]:
    """The explanation as lines of a shell script."""
    status, statement = explanation.status, explanation.statement
    yield from _comment(f"Record {explanation.number} of {explanation.chain}: {status.value}. {statement}")
    yield from _comment(
        "The commands need a POSIX shell and OpenSSL 3. After #> stands how their output begins where the step holds."
    )
    yield f"cd {shlex.quote(str(explanation.root.absolute()))}"
    yield "work=$(mktemp -d)"
    for number, step in enumerate(explanation.steps, 1):
        yield ""
        yield from _comment(f"{number}. {'' if step.holds else 'DOES NOT HOLD: '}{step.statement}")
        for command in step.commands:
            yield command.text
            if command.prints:
                yield f"#> {command.prints}"
    yield ""
    yield 'rm -r "$work"'


def _comment(statement: str) -> list[str]:
    return [f"# {line}" for line in wrap(shown(statement), WIDTH, break_long_words=False, break_on_hyphens=False)]


def as_json(explanation: Explanation) -> dict[str, Any]:
    """The stable document of an explanation."""
    return {
        "chain": explanation.chain,
        "sequence": explanation.number,
        "status": explanation.status.value,
        "statement": explanation.statement,
        "register": explanation.register,
        "folder": str(explanation.root.absolute()),
        "steps": [
            {
                "statement": step.statement,
                "holds": step.holds,
                "commands": [{"command": command.text, "prints": command.prints} for command in step.commands],
            }
            for step in explanation.steps
        ],
    }


def _place(record: Record, chain: str, number: int, data: bytes) -> Step:
    size = Command(f"wc -c < {_path(chain, number)}", str(len(data)))
    if record.sealed is None:
        return Step(f"The seal at the end of the file and the bytes before it: {record.statement}", False, (size,))
    sealed = record.sealed
    fits = (sealed.machine, sealed.sequence) == (chain, number)
    statement = (
        f"The file has {len(data)} bytes and lies where its seal says: number {sealed.sequence} of {sealed.machine}. "
        "The seal is its last nine lines."
    )
    return Step(statement, fits, (size, Command(f"tail -n 9 {_path(chain, number)}", "[seal]")))


def _body(sealed: Sealed, chain: str, number: int) -> Step:
    digest = hashlib.sha256(sealed.body).hexdigest()
    command = f"head -c {sealed.body_bytes} {_path(chain, number)} | openssl dgst -sha256 -r"
    statement = f"The body, the first {sealed.body_bytes} bytes, has the SHA-256 that the seal gives as body_sha256."
    return Step(statement, commands=(Command(command, digest),))


def _links(sealed: Sealed, files: ChainFiles, chain: str, number: int) -> Iterator[Step]:
    """To the record before, and from the one after where there is one."""
    if number == 1:
        yield Step("It is the first of its chain: previous is 64 zeros.", sealed.previous == NO_PREVIOUS)
    else:
        before = _digest(files, number - 1)
        command = Command(f"openssl dgst -sha256 -r {_path(chain, number - 1)}", sealed.previous)
        yield Step(
            f"The SHA-256 of the whole record {number - 1} stands in the seal as previous.",
            before == sealed.previous,
            (command,) if before else (),
            Status.FORK if before else Status.GAP,
            f"It does not follow the record {number - 1} that lies here."
            if before
            else f"Record {number - 1} is missing.",
        )
    try:
        following = read_seal(files.read(number + 1))
    except OSError:
        return
    except SealError as error:
        yield Step(f"Record {number + 1} cannot be asked whether it follows this one: {error.message}")
        return
    yield Step(
        f"Record {number + 1} gives the SHA-256 of this whole file as previous.",
        following.previous == sealed.sha256,
        (Command(f"openssl dgst -sha256 -r {_path(chain, number)}", following.previous),),
        Status.FORK,
        f"Record {number + 1} does not follow it.",
    )


def _printed(record: Record, chain: str, number: int) -> Step:
    look = (Command(f"sed -n '/^\\[record\\]$/,/^$/p' {_path(chain, number)}", "[record]"),)
    if record.content is None:
        return Step(record.statement, False)
    heading = record.content.heading
    statement = (
        f"The body is written as a record of the kind {heading.kind} is, and prints: {heading.name}, {heading.role}, "
        f"{heading.utc.isoformat()}."
    )
    return Step(statement, commands=look)


def _signature(record: Record, register: Register | None, root: Path, chain: str, number: int) -> Iterator[Step]:
    sealed = record.sealed
    assert sealed is not None
    if not sealed.key_id:
        yield Step("It carries no signature: whoever can write to the folder could have made it.", False)
        return
    key = register.find(sealed.key_id) if register else None
    if register is None or key is None:
        why = "nobody was admitted with it" if register else "no public keys are at hand"
        yield Step(f"It is signed with the key {sealed.key_id}: {why}.", False)
        return
    admission = _admission(root, register, key)
    public = _path(register.chain, admission)
    yield Step(
        f"The public key stands in record {admission} of the register, {register.chain}, and its name {sealed.key_id} "
        "is the beginning of its SHA-256. That record is checked by the same steps"
        + (", and the register is named after this first key." if admission == 1 else "."),
        commands=(
            Command(f"""sed -n 's/^public = "\\(.*\\)"$/\\1/p' {public} | openssl base64 -d -A > "$work/public\""""),
            Command('openssl dgst -sha256 -r "$work/public"', sealed.key_id.removeprefix("k-")),
        ),
    )
    path = _path(chain, number)
    covered, fits = sealed.signed_bytes, signature_fits(key.public, sealed.signature, sealed.signed)
    yield Step(
        f"The signature is Ed25519 over the line preflight/record/1 and the first {covered} bytes of the file.",
        fits,
        (
            Command(f"""{{ printf '{_DER_HEAD}'; cat "$work/public"; }} > "$work/public.der\""""),
            Command(f"""{{ printf 'preflight/record/1\\n'; head -c {covered} {path}; }} > "$work/signed\""""),
            Command(f"""tail -n 1 {path} | cut -d '"' -f 2 | openssl base64 -d -A > "$work/signature\""""),
            Command(
                'openssl pkeyutl -verify -pubin -keyform DER -inkey "$work/public.der" -rawin '
                '-in "$work/signed" -sigfile "$work/signature"',
                VERIFIED,
            ),
        ),
    )
    if fits and record.content is not None:
        yield _signer(record, key)


def _signer(record: Record, key: AdmittedKey) -> Step:
    """What the register says of the signer beside what the record prints."""
    span = f"from {key.valid_from.isoformat()}" if key.valid_from else "from the beginning"
    span += f" to {key.valid_until.isoformat()}" if key.valid_until else " on"
    roles = ", ".join(f"{role} from {since.isoformat()}" for since, role in key.roles)
    statement = f"By the register the key is that of {key.person} and counts {span}, both ends included; {roles}."
    return Step(f"{statement} {record.statement}", record.status is not Status.WRONG)


def _idle(why: str) -> Step:
    return Step(f"It changes nothing in the register: {why}", False, (), Status.WRONG, f"It changes nothing. {why}")


def _admission(root: Path, register: Register, key: AdmittedKey) -> int:
    """Number of the register's record that admitted this public key."""
    without_effect = {number for number, _ in register.faults}
    with ChainFiles(root, register.chain) as files:
        for number in range(1, newest(root / register.chain) + 1):
            content = None if number in without_effect else read_record(files.read(number), None).content
            public = content.document.get("person", {}).get("public", "") if content else ""
            if base64.b64decode(public) == key.public:
                return number
    raise ChainError(f"The record that admitted {key.person} has gone from {register.chain}.")


def _digest(files: ChainFiles, number: int) -> str | None:
    try:
        return hashlib.sha256(files.read(number)).hexdigest()
    except OSError:
        return None


def _path(chain: str, number: int) -> str:
    return f"{chain}/{relative_path(number).as_posix()}"

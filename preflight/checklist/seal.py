"""The seal at the end of a record: exact bytes out, strict reading in.

    <body>
    <blank line>
    [seal]
    layout = 1
    machine = "m-7f3a91c2d04e"
    sequence = 12
    previous = "<64 hex>"        SHA-256 of the whole previous file; 64 zeros for the first
    body_bytes = 10240
    body_sha256 = "<64 hex>"
    key_id = "k-<32 hex>"        empty: unsigned
    signature = "<base64>"       empty: unsigned

There is one way to write each seal and the reader accepts no other. It matches one pattern, anchored at the end of
the file, on the last kilobyte; it never searches for `[seal]`, which a body may hold in its text.
"""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.signing import SIGNATURE_BYTES
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from preflight.checklist.signing import Signer

LAYOUT = 1
"""Number of the layout; a change of the layout is a new number and a new `SIGNED_PREFIX`."""

SIGNED_PREFIX = b"preflight/record/1\n"
"""Stands before the signed bytes, so that a signature made for another purpose never fits a record."""

NO_PREVIOUS = "0" * 64
"""What the first record of a chain names as the one before."""

LAST_SEQUENCE = 99_999_999
"""The number has eight digits in the file name."""

LARGEST_RECORD = 2**20
"""Bytes; a real start-up has 30 to 65 thousand."""

_TAIL_BYTES = 1024
_BOM = b"\xef\xbb\xbf"
_CR = b"\r"
_MACHINE = r"[a-z0-9]+(?:-[a-z0-9]+)*"
_MACHINE_ID = re.compile(_MACHINE)
_RESERVED = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))})
_KEY_ID = re.compile(r"k-[0-9a-f]{32}")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_SEAL = re.compile(
    rb"\n\[seal\]\n"
    rb"layout = 1\n"
    rb'machine = "(?P<machine>' + _MACHINE.encode() + rb')"\n'
    rb"sequence = (?P<sequence>[1-9][0-9]{0,7})\n"
    rb'previous = "(?P<previous>[0-9a-f]{64})"\n'
    rb"body_bytes = (?P<body_bytes>[1-9][0-9]{0,7})\n"
    rb'body_sha256 = "(?P<body_sha256>[0-9a-f]{64})"\n'
    # Canonical base64: the last digit of 64 bytes carries two bits, so only A, Q, g, w are spelt right.
    rb'key_id = "(?P<key_id>k-[0-9a-f]{32}|)"\n'
    rb'signature = "(?P<signature>[A-Za-z0-9+/]{85}[AQgw]==|)"\n\Z'
)


class SealError(PreflightError):
    """The bytes are not a well-sealed record. Exit status 2: a failed verification."""

    def __init__(self, message: str) -> None:
        super().__init__(message, exit_status=2)


@dataclass(frozen=True)
class Sealed:
    """A record whose seal was read and whose body fits it. Says nothing yet about its signature or its chain."""

    machine: str
    """Id of the machine whose chain it belongs to."""
    sequence: int
    """Number in that chain, from 1."""
    previous: str
    """SHA-256 of the whole previous file."""
    key_id: str
    """Name of the signing key; empty when unsigned."""
    signature: bytes
    """64 bytes; empty when unsigned."""
    sha256: str
    """SHA-256 of the whole file."""
    data: bytes
    """The whole file."""
    body_bytes: int
    """Length of the body."""
    signed_bytes: int
    """Length of the part that the signature covers."""

    @property
    def body(self) -> bytes:
        """The body alone."""
        return self.data[: self.body_bytes]

    @property
    def signed(self) -> bytes:
        """What the signature is made over."""
        return SIGNED_PREFIX + self.data[: self.signed_bytes]


def is_machine_id(text: str) -> bool:
    """Whether `text` can name a chain, and so a folder on any system: lower-case letters, digits, single hyphens."""
    return len(text) <= 64 and _MACHINE_ID.fullmatch(text) is not None and text not in _RESERVED


def seal(body: bytes, *, machine: str, sequence: int, previous: str, signer: Signer | None) -> bytes:
    """The whole record: `body`, then its seal, signed when there is a signer.

    ValueError when the machine id, the number, the previous digest or the body do not fit the layout.
    """
    if not is_machine_id(machine):
        raise ValueError(f"not a machine id: {machine!r}")
    if not 1 <= sequence <= LAST_SEQUENCE:
        raise ValueError(f"a record's number is 1 to {LAST_SEQUENCE}, not {sequence}")
    if not _SHA256.fullmatch(previous) or (sequence == 1) != (previous == NO_PREVIOUS):
        raise ValueError("the previous digest is 64 lower-case hexadecimal digits, all zero for the first record only")
    if fault := _body_fault(body):
        raise ValueError(fault)
    key_id = signer.key_id if signer else ""
    if signer and not _KEY_ID.fullmatch(key_id):
        raise ValueError(f"not a key id: {key_id!r}")
    lines = (
        "",
        "[seal]",
        f"layout = {LAYOUT}",
        f'machine = "{machine}"',
        f"sequence = {sequence}",
        f'previous = "{previous}"',
        f"body_bytes = {len(body)}",
        f'body_sha256 = "{hashlib.sha256(body).hexdigest()}"',
        f'key_id = "{key_id}"',
        "",
    )
    covered = body + "\n".join(lines).encode()
    signature = signer.sign(SIGNED_PREFIX + covered) if signer else b""
    if signer and len(signature) != SIGNATURE_BYTES:
        raise ValueError(f"a signature has {SIGNATURE_BYTES} bytes, not {len(signature)}")
    return covered + b'signature = "' + base64.b64encode(signature) + b'"\n'


def read_seal(data: bytes) -> Sealed:
    """The record in `data`, when seal and body fit each other to the byte. SealError says what does not."""
    if len(data) > LARGEST_RECORD:
        raise SealError(f"The file has {len(data)} bytes, more than any record.")
    found = _SEAL.search(data, max(0, len(data) - _TAIL_BYTES))
    if found is None:
        raise SealError(_seal_fault(data))
    body = data[: found.start()]
    stated = int(found["body_bytes"])
    if len(body) != stated:
        raise SealError(f"The body has {len(body)} bytes, its seal says {stated}: bytes were added or removed.")
    digest = hashlib.sha256(body)
    if digest.hexdigest().encode() != found["body_sha256"]:
        raise SealError(f"The body (bytes 1 to {stated}) does not fit its seal: it was changed.")
    if fault := _body_fault(body):
        raise SealError(f"The body is not in a record's layout: {fault}.")
    machine = found["machine"].decode()
    sequence = int(found["sequence"])
    previous = found["previous"].decode()
    if not is_machine_id(machine):
        raise SealError("The seal names no valid machine id.")
    if (sequence == 1) != (previous == NO_PREVIOUS):
        raise SealError("The seal's link does not fit its number: only the first record has no record before it.")
    if bool(found["key_id"]) != bool(found["signature"]):
        raise SealError("The seal has a key without a signature, or a signature without a key.")
    digest.update(data[found.start() :])  # goes on from the body's digest: every byte is hashed once
    return Sealed(
        machine=machine,
        sequence=sequence,
        previous=previous,
        key_id=found["key_id"].decode(),
        signature=base64.b64decode(found["signature"]),
        sha256=digest.hexdigest(),
        data=data,
        body_bytes=stated,
        signed_bytes=found.start("signature") - len(b'signature = "'),
    )


def _body_fault(body: bytes) -> str:
    if not body.endswith(b"\n") or body.endswith(b"\n\n") or body == b"\n":
        return "a body ends in exactly one line feed"
    if body.startswith(_BOM):
        return "a body has no byte-order mark"
    if _CR in body:
        return f"a body has no carriage return (byte {body.index(_CR) + 1})"
    try:
        body.decode()
    except UnicodeDecodeError as error:
        return f"a body is UTF-8 (byte {error.start + 1} is not)"
    return ""


def _seal_fault(data: bytes) -> str:
    """Why no seal was found, as far as the bytes tell."""
    if not data:
        return "The file is empty."
    if _CR in data:
        return f"Line endings were changed (first at byte {data.index(_CR) + 1})."
    if not data.endswith(b'"\n'):
        return "The end of the file is missing or something was added after the seal."
    return "The seal at the end of the file was changed or is not there."

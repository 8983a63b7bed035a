"""A person's key pair, the private half sealed under a PIN or passphrase.

The key is sealed as scrypt (RFC 7914) and ChaCha20-Poly1305 (RFC 8439) over the 32 raw bytes. A sealed key that was
carried off can still be tried offline, PIN by PIN: scrypt makes each try cost about half a second and 128 MiB.
Who is admitted, as what and since when, is not decided here: that is what the signed records of enrolment say.
"""

from __future__ import annotations

import base64
import hashlib
import itertools
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preflight.checklist.signing import Ed25519Signer, key_id, require_library
from preflight.errors import PreflightError
from preflight.outside_text import unfit

if TYPE_CHECKING:
    from collections.abc import Mapping

ROLES = ("operator", "trainer", "lead")
"""What a person can be."""

SHORTEST_PIN = 8
"""Digits of an operator's or trainer's PIN."""

SHORTEST_PASSPHRASE = 14
"""Characters of a lead's passphrase."""

FEWEST_DIFFERENT = 6
"""Different characters in it."""

_PREFIX = "preflight/key/1"
_KDF = "scrypt"
_CIPHER = "ChaCha20-Poly1305"
_SEED_BYTES = 32
_NONCE_BYTES = 12
_TAG_BYTES = 16


class PersonError(PreflightError):
    """A name, PIN or key file that cannot be used."""


class WrongSecretError(PersonError):
    """The PIN or passphrase does not open the key, or the sealed key was altered: the two cannot be told apart."""


@dataclass(frozen=True)
class Cost:
    """What one try costs: the parameters of scrypt. ValueError outside the bounds, which a file must keep too."""

    n: int = 2**17
    """Rounds and memory; a power of two, 2^15 to 2^20."""
    r: int = 8
    """Block size, 8 to 16."""
    p: int = 1
    """Lanes, 1 to 8."""

    def __post_init__(self) -> None:
        # A low cost would weaken the key; a high one in a planted file would stop the terminal.
        if not (2**15 <= self.n <= 2**20 and self.n.bit_count() == 1 and 8 <= self.r <= 16 and 1 <= self.p <= 8):
            raise ValueError(f"scrypt parameters out of bounds: n {self.n}, r {self.r}, p {self.p}")


@dataclass(frozen=True)
class Person:
    """One person's key. Nothing in it is secret, but it can be tried offline: keep it to its owner."""

    name: str
    """Printed name."""
    role: str
    """One of `ROLES`, as enrolled."""
    public: bytes
    """The 32 raw bytes of the public key."""
    cost: Cost
    """Parameters that the key was sealed with."""
    salt: bytes
    """16 random bytes."""
    nonce: bytes
    """12 random bytes."""
    sealed: bytes
    """The private key and its tag, 48 bytes."""

    @property
    def key_id(self) -> str:
        """Name of the key, as it stands in a seal."""
        return key_id(self.public)


def secret_rule(role: str) -> str:
    """What a new PIN or passphrase must be, in a sentence to be said before it is typed."""
    if role == "lead":
        return (
            f"A passphrase has at least {SHORTEST_PASSPHRASE} characters, {FEWEST_DIFFERENT} of them different: "
            "four or more words do."
        )
    return (
        f"A PIN has at least {SHORTEST_PIN} digits and nothing else; not one digit repeated, not counting up or down."
    )


def secret_fault(role: str, secret: str) -> str:
    """Why a new PIN or passphrase is not good enough, as a sentence; empty when it is."""
    if role == "lead":
        if len(secret) < SHORTEST_PASSPHRASE:
            return f"A lead's passphrase has at least {SHORTEST_PASSPHRASE} characters: four or more words do."
        few = f"This passphrase has fewer than {FEWEST_DIFFERENT} different characters."
        return few if len(set(secret)) < FEWEST_DIFFERENT else ""
    if not (secret.isascii() and secret.isdecimal()) or len(secret) < SHORTEST_PIN:
        return f"A PIN has at least {SHORTEST_PIN} digits and nothing else."
    steps = {(int(two) - int(one)) % 10 for one, two in itertools.pairwise(secret)}
    return "This PIN is one digit repeated, or counts up or down: choose another." if len(steps) == 1 else ""


def enrol(
    name: str, role: str, secret: str, *, seed: bytes, salt: bytes, nonce: bytes, cost: Cost | None = None
) -> Person:
    """A new person with a sealed key. Takes about half a second and 128 MiB: run it in a thread.

    seed, salt, nonce: 32, 16 and 12 bytes from the system's random source; ValueError on other lengths.
    PersonError when the name, the role or the secret will not do.
    """
    if (len(seed), len(salt), len(nonce)) != (_SEED_BYTES, 16, _NONCE_BYTES):
        raise ValueError("a seed has 32 bytes, a salt 16 and a nonce 12")
    require_name(name, role)
    require_new_name(name)
    if fault := secret_fault(role, secret):
        raise PersonError(fault)
    require_library()
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

    cost = cost or Cost()
    public = Ed25519Signer(seed).public
    key = derive(_secret_bytes(secret), salt, n=cost.n, r=cost.r, p=cost.p)
    sealed = ChaCha20Poly1305(key).encrypt(nonce, seed, _associated(name, key_id(public), cost))
    return Person(name, role, public, cost, salt, nonce, sealed)


def unlock(person: Person, secret: str) -> Ed25519Signer:
    """The person's signer. Takes about half a second and 128 MiB: run it in a thread. WrongSecretError else."""
    require_library()
    from cryptography.exceptions import InvalidTag
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

    key = derive(_secret_bytes(secret), person.salt, n=person.cost.n, r=person.cost.r, p=person.cost.p)
    associated = _associated(person.name, person.key_id, person.cost)
    try:
        seed = ChaCha20Poly1305(key).decrypt(person.nonce, person.sealed, associated)
    except InvalidTag:  # the cause would say no more
        raise WrongSecretError(f"This does not open the key of {person.name}.", "Try again.") from None
    signer = Ed25519Signer(seed)
    if signer.public != person.public:
        raise PersonError(f"The key file of {person.name} holds two keys that do not belong together.")
    return signer


def seconds_to_wait(wrong_tries: int) -> float:
    """How long to refuse the next try after so many wrong ones: not at all for two, then doubling to five minutes.

    >>> [seconds_to_wait(tries) for tries in (0, 2, 3, 4, 5, 20)]
    [0.0, 0.0, 2.0, 4.0, 8.0, 300.0]
    """
    return 0.0 if wrong_tries < 3 else float(min(300, 2 ** min(wrong_tries - 2, 10)))


def derive(secret: bytes, salt: bytes, *, n: int, r: int, p: int, length: int = 32) -> bytes:
    """scrypt of RFC 7914. PersonError when the machine has not the memory (128·n·r bytes)."""
    # hashlib refuses more than 32 MiB unless it is told the limit.
    limit = 128 * r * (n + p + 2) + 2**20
    try:
        return hashlib.scrypt(secret, salt=salt, n=n, r=r, p=p, maxmem=limit, dklen=length)
    except MemoryError as error:
        need = f"{limit // 2**20} MiB"
        raise PersonError(f"Opening a key needs {need} of memory, which is not free.", "Close a program.") from error


def to_table(person: Person) -> dict[str, Any]:
    """The person as plain values for a TOML file; `from_table` is the inverse."""
    return {
        "schema": 1,
        "name": person.name,
        "role": person.role,
        "public": _text(person.public),
        "key": {
            "kdf": _KDF,
            "n": person.cost.n,
            "r": person.cost.r,
            "p": person.cost.p,
            "salt": _text(person.salt),
            "cipher": _CIPHER,
            "nonce": _text(person.nonce),
            "sealed": _text(person.sealed),
        },
    }


def from_table(table: Mapping[str, Any]) -> Person:
    """The person in a table. PersonError on a missing, unknown or malformed value, before anything is computed."""
    key = table.get("key")
    names = {"schema", "name", "role", "public", "key"}
    inner = {"kdf", "n", "r", "p", "salt", "cipher", "nonce", "sealed"}
    if set(table) != names or not isinstance(key, dict) or set(key) != inner:
        raise PersonError("This is no key file: its keys are not those of one.")
    if (table["schema"], key["kdf"], key["cipher"]) != (1, _KDF, _CIPHER):
        raise PersonError("This key file is of a kind that this version does not know.")
    if any(type(key[name]) is not int for name in "nrp"):
        raise PersonError("The key file's n, r and p are whole numbers.")
    try:
        cost = Cost(key["n"], key["r"], key["p"])
    except ValueError as error:
        raise PersonError(f"The key file is refused: {error}.") from error
    require_name(table["name"], table["role"])
    return Person(
        name=table["name"],
        role=table["role"],
        public=_bytes(table["public"], "public", 32),
        cost=cost,
        salt=_bytes(key["salt"], "salt", 16),
        nonce=_bytes(key["nonce"], "nonce", _NONCE_BYTES),
        sealed=_bytes(key["sealed"], "sealed", _SEED_BYTES + _TAG_BYTES),
    )


def key_file(person: Person) -> bytes:
    """The bytes of a person's key file."""
    import tomli_w

    return tomli_w.dumps(to_table(person)).encode()


def _associated(name: str, key: str, cost: Cost) -> bytes:
    """What the seal of a key is bound to: the key of one person cannot be put under another's name."""
    return "\n".join((_PREFIX, name, key, f"{_KDF} n={cost.n} r={cost.r} p={cost.p}", "")).encode()


def _secret_bytes(secret: str) -> bytes:
    """One spelling of accented letters, whatever the keyboard sends."""
    return unicodedata.normalize("NFC", secret).encode()


def require_new_name(name: str) -> None:
    """PersonError for a name that nobody is admitted under any more, since it holds what cannot be seen."""
    if why := unfit(name):
        raise PersonError(f"This name {why}.", "Type it again without.")


def require_name(name: object, role: object) -> None:
    """PersonError when these cannot be a printed name and a role."""
    if role not in ROLES:
        raise PersonError(f"A role is one of {', '.join(ROLES)}, not {role!r}.")
    if not isinstance(name, str) or not name.strip() or name != name.strip() or not name.isprintable():
        raise PersonError("A name is printable text without blanks at its ends.")
    if '"' in name or "\\" in name:  # a verification finds the printed name without parsing
        raise PersonError("A name has no quotation mark and no backslash.")


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _bytes(text: object, name: str, length: int) -> bytes:
    try:
        data = base64.b64decode(text, validate=True) if isinstance(text, str) else b""
    except ValueError:  # also what is not base64
        data = b""
    if len(data) != length or _text(data) != text:
        raise PersonError(f"The key file's '{name}' is not {length} bytes in base64.")
    return data

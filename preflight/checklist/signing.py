"""Who signs and whose signature counts, as two small protocols, and Ed25519 (RFC 8032) behind them.

`cryptography` is imported inside the functions that need it: an unsigned chain is written and verified without it.
"""

from __future__ import annotations

import functools
import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from preflight.errors import PreflightError

if TYPE_CHECKING:
    from datetime import datetime

    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

SIGNATURE_BYTES = 64
"""Length of an Ed25519 signature."""


class Signer(Protocol):
    """Signs records with one person's key. None in its place means: the record stays unsigned."""

    @property
    def key_id(self) -> str:
        """Name of the key, as `key_id` below makes it."""
        ...

    def sign(self, message: bytes) -> bytes:
        """The 64 signature bytes over `message`."""
        ...


@dataclass(frozen=True)
class AdmittedKey:
    """One person's public key, and when signatures made with it count."""

    public: bytes
    """The 32 raw bytes of the Ed25519 public key."""
    person: str
    """Printed name, for the statements of a verification."""
    valid_from: datetime | None = None
    """First moment, with offset; None: no limit."""
    valid_until: datetime | None = None
    """Last moment, with offset; None: still valid."""
    roles: tuple[tuple[datetime, str], ...] = ()
    """From when the person was what, oldest first; empty: not known, and what a record prints is not compared."""

    def role_at(self, moment: datetime) -> str:
        """The role at that moment; empty before the first, or when no roles are known."""
        return next((role for since, role in reversed(self.roles) if since <= moment), "")

    def was(self, role: str, moment: datetime) -> bool:
        """Whether the person was that then; in the very second of a change both the old and the new."""
        ends = [since for since, _ in self.roles[1:]]
        spans = zip(self.roles, [*ends, None], strict=True)
        return any(one == role and since <= moment and (end is None or moment <= end) for (since, one), end in spans)


class Keyring(Protocol):
    """The public keys that a verification trusts."""

    def find(self, key_id: str) -> AdmittedKey | None:
        """The key of that name; None when nobody was admitted with it."""
        ...


class SigningUnavailableError(PreflightError):
    """The signature library is not installed, so a signature can be neither made nor checked."""


def key_id(public: bytes) -> str:
    """Name of a public key: `k-` and the first 32 hexadecimal digits of its SHA-256."""
    return "k-" + hashlib.sha256(public).hexdigest()[:32]


class Ed25519Signer:
    """Signs with a raw Ed25519 private key held in memory.

    `private` is the 32-byte seed of RFC 8032. ValueError on another length.
    """

    def __init__(self, private: bytes) -> None:
        require_library()
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        self._private = Ed25519PrivateKey.from_private_bytes(private)
        self.public = self._private.public_key().public_bytes_raw()
        self.key_id = key_id(self.public)

    def sign(self, message: bytes) -> bytes:
        """The 64 signature bytes over `message`."""
        return self._private.sign(message)


def signature_fits(public: bytes, signature: bytes, message: bytes) -> bool:
    """Whether `signature` is the Ed25519 signature over `message` by the holder of `public`.

    Raises SigningUnavailableError when it cannot be checked: not the same as False.
    """
    require_library()
    from cryptography.exceptions import InvalidSignature

    try:
        _loaded(public).verify(signature, message)
    except (InvalidSignature, ValueError):  # ValueError: not a public key
        return False
    return True


@functools.lru_cache(maxsize=64)
def _loaded(public: bytes) -> Ed25519PublicKey:
    """The key as the library holds it; a long chain has few signers."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    return Ed25519PublicKey.from_public_bytes(public)


def require_library() -> None:
    """SigningUnavailableError when the signature library is not installed."""
    try:
        import cryptography  # noqa: F401  # the import itself is the question
    except ImportError as error:
        raise SigningUnavailableError(
            "Signatures cannot be made or checked here: the Python package 'cryptography' is not installed.",
            "Install it, or check the records on another machine.",
        ) from error

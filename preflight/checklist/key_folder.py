"""Where the sealed private keys lie, and opening one: private to its owner, slower after every wrong try.

Not in the shop folder: that is what gets shared, copied to sticks, mailed, backed up and put under version control, and
a sealed key that is carried off can be tried PIN by PIN. By default the user's own data folder on this terminal; a
shop with several terminals names one folder for all (`--keys`, `PREFLIGHT_KEYS`) or copies a person's one file.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.checklist.people import (
    Person,
    PersonError,
    WrongSecretError,
    from_table,
    key_file,
    seconds_to_wait,
    unlock,
)
from preflight.checklist.stray_secret import possible_secrets
from preflight.disk import Folder, read
from preflight.publishing import NotOfferedError
from preflight.toml_text import TomlError, read_toml

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from preflight.checklist.signing import Ed25519Signer

VARIABLE = "PREFLIGHT_KEYS"
APP = "widebelt-preflight-keys"
LARGEST_KEY_FILE = 10_000
"""Bytes; one of ours has some five hundred."""


class TooSoonError(PersonError):
    """A try that came before the wait after wrong ones was over."""


def key_folder(option: str | None = None, environment: Mapping[str, str] = os.environ) -> Path:
    """The folder for `--keys`' value and an environment. Looking it up makes nothing."""
    if option:
        return Path(option)
    if chosen := environment.get(VARIABLE):
        return Path(chosen)
    import platformdirs

    return Path(platformdirs.user_data_dir(APP, appauthor=False))


@dataclass(frozen=True, slots=True)
class KeyFolder:
    """The sealed keys that one terminal holds, one file a key, named by its key id."""

    path: Path

    def holds(self, key_id: str) -> bool:
        """Whether the key of that name is here."""
        try:
            with Folder.open(self.path) as files:
                entry = files.entry(_name(key_id))
        except OSError:
            return False
        return entry is not None and entry.is_file

    def keep(self, person: Person) -> Path:
        """Write a new key file, the folder made if need be; both for their owner alone where the system has that."""
        try:
            self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
            with Folder.open(self.path) as files:
                files.create(_name(person.key_id), key_file(person), mode=0o600)
        except (OSError, NotOfferedError) as error:
            reason = error.strerror if isinstance(error, OSError) else "it cannot hold a new file safely"
            raise PersonError(
                f"The key of {person.name} cannot be kept in {self.path}: {reason}.",
                "Nothing was signed. Name a folder that can be written to with --keys.",
            ) from error
        return self.path / _name(person.key_id)

    def person(self, key_id: str, name: str) -> Person:
        """The sealed key of that name. PersonError when it is not here or no key file."""
        file = self.path / _name(key_id)
        try:
            return from_table(read_toml(read(self.path, file.name, LARGEST_KEY_FILE)))
        except FileNotFoundError as error:
            raise PersonError(
                f"The key of {name} is not on this terminal ({self.path}).",
                "Copy its file there, or a lead renews it here: preflight people renew",
            ) from error
        except (OSError, TomlError, PersonError) as error:
            reason = (error.strerror or str(error)) if isinstance(error, OSError) else str(error)
            raise PersonError(f"The key file of {name}, {file}, cannot be used: {reason.rstrip('.')}.") from error

    def opened(self, key_id: str, name: str, secret: str, now: datetime) -> Ed25519Signer:
        """The signer, for the right PIN or passphrase. Takes about half a second: call it in a thread.

        WrongSecretError says how many seconds the next try has to wait; TooSoonError when this one did not.
        """
        person = self.person(key_id, name)
        wrong, last = self._tries(key_id)
        # A clock set back must not lock a person out for ever, so a last try in the future counts as just now.
        left = seconds_to_wait(wrong) - max(0.0, now.timestamp() - last)
        if left > 0:
            raise TooSoonError(f"Too many wrong tries: wait {left:.0f} s before the next.")
        try:
            signer = unlock(person, secret)
        except WrongSecretError as error:
            self._note(key_id, wrong + 1, now)
            wait = seconds_to_wait(wrong + 1)
            hint = f"Wait {wait:.0f} s before the next try." if wait else "Try again."
            raise WrongSecretError(error.message, hint) from None
        if wrong:
            self._note(key_id, 0, now)
        return signer

    def opened_by(self, key_id: str, name: str, text: str) -> bool:
        """Whether some part of a text is the secret of that key. Costs half a second for each part that may be one.

        It is no try to sign and is not counted as one. False where the key is not here or cannot be read.
        """
        try:
            person = self.person(key_id, name)
        except PersonError:
            return False
        return any(_opens(person, part) for part in possible_secrets(text, person.role))

    def _tries(self, key_id: str) -> tuple[int, float]:
        try:
            noted = json.loads(read(self.path, f"{key_id}.tries", LARGEST_KEY_FILE))
            return int(noted["wrong"]), float(noted["at"])
        except (OSError, ValueError, TypeError, KeyError, OverflowError, RecursionError):
            return 0, 0.0

    def _note(self, key_id: str, wrong: int, now: datetime) -> None:
        """Count of wrong tries in a row and time of the last; survives a restart."""
        data = json.dumps({"wrong": wrong, "at": now.timestamp()}).encode()
        try:
            with Folder.open(self.path) as files:
                files.replace(f"{key_id}.tries", data, durable=False, mode=0o600)
        except OSError as error:
            raise PersonError(f"The try cannot be noted in {self.path}: {error.strerror}.") from error


def _opens(person: Person, part: str) -> bool:
    try:
        unlock(person, part)
    except PersonError:
        return False
    return True


def _name(key_id: str) -> str:
    return f"{key_id}.toml"

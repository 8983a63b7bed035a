"""Who can sign at one terminal, what each types to do so, and the signatory of what was given."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.people import PersonError
from preflight.checklist.register import CLEAR, RegisterAlarmError, read_register
from preflight.checklist.register_alarm import GONE
from preflight.checklist.signatory import Signatory, secret_word, signatory, unsigned
from preflight.file_rights import keys_notice
from preflight.tui.signoff import ROLE

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.past import Past
    from preflight.checklist.secret import Secret
    from preflight.tui.standing import Standing
    from preflight.tui.wiring import Finished, Holding, Signing


class Signers:
    """The people of a shop whose keys are at this terminal; without people anybody, unsigned."""

    def __init__(self, root: Path, keys: KeyFolder | None = None) -> None:
        self._root = root
        self._keys = keys

    def names(self, standing: Standing, earlier: Past) -> list[str]:
        """Those whose key is here; without people the names on this machine's records, the newest first."""
        if standing.register.founded:
            return [one.name for one in standing.register.active if self._key_folder.holds(one.key_id)]
        names = (str(record["record"].get("name", "")) for record in earlier.records)
        return list(dict.fromkeys(name for name in names if name))

    def secret_word(self, standing: Standing, name: str) -> str:
        """What that person types to sign; empty in a shop without people."""
        if not standing.register.founded:
            return ""
        member = standing.register.members.get(name)
        return secret_word(member.role) if member else "PIN or passphrase"

    def opens_key(self, standing: Standing, text: str) -> bool:
        """Whether some part of a text is the secret of somebody whose key is here. Call it in a thread."""
        return any(self._key_folder.opened_by(one.key_id, one.name, text) for one in standing.register.active)

    def others(self, standing: Standing, name: str) -> tuple[str, ...]:
        """Whose key is here besides that person's, in a shop with people."""
        here = (one for one in standing.register.active if self._key_folder.holds(one.key_id))
        return tuple(one.name for one in here if one.name != name)

    def beside(self, first: Signatory, name: str, secret: Secret, now: datetime) -> Signatory:
        """The second person. PreflightError when that is nobody else, or the secret does not open the key."""
        if name in ("", first.name):
            raise PersonError("A second person signs beside you.", "Nothing was saved; choose who.")
        return signatory(read_register(self._root), self._key_folder, name, secret, now)

    def signatory(self, standing: Standing, given: Signing | Holding | Finished, now: datetime) -> Signatory:
        """Who signs, by the register of this moment: somebody may have retired since the run was opened.

        Opens the key: half a second. PreflightError when this person may not sign, or the register is not the shop's.
        """
        register = read_register(self._root)
        if not register.founded:
            if standing.register.founded:
                raise RegisterAlarmError(GONE, CLEAR)
            return unsigned(register, given.name, ROLE)
        return signatory(register, self._key_folder, given.name, given.secret, now)

    @property
    def rights(self) -> str:
        """Who else can read or change the key files here; empty when nobody can."""
        return keys_notice(self._key_folder.path)

    @property
    def _key_folder(self) -> KeyFolder:
        if self._keys is None:
            self._keys = KeyFolder(key_folder())
        return self._keys

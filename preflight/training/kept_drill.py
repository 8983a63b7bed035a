"""A drill on record from its first moment: it was begun, and it ended, whatever the trainee would like to keep.

The key is opened once, before anything of the drill is shown, and signs both records. A drill whose end was never saved
(the program was killed, the power failed) stands as begun and not ended.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.heading import Signature
from preflight.checklist.reference import Reference
from preflight.training.records import MEANING, PracticeBook

if TYPE_CHECKING:
    from datetime import datetime

    from preflight.checklist.signatory import Signatory
    from preflight.checklist.store import Saved
    from preflight.training.sitting import Sitting


@dataclass(frozen=True, slots=True)
class KeptDrill:
    """A drill that was begun on record, and what its end is saved with."""

    book: PracticeBook
    by: Signatory
    drawn: bool
    begun: Reference
    record_id: str
    """Of its end; the same at every try."""

    def end(self, sitting: Sitting, at: datetime) -> Saved:
        """Save how it ended; stations not judged yet are given up. StoreError when it was not saved: try again."""
        signature = Signature(self.by.name, self.by.role, MEANING, at)
        return self.book.save_drill(
            sitting.drill,
            sitting.marked,
            sitting.level,
            signature,
            self.by.signer,
            random=self.drawn,
            surprise=sitting.surprise,
            begun=self.begun,
            record_id=self.record_id,
        )


def begin_on_record(book: PracticeBook, sitting: Sitting, by: Signatory, at: datetime, *, drawn: bool) -> KeptDrill:
    """Save that the drill is begun. StoreError when it was not saved: then it must not begin.

    drawn: for this person, not picked from the written ones.
    """
    signature = Signature(by.name, by.role, MEANING, at)
    saved = book.save_begun(sitting.drill, sitting.level, signature, by.signer, random=drawn, surprise=sitting.surprise)
    head = saved.head
    return KeptDrill(book, by, drawn, Reference(head.machine, head.sequence, head.sha256), book.token())

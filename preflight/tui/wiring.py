"""What the screens ask of the rest of the product, as plain callables and values; the screens know nothing else of it.

Whoever opens the app fills in a `Wiring`. Everything that reads or writes a file is called from a thread.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.checklist.secret import Secret

if TYPE_CHECKING:
    from preflight.tui.audit_desk import AuditDesk
    from preflight.tui.practice_desk import PracticeDesk
    from preflight.tui.run import Run

NO_SECRET = Secret()


@dataclass(frozen=True, slots=True)
class Loaded:
    """What there is once profiles, history and a draft have been read."""

    run: Run
    """With view, history, base and the answers of a draft."""
    machine: str = ""
    job: str = ""
    operator: str = ""
    notice: str = ""
    """One sentence shown once: "Draft of 06:40 resumed; readings of last shift dropped."."""
    station: str = ""
    """Station to open; empty: the first that is not ok."""


@dataclass(frozen=True, slots=True)
class Pick:
    """One line to pick from a list."""

    id: str
    label: str
    detail: str = ""
    """A second, quieter line."""


@dataclass(frozen=True, slots=True)
class Signing:
    """What was given at sign-off."""

    name: str
    meaning: str
    secret: Secret = NO_SECRET
    """PIN or passphrase, where the shop has people."""
    second: str = ""
    """Who signs beside, where a start-up needs two."""
    second_secret: Secret = NO_SECRET


@dataclass(frozen=True, slots=True)
class SecondPerson:
    """Whether a start-up needs a second signature, and who can give it at this terminal."""

    why: str = ""
    """One sentence; empty: the signer's alone will do."""
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Holding:
    """Why a start-up does not go on."""

    what: str
    told: str
    """Who was told."""
    tried: str
    name: str
    """Who saves the record."""
    secret: Secret = NO_SECRET


@dataclass(frozen=True, slots=True)
class Finished:
    """What was told after the job."""

    answers: Mapping[str, str]
    """By the key of what was asked."""
    name: str
    secret: Secret = NO_SECRET


Times = Mapping[str, datetime]
Earlier = Mapping[str, tuple[tuple[datetime | None, str], ...]]
Unaccepted = Mapping[str, tuple[datetime | None, str]]
"""Answers that are being typed: what was accepted in their place before, an empty word for nothing."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """Everything the app is given."""

    titles: Sequence[tuple[str, str]]
    """Id and title of each station, for the first frame, before the stations themselves are loaded."""
    load: Callable[[], Loaded]
    """Called in a thread after the first frame. A `PreflightError` is shown and nothing can be entered."""
    clock: Callable[[], datetime]
    save: Callable[[Mapping[str, str], Times, Earlier, Unaccepted], str | None]
    """Draft sink: answers, when each was typed, replaced ones, those not accepted yet; called at every change, must
    return at once.
    Returns why an earlier copy failed, if one did. A `PreflightError` is shown and nothing is lost."""
    sign: Callable[[Run, Signing], str]
    """Saves the record in a thread; the sentence that says where. A `PreflightError` is shown and nothing is lost."""
    hold: Callable[[Run, Holding], str]
    """The same for a start-up that cannot go on."""
    machines: Callable[[], Sequence[Pick]] = tuple
    """Machines to ask between before `load`, called in a thread; none when it is known which one is meant."""
    open_on: Callable[[str], None] = lambda _: None
    """The machine that was chosen of these: `load` loads it."""
    done: Callable[[Run, Finished], str] | None = None
    """Saves the run record of a job that is done, in a thread; the sentence that says where."""
    events: Sequence[Pick] = ()
    """What can have happened: a new job, a belt changed."""
    event_picks: Callable[[Run, str], Sequence[Pick]] = lambda _run, _event: ()
    """What is to be asked first of an event, such as on which head; the answer's id is the event's then."""
    voids: Callable[[Run, str], str] = lambda _run, _event: "What it voids is asked again."
    """What has happened and what that asks again, in words."""
    taken_back: Callable[[], Loaded] | None = None
    """The run as it was before the last event; runs in a thread."""
    happened: Callable[[Run, str], Loaded] | None = None
    """The run after that event: what it voids is asked again."""
    subjects: Callable[[Run], Sequence[Pick]] = lambda _: ()
    """What can be picked under "job, belts": machine, job, the belt of each head."""
    picks: Callable[[Run, str], Sequence[Pick]] = lambda _run, _subject: ()
    """The cards or machines for one of these subjects."""
    picked: Callable[[Run, str, str], Loaded] | None = None
    """The run with that card or machine; runs in a thread, since a file may be read."""
    people: Callable[[], Sequence[str]] = tuple
    """Names offered at sign-off; any other may be typed."""
    secret_word: Callable[[str], str] = lambda _: ""
    """What the person of that name types to sign: "PIN", "passphrase"; empty: nothing, the record stays unsigned.
    Reads no file."""
    second: Callable[[Run, str], SecondPerson] = lambda _run, _name: SecondPerson()
    """Whether somebody has to sign beside the person of that name. Reads no file."""
    opens_key: Callable[[str], bool] = lambda _: False
    """Whether a text that was typed elsewhere opens a key at this terminal: half a second for each part of it that
    could be a PIN or passphrase, so it is called in a thread."""
    meanings: Sequence[str] = ("I made this check at the machine and read these figures myself.",)
    words: Callable[[], Sequence[tuple[str, str]]] = tuple
    """Word and meaning."""
    practice: Callable[[], PracticeDesk] | None = None
    """What the practice view works with; reads no file."""
    audit: Callable[[], AuditDesk] | None = None
    """Opens the saved records for the audit; None: there are none to look at."""
    has_draft: Callable[[Run], bool] = lambda run: any(run.typed.values())
    """Whether leaving asks first."""

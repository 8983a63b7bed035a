"""The desk behind the screens: one terminal's shop, machine, draft and records, as the callables of `Wiring`.

No Textual here. Everything that reads or writes a file is called from a thread of the app.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.addition import MEANINGS, beside, save_addition
from preflight.checklist.body_memory import memory_for
from preflight.checklist.document import Held
from preflight.checklist.draft import UNNAMED, Draft, DraftHeldError, Holder
from preflight.checklist.heading import Signature
from preflight.checklist.open_draft import drafts_folder
from preflight.checklist.past import Past, past
from preflight.checklist.store import prepare_shop
from preflight.errors import PreflightError
from preflight.file_rights import shop_notice
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.machine import Machine
from preflight.tui.begun import begun, saved_as
from preflight.tui.belt_card_file import write_cards
from preflight.tui.card_picks import MACHINE, picks, subjects, unusable_sentence
from preflight.tui.carrying import after_earlier_records, from_draft
from preflight.tui.drafted import RUN, draft_content, read_draft
from preflight.tui.events import Before, after, voids
from preflight.tui.run import FED, Run
from preflight.tui.signed import SIGNED, SignedOff, released_today
from preflight.tui.signers import Signers
from preflight.tui.signoff import save, saved_sentence, start_up, why_two
from preflight.tui.standing import Standing, standing
from preflight.tui.terminal_machine import TerminalMachine
from preflight.tui.wiring import Earlier, Finished, Holding, Loaded, Pick, SecondPerson, Signing, Times, Unaccepted

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from preflight.checklist.key_folder import KeyFolder
    from preflight.checklist.signatory import Signatory
    from preflight.shop.folder import Shop


@dataclass(frozen=True, slots=True)
class Terminal:
    """This terminal, as told to another one that finds a draft in use."""

    host: str
    pid: int


class Desk:
    """What one terminal has in hand. Not for use from several threads at once; the app calls one at a time."""

    def __init__(
        self,
        shop: Shop,
        root: Path,
        clock: Callable[[], datetime],
        token: Callable[[], str],
        terminal: Terminal,
        machine: str = "",
        keys: KeyFolder | None = None,
    ) -> None:
        self._shop = shop
        self._root = root
        self._clock = clock
        self._token = token
        self._terminal = terminal
        self._machine = machine
        self._draft: Draft | None = None
        self._past = Past()
        self._standing = Standing()
        self._signers = Signers(root, keys)
        self._prepared = False
        self._started: dict[str, Any] = {}
        self._before: Before | None = None
        """What stood before the last event."""
        self._here = TerminalMachine(shop, root, terminal.host)

    def machines(self) -> list[Pick]:
        """The machines to ask between before anything is loaded; none when it is known which is meant."""
        return [] if self._machine or self._here.known() else self._here.picks()

    def open_on(self, machine: str) -> None:
        """The machine that `load` loads."""
        self._machine = machine

    # opening ------------------------------------------------------------------------------------------------------

    def load(self) -> Loaded:
        """Profiles, cards, earlier records and the draft of this terminal's machine."""
        from preflight.tui.stations.all_stations import STATIONS

        self._before = None
        name = self._machine or self._here.known() or self._shop.ids(Machine)[0]
        profile = self._shop.load(Machine, name)
        jobs, bad_jobs = self._shop.every(JobCard)
        belts, bad_belts = self._shop.every(BeltCard)
        view = self._shop.machine_view(profile, jobs, belts)
        self._machine = name
        rights = ""
        if not self._prepared:
            notices = (prepare_shop(self._root), shop_notice(self._root), self._signers.rights)
            rights = " ".join(filter(None, notices))
            self._prepared = True
        with memory_for(self._root) as bodies:
            self._standing = standing(self._root, view, self._now(), bodies)
            self._past = past(self._root, profile.value.id, self._standing.register, bodies)
        run = Run(
            stations=STATIONS,
            view=view,
            history=self._past.history(),
            base={"schema": 1, "machine": name, "at": self._now()},
            permits=self._standing.permits,
        )
        run, notice = self._resumed(run, self._open_draft(profile.value.id))
        if run.signed is not None:
            self._started[SIGNED] = run.signed.number
        if bad := [*bad_jobs, *bad_belts]:
            notice = f"{notice} {unusable_sentence(bad)}".strip()
        return self._loaded(run, " ".join(filter(None, (self._standing.notice, self._past.notice, notice, rights))))

    def close(self) -> None:
        """Let go of the draft; it stays for the next time."""
        if self._draft is not None:
            self._draft.close()
            self._draft = None

    def _open_draft(self, machine_id: str) -> Draft:
        self.close()
        folder = drafts_folder(self._root)
        self._here.remember(self._machine)
        since = self._now().strftime("%Y-%m-%d %H:%M")
        holder = Holder(UNNAMED, self._terminal.host, self._terminal.pid, since)
        try:
            self._draft = Draft.open(folder, machine_id, holder)
        except DraftHeldError as held:
            name = self._shop.load(Machine, self._machine).value.name
            raise DraftHeldError(f"{name} ({machine_id})", held.holder) from held
        return self._draft

    def _resumed(self, run: Run, draft: Draft) -> tuple[Run, str]:
        self._begin(run)
        if draft.content is None:
            return self._fresh(run, draft)
        content, machine = draft.content, run.view.machine.id if run.view else ""
        if number := saved_as(self._root, machine, content, self._standing.register):
            draft.discard()
            self._open_draft(machine)
            fresh, said = self._after_records(run)
            return fresh, f"Record {number} was saved before the program ended; its draft is cleared. {said}".strip()
        drafted = read_draft(content)
        if drafted is None:
            draft.put_aside()
            return self._fresh(run, draft)
        told = list(draft.notices)
        pending = content.get(RUN)
        if isinstance(pending, dict) and (number := saved_as(self._root, machine, pending, self._standing.register)):
            drafted = replace(drafted, typed={key: text for key, text in drafted.typed.items() if key != FED})
            told.append(f"The run was recorded before the program ended: record {number}.")
        resumed = from_draft(run, drafted, self._past, self._released(run), self._now())
        self._started.update(resumed.record)
        return resumed.run, " ".join([*told, resumed.said]).strip()

    def _fresh(self, run: Run, draft: Draft) -> tuple[Run, str]:
        fresh, said = self._after_records(run)
        return fresh, " ".join([*draft.notices, said]).strip()

    def _after_records(self, run: Run) -> tuple[Run, str]:
        return after_earlier_records(run, self._past, self._now(), self._released(run))

    def _released(self, run: Run) -> SignedOff | None:
        assert run.view is not None
        return released_today(self._past, self._now())

    # while it is entered ------------------------------------------------------------------------------------------

    def keep(
        self, typed: Mapping[str, str], entered: Times, earlier: Earlier, unaccepted: Unaccepted | None = None
    ) -> str:
        """The draft sink: on disk at every change. Returns why the last safe copy failed; empty when all is well."""
        if self._draft is None:
            return ""
        self._draft.change({**self._started, **draft_content(typed, entered, earlier, unaccepted or {})})
        return self._draft.trouble

    def happened(self, run: Run, event_id: str) -> Loaded:
        """The run after an event, until it is taken back."""
        self._before = Before(run, dict(self._started), self._has_draft)
        self._begin(run)
        return self._loaded(after(run, event_id, self._now(), self._past.history()), voids(run, event_id))

    def taken_back(self) -> Loaded:
        """The run as it was before the last event; its draft, if it had one, is the app's to keep again."""
        assert self._before is not None
        before, self._before = self._before, None
        self._started = dict(before.started)
        if not before.drafted and self._draft is not None:
            assert before.run.view is not None
            self._draft.discard()
            self._open_draft(before.run.view.machine.id)
        return self._loaded(before.run, "Taken back: nothing has happened, and everything stands as it did.")

    @property
    def _has_draft(self) -> bool:
        return self._draft is not None and self._draft.path.exists()

    def subjects(self, run: Run) -> list[Pick]:
        """Machine, job, and the belt of each head."""
        return subjects(run)

    def picks(self, run: Run, subject: str) -> list[Pick]:
        """The machines, or the answers of that row."""
        return picks(self._shop, run, subject)

    def picked(self, run: Run, subject: str, chosen: str) -> Loaded:
        """The run with that answer, or another machine's run."""
        if subject == MACHINE:
            return self._changed_to(chosen, run)
        return self._loaded(run.typing(subject, chosen, self._now()).accepting(subject), "")

    def _changed_to(self, machine: str, run: Run) -> Loaded:
        """Another machine's run; where that cannot be opened this one stays open and its draft is held again."""
        assert run.view is not None
        before = self._machine, self._past, self._standing
        self._machine = machine
        try:
            return self.load()
        except PreflightError:
            self._machine, self._past, self._standing = before
            self._open_draft(run.view.machine.id)
            raise

    def people(self) -> list[str]:
        """Names offered at sign-off."""
        return self._signers.names(self._standing, self._past)

    def secret_word(self, name: str) -> str:
        """What that person types to sign; empty in a shop without people."""
        return self._signers.secret_word(self._standing, name)

    def opens_key(self, text: str) -> bool:
        """Whether a text has the secret of a key at this terminal in it. Call it in a thread."""
        return self._signers.opens_key(self._standing, text)

    # leaving ------------------------------------------------------------------------------------------------------

    def sign(self, run: Run, signing: Signing) -> str:
        """Save the record of a run that may be released. Opens the keys first: call it in a thread."""
        by = self._signatory(signing)
        why = why_two(run.judged(), self._standing, by.role)
        second = self._signers.beside(by, signing.second, signing.second_secret, self._now()) if why else None
        said = self._save(run, by, signing.meaning, None)
        return said if second is None else f"{said} {self._signed_beside(second, why)}"

    def second(self, run: Run, name: str) -> SecondPerson:
        """Whether somebody has to sign beside the person of that name, and who could here."""
        member = self._standing.register.members.get(name)
        why = why_two(run, self._standing, member.role if member is not None else "")
        return SecondPerson(why, self._signers.others(self._standing, name) if why else ())

    def _signed_beside(self, by: Signatory, why: str) -> str:
        """The second signature under the record that was just saved; the sentence that says so."""
        about, record_id = self._past.references[0], self._token()
        body = beside(about, why, record_id, Signature(by.name, by.role, MEANINGS["countersign"], self._now()))
        try:
            saved = save_addition(self._root, about.machine, body, record_id, by, self._token())
        except PreflightError as error:
            return f"The second signature was not saved: {error} Sign beneath record {about.sequence}: Ctrl+R, then F8."
        return f"{by.name} signed beside: record {saved.head.sequence}."

    def hold(self, run: Run, holding: Holding) -> str:
        """Save the record of a start-up that cannot go on."""
        return self._save(run, self._signatory(holding), "This start-up stopped here.", holding)

    def done(self, run: Run, finished: Finished) -> str:
        """Save the run record of a job that is done; the draft of the start-up on the screen stays as it is."""
        from preflight.tui.run_done import save_run

        assert run.view is not None
        by, record_id = self._signatory(finished), self._token()
        refers = next(iter(self._past.references), None)
        # the note stands in the draft first: after a lost answer the same boards are not counted twice
        drafted = self._has_draft
        self._started[RUN] = begun(self._root, run.view.machine.id, record_id)
        self.keep(run.typed, run.entered, run.earlier, run.unaccepted)
        counted: Mapping[str, str] = run.typed
        try:
            saying = save_run(self._root, run, finished.answers, by, self._now(), record_id, self._token, refers)
            self._past = self._read_past(run.view.machine.id)
            # what was counted is recorded: it must not be counted again
            counted = {key: text for key, text in run.typed.items() if key != FED}
        finally:
            del self._started[RUN]
            if drafted:
                self.keep(counted, run.entered, run.earlier, run.unaccepted)
            elif self._draft is not None:
                self._draft.discard()
                self._open_draft(run.view.machine.id)
        return saying

    def _signatory(self, given: Signing | Holding | Finished) -> Signatory:
        return self._signers.signatory(self._standing, given, self._now())

    def _save(self, run: Run, by: Signatory, meaning: str, holding: Holding | None) -> str:
        assert run.view is not None
        newest = next(iter(self._past.records), None)
        last = datetime.fromisoformat(newest["record"]["utc"]) if newest else None
        held_before = newest is not None and newest["record"]["kind"] == "held"
        made = start_up(
            run,
            str(self._started["record"]),
            Signature(by.name, by.role, meaning, self._now()),
            Held(holding.what, holding.told, holding.tried) if holding else None,
            last,
            standing(self._root, run.view, self._now()),
            self._past.references[0] if held_before else None,
        )
        write_cards(self._root, run)
        saved = save(self._root, made, self._token(), self._started.get("since"), by.signer)
        if self._draft is not None:
            self._draft.discard()
            self._draft = None
        self._past = self._read_past(made.view.machine.id)
        self._begin(run)
        self._open_draft(made.view.machine.id)
        return saved_sentence(made, saved, by.signer is not None)

    def _read_past(self, machine: str) -> Past:
        with memory_for(self._root) as bodies:
            return past(self._root, machine, self._standing.register, bodies)

    def _begin(self, run: Run) -> None:
        """A new record: its note stands in the draft."""
        assert run.view is not None
        self._started = begun(self._root, run.view.machine.id, self._token())

    def _now(self) -> datetime:
        now = self._clock()
        return (now if now.tzinfo else now.astimezone()).replace(microsecond=0)

    def _loaded(self, run: Run, notice: str) -> Loaded:
        assert run.view is not None
        job = run.view.job(run.sheet) if run.sheet else None
        approved = "" if not self._standing.profiles else ", profile not approved"
        if self._standing.register.alarm:
            approved = ", register alarm"
        station = "feed" if run.signed is not None else ""
        return Loaded(run, f"{run.view.machine.name}{approved}", job.name if job else "", "", notice, station)

"""The desk behind the screens: one terminal's shop, machine, draft and records, as the callables of `Wiring`.

No Textual here. Everything that reads or writes a file is called from a thread of the app.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.chain import Chain
from preflight.checklist.chain import newest as newest_number
from preflight.checklist.document import Held
from preflight.checklist.draft import Draft, Holder
from preflight.checklist.heading import Signature
from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.past import Past, past
from preflight.checklist.register import read_register
from preflight.checklist.signatory import Signatory, secret_word, signatory
from preflight.checklist.store import prepare_shop
from preflight.checks.voids import again as asks_again
from preflight.checks.voids import event, kept
from preflight.errors import PreflightError
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.machine import Machine
from preflight.tui.belt_card_file import write_cards
from preflight.tui.carrying import SHIFT_HOURS, after_earlier_records, carried
from preflight.tui.drafted import draft_content, read_draft
from preflight.tui.run import Run
from preflight.tui.signoff import ROLE, save, saved_sentence, start_up
from preflight.tui.standing import REGISTER_GONE, Standing, standing
from preflight.tui.wiring import Earlier, Finished, Holding, Loaded, Pick, Signing, Times

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from preflight.shop.files import Loaded as File
    from preflight.shop.folder import Shop

DRAFTS = "drafts"


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
        self._keys = keys
        self._prepared = False
        self._started: dict[str, Any] = {}

    # opening ------------------------------------------------------------------------------------------------------

    def load(self) -> Loaded:
        """Profiles, cards, earlier records and the draft of this terminal's machine."""
        from preflight.tui.stations.all_stations import STATIONS

        name = self._machine or self._last_machine()
        profile = self._shop.load(Machine, name)
        around = self._shop.with_neighbours(profile.path)
        skipped: list[str] = []
        view = around.machine_view(profile, self._cards(JobCard, skipped), self._cards(BeltCard, skipped))
        self._machine = name
        if not self._prepared:
            prepare_shop(self._root)
            self._prepared = True
        self._past = past(self._root, profile.value.id)
        self._standing = standing(self._root, view, self._now())
        run = Run(
            stations=STATIONS,
            view=view,
            history=self._past.history(),
            base={"schema": 1, "machine": name, "at": self._now()},
            permits=self._standing.permits,
        )
        run, notice = self._resumed(run, self._open_draft(profile.value.id))
        if skipped:
            notice = f"{notice} Cards that cannot be read: {', '.join(skipped)}.".strip()
        return self._loaded(run, f"{self._standing.notice} {notice}".strip())

    def close(self) -> None:
        """Let go of the draft; it stays for the next time."""
        if self._draft is not None:
            self._draft.close()
            self._draft = None

    def _last_machine(self) -> str:
        known = self._shop.ids(Machine)
        if not known:
            raise PreflightError("This shop has no machine profile.", "Write one with: preflight profiles new")
        remembered = self._root / DRAFTS / f"{self._terminal.host}.machine"
        try:
            name = remembered.read_text(encoding="utf-8").strip()
        except OSError:
            name = ""
        return name if name in known else known[0]

    def _cards(self, model: type[Any], skipped: list[str]) -> dict[str, File[Any]]:
        found = {}
        for ref in self._shop.ids(model):
            try:
                found[ref] = self._shop.load(model, ref)
            except PreflightError:
                skipped.append(ref)
        return found

    def _open_draft(self, machine_id: str) -> Draft:
        self.close()
        folder = self._root / DRAFTS
        folder.mkdir(exist_ok=True)
        (folder / f"{self._terminal.host}.machine").write_text(self._machine, encoding="utf-8")
        since = self._now().strftime("%Y-%m-%d %H:%M")
        holder = Holder("another terminal", self._terminal.host, self._terminal.pid, since)
        self._draft = Draft.open(folder, machine_id, holder)
        return self._draft

    def _resumed(self, run: Run, draft: Draft) -> tuple[Run, str]:
        self._begin(run)
        if draft.content is None:
            return self._fresh(run, draft)
        if number := self._saved_already(run, draft.content):
            draft.discard()
            self._open_draft(run.view.machine.id if run.view else "")
            fresh, said = after_earlier_records(run, self._past, self._now())
            return fresh, f"Record {number} was saved before the program ended; its draft is cleared. {said}".strip()
        drafted = read_draft(draft.content)
        if drafted is None:
            draft.put_aside()
            return self._fresh(run, draft)
        began, said = drafted.began, " ".join(draft.notices)
        if began is not None and (self._now() - began).total_seconds() > SHIFT_HOURS * 3600:
            only = carried(run, drafted.typed)
            run = run.resumed(drafted.typed, drafted.entered, drafted.earlier)
            said = f"{said} Draft of {began:%Y-%m-%d %H:%M}: facts kept, readings dropped.".strip()
            return run.resumed(only, {}, run.voiding(only)), said
        self._started.update(drafted.record)
        if "happened" in drafted.record:
            run = replace(run, base={**run.base, "happened": drafted.record["happened"]})
        when = f" of {began:%H:%M}" if began else ""
        return run.resumed(drafted.typed, drafted.entered, drafted.earlier), f"{said} Draft{when} resumed.".strip()

    def _fresh(self, run: Run, draft: Draft) -> tuple[Run, str]:
        fresh, said = after_earlier_records(run, self._past, self._now())
        return fresh, " ".join([*draft.notices, said]).strip()

    # while it is entered ------------------------------------------------------------------------------------------

    def keep(self, typed: Mapping[str, str], entered: Times, earlier: Earlier) -> str:
        """The draft sink: on disk at every change. Returns why the last safe copy failed; empty when all is well."""
        if self._draft is None:
            return ""
        self._draft.change({**self._started, **draft_content(typed, entered, earlier)})
        return self._draft.trouble

    def happened(self, run: Run, event_id: str) -> Loaded:
        """The run after an event: what it voids is asked again."""
        self._begin(run)
        happened = event(event_id)
        facts = {row.key: row.fact for station in run.stations for row in station.rows(run)}
        typed = {
            key: text
            for key, text in kept(run.typed, happened, facts).items()
            if not (
                key.startswith("action:") and any(key.startswith(f"action:{v.split('.')[0]}:") for v in happened.voids)
            )
        }
        again = replace(run, base={**run.base, "at": self._now(), "happened": event_id})
        return self._loaded(
            again.resumed(typed, run.entered, run.voiding(typed)),
            f"{happened.label.capitalize()}. {asks_again(happened)}",
        )

    def subjects(self, run: Run) -> list[Pick]:
        """Machine, job, and the belt of each head."""
        heads = run.view.machine.heads if run.view else ()
        belts = [Pick(f"belts.{head.id}.card", f"belt on head {head.id}") for head in heads]
        return [Pick("machine", "machine"), Pick("stock.job", "job card"), *belts]

    def picks(self, run: Run, subject: str) -> list[Pick]:
        """The machines, or the answers of that row."""
        if subject == "machine":
            return [Pick(ref, *self._machine_words(ref, run)) for ref in self._shop.ids(Machine)]
        rows = {row.key: row for station in run.stations for row in station.rows(run)}
        return [Pick(choice.label, choice.label) for choice in rows[subject].choices] if subject in rows else []

    def _machine_words(self, ref: str, run: Run) -> tuple[str, str]:
        here = ", on the screen now" if run.view is not None and run.view.machine_id == ref else ""
        try:
            return self._shop.load(Machine, ref).value.name, f"{ref}{here}"
        except PreflightError:
            return ref, "its profile cannot be read"

    def picked(self, run: Run, subject: str, chosen: str) -> Loaded:
        """The run with that answer, or another machine's run."""
        if subject == "machine":
            self._machine = chosen
            return self.load()
        return self._loaded(run.typing(subject, chosen, self._now()).accepting(subject), "")

    def people(self) -> list[str]:
        """Those whose key is here; without people the names on this machine's records, the newest first."""
        if self._standing.register.founded:
            return [one.name for one in self._standing.register.active if self._key_folder.holds(one.key_id)]
        names = (str(record["record"].get("name", "")) for record in self._past.records)
        return list(dict.fromkeys(name for name in names if name))

    def secret_word(self, name: str) -> str:
        """What that person types to sign; empty in a shop without people."""
        register = self._standing.register
        if not register.founded:
            return ""
        member = register.members.get(name)
        return secret_word(member.role) if member else "PIN or passphrase"

    # leaving ------------------------------------------------------------------------------------------------------

    def sign(self, run: Run, signing: Signing) -> str:
        """Save the record of a run that may be released. Opens the key first: call it in a thread."""
        return self._save(run, self._signatory(signing), signing.meaning, None)

    def hold(self, run: Run, holding: Holding) -> str:
        """Save the record of a start-up that cannot go on."""
        return self._save(run, self._signatory(holding), "This start-up stopped here.", holding)

    def done(self, run: Run, finished: Finished) -> str:
        """Save the run record of a job that is done; the draft of the start-up on the screen stays as it is."""
        from preflight.tui.run_done import save_run

        assert run.view is not None
        by = self._signatory(finished)
        refers = next(iter(self._past.references), None)
        saying = save_run(self._root, run, finished.answers, by, self._now(), self._token, refers)
        self._past = past(self._root, run.view.machine.id)
        # what was counted is recorded: it must not be counted again
        self.keep({key: text for key, text in run.typed.items() if key != "feed.fed"}, run.entered, run.earlier)
        return saying

    def _signatory(self, given: Signing | Holding | Finished) -> Signatory:
        """Who signs, by the register of this moment: somebody may have retired since the run was opened."""
        register = read_register(self._root)
        if not register.founded:
            if self._standing.register.founded or self._standing.register_gone:
                raise PreflightError(REGISTER_GONE, "Nothing was saved; the draft is kept.")
            return Signatory(given.name, ROLE, None)
        return signatory(register, self._key_folder, given.name, given.secret, self._now())

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
        self._past = past(self._root, made.view.machine.id)
        self._begin(run)
        self._open_draft(made.view.machine.id)
        return saved_sentence(made, saved, by.signer is not None)

    @property
    def _key_folder(self) -> KeyFolder:
        if self._keys is None:
            self._keys = KeyFolder(key_folder())
        return self._keys

    def _begin(self, run: Run) -> None:
        """A new record: its id and the chain's newest number stand in the draft, so a lost answer is recognised."""
        assert run.view is not None
        since = newest_number(Chain(self._root, run.view.machine.id).folder)
        self._started = {"record": self._token(), "since": since}

    def _saved_already(self, run: Run, content: Mapping[str, Any]) -> int:
        """Number of the record that this draft became before the program ended; 0 when it became none."""
        record, since = content.get("record"), content.get("since")
        if run.view is None or type(record) is not str or type(since) is not int:
            return 0
        found = Chain(self._root, run.view.machine.id).find(record, after=since)
        return found.sequence if found else 0

    def _now(self) -> datetime:
        now = self._clock()
        return (now if now.tzinfo else now.astimezone()).replace(microsecond=0)

    def _loaded(self, run: Run, notice: str) -> Loaded:
        assert run.view is not None
        job = run.view.job(run.sheet) if run.sheet else None
        approved = "" if not self._standing.profiles else ", profile not approved"
        return Loaded(run, f"{run.view.machine.name}{approved}", job.name if job else "", "", notice)

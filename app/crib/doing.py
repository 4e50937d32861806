"""What a person does to an instrument of the crib: each is a further issue of its record."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace
from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices

from app.background.worker import Failure
from app.crib import questions, work
from app.crib.proving import Proving
from app.parts.faults import tell_faults
from app.window.house import House
from inspection.instruments.record import Instrument, Standing
from inspection.sheet import acts
from inspection.words.say import word

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from app.jobs.crib import Looked
    from inspection.attached import Attached


#: Files that are only ever shown; any other could be run, and is saved out instead.
SHOWN = frozenset({".pdf", ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".txt", ".csv", ".xlsx", ".ods"})


class Doing(QObject):
    """``issued`` carries the identity of the record that was issued; ``out`` that of one that went out of service;
    ``looked`` what a crib file would change."""

    issued = Signal(str)
    out = Signal(str)
    looked = Signal(object)

    def __init__(self, house: House, room: QWidget) -> None:
        super().__init__(room)
        self._house, self._room = house, room
        self.proving = Proving(house, room)
        self.proving.removed.connect(self.out)

    # --- one instrument ---------------------------------------------------------------------------------------------

    def issue(
        self,
        record: Instrument,
        said: str = "",
        *,
        refused: Callable[[Failure], None] | None = None,
        files: dict[str, bytes] | None = None,
        then: Callable[[str], None] | None = None,
    ) -> None:
        """Hand a record in; ``said`` is told once it is on disk, ``then`` called with its identity."""

        def kept(outcome: Any) -> None:
            identity = next(event.instrument.identity for event in outcome.events)
            if said:
                self._house.notice(said)
            self.issued.emit(identity)
            if then is not None:
                then(identity)

        self._house.do(acts.IssueInstrument(instrument=record), kept=kept, refused=refused, files=files)

    def lend_or_return(self, instrument: Instrument) -> None:
        """Take back what is lent out, else ask who takes it."""
        if instrument.holder:
            place = instrument.place or word("crib.lend.somewhere")
            self.issue(replace(instrument, holder=""), word("crib.lend.back", tag=instrument.tag, place=place))
            return
        shop, person = self._house.shop, self._house.person
        here = shop.people.get(person) if shop is not None else None
        holder = questions.ask_holder(self._room, instrument, here.name if here is not None else "")
        if holder:
            said = word("crib.lend.done", tag=instrument.tag, holder=holder)
            self.issue(replace(instrument, holder=holder), said)

    def out_or_back(self, instrument: Instrument) -> None:
        """Take an instrument out of service, with the reason, and list what it touched, or what is re-opened where
        that is for cause; or put it back."""
        if instrument.standing is Standing.OUT_OF_SERVICE:
            note = questions.ask_back_in_service(self._room, instrument)
            if note is not None:
                back = replace(instrument, standing=Standing.IN_SERVICE, note=note)
                self.issue(back, word("crib.back.done", tag=instrument.tag))
            return
        out = questions.ask_out_of_service(self._room, instrument)
        if out is None or not out.reason:
            return
        if out.for_cause:
            self.proving.remove(instrument, out.reason)
            return
        note = "; ".join(filter(None, (out.reason, instrument.note)))[: questions.LONGEST_NOTE]
        gone = replace(instrument, standing=Standing.OUT_OF_SERVICE, note=note)
        self.issue(gone, word("crib.out.done", tag=instrument.tag), then=self.out.emit)

    def mark_missing(self, instrument: Instrument) -> None:
        """Ask which sizes of a set are missing."""
        if not instrument.members:
            self._house.notice(word("crib.missing.no_set", tag=instrument.tag))
            return
        missing = questions.ask_missing(self._room, instrument)
        if missing is not None and missing != instrument.missing:
            self.issue(
                replace(instrument, missing=missing), word("crib.missing.done", tag=instrument.tag, n=len(missing))
            )

    def enter_whole_crib(self, today: str) -> None:
        """Enter every template at once, tags in series past those that are there."""
        from inspection.instruments.templates import whole_crib

        asked = questions.ask_whole_crib(self._room, today)
        shop = self._house.shop
        if asked is None or shop is None:
            return
        due, place = asked
        taken = {one.tag for one in shop.crib.values()}
        made = whole_crib(taken, due=due, place=place)
        said = word("crib.whole.done", n=len(made))
        self._house.do(acts.IssueInstruments(instruments=made), kept=lambda _outcome: self._house.notice(said))

    # --- files ------------------------------------------------------------------------------------------------------

    def attach(self, instrument: Instrument) -> None:
        """Attach a file to a record."""
        file = questions.ask_attached(self._room, instrument)
        if file is not None:
            self._long(work.Reading(file).run, partial(self._attached, instrument))

    def _attached(self, instrument: Instrument, read: tuple[Attached, bytes]) -> None:
        one, content = read
        shop = self._house.shop
        newest = shop.crib.get(instrument.identity, instrument) if shop is not None else instrument
        if one in newest.files:
            self._house.notice(word("crib.attach.there", tag=newest.tag, file=one.name))
            return
        said = word("crib.attach.done", tag=newest.tag, file=one.name)
        self.issue(replace(newest, files=(*newest.files, one)), said, files={one.digest: content})

    def save_out(self, instrument: Instrument) -> None:
        """Write an attached file out again."""
        if not instrument.files:
            self._house.notice(word("crib.save_out.none", tag=instrument.tag))
            return
        asked = questions.ask_saved_out(self._room, instrument)
        if asked is not None:
            self._long(work.SavingOut(*asked).run, self._house.notice)

    def show_file(self, instrument: Instrument) -> None:
        """Open an attached file in the program that this computer shows such files with."""
        if not instrument.files:
            self._house.notice(word("crib.save_out.none", tag=instrument.tag))
            return
        wanted = questions.ask_shown(self._room, instrument)
        if wanted is None:
            return
        if Path(wanted.name).suffix.casefold() not in SHOWN:
            self._house.notice(word("crib.show_file.other", file=wanted.name))
            return
        self._long(work.Showing(wanted).run, self._show)

    def _show(self, path: Path) -> None:
        if not QDesktopServices.openUrl(QUrl.fromLocalFile(str(path))):
            self._house.notice(word("crib.show_file.nothing", file=path.name))

    def look_at_file(self) -> None:
        """Look at a crib file; what it would change is shown before it is taken."""
        file = questions.ask_file(self._room)
        if file is not None:
            self._house.notice(word("crib.take_in.working", file=file.name))
            self._long(work.Looking(file).run, self._looked, self._not_looked)

    def _looked(self, looked: Looked) -> None:
        self._house.notice("")
        self.looked.emit(looked)

    def _not_looked(self, failure: Failure) -> None:
        self._house.notice("")
        if not tell_faults(self._room, failure, self._house.say):
            self._house.fail(failure)

    def take_in(self, looked: Looked) -> None:
        """Take in what was looked at: one act, all of it or nothing."""
        from app.jobs.crib import issue_of

        act, found = issue_of(looked), looked.taking
        if act is None:
            return
        said = word("crib.taking.done", new=len(found.new), changed=len(found.changed), same=found.same)
        self._house.do(act, kept=lambda _outcome: self._house.notice(said))

    def export(self) -> None:
        """Write the crib to a file."""
        file: Path | None = questions.ask_export(self._room)
        if file is not None:
            self._long(work.Exporting(file).run, self._house.notice)

    def _long(
        self,
        task: Callable[..., Any],
        done: Callable[[Any], None],
        failed: Callable[[Failure], None] | None = None,
    ) -> None:
        if self._house.worker is not None:
            self._house.worker.long(task, done, failed or self._house.fail)

"""What a person does to prove an instrument of the crib, or to say that it cannot be trusted any more."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace
from PySide6.QtCore import QObject, Signal

from app.background.worker import Failure
from app.bench.checking import check_instrument, give_back, report_upset
from app.crib import questions, work
from app.crib.reopened import counted
from app.jobs.local_time import moment
from app.window.asking import stay_with
from app.window.house import House
from inspection.instruments.record import Instrument
from inspection.measuring.checks_life import MICROSECONDS_PER_MINUTE
from inspection.measuring.proofs import CheckRecord
from inspection.measuring.study_under_way import StudyUnderWay, begin
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.proving import configuration_of
from inspection.sheet.reopening import ReopenedRow, reopened_rows
from inspection.words.say import word
from storage.book.clock import wall_clock

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from app.crib.study_dialog import StudyDialog


class Proving(QObject):
    """``reopened`` carries the instrument's identity and what was put in question because of it; ``removed`` the
    identity of an instrument that went out of service for cause and put nothing in question."""

    reopened = Signal(str, object)
    removed = Signal(str)

    def __init__(self, house: House, room: QWidget) -> None:
        super().__init__(room)
        self._house, self._room = house, room

    # --- a check ----------------------------------------------------------------------------------------------------

    def check(self, instrument: Instrument) -> None:
        """Open the panel on which it is checked."""
        check_instrument(self._house, instrument, None, False, partial(self._checked, instrument))

    def _checked(self, instrument: Instrument, act: acts.RecordCheck | None) -> None:
        if act is None:
            return
        act = replace(act, sheet="")  # made for the instrument, not for a sheet
        self._house.do(
            act,
            kept=partial(self._recorded, instrument),
            refused=partial(self._not_recorded, instrument, act),
            back=lambda _failure: give_back(self._house, instrument, act),
        )

    def _not_recorded(self, instrument: Instrument, act: acts.RecordCheck, failure: Failure) -> None:
        give_back(self._house, instrument, act)
        self._house.fail(failure)

    def _recorded(self, instrument: Instrument, outcome: Any) -> None:
        made = next(event.check for event in outcome.events if isinstance(event, ev.CheckRecorded))
        if made.made.passed:
            self._house.notice(self._passed(instrument, made, outcome.shop.rules.check_minutes))
        else:
            self._tell_reopened(instrument, word("crib.checked.failed", tag=instrument.tag), outcome)

    def _passed(self, instrument: Instrument, made: CheckRecord, minutes: int) -> str:
        shop = self._house.shop
        if not minutes or shop is None:
            return word("crib.checked.passed", tag=instrument.tag)
        until = moment(made.at + minutes * MICROSECONDS_PER_MINUTE)
        return word("crib.checked.serves", tag=instrument.tag, person=shop.people[made.made.by].name, until=until)

    def _tell_reopened(self, instrument: Instrument, said: str, outcome: Any) -> bool:
        """Tell what the act put in question on sheets; whether there was anything."""
        rows = tuple(_reopened(outcome.followed))
        told = word("crib.reopened.done", count=counted(rows)) if rows else word("crib.reopened.nothing")
        self._house.notice(f"{said} {told}")
        if rows:
            self.reopened.emit(instrument.identity, rows)
        return bool(rows)

    # --- something happened to it -----------------------------------------------------------------------------------

    def tell_upset(self, instrument: Instrument) -> None:
        """Ask what happened to it, and put that on record."""
        report_upset(self._house, instrument, partial(self._happened, instrument))

    def _happened(self, instrument: Instrument, act: acts.ReportUpset | None) -> None:
        if act is None:
            return
        kept = self._house.left_off
        for study in [each for each, left in kept.items() if _is_of(left, instrument)]:
            del kept[study]  # it is another instrument now
        said = word("crib.upset.done", tag=instrument.tag, what=act.what.value)
        self._house.do(act, kept=lambda _outcome: self._house.notice(said))

    # --- a study on parts -------------------------------------------------------------------------------------------

    def study(self, instrument: Instrument) -> None:
        """Open the dialog in which parts are read again and again; what was left in it is taken up."""
        shop, person = self._house.shop, self._house.person
        if shop is None:
            return
        kept = self._house.left_off.get(("study", person, instrument.identity, instrument.issue))
        try:
            set_up = configuration_of(shop, instrument, person, wall_clock().at)
            self._open_study(kept or begin(instrument, set_up), taken_up=kept is not None)
        except Refused as refused:
            self._house.noticed.emit(self._house.say(*refused.reasons), True)

    def _open_study(self, study: Any, *, taken_up: bool) -> None:
        from app.crib.study_dialog import StudyDialog

        dialog = StudyDialog(self._room.window(), self._house, study, taken_up=taken_up)
        dialog.finished.connect(partial(self._studied, dialog))
        stay_with(dialog)

    def _studied(self, dialog: StudyDialog, result: int) -> None:
        self._room.window().activateWindow()  # not every screen has a manager that does
        study = dialog.study
        whose = ("study", self._house.person, study.instrument.identity, study.instrument.issue)
        self._house.left_off.pop(whose, None)
        if not result:
            if study.is_begun:
                self._house.left_off[whose] = study
            return
        act = acts.RecordStudy(
            instrument=study.instrument.identity,
            configuration=study.configuration,
            groups=study.groups,
            note=dialog.note(),
        )
        self._house.do(
            act,
            kept=partial(self._study_kept, study),
            refused=partial(self._study_not_kept, whose, study),
            back=lambda _failure: self._house.left_off.__setitem__(whose, study),
        )

    def _study_kept(self, study: StudyUnderWay, _outcome: Any) -> None:
        n = sum(map(len, study.groups))
        self._house.notice(word("crib.study.done", tag=study.instrument.tag, n=n))

    def _study_not_kept(self, whose: object, study: StudyUnderWay, failure: Failure) -> None:
        self._house.left_off[whose] = study
        self._house.fail(failure)

    # --- out of service for cause -----------------------------------------------------------------------------------

    def remove(self, instrument: Instrument, reason: str) -> None:
        """Look what taking it out of service for cause would put in question, ask, and only then do it."""
        worker = self._house.worker
        if worker is None:
            return
        act = acts.RemoveForCause(instrument=instrument.identity, reason=reason)
        self._house.notice(word("crib.cause.looking", tag=instrument.tag))
        looking = work.WouldReopen(act, self._house.person)
        worker.long(looking.run, partial(self._ask_removal, instrument, act), self._house.fail)

    def _ask_removal(
        self, instrument: Instrument, act: acts.RemoveForCause, ahead: tuple[CheckRecord, tuple[ReopenedRow, ...]]
    ) -> None:
        self._house.notice("")
        check, rows = ahead
        if questions.ask_removal(self._room, instrument, check, rows):
            self._house.do(act, kept=partial(self._was_removed, instrument))

    def _was_removed(self, instrument: Instrument, outcome: Any) -> None:
        if not self._tell_reopened(instrument, word("crib.cause.done", tag=instrument.tag), outcome):
            self.removed.emit(instrument.identity)


def _is_of(left: object, instrument: Instrument) -> bool:
    """Whether what was left off is a study with this instrument."""
    return isinstance(left, StudyUnderWay) and left.instrument.identity == instrument.identity


def _reopened(followed: Iterable[Any]) -> Iterable[ReopenedRow]:
    for each in followed:
        if each.sheet is not None:
            yield from reopened_rows(each.sheet, each.events)

"""Sending and checking, as the person asks for it: what is asked first, what is done behind, what is told after."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QWidget

from app.desk import questions, work
from app.desk.one_at_a_time import OneAtATime
from app.desk.previews import Previews
from app.jobs.sending import PAPERS, paper_of, proposed_name
from app.parts.doing import Doing
from app.window.house import House
from inspection.words.say import word


class Sender(OneAtATime):
    """Sends a sheet and checks files."""

    def __init__(self, house: House, doing: Doing, previews: Previews, parent: QWidget) -> None:
        super().__init__(house, doing, parent)
        self._previews = previews

    # --- paper ------------------------------------------------------------------------------------------------------

    def _customer(self) -> str:
        if self._at_hand is None:
            return ""
        sheet = self._at_hand.sheet
        return sheet.head.customer or sheet.plan.part.customer

    def paper(self) -> str:
        """The paper that this customer gets, as the exporters name it."""
        if self._at_hand is None:
            return PAPERS[self._house.papers.get("", "letter")]
        return paper_of(self._at_hand.sheet, self._house.papers)

    def other_paper(self) -> None:
        """The other paper, for this customer from now on."""
        self._house.papers[self._customer()] = "letter" if self.paper() == PAPERS["a4"] else "a4"

    # --- sending ----------------------------------------------------------------------------------------------------

    def send(self, form: str) -> None:
        """Ask where the sheet goes, offering ``form`` or all of them, and write it there."""
        if self._at_hand is None or self._job is not None:
            return
        sheet, lacks = self._at_hand.sheet, self._at_hand.lacks
        title = word("desk.export.title", part=sheet.plan.part.number)
        forms = work.forms_of(sheet)
        chosen = form if form in (*forms, questions.ALL) else forms[0]
        if any(lack.stops for lack in lacks) and not questions.ask_despite(self._room, lacks, title):
            return
        places = questions.ask_export(self._room, forms, chosen, self._folder(), proposed_name(sheet), title)
        if places is None:
            return
        there = [place for place in places.values() if place.exists()]
        if not there or questions.ask_replace(self._room, there):
            self._write(sheet.identity, places)

    def _write(self, sheet: str, places: dict[str, Path]) -> None:
        if self._house.foreseen is None:
            return
        self._house.folder = str(next(iter(places.values())).parent)
        made = dict(self._previews.made)
        task = work.Sending(sheet, places, self.paper(), self._house.person, self._house.foreseen, made)
        self._begin(task.run, self._written, word("desk.sending", names=_names(places)))

    def _written(self, done: work.Done) -> None:
        self._end()
        folder = str(next(iter(done.places.values())).parent)
        said = word("desk.sent.done", names=_names(done.places), folder=folder, n=len(done.places))
        self._house.notice(said)

    # --- checking ---------------------------------------------------------------------------------------------------

    def check(self) -> None:
        """Ask for a file, and tell whether it is what was sent."""
        if self._job is not None:
            return
        file = questions.ask_file(self._room, self._house.folder)
        if file is not None:
            self._begin(work.Checking(file).run, self._checked, word("desk.checking", name=file.name))

    def _checked(self, found: work.Checked) -> None:
        self._end()
        verified = found.verified
        said = [self._house.say(each) for each in (*verified.faults, *verified.statements)]
        questions.tell_checked(self._room, found.file.name, verified.whole, said)


def _names(places: dict[str, Path]) -> str:
    return ", ".join(place.name for place in places.values())

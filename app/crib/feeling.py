"""Feel, reached from the crib: asked once whether the person wants it, then the dialog."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Question, ask, stay_with
from app.window.house import House
from inspection.reasons import Reason
from inspection.words.say import word
from storage.book.clock import wall_clock

if TYPE_CHECKING:
    from app.crib.feel_work import Beginning, Begun
    from inspection.instruments.record import Instrument


class Feeling(QObject):
    """Opens one person's trials with an instrument."""

    def __init__(self, house: House, room: QWidget) -> None:
        super().__init__(room)
        self._house, self._room = house, room

    def begin(self, instrument: Instrument) -> None:
        """Look for the trials of the person at the bench; who has none is asked first."""
        from app.crib.feel_work import Beginning
        from inspection.studies.feel import is_read_on_blocks

        house = self._house
        if house.worker is None or house.shop is None:
            return
        if house.person not in house.shop.people:
            house.notice(word("feel.nobody"))
        elif not is_read_on_blocks(instrument):
            house.notice(house.say(Reason("feel.refused.kind", {"tag": instrument.tag, "name": instrument.name})))
        else:
            looking = Beginning(house.person, instrument, wall_clock().day)
            house.worker.read(looking.run, partial(self._found, looking), house.fail)

    def _found(self, looked: Beginning, begun: Begun) -> None:
        from app.crib.feel_work import Wanting

        house = self._house
        if house.worker is None or house.person != looked.person:
            return
        if begun.kept.wanted:
            self._open(looked, begun)
        elif ask(self._room, self._question(begun)) is not None:
            house.worker.read(Wanting(looked.person).run, partial(self._open, looked, begun), house.fail)

    def _question(self, begun: Begun) -> Question:
        shop = self._house.shop
        person = shop.people[self._house.person].name if shop is not None else ""
        title, text = word("feel.ask.title", person=person), word("feel.ask.text", file=str(begun.file))
        return Question(title, text, yes=word("feel.ask.yes"), no=words.word("button.no"))

    def _open(self, looked: Beginning, begun: Begun, _done: object = None) -> None:
        from app.crib.feel_dialog import FeelDialog
        from app.crib.feel_work import make_ready

        dialog = FeelDialog(self._house, looked.instrument, begun, self._room)
        dialog.forgotten.connect(self._forgotten)
        stay_with(dialog)
        if self._house.worker is not None:
            self._house.worker.read(make_ready, self._is_ready, self._house.fail)

    def _is_ready(self, _done: object) -> None:
        """Nothing follows: what the second reading asks for is loaded."""

    def _forgotten(self) -> None:
        self._house.notice(word("feel.forgotten"))

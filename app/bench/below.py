"""What stands below the entry: what is typed means, what was said, which pin to try, what the row came to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from app.bench.meaning import meaning_of
from app.bench.result_told import found_of
from app.bench.stepping import Shown
from app.bench.told import entry_unit
from app.window.house import House
from inspection.measuring.reading import Role

if TYPE_CHECKING:
    from app.bench.room import BenchRoom


class Below(QObject):
    """Shows it on the card, from the sheet as seen, the flow and what stands in the field."""

    def __init__(self, house: House, room: BenchRoom) -> None:
        super().__init__(room)
        self._house, self._room = house, room

    def say(self) -> None:
        """Show what the flow says, beside what is typed; on an empty field also what the row has to say."""
        said = self._room.flow.said
        if said.text or self._room.entry.text():
            self._room.card.show_said(said.text, said.look)
        else:
            self.show_empty()

    def show_meaning(self, _text: str = "") -> None:
        """While a number is typed the card shows what it means, and nothing else."""
        room, seen = self._room, self._room.seen
        if seen is None:
            return
        at, text = room.flow.at, room.entry.text()
        room.card.why.earlier.set_typing(bool(text))
        if not text:
            self.show_empty()
            return
        if at.slot is None or at.slot.role not in (Role.VALUE, Role.ENTERS, Role.STOPS):
            self._show_words(())
            return
        row, instrument = seen.row(at.row), seen.instrument(at.row)
        meaning = meaning_of(text, entry_unit(row, instrument), row, instrument)
        self._show_words(meaning.words, self._house.say(meaning.fault) if meaning.fault is not None else "")

    def show_empty(self) -> None:
        """The field is empty: of a bore that is measured with pins, which one to try next or what they tell of it; of a
        row that is read, what it came to."""
        room, shown = self._room, self._beside()
        room.card.show_meaning("", shown.line)
        said = room.flow.said
        room.card.show_said(*((said.text, said.look) if said.text else (shown.sentence, shown.look)))
        told = (shown.line, said.text or shown.sentence)
        room.entry.setAccessibleDescription(" ".join(filter(None, told)))

    def _beside(self) -> Shown:
        """What stands below the empty field."""
        seen, flow = self._room.seen, self._room.flow
        if seen is None or flow.standing is not None:
            return Shown()
        shown = flow.stepping.shown(seen, flow.at)
        if shown == Shown() and not flow.at.corrects:
            found = found_of(seen, flow.at.cell, self._house.units)
            return Shown(found.line, found.sentence, found.look)
        return shown

    def _show_words(self, words: tuple[str, ...], fault: str = "") -> None:
        """What the entry means on one line below it; what keeps it from being read where sentences stand, once."""
        room, said = self._room, self._room.flow.said
        room.card.show_meaning("     ".join(words))
        if fault and not (said.look and room.flow.stands):
            room.card.show_said(fault, "doubt")
        else:
            room.card.show_said(said.text, said.look)

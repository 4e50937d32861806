"""Rows read again at review, blind: picked first, then read one after the other, and compared once each is kept."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.bench import told, weighing
from app.bench.entry import Entry
from app.bench.meaning import meaning_of
from app.bench.reading_text import observed_of, quantity_of
from app.bench.seen import Seen
from app.ledger.keys import AGAIN_KEYS
from app.ledger.review.comparing import compared
from app.ledger.review.to_read import (
    ToRead,
    blind_name,
    blind_text,
    instrument_read,
    rows_read,
    slots_to_read,
)
from app.ledger.review.told import serial_of, serials_of
from app.parts.badge import Badge
from app.parts.fitted import Fitted, Sentence
from app.parts.items import Item, ItemsView
from app.parts.picking import PickList
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import HEAD, ROW, SMALL, TEXT, Theme
from inspection.measuring.reading import Role
from inspection.reasons import Refused
from inspection.sheet.acts import ReadRowAgain
from inspection.words.say import word

if TYPE_CHECKING:
    from app.background.worker import Failure
    from inspection.instruments.record import Instrument
    from inspection.sheet.state import Cell, Sheet, Shop

#: The width of the list of rows, in per cent of the page.
LIST = 40
_SEEN = frozenset({Role.GO, Role.NOT_GO, Role.FINDING})


class AgainPage(QWidget):
    """``left`` follows Esc."""

    left = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self._sheet: Sheet | None = None
        self._shop: Shop | None = None
        self._queue: tuple[ToRead, ...] = ()
        self._at = 0
        self._compared: list[Item] = []
        self._read: set[Cell] = set()
        self.title, self.about = Fitted("title", self), Fitted("soft", self)
        self.why = Sentence(house.theme, self, sizes=(TEXT, SMALL))
        self.why.show_text(word("review.again.why"), "quiet")
        self.picks = PickList(house.theme, word("review.again.rows"), self)
        self.count = Fitted("soft", self)
        self.asked = Sentence(house.theme, self, sizes=(28, HEAD, ROW), bold=True)
        self.with_ = Sentence(house.theme, self, sizes=(ROW, TEXT, SMALL))
        self.entry = Entry(self)
        self.badge = Badge(house.theme, self.entry)
        self.meaning = Sentence(house.theme, self, sizes=(ROW, TEXT, SMALL))
        self.said = Sentence(house.theme, self, sizes=(ROW, TEXT, SMALL))
        self.results = ItemsView(house.theme, word("review.again.results"), self)
        self.hints = Fitted("quiet", self)
        self.actions_by_name = self._make_actions()
        self._lay_out()
        self._connect()
        self.take_theme(house.theme)

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does = {"instrument": self._other_instrument, "all": self.picks.tick_all, "rows": self._to_picks}
        return actions_of(self, AGAIN_KEYS, does)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.title)
        head.addWidget(self.about, 1)
        right = self._right = QVBoxLayout()
        for part in (self.count, self.asked, self.with_, self.entry, self.meaning, self.said):
            right.addWidget(part)
        right.addWidget(self.results, 1)
        self._columns = QHBoxLayout()
        self._columns.addWidget(self.picks, LIST)
        self._columns.addLayout(right, 100 - LIST)
        self._layout = QVBoxLayout(self)
        self._layout.addLayout(head)
        self._layout.addWidget(self.why)
        self._layout.addLayout(self._columns, 1)
        self._layout.addWidget(self.hints)

    def _connect(self) -> None:
        self.picks.entered.connect(self._begin)
        self.picks.changed.connect(self._count_picked)
        self.entry.submitted.connect(self._submit)
        self.entry.lettered.connect(self._letter)
        self.entry.stepped.connect(self._step)
        self.entry.textChanged.connect(self._show_meaning)
        self.entry.leave = self._leave_entry

    # --- picking ----------------------------------------------------------------------------------------------------

    def start(self, sheet: Sheet, shop: Shop, proposed: Sequence[Cell]) -> None:
        """Offer the rows that were read, those proposed first and ticked."""
        self._sheet, self._shop, self._queue, self._compared = sheet, shop, (), []
        self._read = {
            (each.reading.characteristic, each.reading.piece) for each in sheet.read_again if each.round == sheet.round
        }
        part = sheet.plan.part
        self.title.show_text(word("review.again.title", part=part.number))
        self.about.show_text(serials_of(sheet))
        cells = tuple(dict.fromkeys((*proposed, *rows_read(sheet))))
        self.picks.show_cells([(cell, self._pick(cell)) for cell in cells], proposed)
        self.results.show_items(())
        self.said.show_text("", "quiet")
        self._to_picks()

    def _pick(self, cell: Cell) -> Item:
        assert self._sheet is not None
        row = self._sheet.characteristic(cell[0])
        serial = word("review.row.piece", serial=serial_of(self._sheet, cell[1]))
        read = word("review.again.read") if cell in self._read else ""
        side = " · ".join(filter(None, (serial if len(self._sheet.pieces) > 1 else "", read)))
        return Item("   ".join((row.number, blind_name(row))), side=side)

    def _to_picks(self) -> None:
        """Back to the rows; nothing is asked for meanwhile."""
        self._queue = ()
        self._show_asked()
        self.picks.setFocus()
        self.hints.show_text(word("review.again.hints.rows"))

    def _count_picked(self) -> None:
        n = len(self.picks.picked())
        self.count.show_text(word("review.again.picked", n=n))

    def _begin(self, _row: int = 0) -> None:
        """Read the rows that are ticked; where none is, the one at hand."""
        assert self._sheet is not None and self._shop is not None
        picked = self.picks.picked()
        if not picked and self.picks.row() >= 0:
            picked = (self.picks.cells()[self.picks.row()],)
        self._queue, self._at = tuple(slots_to_read(self._sheet, self._shop, picked)), 0
        if self._queue:
            self.hints.show_text(word("review.again.hints.entry"))
            self._show_asked()
            self.entry.setFocus()

    # --- reading ----------------------------------------------------------------------------------------------------

    def wanted(self) -> ToRead | None:
        """What is to be read now."""
        return self._queue[self._at] if self._at < len(self._queue) else None

    def _instrument(self, wanted: ToRead) -> Instrument | None:
        assert self._sheet is not None and self._shop is not None
        return instrument_read(self._sheet, self._shop, wanted.cell, wanted.method)

    def _show_asked(self) -> None:
        wanted, sheet = self.wanted(), self._sheet
        for part in (self.asked, self.with_, self.entry, self.meaning):
            part.setVisible(wanted is not None)
        if wanted is None or sheet is None:
            self._count_picked()
            return
        row, instrument = sheet.row_at(*wanted.cell), self._instrument(wanted)
        by_eye = wanted.slot.role in _SEEN
        self.count.show_text(word("review.again.of", n=self._at + 1, of=len(self._queue)))
        self.asked.show_text(blind_text(sheet, wanted), "ink")
        name = f"{instrument.tag} {instrument.name}" if instrument is not None else word("bench.instrument.none")
        self.with_.show_text(word("review.again.with", instrument=name), "quiet")
        self.badge.show_text("" if by_eye else told.entry_unit(row, instrument))
        self.entry.letters = frozenset("EN") if by_eye else frozenset()
        self.entry.setPlaceholderText(word("review.again.keys") if by_eye else "")
        self.entry.setAccessibleName(", ".join((self.asked.text(), self.with_.text())))
        self.entry.clear()
        self.picks.go(self.picks.cells().index(wanted.cell))

    def _show_meaning(self, text: str) -> None:
        wanted, sheet = self.wanted(), self._sheet
        if wanted is None or sheet is None or wanted.slot.role in _SEEN:
            self.meaning.show_text("", "quiet")
            return
        row, instrument = sheet.row_at(*wanted.cell), self._instrument(wanted)
        found = meaning_of(text, told.entry_unit(row, instrument), row, instrument)
        if found.fault is not None:
            self.meaning.show_text(self.house.say(found.fault), "doubt")
        else:
            self.meaning.show_text("   ".join(found.words), "quiet")

    def _letter(self, letter: str) -> None:
        self.entry.setText(letter)
        self._submit()

    def _submit(self) -> None:
        """Hand in what was typed, and go on at once."""
        text, wanted, sheet = self.entry.text().strip(), self.wanted(), self._sheet
        if wanted is None or sheet is None or not text:
            return
        row, instrument = sheet.row_at(*wanted.cell), self._instrument(wanted)
        try:
            observed = observed_of(text, row.number, wanted.slot)
            quantity = None if observed is not None else quantity_of(text, row, instrument)
        except Refused as refused:
            self._turn_down(refused)
            return
        act = ReadRowAgain(
            sheet=sheet.identity,
            characteristic=wanted.cell[0],
            piece=wanted.cell[1],
            slot=wanted.slot,
            quantity=quantity,
            observed=observed,
            method=wanted.method,
        )
        at = self._at
        self.said.show_text("", "quiet")
        self._go(at + 1)
        self.house.do(act, kept=self._kept, refused=partial(self._back, at, text), back=partial(self._back, at, text))

    def _turn_down(self, refused: Refused) -> None:
        self.said.show_text(self.house.say(*refused.reasons), "out")
        self.meaning.show_text("", "quiet")
        at = refused.reasons[0].parts.get("at")
        if isinstance(at, int):
            self.entry.point_at(at)
        self.entry.turned_down()

    def _kept(self, outcome: Any) -> None:
        """It is on disk: now it may be seen beside what was read before."""
        if self._sheet is None or outcome.stream != self._sheet.identity:
            return
        self._sheet = outcome.sheet
        shop = self._shop
        assert shop is not None
        again = outcome.sheet.read_again[-1].reading
        self._compared.append(compared(shop, outcome.sheet, again, self.house.units))
        self.results.show_items(self._compared[::-1], 0)
        self._show_read((again.characteristic, again.piece))

    def _show_read(self, cell: Cell) -> None:
        """The list shows which rows were read."""
        self._read.add(cell)
        row = self.picks.cells().index(cell)
        self.picks.items_model.change(row, self._pick(cell)._replace(ticked=self.picks.items[row].ticked))

    def _back(self, at: int, text: str, failure: Failure) -> None:
        """It was not kept: the row is asked for again, with what was typed."""
        self._go(at)
        self.entry.setText(text)
        self.said.show_text(self.house.sentence(failure), "out")

    def _go(self, at: int) -> None:
        if at >= len(self._queue):
            self.said.show_text(word("review.again.done", n=len(self._queue)), "ink")
            self._to_picks()
            return
        self._at = at
        self._show_asked()
        self.entry.setFocus()

    def _step(self, by: int) -> None:
        """Another row of those picked; what is typed stays where it is."""
        if not self.entry.text() and 0 <= self._at + by < len(self._queue):
            self._go(self._at + by)

    def _leave_entry(self) -> bool:
        if self.entry.text():
            self.entry.clear()
        else:
            self._to_picks()
        return True

    def _other_instrument(self) -> None:
        """Read this row with another instrument: told without ratios, which would tell the band."""
        wanted = self.wanted()
        if wanted is None or self._sheet is None or self._shop is None:
            return
        weighed = weighing.weigh(Seen(self._shop, self._sheet), wanted.cell[0])
        offered = {each.method.key: each for each in weighed if each.choosable}
        choices = tuple((key, weighing.plain_label(each)) for key, each in offered.items())
        if not choices:
            return
        row = self._sheet.characteristic(wanted.cell[0])
        title = word("review.again.instrument", number=row.number)
        field = Field("method", word("bench.other.method"), Sort.CHOICE, choices[0][0], choices)
        answer = ask(self, Question(title, "", (field,), word("bench.other.yes"), words.word("button.no")))
        if answer is not None:
            taken = wanted._replace(method=offered[answer["method"]].method)
            self._queue = (*self._queue[: self._at], taken, *self._queue[self._at + 1 :])
            self._show_asked()

    # --- keys and look ----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc goes back to the list of points."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        px = theme.px
        self._layout.setContentsMargins(px(24), px(18), px(24), px(14))
        self._layout.setSpacing(px(10))
        self._columns.setSpacing(px(24))
        self._right.setSpacing(px(8))
        heights = ((self.why, 34), (self.asked, 44), (self.with_, 24), (self.meaning, 24), (self.said, 50))
        for sentence, high in heights:
            sentence.take_theme(theme)
            sentence.setFixedHeight(px(high))
        self.entry.setFixedHeight(px(72))
        for part in (self.picks, self.results, self.badge):
            part.take_theme(theme)

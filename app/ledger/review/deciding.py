"""Deciding what is done about a nonconformance: the disposition and its words, and what that one asks for besides."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.ledger.review.told import nonconformance_item, row_item, serial_of
from app.parts.act_dialog import ActDialog
from app.parts.picking import PickList
from app.window.house import House
from inspection.sheet.acts import DisposeNonconformance
from inspection.sheet.nonconformance import Disposition, Leave, Nonconformance
from inspection.sheet.state import Cell, Sheet, Shop
from inspection.words.say import word


class DecideDialog(ActDialog):
    """Which lines are shown follows the disposition: the customer's leave, or rows to be measured again."""

    def __init__(self, house: House, parent: QWidget, sheet: Sheet, shop: Shop, held: Nonconformance) -> None:
        serial = serial_of(sheet, held.piece)
        title = word("review.decide.title", number=held.number, serial=serial)
        told = nonconformance_item(held, sheet, shop)
        text = word("review.decide.text", rows=told.text, what=held.what)
        super().__init__(house, parent, title, text, yes=word("review.decide.yes"))
        self._sheet, self._held = sheet, held
        self._affected = self._other_rows()
        self._affected_head = self.label(word("review.decide.affected"), "soft")
        self.rows = PickList(house.theme, word("review.decide.affected"), self)
        self.rows.prefer(house.theme.px(210))
        units = house.units
        self.rows.show_cells([(cell, row_item(sheet, cell, units, names_piece=False)) for cell in self._affected], ())
        self.add(self._affected_head)
        self.add(self.rows, 1)
        first = Disposition.USE_AS_IS if sheet.sealed else Disposition.REWORK
        choices = [(how.value, word(f"review.disposition.{how.name.lower()}")) for how in Disposition]
        self.how = self.add_choice(word("review.decide.how"), choices, first.value)
        self.words = self.add_line(word("review.decide.words"), hint=word("review.decide.words.hint"))
        self.document = self.add_line(word("review.decide.document"))
        self.day = self.add_line(word("review.decide.day"), hint=word("review.decide.day.hint"))
        self.scope = self.add_line(word("review.decide.scope"), hint=word("review.decide.scope.hint"))
        self._about = self.label("", "soft")
        self.column.insertWidget(self.column.count() - 2, self._about)
        self.how.currentIndexChanged.connect(self._show)
        self.rows.entered.connect(lambda _row: self.how.setFocus())
        self._show()
        self.how.setFocus()

    def _other_rows(self) -> tuple[Cell, ...]:
        """The rows that were read on the piece, but for those that the nonconformance names."""
        piece = self._held.piece
        return tuple(
            (row.identity, piece)
            for row in self._sheet.plan.characteristics
            if row.identity not in self._held.rows and self._sheet.standing.get((row.identity, piece))
        )

    def disposition(self) -> Disposition:
        """As chosen."""
        return Disposition(self.how.currentData())

    def _show(self) -> None:
        how = self.disposition()
        for line in (self.document, self.day, self.scope):
            self.show_field(line, shown=how.by_leave)
        again = how.measured_again and bool(self._affected)
        self._affected_head.setVisible(again)
        self.rows.setVisible(again)
        self._about.setText(word(f"review.disposition.{how.name.lower()}.means"))
        self.fit()

    def act(self) -> DisposeNonconformance:
        """As it stands; the door knows what is missing."""
        how = self.disposition()
        leave = Leave(self.document.text().strip(), self.day.text().strip(), self.scope.text().strip())
        return DisposeNonconformance(
            sheet=self._sheet.identity,
            nonconformance=self._held.identity,
            disposition=how,
            words=self.words.text(),
            affected=tuple(row for row, _ in self.rows.picked()) if how.measured_again else (),
            leave=leave if how.by_leave else None,
        )

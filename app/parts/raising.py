"""Raising a nonconformance, from whatever room: the piece, its rows that are out or in doubt, a number, what it is."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.bench import told
from app.parts.act_dialog import ActDialog
from app.parts.items import Item
from app.parts.marks import mark_of
from app.parts.picking import PickList
from app.window.asking import stay_with
from app.window.house import House
from inspection.sheet.acts import RaiseNonconformance
from inspection.sheet.nonconformance_life import unnamed
from inspection.sheet.state import Cell, Sheet
from inspection.sheet.steps import not_now
from inspection.words.say import say, word


def raise_nonconformance(house: House, parent: QWidget, sheet: Sheet, at: Cell | None = None) -> RaiseDialog | None:
    """Open the dialog on the rows that no nonconformance names; ``at`` is the row to begin with, if it is one of them.
    Where there is none, or the person may not, that is said, and there is no dialog."""
    against = not_now(house.shop, sheet, RaiseNonconformance, house.person) if house.shop is not None else None
    if against is not None or not tuple(unnamed(sheet)):
        house.notice(say(against) if against is not None else word("nonconformance.dialog.none"))
        return None
    dialog = RaiseDialog(house, parent, sheet, at)
    stay_with(dialog)
    return dialog


class RaiseDialog(ActDialog):
    """One piece, its rows ticked, and the words."""

    def __init__(self, house: House, parent: QWidget, sheet: Sheet, at: Cell | None) -> None:
        title = word("nonconformance.dialog.raise", part=sheet.plan.part.number)
        text = word("nonconformance.dialog.raise.text")
        super().__init__(house, parent, title, text, yes=word("nonconformance.dialog.raise.yes"))
        self._sheet, self._at = sheet, at
        self._cells = sorted(unnamed(sheet), key=lambda cell: sheet.rows.position[cell[0]])
        self.rows = PickList(house.theme, word("nonconformance.dialog.rows"), self, one_line=False)
        self.add(self.rows, 1)
        self.piece = self.add_choice(word("nonconformance.dialog.piece"), self._pieces(), at[1] if at else "")
        self.number = self.add_line(word("nonconformance.dialog.number"))
        self.what = self.add_line(word("nonconformance.dialog.what"), hint=word("nonconformance.dialog.what.hint"))
        self.show_field(self.piece, shown=self.piece.count() > 1)
        self.piece.currentIndexChanged.connect(self._show_rows)
        self.rows.entered.connect(lambda _row: self.number.setFocus())
        self._show_rows()
        self.number.setFocus()

    def _pieces(self) -> list[tuple[str, str]]:
        with_rows = {piece for _, piece in self._cells}
        return [(piece.identity, piece.serial) for piece in self._sheet.pieces if piece.identity in with_rows]

    def _show_rows(self) -> None:
        """The rows of the piece chosen: that at hand alone ticked, or else all."""
        cells = [cell for cell in self._cells if cell[1] == self.piece.currentData()]
        picked = [self._at] if self._at in cells else cells
        self.rows.show_cells([(cell, self._item(cell)) for cell in cells], picked)
        self.rows.fit(self.inner(), self.house.theme.px(300))
        self.fit()

    def _item(self, cell: Cell) -> Item:
        row, judgement = self._sheet.row_at(*cell), self._sheet.judgement(*cell)
        verdict = told.verdict(row, judgement, 0, 0, self.house.units)
        read = ", ".join(told.reading(each, row.requirement, self.house.units) for each in self._sheet.counting(*cell))
        told_below = ("   ".join(filter(None, (read, row.name))),)
        return Item(f"{row.number}   {row.requirement.written}", mark_of(judgement.verdict), told_below, verdict)

    def act(self) -> RaiseNonconformance:
        """As it stands; the door knows what is missing."""
        return RaiseNonconformance(
            sheet=self._sheet.identity,
            piece=self.piece.currentData(),
            characteristics=tuple(row for row, _ in self.rows.picked()),
            number=self.number.text(),
            what=self.what.text(),
        )

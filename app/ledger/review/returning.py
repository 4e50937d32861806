"""Returning a sheet: words to each row that has to be done again, and words to the whole."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from app.ledger.review.told import row_item, serial_of, serials_of
from app.parts.act_dialog import ActDialog
from app.parts.find_line import FindLine
from app.parts.items import Item, ItemsView
from app.window.house import House
from inspection.sheet.acts import ReturnSheet
from inspection.sheet.review import Returned
from inspection.sheet.state import Cell, Sheet
from inspection.words.say import word

#: So many rows are listed at once; the others are found by number.
MOST_SHOWN = 200


class ReturnDialog(ActDialog):
    """Rows to which words were written come first, then those that the list is about, then all. Enter on a row goes to
    its words, Enter there keeps them and goes on."""

    def __init__(self, house: House, parent: QWidget, sheet: Sheet, proposed: Sequence[Cell]) -> None:
        title = word("review.return.title", part=sheet.plan.part.number, serials=serials_of(sheet))
        text = word("review.return.text")
        super().__init__(house, parent, title, text, yes=word("review.return.yes"))
        self._sheet = sheet
        self._cells = tuple(dict.fromkeys((*proposed, *self._all_cells())))
        self._shown: tuple[Cell, ...] = ()
        self.words: dict[Cell, str] = {}
        self._to: Cell | None = None
        self.search = FindLine(word("review.return.find"), self)
        self.rows = ItemsView(house.theme, word("review.return.rows"), self)
        self.rows.prefer(house.theme.px(240))
        self.add(self.search)
        self.add(self.rows, 1)
        self.whole = self.add_line(word("review.return.whole"), hint=word("review.return.whole.hint"))
        self.row_words = self.add_line(word("review.return.words"))
        self.show_field(self.row_words, shown=False)
        self.search.textChanged.connect(self._show)
        self.search.given_on.connect(self.rows.move_by)
        self.rows.entered.connect(self._write_to)
        self._show()
        self.rows.setFocus()

    def _all_cells(self) -> list[Cell]:
        """Every row, on all pieces and on each."""
        pieces = [piece.identity for piece in self._sheet.pieces]
        pieces = ["", *pieces] if len(pieces) > 1 else pieces
        return [(row.identity, piece) for row in self._sheet.plan.characteristics for piece in pieces]

    # --- rows -------------------------------------------------------------------------------------------------------

    def _show(self) -> None:
        """The rows that hold what is looked for; those with words first, then those of a number that was typed."""
        wanted = self.search.text().casefold().split()
        found = [cell for cell in self._cells if cell in self.words or self._holds(cell, wanted)]
        order = {cell: (cell not in self.words, self._number(cell) not in wanted) for cell in found}
        self._shown = tuple(sorted(found, key=order.__getitem__))[:MOST_SHOWN]
        self.rows.show_items([self._item(cell) for cell in self._shown])

    def _holds(self, cell: Cell, wanted: list[str]) -> bool:
        """Whether a row has this number, and its piece this serial; or its requirement or name holds it."""
        row = self._sheet.characteristic(cell[0])
        serial = serial_of(self._sheet, cell[1]).casefold()
        on = "" if cell[1] else word("review.return.all_pieces")
        about = f"{row.requirement.written} {row.name} {on}".casefold()
        return all(each in (self._number(cell), serial) or each in about for each in wanted)

    def _number(self, cell: Cell) -> str:
        return self._sheet.characteristic(cell[0]).number.casefold()

    def _item(self, cell: Cell) -> Item:
        words = self.words.get(cell, "")
        told = (word("review.return.to", words=words),) if words else ()
        if not cell[1]:
            row = self._sheet.characteristic(cell[0])
            text = f"{row.number}   {row.requirement.written}   {word('review.return.all_pieces')}"
            return Item(text, None, told)
        shown = row_item(self._sheet, cell, self.house.units)
        return shown._replace(told=(*shown.told, *told))

    def _write_to(self, row: int) -> None:
        """Go to the words of this row."""
        cell = self._to = self._shown[row]
        number, serial = self._sheet.characteristic(cell[0]).number, serial_of(self._sheet, cell[1])
        said = word("review.return.hint", number=number, serial=serial or word("review.return.all_pieces"))
        self.row_words.setPlaceholderText(said)
        self.row_words.setText(self.words.get(cell, ""))
        self.show_field(self.row_words, shown=True)
        self.fit()
        self.row_words.setFocus()

    def _keep_words(self) -> None:
        """The words of the row at hand stand; no words take it out of the return."""
        cell, text = self._to, self.row_words.text().strip()
        if cell is None:
            return
        self.words.pop(cell, None)
        if text:
            self.words[cell] = text
        self._leave_words()
        self._show()

    def _leave_words(self) -> None:
        self._to = None
        self.show_field(self.row_words, shown=False)
        self.fit()
        self.rows.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter in a row's words keeps them, Esc leaves them; Enter in the find line goes to the rows."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if self.row_words.hasFocus() and (enter or event.key() == Qt.Key.Key_Escape):
            self._keep_words() if enter else self._leave_words()
        elif self.search.hasFocus() and enter:
            self.rows.setFocus()
        else:
            super().keyPressEvent(event)

    # --- the act ----------------------------------------------------------------------------------------------------

    def act(self) -> ReturnSheet:
        """The words that were written; the door knows what is missing."""
        if self._to is not None:
            self._keep_words()
        rows = [Returned(row, piece, words) for (row, piece), words in self.words.items()]
        whole = [Returned("", "", self.whole.text())] if self.whole.text().strip() else []
        return ReturnSheet(sheet=self._sheet.identity, rows=(*rows, *whole))

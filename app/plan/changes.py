"""What keys do to the rows and cells chosen in the plan's table, each a step that can be undone."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from PySide6.QtGui import QGuiApplication

from app.plan import questions
from app.plan.columns import COLUMNS, READS
from app.plan.table import At
from inspection.drawing import editing, editing_numbers
from inspection.drawing.editing import Draft
from inspection.drawing.editing_text import block_of, text_of
from inspection.reasons import Refused
from inspection.words.say import word
from storage.csv_cells import guarded, unguarded
from storage.intake.heads import field_of, names

if TYPE_CHECKING:
    from app.plan.writing import WritingPage


class Changes:
    """The changes of one page, which holds the table and the history."""

    def __init__(self, page: WritingPage) -> None:
        self._page, self._house, self._table, self._model = page, page.house, page.table, page.model

    @property
    def _draft(self) -> Draft:
        return self._page.draft

    def _rows(self) -> list[int]:
        """The rows chosen that there are."""
        rows = map(self._model.row_of, self._table.places())
        return [row for row in rows if row < len(self._draft.rows)]

    def _fields(self) -> list[str]:
        return [COLUMNS[column] for column in self._table.columns() if COLUMNS[column] != READS]

    def fill(self, text: str) -> None:
        """The same text in every cell chosen."""
        draft = self._draft
        for field in self._fields():
            draft = editing.fill(draft, self._rows(), field, text)
        self._page.do("fill", draft)

    def clear(self) -> None:
        """Empty the cells chosen."""
        self._page.do("clear", editing.clear(self._draft, self._rows(), self._fields()))

    # --- blocks ---------------------------------------------------------------------------------------------------

    def copy(self) -> None:
        """Put the cells chosen on the clipboard; no callout becomes a formula where they are pasted."""
        block = editing.copied(self._draft, self._rows(), self._fields())
        if block:
            QGuiApplication.clipboard().setText(text_of(tuple(tuple(map(guarded, row)) for row in block)))

    def cut(self) -> None:
        """Copy the cells chosen and empty them."""
        self.copy()
        self.clear()

    def paste(self) -> None:
        """Lay what is on the clipboard over the table from the first cell chosen; one cell fills all chosen."""
        found = block_of(_plain(QGuiApplication.clipboard().text()))
        block = tuple(tuple(map(unguarded, row)) for row in found)
        if not block:
            return
        if len(block) == 1 and len(block[0]) == 1 and self._table.several:
            self.fill(block[0][0])
            return
        first = self._table.places().start
        rows = [self._model.row_of(place) for place in range(first, self._model.rowCount() - 1)]
        fields = [name for name in COLUMNS[self._table.columns().start :] if name != READS]
        try:
            pasted = editing.paste(self._draft, block, rows, fields, _field_of_head)
        except Refused as refused:
            self._house.noticed.emit(self._house.say(*refused.reasons), True)
            return
        self._page.do("paste", pasted.draft)
        self._choose_rows(pasted.rows, pasted.fields)
        if pasted.left_out:
            self._house.notice(word("plan.pasted_without", heads=", ".join(pasted.left_out)))

    def _choose_rows(self, rows: Iterable[int], fields: Iterable[str] = ()) -> None:
        places = sorted(self._model.place_of(row) for row in rows)
        columns = sorted(COLUMNS.index(field) for field in fields) or [*self._table.columns()]
        if places:
            self._table.choose(range(places[0], places[-1] + 1), range(columns[0], columns[-1] + 1))

    # --- rows -----------------------------------------------------------------------------------------------------

    def insert(self) -> None:
        """A new row before the first one chosen."""
        self._table.keep_typed()
        row = self._model.row_of(self._table.places().start)
        set_up = self._page.row_at_hand().text("set_up") if self._page.grouped else ""
        self._page.do("insert", editing.insert(self._draft, row, {"set_up": set_up}))
        self._table.go(At(self._model.place_of(row), 0))

    def delete(self) -> None:
        """Take the rows chosen out."""
        rows = self._rows()
        chosen = [self._draft.rows[row] for row in rows]
        read = [row.text("number") for row in chosen if row.identity in self._page.measured]
        self._page.do("delete", editing.delete(self._draft, rows))
        self._table.go(At(self._table.places().start, self._table.at.column))
        if read:
            self._house.notice(word("plan.deleted_measured", n=len(read), numbers=", ".join(read)))

    def up(self) -> None:
        """Move the rows chosen up."""
        self._move(-1)

    def down(self) -> None:
        """Move the rows chosen down."""
        self._move(1)

    def _move(self, by: int) -> None:
        """The rows chosen past their neighbour as shown."""
        places, rows = self._table.places(), self._rows()
        beside = places.start - 1 if by < 0 else places.stop
        if not rows or not 0 <= beside < len(self._model.order):
            return
        to = self._model.row_of(beside) + (by > 0)
        self._page.do("move", editing.move(self._draft, rows, to))
        first = to - sum(row < to for row in rows)
        self._choose_rows(range(first, first + len(rows)))

    def split(self) -> None:
        """A row for each place of a count."""
        row = self._one_row()
        if row is not None and self._page.attempt("split", lambda draft: editing_numbers.split(draft, row)):
            found = editing_numbers.family(self._draft, row)
            self._choose_rows(found.rows if found is not None else [row])

    def join(self) -> None:
        """One row for the places of a count."""
        row = self._one_row()
        found = editing_numbers.family(self._draft, row) if row is not None else None
        if row is None:
            return
        joined = self._page.attempt("join", lambda draft: editing_numbers.join(draft, row, self._page.measured))
        if joined and found is not None:
            self._choose_rows([min(found.rows)])

    def _one_row(self) -> int | None:
        self._table.keep_typed()
        row = self._model.row_of(self._table.at.row)
        return row if row < len(self._draft.rows) else None

    def renumber(self) -> None:
        """Ask how, and give numbers anew."""
        row = self._one_row()
        if row is None:
            return
        asked = questions.ask_renumber(self._page, self._draft.rows[row].text("number"))
        if asked is None:
            return
        below = [self._model.row_of(place) for place in range(self._table.at.row, len(self._model.order))]
        does: dict[str, Callable[[Draft], Draft]] = {
            "one": lambda draft: editing_numbers.renumber(draft, row, asked.number),
            "shift": lambda draft: editing_numbers.shift(draft, below, asked.by),
            "order": editing_numbers.number_in_order,
            "sort": editing_numbers.sort_by_number,
        }
        self._page.attempt("renumber", does[asked.how])


def _plain(text: str) -> str:
    """Text from elsewhere without halves of characters, which no file can hold."""
    return text.encode("utf-8", "replace").decode()


def _field_of_head(head: str) -> str | None:
    return field_of(head, names("features"))

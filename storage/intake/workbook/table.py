"""Which worksheet holds the table, and its rows as lines; what is said of the sheets that are not read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from inspection.layout.cell_names import letters
from inspection.reasons import Reason
from storage.intake.faults import Faults, Places
from storage.intake.heads import MOST_HEADS, Names, in_front, known_among
from storage.intake.lines import Line
from storage.intake.workbook.book import Book, Sheet
from storage.intake.workbook.worksheet import SheetReader

if TYPE_CHECKING:
    from storage.intake.grid import Grid

#: A sheet of this name holds the lines in front of the table: names in its first column, values in its second.
HEAD_SHEET = "head"
#: Rows beyond the most that a table may have, so far down that what stands there is no part of it.
FAR_BELOW = 1_000
_MOST_NOTICES = 20


class Table:
    """The table of a workbook: the first visible worksheet whose head row is known.

    Every head needed must be there; if no sheet has them all, the first with any known head is taken, and what is
    missing is a fault. ``notices`` say which other sheets were not read.
    """

    def __init__(self, data: bytes, faults: Faults, known: Names, required: tuple[str, ...], most_rows: int) -> None:
        """Raises ``FileRefused`` if no visible worksheet holds such a table."""
        self._faults = faults
        self._known = known
        self._required = frozenset(required)
        self._last_row = most_rows + FAR_BELOW
        self._book = Book(data, faults.name)
        self._reader = SheetReader()
        self._head_row = 0
        self._width = 0  # columns of the head row
        self.notices: list[Reason] = []
        self._sheet = self._chosen()
        self.sheet = self._sheet.name
        faults.places = Places(self.sheet)

    def lines(self) -> Iterator[Line]:
        """The lines of the sheet ``Head``, if there is one, and then those of the table's sheet."""
        head = next((one for one in self._visible() if _is_head(one) and one is not self._sheet), None)
        if head:
            for line in self._book.lines(head, SheetReader(), head.name):
                if line.hidden:
                    self._faults.note(line.number, "", Reason("xlsx.row_hidden"), sheet=head.name)
                yield line
        for line in self._book.lines(self._sheet, self._reader):
            if line.number > self._last_row and (line.cells or line.problems):
                self._faults.note(line.number, "", Reason("xlsx.far_below", {"most": self._last_row}))
                return
            if not self._head_row and not in_front(line.cells):
                self._head_row, self._width = line.number, line.width
            yield line

    def finish(self, grid: Grid) -> None:
        """Note what the sheet says beside its rows: merged cells and hidden columns in the table."""
        if not grid.heads:
            return
        columns = {letters: head for head, letters in grid.places.letters.items()}
        self._merged(columns, grid)
        self._hidden(columns)

    def _merged(self, columns: dict[str, str], grid: Grid) -> None:
        last = max((row.number for row in grid.rows), default=self._head_row)
        for area in self._reader.merged:
            if area.bottom >= self._head_row and area.top <= last and area.left < self._width:
                code = "xlsx.merged_head" if area.top <= self._head_row else "xlsx.merged"
                self._faults.note(area.top, "", Reason(code, {"range": area.written}), cell=area.written)

    def _hidden(self, columns: dict[str, str]) -> None:
        width = min(self._width, MOST_HEADS)
        for column in sorted({one for first, last in self._reader.hidden for one in range(width)[first : last + 1]}):
            name = letters(column + 1)
            reason = Reason("xlsx.column_hidden", {"column": name})
            self._faults.note(self._head_row, columns.get(name, ""), reason, cell=f"{name}{self._head_row}")

    # --- which sheet --------------------------------------------------------------------------------------------

    def _visible(self) -> list[Sheet]:
        return [one for one in self._book.sheets if not one.hidden]

    def _chosen(self) -> Sheet:
        found = [(one, self._heads(one)) for one in self._visible()]
        whole = [one for one, heads in found if self._required <= heads]
        part = [one for one, heads in found if heads and not _is_head(one)]
        if not whole and not part:
            raise self._book.package.refused(self._no_table())
        chosen = (whole or part)[0]
        self._say_of_others(whole, chosen)
        return chosen

    def _heads(self, sheet: Sheet) -> frozenset[str]:
        """The fields that the first row behind the lines in front names."""
        for line in self._book.lines(sheet, SheetReader()):
            if line.number > self._last_row:
                break
            if not in_front(line.cells):
                return frozenset(known_among(line.cells.values(), self._known))
        return frozenset()

    def _no_table(self) -> Reason:
        """Why no sheet can be taken: the table stands on a hidden one, or nowhere."""
        for sheet in self._book.sheets:
            if sheet.hidden and self._required <= self._heads(sheet):
                return Reason("xlsx.table_hidden", {"sheet": sheet.name})
        heads = ", ".join(self._known[field][0] for field in self._known if field in self._required)
        return Reason("xlsx.no_heads", {"heads": heads})

    def _say_of_others(self, whole: list[Sheet], chosen: Sheet) -> None:
        said = [Reason("xlsx.also_a_table", {"sheet": one.name, "taken": chosen.name}) for one in whole[1:]]
        said += [Reason("xlsx.sheet_hidden", {"sheet": one.name}) for one in self._book.sheets if one.hidden]
        self.notices += said[:_MOST_NOTICES]


def _is_head(sheet: Sheet) -> bool:
    return sheet.name.strip().casefold() == HEAD_SHEET

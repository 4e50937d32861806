"""Faults of a file that was brought in, each at its place, gathered so that all are told together."""

from __future__ import annotations

from msgspec import Struct

from inspection.reasons import Reason, Refused

#: More than these are counted, not listed: nobody reads the hundredth of one kind.
MOST_LISTED = 60
#: At so many a file is not read on; those of one row more are counted, not kept.
MOST_KEPT = 2_000


class Places(Struct, frozen=True):
    """How the cells of a workbook's table are named: its worksheet, and the column's letters by head as written.

    A csv file has none: its cells are named by row and head.
    """

    sheet: str = ""
    letters: dict[str, str] = {}


class Fault(Struct, frozen=True):
    """One fault: in which row (as a spreadsheet counts them, from 1; 0 is the file as a whole), under which head,
    at which character of the cell (from 1; 0 unknown), and why; in a workbook also which ``sheet`` and ``cell``
    ("C7", or a range)."""

    row: int
    column: str
    at: int
    reason: Reason
    sheet: str = ""
    cell: str = ""

    def place(self) -> Reason:
        """Where the fault is, as a reason of its own to be said in front of ``reason``."""
        if self.sheet:
            return self._in_workbook()
        if not self.row:
            return Reason("intake.in_file")
        if not self.column:
            return Reason("intake.in_row", {"row": self.row})
        if not self.at:
            return Reason("intake.in_cell", {"row": self.row, "column": self.column})
        return Reason("intake.in_cell_at", {"row": self.row, "column": self.column, "at": self.at})

    @property
    def address(self) -> str:
        """Sheet and cell as a spreadsheet writes them: ``Features!C7``, ``'Rev B'!C7``; the row where no cell is known;
        empty outside a workbook."""
        if not self.sheet:
            return ""
        sheet = self.sheet if self.sheet.isalnum() else "'" + self.sheet.replace("'", "''") + "'"
        return f"{sheet}!{self.cell}" if self.cell else f"{sheet}!{self.row}:{self.row}"

    def _in_workbook(self) -> Reason:
        if not self.cell:
            return Reason("intake.in_sheet_row", {"sheet": self.sheet, "row": self.row})
        if not self.column:
            return Reason("intake.in_sheet_cell", {"cell": self.address})
        if not self.at:
            return Reason("intake.in_sheet_column", {"cell": self.address, "column": self.column})
        return Reason("intake.in_sheet_column_at", {"cell": self.address, "column": self.column, "at": self.at})


class FileRefused(Refused):
    """A file was not taken in; ``faults`` hold every fault by its place (the first ``MOST_KEPT`` of ``count``).

    ``reasons`` hold the same for whoever knows nothing of places: each fault as where and why, one after the other.
    """

    def __init__(self, name: str, faults: tuple[Fault, ...], count: int = 0) -> None:
        count = max(count, len(faults))
        listed = faults[:MOST_LISTED]
        said = [reason for fault in listed for reason in (fault.place(), fault.reason)]
        if count >= MOST_KEPT:
            said.append(Reason("intake.stopped", {"n": MOST_KEPT}))
        elif count > len(listed):
            said.append(Reason("intake.more_faults", {"n": count - len(listed)}))
        super().__init__(Reason("intake.file_refused", {"file": name, "n": count}), *said)
        self.name = name
        self.faults = faults
        self.count = count


def whole_refused(name: str, reason: Reason) -> FileRefused:
    """The refusal of a file that cannot be read at all."""
    return FileRefused(name, (Fault(0, "", 0, reason),))


class Faults:
    """Gathers the faults of one file; ``settle`` refuses the file if there were any."""

    def __init__(self, name: str, places: Places | None = None) -> None:
        self.name = name
        self.places = places or Places()
        self.found: list[Fault] = []
        self.count = 0

    def note(self, row: int, column: str, *reasons: Reason, sheet: str = "", cell: str = "") -> None:
        """Keep ``reasons`` as faults of one cell; a reason that holds the part ``at`` (an index from 0, which
        is also what it is without a place) tells the character. In a workbook the cell follows from row and head,
        unless ``sheet`` and ``cell`` say it."""
        letters = self.places.letters.get(column)
        if row and self.places.sheet and not sheet:
            sheet, cell = self.places.sheet, cell or (f"{letters}{row}" if letters else "")
        for reason in reasons:
            self.count += 1
            if len(self.found) < MOST_KEPT:
                at = reason.parts.get("at")
                place = at + 1 if isinstance(at, int) and at > 0 else 0
                self.found.append(Fault(row, column, place, reason, sheet, cell))

    @property
    def full(self) -> bool:
        """Whether there are so many that nobody needs more of them."""
        return self.count >= MOST_KEPT

    def in_order(self) -> tuple[Fault, ...]:
        """What was found: first what is of the whole file or of another sheet than the table's, then by row."""
        return tuple(sorted(self.found, key=lambda fault: (fault.sheet == self.places.sheet, fault.row)))

    def settle(self) -> None:
        """Return quietly if the file is whole; raises ``FileRefused`` with every fault, in the file's order."""
        if self.found:
            raise FileRefused(self.name, self.in_order(), self.count)

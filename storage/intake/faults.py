"""Faults of a file that was brought in, each at its place, gathered so that all are told together."""

from __future__ import annotations

from msgspec import Struct

from inspection.reasons import Reason, Refused

#: More than these are counted, not listed: nobody reads the hundredth of one kind.
MOST_LISTED = 60


class Fault(Struct, frozen=True):
    """One fault: in which row (as a spreadsheet counts them, from 1; 0 is the file as a whole), under which head,
    at which character of the cell (from 1; 0 unknown), and why."""

    row: int
    column: str
    at: int
    reason: Reason

    def place(self) -> Reason:
        """Where the fault is, as a reason of its own to be said in front of ``reason``."""
        if not self.row:
            return Reason("intake.in_file")
        if not self.column:
            return Reason("intake.in_row", {"row": self.row})
        if not self.at:
            return Reason("intake.in_cell", {"row": self.row, "column": self.column})
        return Reason("intake.in_cell_at", {"row": self.row, "column": self.column, "at": self.at})


class FileRefused(Refused):
    """A file was not taken in; ``faults`` hold every fault by its place.

    ``reasons`` hold the same for whoever knows nothing of places: each fault as where and why, one after the other.
    """

    def __init__(self, name: str, faults: tuple[Fault, ...]) -> None:
        listed = faults[:MOST_LISTED]
        said = [reason for fault in listed for reason in (fault.place(), fault.reason)]
        if len(faults) > len(listed):
            said.append(Reason("intake.more_faults", {"n": len(faults) - len(listed)}))
        super().__init__(Reason("intake.file_refused", {"file": name, "n": len(faults)}), *said)
        self.name = name
        self.faults = faults


class Faults:
    """Gathers the faults of one file; ``settle`` refuses the file if there were any."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.found: list[Fault] = []

    def note(self, row: int, column: str, *reasons: Reason) -> None:
        """Keep ``reasons`` as faults of one cell; a reason that holds the part ``at`` (an index from 0, which
        is also what it is without a place) tells the character."""
        for reason in reasons:
            at = reason.parts.get("at")
            self.found.append(Fault(row, column, at + 1 if isinstance(at, int) and at > 0 else 0, reason))

    def settle(self) -> None:
        """Return quietly if the file is whole; raises ``FileRefused`` with every fault, in the file's order."""
        if self.found:
            raise FileRefused(self.name, tuple(sorted(self.found, key=lambda fault: fault.row)))

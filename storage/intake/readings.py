"""A reading file as values: one row a reading, a correction, a withdrawal, an answer or a note, in the file's order.

What a reading means (its slot, its number in the instrument's unit) needs the sheet, and is decided where the sheet is
at hand; here a row is checked as far as the file alone tells.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, tzinfo
from itertools import takewhile

from msgspec import Struct

from inspection.measuring.reading import Observed, Role
from inspection.reasons import Reason, Refused
from storage.intake.faults import Faults, Places
from storage.intake.grid import Row, names, plain, read_grid

MOST_READINGS = 100_000
REQUIRED = ("number", "reading")
#: What the template of a sheet is filled with.
PREFILLED = ("serial", "number", "requirement", "limits", "place", "repeat", "role")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class ReadingRow(Struct, frozen=True):
    """One row of a reading file; ``heads`` are the heads as written, by field, to name a cell's place.

    ``reading`` is the text as written, ``observed`` what it says if it is no number. ``role``, ``repeat`` and ``place``
    left empty mean the cell's next free slot. ``replaces`` counts the readings of the cell in the order taken, from 1.
    ``taken`` is UTC microseconds and ``day`` the calendar day written. ``answer`` answers the cell's slip question:
    "kept", "left_open" or "new_reading". ``requirement`` is the text that a template was filled with for the row, to be
    compared with the sheet's.
    """

    row: int
    serial: str
    number: str
    reading: str = ""
    observed: Observed | None = None
    place: str = ""
    repeat: int | None = None
    role: Role | None = None
    instrument: str = ""
    taken: int | None = None
    day: str = ""
    note: str = ""
    reason: str = ""
    replaces: int | None = None
    withdraw: bool = False
    answer: str = ""
    requirement: str = ""


class ReadingFile(Struct, frozen=True):
    """A whole reading file, the heads of its columns as written, by field, how its cells are named, and what is to be
    said of it."""

    name: str
    rows: tuple[ReadingRow, ...]
    heads: dict[str, str]
    places: Places = Places()
    notices: tuple[Reason, ...] = ()


def read_readings(data: bytes, name: str, zone: tzinfo | None = None) -> ReadingFile:
    """The rows of a reading file. Times without an offset are of ``zone`` (None: this computer's).

    Raises ``FileRefused`` with every fault by its cell.
    """
    file, faults = look_at_readings(data, name, zone)
    faults.settle()
    return file


def look_at_readings(data: bytes, name: str, zone: tzinfo | None = None) -> tuple[ReadingFile, Faults]:
    """As much of a reading file as can be read, and its faults by cell. Raises ``FileRefused`` if nothing can."""
    grid, faults = read_grid(data, name, names("readings"), REQUIRED, MOST_READINGS)
    cells = _Cells(grid.heads, faults, zone)
    told = [row for row in grid.rows if not _untouched(row)]
    rows = tuple(cells.row(row) for row in takewhile(lambda _row: not faults.full, told))
    left = len(grid.rows) - len(told)
    notices = (*grid.notices, *([Reason("intake.rows_left_empty", {"n": left})] if left else []))
    if not rows and not faults.found:
        faults.note(0, "", Reason("intake.no_readings" if left else "intake.no_rows"))
    return ReadingFile(name, rows, grid.heads, grid.places, notices), faults


def _untouched(row: Row) -> bool:
    """Whether a row holds nothing but what a sheet's template was filled with."""
    filled = {*row.cells, *row.flawed}
    return bool(filled & {"requirement", "limits"}) and filled <= set(PREFILLED)


def word(kind: str, text: str) -> str | None:
    """What a word of a cell stands for (a key of its table in the heads' file), or None."""
    wanted = plain(text)
    return next((key for key, words in names(kind).items() if wanted in words), None)


def moment(text: str, zone: tzinfo | None) -> tuple[int, str]:
    """UTC microseconds and the calendar day of a time such as ``2026-03-02 14:05`` or ``2026-03-02T14:05:10+01:00``.

    Raises Refused for anything else, and for a local time that a change of clocks leaves out.
    """
    if not re.fullmatch(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d(:\d\d(\.\d{1,6})?)?( ?(Z|[+-]\d\d:\d\d))?", text):
        raise Refused(Reason("intake.not_a_time", {"written": text[:60]}))
    try:
        written = datetime.fromisoformat(text.replace(" +", "+").replace(" -", "-").replace(" Z", "Z"))
        aware = written if written.tzinfo else written.replace(tzinfo=zone) if zone else written.astimezone()
        since = aware.astimezone(UTC) - _EPOCH
    except (ValueError, OverflowError, OSError):
        raise Refused(Reason("intake.not_a_time", {"written": text[:60]})) from None
    return (since.days * 86_400 + since.seconds) * 1_000_000 + since.microseconds, written.date().isoformat()


class _Cells:
    """Reads the cells of one file's rows, noting what is wrong with each."""

    def __init__(self, heads: dict[str, str], faults: Faults, zone: tzinfo | None) -> None:
        self.heads = heads
        self.faults = faults
        self.zone = zone

    def row(self, row: Row) -> ReadingRow:
        cells = row.cells
        self._sense(row)
        role = self._word(row, "role")
        taken, day = self._taken(row)
        return ReadingRow(
            row=row.number,
            serial=cells.get("serial", ""),
            number=cells.get("number", ""),
            reading=cells.get("reading", ""),
            observed=observed_in(cells.get("reading", "")),
            place=cells.get("place", ""),
            repeat=self._count(row, "repeat"),
            role=Role[role.upper()] if role else None,
            instrument=cells.get("instrument", ""),
            taken=taken,
            day=day,
            note=cells.get("note", ""),
            reason=cells.get("reason", ""),
            replaces=self._count(row, "replaces"),
            withdraw=self._word(row, "withdraw", "yes_or_no") == "yes",
            answer=self._word(row, "answer") or "",
            requirement=cells.get("requirement", ""),
        )

    def _sense(self, row: Row) -> None:
        """A row must name its row of the sheet and say something about it, and one thing only."""
        cells = dict.fromkeys(row.flawed, "") | row.cells  # what is flawed is said already, of the cell itself
        if "number" not in cells:
            self._fault(row, "number", Reason("intake.cell_empty", {"head": self.heads.get("number", "number")}))
        if "reading" in cells and word("yes_or_no", cells.get("withdraw", "")) == "yes":
            self._fault(row, "reading", Reason("intake.reading_and_withdraw"))
        if "reading" in cells and word("answer", cells.get("answer", "")) in ("kept", "left_open"):
            self._fault(row, "answer", Reason("intake.reading_and_answer"))
        if "reading" not in cells and not {"note", "withdraw", "answer"} & cells.keys():
            self._fault(row, "reading", Reason("intake.row_says_nothing"))

    def _taken(self, row: Row) -> tuple[int | None, str]:
        if text := row.cells.get("taken"):
            try:
                return moment(text, self.zone)
            except Refused as refused:
                self._fault(row, "taken", *refused.reasons)
        return None, ""

    def _count(self, row: Row, field: str) -> int | None:
        text = row.cells.get(field, "")
        if not text:
            return None
        if re.fullmatch(r"[1-9][0-9]{0,3}", text):
            return int(text)
        self._fault(row, field, Reason("intake.not_a_count", {"written": text[:60]}))
        return None

    def _word(self, row: Row, field: str, kind: str = "") -> str | None:
        text = row.cells.get(field, "")
        if not text:
            return None
        found = word(kind or field, text)
        if found is None:
            known = ", ".join(words[0] for words in names(kind or field).values())
            self._fault(row, field, Reason("intake.word_unknown", {"written": text[:60], "known": known}))
        return found

    def _fault(self, row: Row, field: str, *reasons: Reason) -> None:
        self.faults.note(row.number, self.heads.get(field, field), *reasons)


def observed_in(text: str) -> Observed | None:
    """What a text says was seen, in any of the words that a reading file may use; None if it says nothing seen."""
    found = word("observed", text)
    return Observed[found.upper()] if found else None

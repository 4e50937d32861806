"""Rows in the tables against those that follow from the journal, told by sheet, balloon number and piece."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from msgspec import Struct

from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Part, Reason
from inspection.sheet.state import Sheet
from storage.book.passages import COLUMNS

_Columns = dict[str, Any]

#: So many signs of a value are told, beginning so many before two long ones differ.
MOST_TOLD, LEAD = 70, 12
#: What stands for no value at all.
NOTHING = "–"
#: The columns that hold a moment, in UTC microseconds.
MOMENTS = frozenset({"at", "made_at", "taken"})
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class Names(Struct, frozen=True):
    """What rows are called by on their sheet: part number, the serials of all pieces, balloon numbers, serials, and
    readings and questions by identity."""

    part: str = ""
    all_serials: str = ""
    numbers: Mapping[str, str] = {}
    serials: Mapping[str, str] = {}
    readings: Mapping[str, Any] = {}
    questions: Mapping[str, Any] = {}

    @classmethod
    def of(cls, sheet: Sheet | None) -> Names:
        """The names on this sheet; none for what is on no sheet."""
        if sheet is None:
            return cls()
        numbers = {row.identity: row.number for row in sheet.plan.characteristics}
        serials = {piece.identity: piece.serial for piece in sheet.pieces}
        told = ", ".join(serials.values())
        return cls(sheet.plan.part.number, told, numbers, serials, sheet.readings, sheet.questions)

    def place(self, row: _Columns) -> tuple[str, dict[str, Part]]:
        """How a row's place is told: "row" (with number and serial), "sheet" or "book"; and its parts."""
        parts: dict[str, Part] = {"entry": row["sequence"], "part": self.part, "serials": self.all_serials}
        of = self.readings.get(row.get("reading", "")) or self.questions.get(row.get("question", ""))
        characteristic = row.get("characteristic") or (of.characteristic if of else "")
        piece = row.get("piece") or (of.piece if of else "")
        if self.part and characteristic in self.numbers:
            return "row", {**parts, "number": self.numbers[characteristic], "serial": self.serials.get(piece, "-")}
        return ("sheet" if self.part else "book"), parts


def differing(
    table: str,
    expected: list[tuple[Any, ...]],
    stored: list[tuple[Any, ...]],
    names: Callable[[int], Names | None],
) -> list[tuple[int, Reason]]:
    """Each difference between the rows of a table that should be and those that are, with the entry it belongs to.

    ``names`` gives those of an entry's sheet, and None for an entry that nothing can be said of.
    """
    due, found = ({row[:2]: row for row in rows} for rows in (expected, stored))
    faults = []
    for key in sorted(due.keys() | found.keys()):
        called = names(key[0])
        if called is None:
            continue
        if key not in found:
            faults.append((key[0], _fault("missing", table, due[key], called)))
        elif key not in due:
            faults.append((key[0], _fault("added", table, found[key], called)))
        else:
            for column, value, held in zip(COLUMNS[table], due[key], found[key], strict=True):
                if value != held:
                    told = _values(dict(zip(COLUMNS[table], due[key], strict=True)), column, held, value)
                    faults.append(
                        (key[0], _fault("changed", table, due[key], called, column=f"book.column.{column}", **told))
                    )
    return faults


def _values(row: _Columns, column: str, held: Any, due: Any) -> dict[str, Part]:
    """What a column holds and what it should, as people read them: an amount in its unit, a moment by the clock, a long
    text from where the two begin to differ, a dash for nothing."""
    unit = UNITS.get(row.get("unit", "")) if column == "amount" else None
    if unit is not None and isinstance(held, int) and isinstance(due, int):
        return {
            "stored": Amount(held, unit.kind, row["unit"]),
            "expected": Amount(due, unit.kind, row["unit"]),
        }
    texts = [_moment(each) if column in MOMENTS else " ".join(str(each).split()) for each in (held, due)]
    same = next((at for at, pair in enumerate(zip(*texts, strict=False)) if pair[0] != pair[1]), min(map(len, texts)))
    start = max(same - LEAD, 0) if max(map(len, texts)) > MOST_TOLD else 0
    shown = (
        NOTHING if each in (None, "") else _cut(text, start) for each, text in zip((held, due), texts, strict=True)
    )
    return dict(zip(("stored", "expected"), shown, strict=True))


def _moment(at: Any) -> str:
    """A moment (UTC microseconds) by the clock; anything that is none as it stands."""
    try:
        return f"{EPOCH + timedelta(microseconds=at):%Y-%m-%d %H:%M:%S.%f} UTC"
    except (TypeError, OverflowError):
        return str(at)


def _cut(text: str, start: int) -> str:
    told = text[start : start + MOST_TOLD]
    return f"{'…' if start else ''}{told}{'…' if start + MOST_TOLD < len(text) else ''}"


def _fault(kind: str, table: str, row: tuple[Any, ...], names: Names, **told: Part) -> Reason:
    scope, parts = names.place(dict(zip(COLUMNS[table], row, strict=True)))
    return Reason(f"verify.{kind}.{scope}", {"what": f"book.table.{table}", **parts, **told})

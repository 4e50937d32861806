"""A sheet gone through once, for every point that may be drawn from it."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import NamedTuple

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import in_short, natural_key
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument
from inspection.measuring.reading import Reading, Role
from inspection.measuring.verdict import Judgement
from inspection.reasons import Part, Reason
from inspection.sheet.head import Piece
from inspection.sheet.missing_table import MOST_NAMED
from inspection.sheet.points_table import Point, grades
from inspection.sheet.row_runs import runs_text
from inspection.sheet.state import Cell, Sheet, Shop


class At(NamedTuple):
    """One cell: its row and piece, the readings that count in the order taken, and its verdict."""

    row: Characteristic
    piece: Piece
    readings: tuple[Reading, ...]
    judgement: Judgement

    @property
    def cell(self) -> Cell:
        """What names it."""
        return self.row.identity, self.piece.identity


class Number(NamedTuple):
    """One number read off a scale, its ``value`` in counts, and where."""

    at: At
    reading: Reading
    value: int


def same_method(one: Method, other: Method) -> bool:
    """Whether two methods take the same instruments for the same use, whatever the issues of their records."""
    return one == other or one.key == other.key


class Look:
    """Shop and sheet on a ``day`` (ISO), with every cell in the order of the plan and the numbers that count."""

    def __init__(self, shop: Shop, sheet: Sheet, day: str) -> None:
        self.shop, self.sheet, self.day = shop, sheet, day
        self.at = tuple(
            At(row, piece, sheet.counting(*cell), sheet.judgement(*cell))
            for row in sheet.plan.characteristics
            for piece in sheet.pieces
            for cell in ((row.identity, piece.identity),)
        )
        self.counting = tuple((at, reading) for at in self.at for reading in at.readings)
        self.numbers = tuple(
            Number(at, reading, reading.count)
            for at, reading in self.counting
            if reading.count is not None and reading.slot.role is Role.VALUE and not reading.indication
        )

    @cached_property
    def by_reading(self) -> dict[str, At]:
        """The cell of each reading that counts."""
        return {reading.identity: at for at, reading in self.counting}

    @cached_property
    def place(self) -> dict[Cell, int]:
        """The place of each cell in the plan."""
        return {at.cell: place for place, at in enumerate(self.at)}

    def read_with(self, reading: Reading) -> Instrument | None:
        """The issue of the instrument that was read; None if the book does not hold it."""
        part = reading.method.parts[0]
        return self.shop.issues.get((part.identity, part.issue))

    def parts(self, reading: Reading) -> tuple[Instrument, ...]:
        """The instruments of a reading's method, as far as the book holds them."""
        found = (self.shop.issues.get((part.identity, part.issue)) for part in reading.method.parts)
        return tuple(part for part in found if part is not None)

    def tags(self, reading: Reading) -> str:
        """The marks of a reading's instruments."""
        return " + ".join(part.tag for part in self.parts(reading)) or "–"

    def person(self, identity: str) -> str:
        """A person's name; the identity of one whom the book does not hold."""
        held = self.shop.people.get(identity)
        return held.name if held else identity

    # --- telling ------------------------------------------------------------------------------------------------------

    def point(
        self,
        code: str,
        cells: Iterable[Cell] = (),
        readings: Iterable[str] = (),
        *,
        said: str = "",
        about: str = "",
        why: tuple[Reason, ...] = (),
        **parts: Part,
    ) -> Point:
        """A point of the table, its reason told with the rows it is about: ``rows`` by their balloon numbers and ``n``,
        how many they are. ``said`` is the sentence where a code has several. KeyError for a code the table has not.
        """
        named, grade = tuple(dict.fromkeys(cells)), grades()[code]
        told: dict[str, Part] = {**parts}
        if named:
            told = {"rows": self.rows_text(named), "n": len({row for row, _ in named}), **parts}
        reason = Reason(f"points.{said or code}", told)
        return Point(code, reason, named, tuple(readings), grade.weight, grade.must_answer, about, why)

    def rows_text(self, cells: Iterable[Cell]) -> str:
        """Cells by their balloon numbers, and by serial where the sheet has several pieces: "2 … 4, 7 (001, 002)"."""
        cells = tuple(cells)
        if len(cells) == 1 == len(self.sheet.pieces):
            return self.sheet.characteristic(cells[0][0]).number
        by_piece: dict[str, list[str]] = {}
        for row, of in cells:
            by_piece.setdefault(of, []).append(self.sheet.characteristic(row).number)
        if len(self.sheet.pieces) == 1:
            return "".join(map(self._runs, by_piece.values()))
        serials: dict[str, list[str]] = {}
        for piece in self.sheet.pieces:
            if piece.identity in by_piece:
                serials.setdefault(self._runs(by_piece[piece.identity]), []).append(piece.serial)
        return "; ".join(f"{numbers} ({in_short(named, MOST_NAMED)})" for numbers, named in serials.items())

    def _runs(self, numbers: Iterable[str]) -> str:
        return in_short(runs_text(dict.fromkeys(numbers), self._order).split(", "), MOST_NAMED)

    @cached_property
    def _order(self) -> dict[str, int]:
        numbers = sorted({row.number for row in self.sheet.plan.characteristics}, key=natural_key)
        return {number: place for place, number in enumerate(numbers)}

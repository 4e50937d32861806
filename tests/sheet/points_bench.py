"""A sheet that no lead has anything to look at on, and what can be done to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from msgspec.structs import replace

from inspection.measuring.reading import Reading
from inspection.sheet import acts
from inspection.sheet.points import points
from inspection.sheet.points_table import Point
from inspection.words.say import say

DAY = "2026-03-02"
MINUTE = 60_000_000
#: What every piece is read at: beside nominal, on the steps, and no two pieces alike.
ROWS: tuple[dict[str, str], ...] = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    {"number": "2", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005"},
    {"number": "3", "kind": "length", "requirement": "1.250 ±.005"},
    {"number": "4", "kind": "note", "requirement": "DEBURR ALL EDGES"},
    {"number": "5", "kind": "length", "requirement": "(2.000)"},
)
READ = (
    {"1": ".5005", "2": ".7502", "3": "1.2490", "4": "as required"},
    {"1": ".5010", "2": ".7501", "3": "1.2495", "4": "as required"},
)


class Listed:
    """One life with a sheet of five rows on two pieces; what the list says of it is asked with ``points``."""

    def __init__(self, life: Any, *given: Mapping[str, str], serials: tuple[str, ...] = ("001", "002")) -> None:
        self.life = life
        life.make(serials, *(given or ROWS))
        part = replace(life.sheet.plan.part, drawing="D-7", drawing_revision="D")
        notes = sum(row["kind"] == "note" for row in given or ROWS)
        rows = len(given or ROWS)
        self.issue(serials, part=part, last_balloon=str(rows), drawing_notes=notes)

    def issue(self, serials: tuple[str, ...] = (), **fields: Any) -> Any:
        """Another issue of the plan, and, where serials are given, a new sheet on it."""
        plan = self.life.do(acts.IssuePlan(plan=replace(self.life.sheet.plan, identity="", **fields)))[0].plan
        if serials:
            self.life.do(acts.MakeSheet(plan=plan.identity, serials=serials))
        return plan

    @property
    def sheet(self) -> Any:
        return self.life.sheet

    def fill(self, *numbers: str) -> Listed:
        """Every row read on both pieces, or only these."""
        for piece, values in enumerate(READ):
            for number, text in values.items():
                if not numbers or number in numbers:
                    self.life.take(number, text, piece)
        return self

    def head(self, **fields: Any) -> None:
        self.life.do(acts.WriteHead(sheet=self.life.sheet_id, head=replace(self.sheet.head, **fields)))

    def reading(self, number: str, piece: int = 0) -> Reading:
        (reading,) = self.sheet.counting(*self.life.cell(number, piece))
        return reading

    def points(self, *given: Any, day: str = DAY, **more: Any) -> tuple[Point, ...]:
        return points(self.life.shop, self.sheet, *(given or ({},)), day=day, **more)

    def codes(self, *given: Any, **more: Any) -> list[str]:
        return [point.code for point in self.points(*given, **more)]

    def of(self, code: str, *given: Any, **more: Any) -> Point:
        """The one point of a code."""
        (found,) = [point for point in self.points(*given, **more) if point.code == code]
        return found

    def told(self, code: str, *given: Any, **more: Any) -> list[str]:
        """Every sentence of a code, each with its further reasons behind it."""
        found = [point for point in self.points(*given, **more) if point.code == code]
        return [" ".join(map(say, (point.reason, *point.why))) for point in found]

    def rows(self, point: Point) -> list[str]:
        """The balloon numbers that a point names, with the serial."""
        serials = {piece.identity: piece.serial for piece in self.sheet.pieces}
        return [f"{self.sheet.characteristic(row).number}/{serials[piece]}" for row, piece in point.cells]


def many(kind: str, requirement: str, n: int, first: int = 1) -> Iterable[dict[str, str]]:
    """n rows of one kind; ``{i}`` in the requirement is the row's number."""
    return ({"number": str(i), "kind": kind, "requirement": requirement.format(i=i)} for i in range(first, first + n))

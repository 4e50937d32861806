"""The uncertainty budgets that results of a sheet rest on, as they go out: each distinct one once, with its rows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.measuring.bias import Handling
from inspection.measuring.bias_stated import StatedCorrection
from inspection.measuring.uncertainty_stated import StatedBudget, StatedLine
from inspection.sheet import figures
from inspection.sheet.report import Budget, BudgetLine
from inspection.sheet.row_runs import runs_text
from inspection.sheet.state import Cell, Sheet
from inspection.words.say import say, word

#: Written for infinitely many degrees of freedom.
INFINITE = "∞"
#: How units of a budget's own quantities are printed.
_UNITS = {"1e-6/°C": "10⁻⁶/°C"}


class Shared(Struct, frozen=True):
    """A budget and the cells that share its numbers; ``left`` are the known errors left in it, the largest of each."""

    name: str
    stated: StatedBudget
    cells: tuple[Cell, ...]
    left: tuple[StatedCorrection, ...] = ()


def shared_budgets(sheet: Sheet, rows: Iterable[Characteristic]) -> tuple[Shared, ...]:
    """Every distinct budget of the sheet, named in the order of the ``rows``."""
    cells: dict[bytes, list[Cell]] = {}
    for row in rows:
        for piece in sheet.pieces:
            kept = sheet.judgements.get((row.identity, piece.identity))
            if kept is not None and kept.budget is not None:
                cells.setdefault(msgspec.json.encode(kept.budget), []).append((row.identity, piece.identity))
    return tuple(_shared(sheet, f"B{place}", tuple(of)) for place, of in enumerate(cells.values(), 1))


def _shared(sheet: Sheet, name: str, cells: tuple[Cell, ...]) -> Shared:
    stated = sheet.judgements[cells[0]].budget
    assert stated is not None
    left: dict[str, StatedCorrection] = {}
    every = (each for cell in cells for each in sheet.judgements[cell].corrections)
    for each in every:
        before = left.get(each.name)
        if each.handling == Handling.LEFT.value and abs(each.amount) > abs(before.amount if before else 0):
            left[each.name] = each
    return Shared(name, stated, cells, tuple(left.values()))


def budget_lines(
    sheet: Sheet, shared: Sequence[Shared], order: Mapping[str, int], language: str = "en"
) -> Iterator[Budget]:
    """The budgets in words and numbers; ``order`` is the place of each balloon number on the sheet."""
    uses: dict[str, set[str]] = {}
    for each in shared:
        for row, _ in each.cells:
            uses.setdefault(row, set()).add(each.name)
    for each in shared:
        yield _budget(each, _rows(sheet, each, uses, order), language)


def _rows(sheet: Sheet, shared: Shared, uses: Mapping[str, set[str]], order: Mapping[str, int]) -> str:
    """The balloon numbers it serves; those of which it serves some pieces only with these."""
    whole = {sheet.characteristic(row).number for row, _ in shared.cells if len(uses[row]) == 1}
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    parted: dict[str, list[str]] = {}
    for row, piece in shared.cells:
        if len(uses[row]) > 1:
            parted.setdefault(sheet.characteristic(row).number, []).append(serials[piece])
    told = [f"{number} ({', '.join(of)})" for number, of in parted.items()]
    return ", ".join(filter(None, (runs_text(whole, order), *told)))


def _budget(shared: Shared, rows: str, language: str) -> Budget:
    left = tuple(say(each.reason, language=language) for each in shared.left)
    return replace(printed_budget(shared.stated, language), name=shared.name, rows=rows, left=left)


def printed_budget(stated: StatedBudget, language: str = "en") -> Budget:
    """One budget in words and numbers, of whatever rows."""
    uncorrected = figures.uncertainty(stated.uncorrected, stated.unit) if stated.uncorrected else ""
    return Budget(
        name="",
        rows="",
        unit=stated.unit,
        lines=tuple(_line(line, stated.unit, language) for line in stated.lines),
        combined=stated.combined,
        freedom=stated.freedom or INFINITE,
        factor=stated.factor,
        confidence=per_cent(stated.confidence),
        expanded=figures.uncertainty(stated.expanded, stated.unit),
        uncorrected=uncorrected,
    )


def per_cent(hundredths: int) -> str:
    """Hundredths of a per cent in per cent, without idle zeros.

    >>> per_cent(9_545), per_cent(9_500)
    ('95.45', '95')
    """
    whole, rest = divmod(hundredths, 100)
    return f"{whole}.{rest:02d}".rstrip("0") if rest else str(whole)


def _line(line: StatedLine, unit: str, language: str) -> BudgetLine:
    own = _UNITS.get(line.unit, line.unit)
    return BudgetLine(
        part=say(line.what, language=language),
        estimate=say(line.estimate, language=language),
        distribution=word(f"doubt.distribution.{line.distribution}", language),
        divisor=line.divisor,
        standard=line.standard,
        unit=own,
        sensitivity=line.sensitivity,
        sensitivity_unit=_per(unit, own),
        freedom=line.freedom or INFINITE,
        contribution=line.contribution,
        share=str(line.share),
    )


def _per(unit: str, own: str) -> str:
    """A unit over another; nothing where they are the same."""
    if unit == own:
        return ""
    return f"{unit}/({own})" if "/" in own else f"{unit}/{own}"

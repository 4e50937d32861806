"""``tenthwright choose --budget``: how far a method can be trusted on a row, line by line, and what would help."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from msgspec import to_builtins

from app.command.table import table
from inspection.drawing.characteristic import Characteristic
from inspection.instruments.method import Method
from inspection.measuring.remedies import Remedy
from inspection.measuring.repeats import Repeats
from inspection.measuring.uncertainty_stated import StatedBudget
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Figure
from inspection.sheet.helping import BudgetTold, Given, budget_told, doubts_of, remedies_for
from inspection.sheet.state import Cell, Sheet
from inspection.words.say import part_text, say, word

#: The columns of the table, in the order of JCGM 100.
COLUMNS = (
    "what", "estimate", "distribution", "divisor", "standard", "sensitivity", "freedom", "contribution", "share",
)  # fmt: skip


def budget_lines(given: Given, sheet: Sheet, row: Characteristic, method: Method) -> tuple[list[str], dict[str, Any]]:
    """The budget of a method on a row of a sheet and what would help, as lines and for scripts. KeyError for an
    instrument that the shop does not hold."""
    told, helping = budget_told(given, row, method), remedies_for(given, row, method)
    doubts = list(doubts_of(given.shop, sheet, [row.identity]))
    lines = [*_budget(told), "", *_ratios(told), *_corrections(told), *_helping(told, helping), *_doubts(sheet, doubts)]
    data = {
        "fitness": told.assessment.fitness.value,
        "ratios": to_builtins(told.assessment.ratios),
        "against": list(map(say, told.assessment.against)),
        "budget": _budget_data(told.budget) if told.budget is not None else None,
        "why": list(map(say, told.why)),
        "corrections": [{**to_builtins(each), "reason": say(each.reason)} for each in told.corrections],
        "remedies": [
            {"check": e.check.value, "text": say(e.reason), "ratio": e.ratio, "m": e.repeats} for e in helping
        ],
        "doubts": [
            {"serial": _serial(sheet, cell), "repeats": each.needed, "text": say(each.reason)} for cell, each in doubts
        ],
    }
    return lines, data


def _budget(told: BudgetTold) -> list[str]:
    if told.budget is None:
        return [word("help.no_budget"), *(f"  {say(reason)}" for reason in told.why)]
    shown = told.budget
    heads = [word(f"help.column.{column}") for column in COLUMNS]
    return [*table(heads, list(_rows(shown))), "", *_sums(shown)]


def _rows(shown: StatedBudget) -> Iterator[list[str]]:
    for line in shown.lines:
        yield [
            say(line.what),
            say(line.estimate),
            word(f"doubt.distribution.{line.distribution}"),
            line.divisor,
            f"{line.standard} {line.unit}",
            line.sensitivity,
            line.freedom or "∞",
            f"{line.contribution} {shown.unit}",
            f"{line.share} %",
        ]


def _sums(shown: StatedBudget) -> Iterator[str]:
    yield word(
        "help.sum",
        u=f"{shown.combined} {shown.unit}",
        freedom=shown.freedom or "∞",
        k=shown.factor,
        p=_per_cent(shown.confidence),
        U=_amount(shown.expanded, shown.unit),
    )
    if shown.uncorrected:
        yield word("help.uncorrected", C=_amount(shown.uncorrected, shown.unit))


def _per_cent(hundredths: int) -> Figure:
    return Figure(f"{hundredths // 100}.{hundredths % 100:02d}")


def _amount(count: int, unit: str) -> Amount:
    return Amount(count, UNITS[unit].kind, unit)


def _budget_data(shown: StatedBudget) -> dict[str, Any]:
    told: dict[str, Any] = to_builtins(shown)
    for line, stated in zip(told["lines"], shown.lines, strict=True):
        line["what"], line["estimate"] = say(stated.what), say(stated.estimate)
    return {**told, "expanded_text": part_text(_amount(shown.expanded, shown.unit))}


def _ratios(told: BudgetTold) -> Iterator[str]:
    yield word("help.fitness", fitness=told.assessment.fitness.value)
    for ratio in told.assessment.ratios:
        code = "help.ratio.holds" if ratio.holds else "help.ratio.short"
        yield "  " + word(code, ratio=ratio.name, got=ratio.got, needed=ratio.needed)
    for check in told.assessment.checks:
        if not check.holds:
            yield f"  {say(check.reason)}"


def _corrections(told: BudgetTold) -> Iterator[str]:
    if told.corrections:
        yield ""
        yield word("help.corrections")
        yield from (f"  {say(each.reason)}" for each in told.corrections)


def _helping(told: BudgetTold, helping: Iterable[Remedy]) -> Iterator[str]:
    held = list(helping)
    if all(ratio.holds for ratio in told.assessment.ratios):
        return
    yield ""
    yield word("help.remedies" if held else "help.no_remedy")
    for each in held:
        yield "  " + word("help.remedy", check=each.check.value, what=say(each.reason), ratio=each.ratio)


def _doubts(sheet: Sheet, doubts: Iterable[tuple[Cell, Repeats]]) -> Iterator[str]:
    for cell, found in doubts:
        yield ""
        yield word("help.doubt", serial=_serial(sheet, cell), why=say(found.reason))


def _serial(sheet: Sheet, cell: Cell) -> str:
    return next(piece.serial for piece in sheet.pieces if piece.identity == cell[1])

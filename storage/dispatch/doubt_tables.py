"""What results rest on, on the printed sheet: the temperature log, and at the end every uncertainty budget."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from inspection.sheet.report import Budget, BudgetLine, Report, TemperatureLine
from storage.dispatch.blocks import Band, Cell, Item, Row
from storage.dispatch.labels import label, phrase
from storage.dispatch.ruled_table import Column, cells, heads, room, table
from storage.dispatch.sections import MEASURE, TEXT, section
from storage.dispatch.setting import Run, TextLine, set_runs, set_text

SMALL = Run("", 7, colour="quiet")
NUMBER = Run("", 7.5)
NAME = Run("", 8.5, bold=True)

_LOG: tuple[Column, ...] = (
    ("taken", 15),
    ("thermometer", 24),
    ("part_temperature", 8),
    ("instrument_temperature", 9),
    ("known_within", 10),
    ("soak", 10),
    ("rows", 20),
    ("logged_by", 12),
    ("note", 18),
)
_BUDGET: tuple[Column, ...] = (
    ("budget_part", 26),
    ("estimate", 25),
    ("distribution", 10),
    ("divisor", 6),
    ("standard", 13),
    ("sensitivity", 19),
    ("freedom", 6),
    ("contribution", 12),
    ("share", 6),
)


def temperatures(report: Report, width: float) -> Iterator[Row]:
    """The temperature log, if there is one."""
    if report.temperatures:
        rows = [_temperature(line, width) for line in report.temperatures]
        yield from table(report, "temperatures", _LOG, rows, [[] for _ in rows], width)


def _temperature(line: TemperatureLine, width: float) -> list[list[TextLine]]:
    texts = (line.when, line.thermometer, line.part, line.instrument, line.within, line.soak, line.rows, line.by)
    found = [set_text(text, room(width, _LOG, at), TEXT) for at, text in enumerate((*texts, line.note))]
    found[1] += set_text(line.calibration, room(width, _LOG, 1), SMALL)
    return found


def budgets(report: Report, width: float) -> Iterator[Row]:
    """Every budget under one row of headings: its name and rows, its lines, and what they come to. One that a page
    holds is not parted."""
    if not report.budgets:
        return
    yield section(label(report, "budgets_appendix"), width)
    told = set_text(label(report, "budgets_told"), MEASURE, SMALL)
    yield Row((Band((Cell(0, width, tuple(told)),), pad=1),), follows=True)
    under = heads(report, _BUDGET, width)
    for budget in report.budgets:
        named = Row((_across(_named(report, budget, width), width, 4),), heads=under)
        lines = [Row((Band(cells(_line(budget, line, width), _BUDGET, width), pad=1.2),), heads=under)
                 for line in budget.lines]  # fmt: skip
        for row in (named, *lines):
            yield replace(row, follows=True, number=budget.name)
        yield Row((_across(_sum(report, budget, width), width, 3),), number=budget.name, heads=under, ruled=True)


def _across(items: Sequence[Item], width: float, pad: float) -> Band:
    return Band((Cell(0, width, tuple(items)),), pad=pad)


def _named(report: Report, budget: Budget, width: float) -> list[TextLine]:
    rows = phrase(report, "for_rows", rows=budget.rows)
    return set_runs([Run(f"{budget.name}   ", NAME.size, bold=True), *_words(rows)], width)


def _words(text: str) -> list[Run]:
    return [Run(f"{word} ", NUMBER.size) for word in text.split(" ")]


def _line(budget: Budget, line: BudgetLine, width: float) -> list[list[TextLine]]:
    texts = (
        line.part,
        line.estimate,
        line.distribution,
        line.divisor,
        f"{line.standard} {line.unit}",
        f"{line.sensitivity} {line.sensitivity_unit}".rstrip(),
        line.freedom,
        f"{line.contribution} {budget.unit}",
        line.share,
    )
    return [set_text(text, room(width, _BUDGET, at), NUMBER) for at, text in enumerate(texts)]


def _sum(report: Report, budget: Budget, width: float) -> list[TextLine]:
    unit = budget.unit
    told = [
        ("combined", f"{budget.combined} {unit}"),
        ("effective", budget.freedom),
        ("factor", budget.factor),
        ("coverage", f"{budget.confidence} %"),
    ]
    if budget.uncorrected:
        told.append(("uncorrected", f"{budget.uncorrected} {unit}"))
    runs = [part for code, text in told for part in _pair(label(report, code), text)]
    runs += _pair(label(report, "expanded"), f"{budget.expanded} {unit}", bold=True)
    return [*set_runs(runs, width), *(each for said in budget.left for each in set_text(said, width, SMALL))]


def _pair(name: str, text: str, *, bold: bool = False) -> list[Run]:
    size = NUMBER.size
    return [Run(f"{name} ", SMALL.size, colour="quiet"), Run(text, size, bold), Run("\u2003", size)]

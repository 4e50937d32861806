"""What results rest on, as tables of a workbook: the columns that results and readings gain, temperatures, budgets."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from inspection.sheet.report import Budget, BudgetLine, Line, Report, Result, Value
from storage.dispatch.cells import Entry, number_entry
from storage.dispatch.labels import label
from storage.dispatch.record_cells import Table

#: Of a result, by heading; one that no result of the sheet has makes no column.
_OF_RESULT: dict[str, Callable[[Result], str]] = {
    "expanded": lambda result: result.expanded,
    "guard": lambda result: result.guard,
    "accept_lower": lambda result: result.accept_lower,
    "accept_upper": lambda result: result.accept_upper,
    "probability": lambda result: result.probability,
    "read_as": lambda result: " … ".join(result.read),
    "budget": lambda result: result.budget,
    "nonconformance": lambda result: result.nonconformance,
}
#: Of a reading, likewise.
_OF_READING: dict[str, Callable[[Value], str]] = {
    "check": lambda value: value.check,
    "temperature": lambda value: value.temperature,
    "reopened": lambda value: value.reopened,
    "suspect": lambda value: value.suspect,
    "aside": lambda value: value.aside,
}
_LOG = (
    "taken", "thermometer", "calibration", "part_temperature", "instrument_temperature", "known_within", "soak", "rows",
    "logged_by", "note",
)  # fmt: skip
_BUDGET = (
    "budget", "rows", "budget_part", "estimate", "distribution", "divisor", "standard", "standard_unit", "sensitivity",
    "sensitivity_unit", "freedom", "contribution", "contribution_unit", "share",
)  # fmt: skip


def result_columns(report: Report) -> list[str]:
    """The headings of what is told of any result's doubt, by code."""
    results = [result for line in report.lines for result in line.results]
    return [code for code, tell in _OF_RESULT.items() if any(map(tell, results))]


def of_result(result: Result | None, codes: Sequence[str], decimals: int) -> list[Entry]:
    """What is told of one result's doubt, numbers as numbers."""
    if result is None:
        return [Entry("")] * len(codes)
    texts = ((code, _OF_RESULT[code](result)) for code in codes)
    return [
        Entry(text) if code in ("budget", "nonconformance") else number_entry(text, _least(code, decimals))
        for code, text in texts
    ]


def _least(code: str, decimals: int) -> int:
    return 0 if code in ("expanded", "guard", "probability") else decimals


def reading_columns(report: Report) -> list[str]:
    """The headings of what any reading rests on, by code."""
    values = [value for line in report.lines for value in line.values]
    return [code for code, tell in _OF_READING.items() if any(map(tell, values))]


def of_reading(report: Report, line: Line, value: Value, codes: Sequence[str]) -> list[Entry]:
    """What one reading rests on."""
    return [Entry(_OF_READING[code](value), where=(line.number, label(report, code))) for code in codes]


def doubt_tables(report: Report) -> Iterator[Table]:
    """Temperatures and budgets, each where there are any."""
    if report.temperatures:
        rows = [
            [
                *_entries(report, "temperatures", line.when, line.thermometer, line.calibration),
                *(number_entry(text, 0) for text in (line.part, line.instrument, line.within, line.soak)),
                *_entries(report, "temperatures", line.rows, line.by, line.note),
            ]
            for line in report.temperatures
        ]
        yield "temperatures", [label(report, code) for code in _LOG], rows
    if report.budgets:
        rows = [row for budget in report.budgets for row in _budget(report, budget)]
        yield "budgets", [label(report, code) for code in _BUDGET], rows


def _budget(report: Report, budget: Budget) -> Iterator[list[Entry]]:
    """A row for each line of a budget; below them u_c, what was left uncorrected, and U: k (as the sensitivity) times
    u_c, with what was left."""
    unit = budget.unit
    sums = [
        BudgetLine(label(report, "combined"), "", "", "", "", "", "", "", budget.freedom, budget.combined, ""),
        BudgetLine(
            label(report, "uncorrected"), "\n".join(budget.left), "", "", "", "", "", "", "", budget.uncorrected, ""
        ),
        BudgetLine(
            _of_u(report, budget), "", "", "", budget.combined, unit, budget.factor, "", "", budget.expanded, ""
        ),
    ]
    for line in budget.lines:
        yield _line(report, budget, line)
    for line in sums:
        if line.contribution:
            yield _line(report, budget, line, bold=True)


def _of_u(report: Report, budget: Budget) -> str:
    return f"{label(report, 'expanded')}, {label(report, 'coverage')} {budget.confidence} %"


def _line(report: Report, budget: Budget, line: BudgetLine, *, bold: bool = False) -> list[Entry]:
    return [
        *_entries(report, "budgets", budget.name, budget.rows),
        Entry(line.part, bold=bold),
        *_entries(report, "budgets", line.estimate, line.distribution),
        number_entry(line.divisor, 0),
        number_entry(line.standard, 0),
        Entry(line.unit),
        number_entry(line.sensitivity, 0),
        Entry(line.sensitivity_unit),
        number_entry(line.freedom, 0),
        number_entry(line.contribution, 0, bold=bold),
        Entry(budget.unit),
        number_entry(line.share, 0),
    ]


def _entries(report: Report, code: str, *texts: str) -> list[Entry]:
    return [Entry(text, where=("", label(report, code))) for text in texts]

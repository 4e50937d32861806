"""What a review left, as tables of a workbook: nonconformances and returned rounds, and the statements at its head."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.sheet.report import NonconformanceLine, Report
from storage.dispatch.cells import Entry
from storage.dispatch.labels import label
from storage.dispatch.record_cells import Table

_NONCONFORMANCES = (
    "nonconformance", "serial", "row", "found", "again", "nonconformance_what", "raised", "disposition",
    "disposition_words", "decided", "leave",
)  # fmt: skip
_RETURNS = ("round", "returned", "number", "serial", "returned_words")


def review_tables(report: Report) -> Iterator[Table]:
    """Nonconformances, a row for each of their rows, and returns, a row for each word; where there are any."""
    if report.nonconformances:
        rows = [row for line in report.nonconformances for row in _rows(report, line)]
        yield "nonconformances", [label(report, code) for code in _NONCONFORMANCES], rows
    if report.returns:
        rows = [
            _entries(
                report, "returns", line.round, line.returned, number or label(report, "whole_sheet"), serial, words
            )
            for line in report.returns
            for number, serial, words in line.rows
        ]
        yield "returns", [label(report, code) for code in _RETURNS], rows


def _rows(report: Report, line: NonconformanceLine) -> Iterator[list[Entry]]:
    for row in line.rows:
        found = f"{label(report, 'affected')}: {row.found}" if row.affected else row.found
        yield _entries(
            report, "nonconformances", line.number, line.serial, row.number, found, row.again, line.what, line.raised,
            line.disposition, line.words, line.decided, line.leave,
        )  # fmt: skip


def statement_pairs(report: Report) -> Iterator[tuple[str, str]]:
    """Heading and text of everything that each statement says."""
    for made in report.statements:
        told = {
            "statement": made.statement,
            "person": made.person,
            "when": made.when,
            "replaced": made.replaced,
            "replaces": made.replaces,
            "statement_words": made.words,
            "own": made.own,
            "not_complete_reasons": "\n".join(made.reasons),
            "seal": made.seal,
            "baseline_seal": made.baseline,
            "digest": made.digest,
            "certificate": made.certificate,
        }
        for code, text in told.items():
            if text:
                yield label(report, code), text


def _entries(report: Report, code: str, *texts: str) -> list[Entry]:
    return [Entry(text, where=("", label(report, code))) for text in texts]

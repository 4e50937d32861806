"""What a review left, on the printed sheet: nonconformances with what was measured again, and returned rounds."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.sheet.report import NonconformanceLine, Report, ReturnLine
from storage.dispatch.blocks import Row
from storage.dispatch.labels import label, phrase
from storage.dispatch.ruled_table import Column, room, table
from storage.dispatch.sections import FIELD, TEXT
from storage.dispatch.setting import Run, TextLine, set_text

SMALL = Run("", 7, colour="quiet")
STRONG = Run("", 9, bold=True)
MEASURED = Run("", 8, bold=True)

_NONCONFORMANCES: tuple[Column, ...] = (
    ("nonconformance_number", 8),
    ("serial", 6),
    ("nonconformance_rows", 27),
    ("nonconformance_what", 18),
    ("disposition", 20),
    ("leave", 21),
)
_RETURNS: tuple[Column, ...] = (("round", 6), ("returned", 20), ("number", 9), ("serial", 9), ("returned_words", 56))


def review(report: Report, width: float) -> Iterator[Row]:
    """Both tables, each where there is something to show."""
    if report.nonconformances:
        rows = [_nonconformance(report, line, width) for line in report.nonconformances]
        yield from table(report, "nonconformances", _NONCONFORMANCES, rows, [[] for _ in rows], width)
    if report.returns:
        rows = [cells for line in report.returns for cells in _return(report, line, width)]
        yield from table(report, "returns", _RETURNS, rows, [[] for _ in rows], width)


def _nonconformance(report: Report, line: NonconformanceLine, width: float) -> list[list[TextLine]]:
    at = {name: room(width, _NONCONFORMANCES, place) for place, (name, _) in enumerate(_NONCONFORMANCES)}
    disposition = set_text(line.disposition, at["disposition"], STRONG)
    disposition += set_text(line.words, at["disposition"], TEXT)
    return [
        set_text(line.number, at["nonconformance_number"], STRONG),
        set_text(line.serial, at["serial"], FIELD),
        _rows(report, line, at["nonconformance_rows"]),
        [
            *set_text(line.what, at["nonconformance_what"], TEXT),
            *set_text(line.raised, at["nonconformance_what"], SMALL),
        ],
        [*disposition, *set_text(line.decided, at["disposition"], SMALL)],
        set_text(line.leave, at["leave"], TEXT),
    ]


def _rows(report: Report, line: NonconformanceLine, width: float) -> list[TextLine]:
    """Each row with what it was, and below it what it came to after the work."""
    found: list[TextLine] = []
    for row in line.rows:
        name = phrase(report, "affected_row" if row.affected else "nonconforming_row", number=row.number)
        found += set_text(f"{name}  {row.found}", width, TEXT)
        if row.again:
            found += set_text(phrase(report, "measured_again", told=row.again), width, MEASURED)
    return found


def _return(report: Report, line: ReturnLine, width: float) -> Iterator[list[list[TextLine]]]:
    """A line for each row that words were said to; the round and who returned it stand at the first."""
    for place, (number, serial, words) in enumerate(line.rows):
        told = (line.round, line.returned) if place == 0 else ("", "")
        where = (number or label(report, "whole_sheet"), serial or ("" if not number else label(report, "all_pieces")))
        texts = (*told, *where, words)
        yield [set_text(text, room(width, _RETURNS, at), TEXT) for at, text in enumerate(texts)]

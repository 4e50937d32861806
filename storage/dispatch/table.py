"""The readings as a csv file: one row a reading, and one for each cell that has none, so that a blank shows. It stays
one table: uncertainty budgets, materials, special processes, functional tests and sub-items go out in page, workbook
and data file.

The first row holds the names of ``COLUMNS``, which never change with the language of the sheet; new ones come last.
Numbers are plain decimal strings with the decimals of the report, and stay numbers: -0.0200. No text becomes a formula;
whoever reads the file takes the apostrophes away again that keep it from that (``storage.csv_cells.unguarded``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from inspection.sheet.report import Line, Report, Result, Value
from storage.csv_cells import csv_of
from storage.dispatch.unprintable import refuse_control_characters
from storage.files import write_file

COLUMNS = (
    "number", "sheet", "zone", "key", "requirement", "name", "feature", "condition", "lower", "upper", "unit",
    "piece", "place", "answers", "reading", "as written", "instrument", "calibration", "read by", "taken",
    "withdrawn", "result", "state", "verdict", "reasons", "notes", "check", "temperatures", "counts no longer",
    "in question", "before correction", "corrections", "U", "budget", "guard band", "accepted from", "accepted to",
    "probability of conformity", "nonconformance", "put aside",
)  # fmt: skip
BETWEEN = " | "

Progress = Callable[[int, int], None]


def write_csv(report: Report, path: Path, *, progress: Progress | None = None) -> str:
    """Write the csv file to ``path`` and return the SHA-256 of the file in hex.

    Raises Refused for a text with characters that no file can carry and BookFailure where the disk does not take the
    file. Whatever is raised, also by ``progress``, what stood at ``path`` stays.
    """
    return write_file(path, csv_bytes(report, progress=progress))


def csv_bytes(report: Report, *, progress: Progress | None = None) -> bytes:
    """The csv file as bytes; see ``write_csv``."""
    refuse_control_characters(report)
    return csv_of(_all_rows(report, progress))


def _all_rows(report: Report, progress: Progress | None) -> Iterator[tuple[str, ...]]:
    yield COLUMNS
    for done, line in enumerate(report.lines):
        if progress is not None:
            progress(done, len(report.lines))
        yield from _rows(report, line)


def _rows(report: Report, line: Line) -> Iterator[tuple[str, ...]]:
    """The rows of a line."""
    results = {result.serial: result for result in line.results}
    serials = dict.fromkeys((*report.serials, *(value.serial for value in line.values), *results)) or {"": None}
    asked = _asked(line)
    for serial in serials:
        result = results.get(serial, Result(serial, "", "", ""))
        told = (result.text, result.state, result.verdict, BETWEEN.join(result.reasons), BETWEEN.join(line.notes))
        doubt = _doubt(result)
        values = [value for value in line.values if value.serial == serial]
        for value in values or [Value(serial, "")]:
            last = (result.nonconformance, value.aside)
            yield (*asked, *_reading(line, value), *told, *_rests(value), *doubt, *last)


def _asked(line: Line) -> tuple[str, ...]:
    requirement = (line.number, line.sheet, line.zone, line.key, line.requirement, line.name, line.kind)
    return (*requirement, line.condition, line.lower_number or line.lower, line.upper_number or line.upper, line.unit)


def _reading(line: Line, value: Value) -> tuple[str, ...]:
    place = ", ".join(filter(None, (line.place, value.place)))
    reading = (value.serial, place, value.role, value.number or value.text, value.written, value.instrument)
    return (*reading, value.calibration, value.by, value.taken, value.withdrawn)


def _rests(value: Value) -> tuple[str, ...]:
    return value.check, value.temperature, value.reopened, value.suspect


def _doubt(result: Result) -> tuple[str, ...]:
    made = (" … ".join(result.read), BETWEEN.join(result.corrections), result.expanded, result.budget)
    return (*made, result.guard, result.accept_lower, result.accept_upper, result.probability)

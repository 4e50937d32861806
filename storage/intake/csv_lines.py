"""Csv bytes as rows: encoding and delimiter, both strict.

Comma, semicolon and tab are told apart by which of them makes the head row known; a file in which none does is
refused. A row is numbered as a spreadsheet shows it. The apostrophes that keep a text of our own files from being a
formula are taken off again.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from inspection.reasons import Reason
from storage.csv_cells import unguarded
from storage.intake.faults import Fault, Faults, FileRefused, whole_refused
from storage.intake.heads import MOST_IN_FRONT, Names, in_front, is_unmarked, known_among
from storage.intake.lines import LONGEST_CELL, Line

DELIMITERS = (",", ";", "\t")


def csv_lines(data: bytes, faults: Faults, known: Names, required: tuple[str, ...]) -> Iterator[Line]:
    """The rows of csv bytes. Raises ``FileRefused`` where they are no text or no head is known; a quote that spoils the
    rest is noted in ``faults`` and ends the rows."""
    text = _decode(data, faults.name)
    delimiter = max(DELIMITERS, key=lambda delimiter: _known_heads(text, delimiter, known))
    if not _known_heads(text, delimiter, known):
        heads = ", ".join(known[field][0] for field in required)
        raise whole_refused(faults.name, Reason("intake.no_heads", {"heads": heads}))
    number = 0
    try:
        for number, record in enumerate(_records(text, delimiter), 1):
            yield Line(number, _filled(record), width=len(record))
    except csv.Error as fault:
        faults.note(number + 1, "", Reason(_csv_code(str(fault)), {"most": LONGEST_CELL}))


def _decode(data: bytes, name: str) -> str:
    if (nul := data.find(b"\0")) >= 0:
        raise FileRefused(name, (Fault(_line(data, nul), "", 0, Reason("intake.nul")),))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        reason = Reason("intake.not_utf8", {"byte": f"{data[fault.start]:02X}"})
        raise FileRefused(name, (Fault(_line(data, fault.start), "", 0, reason),)) from None


def _line(data: bytes, place: int) -> int:
    return data.count(b"\n", 0, place) + 1


def _records(text: str, delimiter: str) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)


def _filled(record: list[str]) -> dict[int, str]:
    return {index: text for index, cell in enumerate(record) if (text := unguarded(cell.strip()).strip())}


def _known_heads(text: str, delimiter: str, known: Names) -> int:
    try:
        unmarked = 0
        for record in _records(text, delimiter):
            filled = _filled(record)
            if in_front(filled):
                continue
            unmarked += is_unmarked(filled, known)
            if unmarked > MOST_IN_FRONT or not is_unmarked(filled, known):
                return len(known_among(record, known))
    except csv.Error:
        pass
    return 0


def _csv_code(said: str) -> str:
    if "field limit" in said:
        return "intake.cell_too_long"
    return "intake.unclosed_quote" if "end of data" in said else "intake.stray_quote"

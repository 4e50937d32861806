"""A csv file as rows of named cells: encoding, delimiter, heads and sizes, all strict, nothing about the trade.

Comma, semicolon and tab are told apart by which of them makes the head row known; a file in which none does is
refused. A row is numbered as a spreadsheet shows it.
"""

from __future__ import annotations

import csv
import io
import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from pathlib import Path

from msgspec import Struct

from inspection.reasons import Reason, Refused
from storage.book.failures import failure, telling
from storage.intake.faults import Fault, Faults, FileRefused

LARGEST_FILE = 32_000_000  # bytes
LONGEST_CELL = 2_000  # characters
DELIMITERS = (",", ";", "\t")
HEAD_MARK = "#"

Names = Mapping[str, tuple[str, ...]]
"""Fields, each with the heads it is known by; the first is the one that templates write."""

_FOREIGN = (
    (b"PK\x03\x04", "workbook"),
    (b"\xd0\xcf\x11\xe0", "workbook"),
    (b"%PDF", "pdf"),
    (b"\xff\xfe", "utf16"),
    (b"\xfe\xff", "utf16"),
)


class Row(Struct, frozen=True):
    """One row: its number in the file and the texts of its known, filled cells by field."""

    number: int
    cells: dict[str, str]


class Grid(Struct, frozen=True):
    """A whole file: the lines in front of the table (row, name, value), the heads as written by field, the rows."""

    front: tuple[tuple[int, str, str], ...]
    heads: dict[str, str]
    rows: tuple[Row, ...]


@cache
def names(kind: str) -> Names:
    """The heads that fields of ``kind`` ("features", "readings", "head") are known by, in template order."""
    table = tomllib.loads((files("resources") / "intake" / "heads.toml").read_text("utf-8"))
    return {field: tuple(known) for field, known in table[kind].items()}


def plain(head: str) -> str:
    """A head without case, punctuation and double spaces, to be looked up."""
    return " ".join(re.sub(r"[^\w×]|_", " ", unicodedata.normalize("NFKC", head).casefold()).split())


def field_of(head: str, known: Names) -> str | None:
    """The field that a head names, or None."""
    wanted = plain(head)
    return next((field for field, heads in known.items() if wanted in map(plain, heads)), None)


def read_bytes(path: Path) -> bytes:
    """The bytes of a file that is to be taken in.

    Raises BookFailure if it cannot be read, ``Refused`` if it is larger than any such file is.
    """
    if not path.exists():
        raise failure("file.missing", path)
    with telling(path, "file"), path.open("rb") as stream:
        data = stream.read(LARGEST_FILE + 1)
    if len(data) > LARGEST_FILE:
        raise Refused(Reason("intake.too_large", {"file": path.name, "most": LARGEST_FILE // 1_000_000}))
    return data


def read_grid(data: bytes, name: str, known: Names, required: tuple[str, ...], most_rows: int) -> tuple[Grid, Faults]:
    """Rows of named cells out of csv bytes, and the faults found so far by cell.

    What keeps the table from being read at all (encoding, no known head) raises ``FileRefused`` at once.
    """
    text = _decode(data, name)
    delimiter = _delimiter(text, known)
    if delimiter is None:
        heads = ", ".join(known[field][0] for field in required)
        raise FileRefused(name, (Fault(0, "", 0, Reason("intake.no_heads", {"heads": heads})),))
    faults = Faults(name)
    return _gather(_records(text, delimiter), known, required, most_rows, faults), faults


def _decode(data: bytes, name: str) -> str:
    for mark, form in _FOREIGN:
        if data.startswith(mark):
            raise FileRefused(name, (Fault(0, "", 0, Reason(f"intake.is_{form}")),))
    if not data.strip():
        raise FileRefused(name, (Fault(0, "", 0, Reason("intake.empty")),))
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


def _delimiter(text: str, known: Names) -> str | None:
    """The delimiter under which most heads are known; None if none is."""
    best = max(DELIMITERS, key=lambda delimiter: _known_heads(text, delimiter, known))
    return best if _known_heads(text, best, known) else None


def _known_heads(text: str, delimiter: str, known: Names) -> int:
    try:
        for record in _records(text, delimiter):
            if not _in_front(record):
                return sum(field_of(head, known) is not None for head in record)
    except csv.Error:
        pass
    return 0


def _in_front(record: list[str]) -> bool:
    """Whether a record stands in front of the table: empty, or marked as a head line."""
    first = next((cell.strip() for cell in record if cell.strip()), "")
    return not first or first.startswith(HEAD_MARK)


def _gather(
    records: Iterator[list[str]], known: Names, required: tuple[str, ...], most_rows: int, faults: Faults
) -> Grid:
    front: list[tuple[int, str, str]] = []
    heads: list[tuple[str | None, str]] | None = None
    rows: list[Row] = []
    number = 0
    try:
        for number, record in enumerate(records, 1):
            if heads is None:
                if _in_front(record):
                    front.extend(_front_line(number, record, faults))
                else:
                    heads = _heads(number, record, known, required, faults)
            elif any(map(str.strip, record)):
                rows.append(_row(number, record, heads, faults))
            if len(rows) > most_rows:
                faults.note(number, "", Reason("intake.too_many_rows", {"most": most_rows}))
                break
    except csv.Error as fault:
        faults.note(number + 1, "", Reason(_csv_code(str(fault)), {"most": LONGEST_CELL}))
    named = {field: written for field, written in heads or () if field}
    return Grid(tuple(front), named, tuple(rows))


def _csv_code(said: str) -> str:
    if "field limit" in said:
        return "intake.cell_too_long"
    return "intake.unclosed_quote" if "end of data" in said else "intake.stray_quote"


def _front_line(number: int, record: list[str], faults: Faults) -> Iterator[tuple[int, str, str]]:
    cells = [cell.strip() for cell in record]
    if not any(cells):
        return
    name = cells[0].removeprefix(HEAD_MARK).strip().rstrip(":")
    if any(cells[2:]):
        faults.note(number, name, Reason("intake.head_line_split", {"name": name}))
    elif problem := _unfit(cells[1] if len(cells) > 1 else ""):
        faults.note(number, name, problem)
    else:
        yield number, name, cells[1] if len(cells) > 1 else ""


def _heads(
    number: int, record: list[str], known: Names, required: tuple[str, ...], faults: Faults
) -> list[tuple[str | None, str]]:
    heads: list[tuple[str | None, str]] = []
    seen: set[str] = set()
    for written in map(str.strip, record):
        field = field_of(written, known)
        if field in seen:
            faults.note(number, written, Reason("intake.head_twice", {"head": written}))
        elif field is None and written:
            faults.note(number, written, _unknown(written, known))
        seen.add(field or "")
        heads.append((field, written))
    for field in required:
        if field not in seen:
            faults.note(number, "", Reason("intake.head_missing", {"head": known[field][0]}))
    return heads


def _unknown(written: str, known: Names) -> Reason:
    heads = {plain(head): field for field, heads in known.items() for head in heads}
    near = get_close_matches(plain(written), heads, n=1)
    shown = written[:60]
    if near:
        return Reason("intake.head_unknown_near", {"head": shown, "near": known[heads[near[0]]][0]})
    return Reason("intake.head_unknown", {"head": shown, "heads": ", ".join(heads[0] for heads in known.values())})


def _row(number: int, record: list[str], heads: list[tuple[str | None, str]], faults: Faults) -> Row:
    if any(cell.strip() for cell in record[len(heads) :]):
        faults.note(number, "", Reason("intake.too_many_cells", {"got": len(record), "heads": len(heads)}))
    cells: dict[str, str] = {}
    for (field, written), cell in zip(heads, record, strict=False):
        text = cell.strip()
        if not text:
            continue
        if problem := _unfit(text):
            faults.note(number, written, problem)
        elif field is None and not written:
            faults.note(number, "", Reason("intake.cell_without_head", {"text": text[:60]}))
        elif field is not None:
            cells.setdefault(field, text)
    return Row(number, cells)


def _unfit(text: str) -> Reason | None:
    """Why a cell's text may not be taken whatever it means: too long, or holding what cannot be shown."""
    if len(text) > LONGEST_CELL:
        return Reason("intake.cell_too_long", {"most": LONGEST_CELL})
    if text.isprintable():
        return None
    for place, letter in enumerate(text):
        if letter not in "\n\r\t" and unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Co", "Cn"):
            return Reason("intake.odd_character", {"at": place, "character": f"U+{ord(letter):04X}"})
    return None

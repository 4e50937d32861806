"""A book of a shop's life: a day of sheets made through the rules, then copied day after day with a valid chain.

Every copy has its own identities, days, serials and values, its bytes are canonical and its rows are those that follow
from them: verifying finds nothing. It is made some fifty times as fast as through the rules. Seeded: the same name and
sizes give the same bytes; books of two names are no copies of each other.
"""

from __future__ import annotations

import hashlib
import itertools
import re
import sqlite3
import uuid
from collections.abc import Iterator
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import InstrumentKind
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.reading import Slot
from inspection.quantity.units import Kind, Quantity
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.people import Person
from inspection.sheet.state import Sheet
from storage.book.clock import Moment
from storage.book.door import Book
from storage.book.tables import PROJECTION, journal

INCH = 25_400_000_000
TENTH = INCH // 10_000
FIRST = date(2019, 1, 7)
FIRST_MOMENT = 1_546_840_800_000_000  # 2019-01-07 06:00 UTC
DAY, BETWEEN = 86_400_000_000, 5_000_000
PIECES = 2
#: Half the band, how far a reading that is out lies from the nominal, and how far the others stay, in tenths.
HALF, OUT, WITHIN = 50, 59, 45
CUSTOMERS = ("Lantern Hill Optical", "Ostrava Kettle Works", "Ørsted & Daughter", "Pale Harbour Pumps")
#: Micrometers to 4 in: each answers a quarter of the rows.
IN_HAND = ("M-01", "M-02", "M-03", "M-04")


class BulkBook(NamedTuple):
    """A closed book of many sheets: where it lies, its person, its parts, its instruments by tag, the characteristics
    of the first part, its sheets by number and its last day."""

    path: Path
    person: str
    parts: tuple[str, ...]
    instruments: dict[str, str]
    characteristics: tuple[str, ...]
    sheets: int
    last: date


def make_bulk_book(path: Path, sheets: int, parts: int = 40, rows: int = 40) -> BulkBook:
    """Make a book of ``sheets`` sheets, of ``parts`` parts each working day, each of ``rows`` rows on two pieces."""
    seen = _first_day(path, parts, rows)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        days = _copied(connection, seen.person, parts, sheets)
    return seen._replace(sheets=sheets, last=FIRST + timedelta(days=days - 1))


# --- the first day, through the rules -----------------------------------------------------------------------------


def _first_day(path: Path, parts: int, rows: int) -> BulkBook:
    entries, numbers = itertools.count(), itertools.count(1)

    def clock() -> Moment:
        return Moment(FIRST_MOMENT + next(entries) * BETWEEN, FIRST.isoformat())

    def identity() -> str:
        return str(uuid.uuid5(uuid.NAMESPACE_OID, f"{path.stem} {next(numbers)}"))

    with Book.new(path, clock=clock, identities=identity) as book:
        opening = acts.OpenShop(name="Quillfeather Machine", first_person=Person("", "Mira Oduya"))
        person = next(iter(book.do(opening, person="").shop.people))
        crib = (one for one in starter_crib(due="2035-01-01") if one.kind is InstrumentKind.OUTSIDE_MICROMETER)
        book.do(acts.IssueInstruments(instruments=tuple(one for one in crib if one.tag in IN_HAND)), person=person)
        plans = [book.do(acts.IssuePlan(plan=_plan(part, rows)), person=person).events[0].plan for part in range(parts)]
        shop = book.shop()
        held = {one.tag: one for one in shop.crib.values()}
        for one in held.values():
            check = acts.RecordCheck(
                instrument=one.identity, issue=one.issue, configuration=configured(one), answers=good_answers(one)
            )
            book.do(check, person=person)
        for part, plan in enumerate(plans):
            head = Head(order=f"PO-{part:03}-00000", lot=f"L-{part:03}-00000")
            serials = tuple(f"S-{part:03}-00000-{piece}" for piece in range(1, PIECES + 1))
            made = book.do(acts.MakeSheet(plan=plan.identity, serials=serials, head=head), person=person)
            assert made.sheet is not None
            book.do_all(list(_readings(made.sheet, part)), person=person)
            assert not book.sheet(made.sheet.identity).open_questions()
        return BulkBook(
            path,
            person,
            tuple(plan.part_identity for plan in plans),
            {tag: one.identity for tag, one in held.items()},
            tuple(row.identity for row in plans[0].characteristics),
            parts,
            FIRST,
        )


def _plan(part: int, rows: int) -> Plan:
    head = Part(f"TW-{part:04}", "A", f"Bracket {part}", customer=CUSTOMERS[part % len(CUSTOMERS)])
    return Plan("", "", 0, head, TitleBlock(), tuple(_row(part, number, rows) for number in range(1, rows + 1)))


def _row(part: int, number: int, rows: int) -> Characteristic:
    nominal = INCH // 8 + (part % 8) * 10 * TENTH + (number - 1) * (38 * INCH // 10 // rows // TENTH) * TENTH
    half = HALF * TENTH
    requirement = Requirement(
        f"{nominal / INCH:.3f} ±.005",
        Form.PLUS_MINUS,
        decimals=3,
        nominal=nominal,
        lower=nominal - half,
        upper=nominal + half,
        band=2 * half,
    )
    return Characteristic("", str(number), FeatureKind.LENGTH, requirement)


def _readings(sheet: Sheet, part: int) -> Iterator[acts.TakeReading]:
    """Every row of both pieces; one in fifty is out. None looks like a slip of another."""
    chance = Random(part)
    for piece in sheet.pieces:
        for row in sheet.plan.characteristics:
            assert row.requirement.nominal is not None
            off = _out(row.requirement.nominal) if chance.random() < 0.02 else chance.randint(-1, 1)
            count = row.requirement.nominal + off * TENTH
            quantity = Quantity(count, Kind.LENGTH, "in", _written(count), 4)
            yield acts.TakeReading(
                sheet=sheet.identity, characteristic=row.identity, piece=piece.identity, slot=Slot(), quantity=quantity
            )


def _out(nominal: int) -> int:
    """How far out a reading lies, so that no two digits of it, or of a good one, need only change places for the one
    to be near the other; 0 where there is no such place."""
    good = [nominal + off * TENTH for off in (-1, 0, 1)]

    def slip(off: int) -> bool:
        out = nominal + off * TENTH
        there = any(abs(each - nominal) < HALF * TENTH for each in _swapped(out))
        return there or any(abs(each - out) < 27 * TENTH for one in good for each in _swapped(one))

    return next((off for off in range(OUT, 2 * OUT) if not slip(off)), 0)


def _swapped(count: int) -> Iterator[int]:
    digits = _written(count).replace(".", "")
    for at in range(len(digits) - 1):
        yield int(digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]) * TENTH


def _written(count: int) -> str:
    return f"{count / INCH:.4f}"


# --- every further day, copied ------------------------------------------------------------------------------------

_TOKENS = re.compile(
    rb"([0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"  # identities
    rb"|[0-9a-f]{64}"  # the entry before
    rb"|(?<![0-9.])1[0-9]{15}(?![0-9])"  # moments
    rb"|2019-01-07|-00000(?![0-9])"  # the day, and what serials, orders and lots are counted by
    rb'|(?<="sequence":)[0-9]+(?=,"stream")'
    rb"|(?<![0-9.])[0-9]{10,11}(?![0-9])"  # sizes
    rb'|(?<="written":")[0-9.]+(?="))'
)


class _Entry(NamedTuple):
    """An entry of the first day: its bytes as literals and tokens in turn, its columns, its rows by table."""

    parts: list[bytes]
    columns: tuple[Any, ...]
    rows: list[tuple[str, list[Any]]]


class _Value(NamedTuple):
    """A reading that is not out: which it is, its size and what was written of it, its nominal and its row."""

    size: int
    written: str
    nominal: int
    row: int


def _copied(connection: sqlite3.Connection, person: str, parts: int, sheets: int) -> int:
    """Copy the first day until there are as many sheets; the number of days in all."""
    for pragma in ("journal_mode = OFF", "synchronous = OFF", "cache_size = -3000000", "locking_mode = EXCLUSIVE"):
        connection.execute(f"PRAGMA {pragma}").fetchall()
    entries, born = _entries(connection)
    values = _values(connection)
    indexes = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL")
    kept = indexes.fetchall()
    for name, _ in kept:
        connection.execute(f'DROP INDEX "{name}"')
    last, digest = connection.execute("SELECT max(sequence), digest FROM journal").fetchone()
    days = -(-sheets // parts)
    left = sheets - parts
    for day in range(1, days):
        connection.execute("BEGIN")
        last, digest = _one_day(connection, entries, born, values, day, last, digest, min(left, parts))
        connection.execute("COMMIT")
        left -= parts
    for _, sql in kept:
        connection.execute(sql)
    return days


def _entries(connection: sqlite3.Connection) -> tuple[list[_Entry], dict[str, None]]:
    """The entries of checks and sheets in order, and the identities that came with them."""
    rows = connection.execute(
        "SELECT * FROM journal WHERE stream = 'checks' OR stream IN (SELECT sheet FROM sheet) ORDER BY sequence"
    ).fetchall()
    first = rows[0][0]
    before = connection.execute("SELECT content FROM journal WHERE sequence < ?", (first,)).fetchall()
    old = {token for (content,) in before for token in _TOKENS.findall(content)}
    by_sequence: dict[int, list[tuple[str, list[Any]]]] = {}
    for name, table in PROJECTION.items():
        columns = ", ".join(f'"{column.name}"' for column in table.columns)
        for row in connection.execute(f'SELECT {columns} FROM "{name}" WHERE sequence >= ?', (first,)):
            by_sequence.setdefault(row[0], []).append((name, list(row)))
    entries, born = [], {}
    for row in rows:
        parts = _TOKENS.split(row[-1])
        born |= {each.decode(): None for each in parts[1::2] if len(each) == 36 and each not in old}
        entries.append(_Entry(parts, row, by_sequence.get(row[0], [])))
    return entries, born


def _values(connection: sqlite3.Connection) -> dict[int, _Value]:
    """The readings that are not out, by their entry."""
    query = """
        SELECT r.sequence, r.amount, r.written, c.nominal, CAST(c.number AS INTEGER)
        FROM reading r JOIN plan_issue p ON p.plan = r.plan
        JOIN characteristic c ON c.sequence = p.sequence AND c.characteristic = r.characteristic
    """
    return {at: _Value(*rest) for at, *rest in connection.execute(query) if abs(rest[0] - rest[2]) <= WITHIN * TENTH}


def _one_day(
    connection: sqlite3.Connection,
    entries: list[_Entry],
    born: dict[str, None],
    values: dict[int, _Value],
    day: int,
    last: int,
    digest: str,
    sheets: int,
) -> tuple[int, str]:
    """Copy ``sheets`` sheets of the first day to this one; the end of the chain then."""
    chance = Random(day)
    shift, today = day * DAY, (FIRST + timedelta(days=day)).isoformat()
    names = {name: f"{name[:24]}{int(name[24:], 16) ^ day:012x}" for name in born}
    fixed: dict[Any, Any] = {**names, "2019-01-07": today, "-00000": f"-{day:05}"}
    wanted = {"checks", *itertools.islice(_sheets(entries), sheets)}
    written: dict[str, list[list[Any]]] = {}
    for entry in entries:
        if entry.columns[2] not in wanted:
            continue
        last += 1
        own = dict(fixed)
        value = values.get(entry.columns[0])
        if value is not None:
            off = round(chance.gauss((value.row % 7 - 3) * 3, 5 + value.row % 10))
            size = value.nominal + max(-WITHIN, min(WITHIN, off)) * TENTH
            own |= {str(value.size): str(size), value.size: size, value.written: _written(size)}
        own |= {entry.columns[9]: digest, str(entry.columns[8]): str(last)}
        content = _content(entry.parts, own, shift)
        columns = [_moved(each, own, shift) for each in entry.columns]
        digest_before, digest = digest, hashlib.sha256(content).hexdigest()
        columns[0], columns[8], columns[9], columns[10], columns[12] = last, last, digest_before, digest, content
        written.setdefault(journal.name, []).append(columns)
        for table, row in entry.rows:
            moved = [_moved(each, own, shift) for each in row]
            moved[0] = last
            written.setdefault(table, []).append(moved)
    for table, rows in written.items():
        connection.executemany(f'INSERT INTO "{table}" VALUES ({", ".join("?" * len(rows[0]))})', rows)
    return last, digest


def _sheets(entries: list[_Entry]) -> Iterator[str]:
    return iter(dict.fromkeys(entry.columns[2] for entry in entries if entry.columns[2] != "checks"))


def _content(parts: list[bytes], own: dict[Any, Any], shift: int) -> bytes:
    out = list(parts)
    for place in range(1, len(out), 2):
        token = out[place].decode()
        if token in own:
            out[place] = own[token].encode()
        elif len(token) == 16 and token.isdigit():
            out[place] = str(int(token) + shift).encode()
    return b"".join(out)


def _moved(value: Any, own: dict[Any, Any], shift: int) -> Any:
    if isinstance(value, str):
        if value in own:
            return own[value]
        return value[:5] + value[5:].replace("-00000", own["-00000"]) if "-00000" in value else value
    if isinstance(value, int):
        return value + shift if value > FIRST_MOMENT - 1 else own.get(value, value) if value > TENTH * 1000 else value
    return value

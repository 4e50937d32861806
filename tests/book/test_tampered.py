"""Somebody changes a book behind the program's back: clumsily, or with the program's own source and every digest, row
and link of the chain made anew, but without anybody's private key.

What the clumsy one changes is named row by row, signed or not. What the other one changes of anything that stands in
the journal before the last signature is betrayed by that signature, for it covers the chain's head; behind the last
signature nothing betrays it, and the check says how many entries that are.
"""

from __future__ import annotations

import copy
import json
import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from inspection.reasons import Amount, Reason
from inspection.sheet.canonical.canonical import digest, dumps
from inspection.sheet.canonical.form_4 import read_entry
from inspection.sheet.people import Person
from inspection.words.say import say
from storage.book.journal import columns_of
from storage.book.passages import COLUMNS
from storage.book.streams import Stories
from storage.book.tables import PROJECTION, metadata
from storage.book.verify import verify_book
from storage.seals.check import Verified
from storage.seals.keys import make_key, unlock
from tests.book.conftest import NOON, PASSPHRASE
from tests.book.test_verify import behind

SIGNED = {"SheetSealed", "StatementSigned"}
#: How many fields of entries are tried, spread over all there are.
TRIED = int(os.environ.get("TENTHWRIGHT_FIELDS", "12"))

Records = list[dict[str, Any]]


# --- clumsily ---------------------------------------------------------------------------------------------------------

NAMES = ("sequence", "place")


def columns(table: str) -> list[str]:
    return [column.name for column in metadata.tables[table].columns if column.name not in NAMES]


@pytest.mark.parametrize("nth", range(max(len(columns(table)) for table in PROJECTION)))
def test_any_column_of_any_table_is_named(story: Any, nth: int) -> None:
    """The nth column of the last row of every table at once: each is told by table, entry and column; what is of a
    sheet by its part, and what is of a row there by balloon number and piece."""
    altered, of_sheets, of_rows = {}, set(), set()
    with behind(story.path) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("PRAGMA ignore_check_constraints = ON")
        for table in PROJECTION:
            if nth >= len(columns(table)):
                continue
            column = columns(table)[nth]
            sequence, place, value = connection.execute(
                f'SELECT sequence, place, "{column}" FROM {table} ORDER BY sequence DESC, place DESC'
            ).fetchone()
            other = f"{value}x" if isinstance(value, str) else (value or 0) + 1
            connection.execute(
                f'UPDATE {table} SET "{column}" = ? WHERE sequence = ? AND place = ?', (other, sequence, place)
            )
            altered[f"book.table.{table}", sequence, f"book.column.{column}"] = " ".join(str(other).split())
            of_sheets |= {f"book.table.{table}"} if "sheet" in columns(table) else set()
            if "sheet" in columns(table) and {"characteristic", "reading"}.intersection(columns(table)):
                of_rows.add(f"book.table.{table}")
    found = verify_book(story.path).faults
    named = {
        (fault.parts["what"], fault.parts["entry"], fault.parts["column"]): fault.parts["stored"]
        for fault in found
        if fault.code.startswith("verify.changed.")
    }
    assert named.keys() == altered.keys() and len(altered) >= 1
    assert all(told_as(stored, altered[where]) for where, stored in named.items())
    told = [say(fault) for fault in found]
    assert not any("\n" in line or "[book." in line for line in told), "in a line, and in words"
    told = [fault for fault in found if fault.code.startswith("verify.changed.")]
    of_sheets.discard("book.table.check_made")  # the crib's, though a check may be made at a sheet
    assert {fault.parts["what"] for fault in told if fault.parts["part"] == "HB-7"} == of_sheets
    rows = [fault for fault in told if fault.code == "verify.changed.row"]
    assert {fault.parts["what"] for fault in rows} == of_rows
    assert {fault.parts["number"] for fault in rows} <= set("1234")
    pieces = {fault.parts["what"]: fault.parts["serial"] for fault in rows}
    assert set(pieces.values()) <= {"001", "002", "7", "-"}
    assert {what for what, serial in pieces.items() if serial == "-"} <= {"book.table.note", "book.table.assignment"}


@pytest.mark.parametrize("name", NAMES)
def test_a_row_moved_to_another_place_is_named(story: Any, name: str) -> None:
    with behind(story.path) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        for table in PROJECTION:
            connection.execute(
                f"UPDATE {table} SET {name} = {name} + 500 WHERE (sequence, place) IN "
                f"(SELECT sequence, place FROM {table} ORDER BY sequence DESC, place DESC LIMIT 1)"
            )
    told = [fault.parts["what"] for fault in verify_book(story.path).faults if fault.code.startswith("verify.missing.")]
    assert set(told) == {f"book.table.{table}" for table in PROJECTION}


@pytest.mark.parametrize("table", [name for name in metadata.tables if name not in PROJECTION])
def test_any_column_that_follows_from_no_entry_is_named(story: Any, table: str) -> None:
    """The journal's, the attached files' and the note of the schema, one at a time, each put back."""
    names = metadata.tables[table].columns.keys()
    (key,) = metadata.tables[table].primary_key.columns.keys()
    for column in names:
        with behind(story.path) as connection:
            connection.execute("PRAGMA foreign_keys = OFF")
            held = dict(zip(names, connection.execute(f"SELECT * FROM {table} ORDER BY 1").fetchone(), strict=True))
            value = held[column]
            other = value + (1_000_000 if isinstance(value, int) else b" " if isinstance(value, bytes) else "x")
            where = {"at": held[key], "value": other}
            connection.execute(f"UPDATE {table} SET {column} = :value WHERE {key} = :at", where)
        faults = verify_book(story.path).faults
        with behind(story.path) as connection:
            connection.execute("PRAGMA foreign_keys = OFF")
            where = {"at": other if column == key else held[key], "value": value}
            connection.execute(f"UPDATE {table} SET {column} = :value WHERE {key} = :at", where)
        assert any(names_it(fault, table, held) for fault in faults), (column, faults)
        assert not any("[" in say(fault) for fault in faults)
    assert verify_book(story.path).whole


def told_as(stored: Any, value: str) -> bool:
    """Whether a stored value is told: whole, an amount in its unit, a moment by the clock, or of a long text where it
    differs."""
    if isinstance(stored, Amount):
        return str(stored.count) == value
    if stored.endswith(" UTC"):
        at = datetime.strptime(stored, "%Y-%m-%d %H:%M:%S.%f UTC").replace(tzinfo=UTC)
        return (at - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1) == int(value)
    return stored == value or (len(stored) < len(value) and stored.startswith("…") and value.endswith(stored[1:]))


def names_it(fault: Reason, table: str, held: dict[str, Any]) -> bool:
    if table == "journal":
        return fault.parts.get("entry") in (held["sequence"], held["sequence"] + 1)
    return fault.code.startswith("verify.attached_") if table == "attached_file" else fault.code == "verify.schema_step"


# --- with the source, and without a key -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def records(told_once: Any) -> Records:
    """Every entry as it may be read by anybody."""
    with closing(sqlite3.connect(told_once.path)) as connection:
        return [
            json.loads(content) for (content,) in connection.execute("SELECT content FROM journal ORDER BY sequence")
        ]


def last_signed(records: Records) -> int:
    return max(place for place, record in enumerate(records) if types_of(record) & SIGNED)


def types_of(record: dict[str, Any]) -> set[str]:
    return {event["type"] for event in record["events"]}


def forge(path: Path, records: Records) -> None:
    """Write a journal of these entries, with chain, digests, columns and rows as the program makes them."""
    with behind(path) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        for table in ("journal", *PROJECTION):
            connection.execute(f"DELETE FROM {table}")
        last = ""
        for sequence, record in enumerate(records, start=1):
            record["entry"]["previous"] = last
            content = dumps(record)
            row = {**columns_of(read_entry(content), sequence, content), "digest": digest(content), "content": content}
            put(connection, "journal", row)
            last = row["digest"]
    project(path)


def project(path: Path) -> None:
    with behind(path) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        stories = Stories(connection)
        for sequence, content in connection.execute("SELECT sequence, content FROM journal ORDER BY 1").fetchall():
            for table, row in stories.tell(sequence, read_entry(content)):
                put(connection, table, dict(zip(COLUMNS[table], row, strict=True)))


def put(connection: sqlite3.Connection, table: str, row: dict[str, Any]) -> None:
    names = ", ".join(f'"{name}"' for name in row)
    connection.execute(f"INSERT INTO {table} ({names}) VALUES ({', '.join('?' * len(row))})", tuple(row.values()))


def forged(told_once: Any, folder: Path, records: Records, change: Callable[[Records], Any]) -> Verified:
    altered = copy.deepcopy(records)
    change(altered)
    path = Path(shutil.copy(told_once.path, folder / "forged.tenthwright"))
    forge(path, altered)
    return verify_book(path)


def test_the_forger_writes_books_that_hold(told_once: Any, tmp_path: Path, records: Records) -> None:
    """What the tests below would not see if the forger were a bungler."""
    found = forged(told_once, tmp_path, records, lambda _records: None)
    assert found.whole and found.statements[1:] == verify_book(told_once.path).statements[1:]


def fields(records: Records) -> Iterator[tuple[int, tuple[str | int, ...]]]:
    """One field of every kind there is before the last signature: its entry, and the way to it."""
    seen = set()
    for place, record in enumerate(records[: last_signed(records)]):
        for way, kind in leaves(record):
            if kind not in seen and way[-1] not in ("previous", "type"):
                seen.add(kind)
                yield place, way


def leaves(value: Any, way: tuple[Any, ...] = (), kind: str = "") -> Iterator[tuple[tuple[Any, ...], str]]:
    if isinstance(value, dict):
        named = f"{kind}/{value.get('type', '')}"
        for key, held in value.items():
            yield from leaves(held, (*way, key), f"{named}.{key}")
    elif isinstance(value, list):
        for place, held in enumerate(value):
            yield from leaves(held, (*way, place), f"{kind}[]")
    elif value is not None:
        yield way, kind


def changed(record: Any, way: tuple[Any, ...]) -> None:
    for step in way[:-1]:
        record = record[step]
    value = record[way[-1]]
    record[way[-1]] = not value if isinstance(value, bool) else value + 1 if isinstance(value, int) else f"{value}1"


@pytest.mark.slow
def test_no_field_before_the_last_signature_is_forged_unseen(told_once: Any, tmp_path: Path, records: Records) -> None:
    held = list(fields(records))
    tried = held[:: max(len(held) // TRIED, 1)]
    unseen, impossible = [], 0
    for place, way in tried:
        try:
            found = forged(told_once, tmp_path, records, lambda all_, place=place, way=way: changed(all_[place], way))
        except (msgspec.ValidationError, sqlite3.Error):
            impossible += 1  # no entry that the program could read
            continue
        if found.whole or not any("number" in fault.parts or "part" in fault.parts for fault in found.faults):
            unseen.append((place, way, [fault.code for fault in found.faults]))
    print(f"{len(tried)} of {len(held)} fields tried, {impossible} of them no book could hold")
    assert not unseen and impossible < len(tried) // 2


@pytest.mark.parametrize("what", ["taken out", "put in", "swapped"])
def test_no_entry_before_the_last_signature_is_forged_unseen(
    told_once: Any, tmp_path: Path, records: Records, what: str
) -> None:
    readings = [place for place, record in enumerate(records) if types_of(record) & {"NoteWritten", "ReadingTaken"}]
    first, second = [place for place in readings if place < last_signed(records)][-2:]

    def change(all_: Records) -> None:
        if what == "taken out":
            del all_[second]
        elif what == "put in":
            twin = copy.deepcopy(all_[first])
            twin["entry"] |= {"identity": "0" * 36, "at": twin["entry"]["at"] + 1}
            all_.insert(second, twin)
        else:
            all_[first], all_[second] = all_[second], all_[first]

    found = forged(told_once, tmp_path, records, change)
    assert "verify.seal_differs" in {fault.code for fault in found.faults}
    named = [fault for fault in found.faults if fault.code != "verify.attached_noted_wrongly"]
    assert {fault.parts.get("number") for fault in named} == {"HB-7"}


def test_a_forged_reading_is_named_by_sheet_row_and_piece(told_once: Any, tmp_path: Path, records: Records) -> None:
    first = next(place for place, record in enumerate(records) if "ReadingTaken" in types_of(record))

    def change(all_: Records) -> None:
        taken = next(event for event in all_[first]["events"] if event["type"] == "ReadingTaken")
        taken["reading"]["count"] -= 25_400

    found = forged(told_once, tmp_path, records, change)
    rows = [fault for fault in found.faults if fault.code == "verify.sealed_row_differs"]
    assert {(one.parts["number"], one.parts["row"], one.parts["serial"]) for one in rows} == {("HB-7", "1", "001")}
    assert not any("[" in say(fault) for fault in found.faults)


def test_a_seal_made_to_fit_what_was_forged_is_named_by_its_sheet(
    told_once: Any, tmp_path: Path, records: Records
) -> None:
    """The forger writes the sealed bytes and their digest anew as well; what is left is the signature."""

    def change(all_: Records) -> None:
        sealed = next(event for record in all_ for event in record["events"] if event["type"] == "SheetSealed")
        content = json.loads(sealed["content"]) | {"incomplete": "nothing is missing"}
        sealed |= {"incomplete": content["incomplete"], "content": dumps(content).decode()}
        sealed["digest"] = digest(dumps(content))

    found = forged(told_once, tmp_path, records, change)
    assert "seal.broken" in {fault.code for fault in found.faults}
    told = next(fault for fault in found.faults if fault.code == "verify.signature_fails")
    assert (told.parts["number"], told.parts["round"], told.parts["person"]) == ("HB-7", 1, "Ann Ames")
    assert not any("[" in say(fault) for fault in found.faults)


def altered_tail(records: Records, change: Callable[[Records], Any]) -> Records:
    altered = copy.deepcopy(records)
    change(altered)
    return altered


def test_what_stands_behind_the_last_signature_is_not_proved_and_counted(
    told_once: Any, tmp_path: Path, records: Records
) -> None:
    """The tail may be cut or altered by the forger; that nothing proves it is said, with how much that is."""
    last = last_signed(records)
    assert verify_book(told_once.path).statements[-1].parts == {"n": len(records) - 1 - last}
    for change in (lambda all_: all_.pop(), lambda all_: all_[-1]["entry"].update(at=all_[-1]["entry"]["at"] + 1)):
        found = forged(told_once, tmp_path, records, change)
        assert found.whole
        tail = len(altered_tail(records, change)) - 1 - last
        assert [each.parts["n"] for each in found.statements if each.code == "verify.unsigned_tail"] == [tail][:tail]


def test_a_signature_by_a_key_of_the_forger_s_own_is_named_though_it_holds(
    told_once: Any, tmp_path: Path, records: Records
) -> None:
    """Made in the person's name and over the very bytes: only that the book entered another certificate tells it."""
    key = make_key("Ann Ames", PASSPHRASE, NOON)
    posing = Person("", "Ann Ames", certificate=key.certificate, locked_key=key.locked_key)

    def change(all_: Records) -> None:
        (signed,) = (event for event in all_[last_signed(all_)]["events"] if event["type"] in SIGNED)
        signed["signature"] = msgspec.to_builtins(unlock(posing, PASSPHRASE)(signed["content"].encode()))

    (fault,) = forged(told_once, tmp_path, records, change).faults
    assert (fault.code, fault.parts["person"], fault.parts["number"]) == (
        "verify.other_certificate",
        "Ann Ames",
        "HB-7",
    )

"""Whatever is altered behind the program's back is named: the row, its sheet, and where on it."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing, contextmanager

import pytest

from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.canonical.canonical import dumps
from inspection.sheet.canonical.form_4 import read_entry
from inspection.sheet.evidence import EvidenceKind
from inspection.words.say import known, say
from storage.book.verify import verify_book, verify_file, verify_sheet
from storage.seals.data_file import write_data


@contextmanager
def behind(path):
    """A connection for tampering: triggers gone while at it, put back afterwards, so that only rows differ."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        kept = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in kept:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for _, sql in kept:
            connection.execute(sql)


def codes(verified) -> set[str]:
    said = [say(reason) for reason in (*verified.statements, *verified.faults)]
    assert all(known(reason.code) for reason in (*verified.statements, *verified.faults))
    assert not any("[" in sentence for sentence in said), said
    return {reason.code for reason in verified.faults}


def test_an_untouched_book_is_whole(story):
    before = story.path.read_bytes()
    found = verify_book(story.path)
    assert found.whole
    assert [reason.code for reason in found.statements] == [
        "verify.book_whole",
        *["verify.seal_holds"] * 4,
        *["verify.statement_holds"] * 2,
        "verify.unsigned_tail",
    ]
    assert story.path.read_bytes() == before


def test_an_altered_reading_is_named_by_sheet_number_and_piece(story):
    with behind(story.path) as connection:
        connection.execute(
            "UPDATE reading SET amount = amount - 25400000 WHERE sequence = (SELECT max(sequence) FROM reading)"
        )
    (fault,) = verify_book(story.path).faults
    assert fault.code == "verify.changed.row"
    assert (fault.parts["part"], fault.parts["number"], fault.parts["serial"]) == ("HB-7", "4", "7")


def test_a_row_taken_out_or_put_in_is_named(story):
    with behind(story.path) as connection:
        connection.execute("DELETE FROM note")
        connection.execute(
            "INSERT INTO answer SELECT sequence, 7, question, sheet, answer, reading, by, at FROM answer LIMIT 1"
        )
    found = verify_book(story.path)
    assert codes(found) == {"verify.missing.row", "verify.added.row"}


def test_a_row_without_an_entry_is_named(story):
    with behind(story.path) as connection:
        connection.execute("INSERT INTO rules_issue VALUES (4000, 0, 900)")
    assert "verify.row_without_entry" in codes(verify_book(story.path))


def test_one_byte_of_an_entry_is_named(story):
    with behind(story.path) as connection:
        (content,) = connection.execute("SELECT content FROM journal WHERE sequence = 9").fetchone()
        at = content.index(b'"day":"2026') + 8
        altered = content[:at] + b"1" + content[at + 1 :]
        connection.execute("UPDATE journal SET content = ? WHERE sequence = 9", (altered,))
    found = verify_book(story.path)
    assert "verify.entry_changed" in codes(found)
    assert next(fault for fault in found.faults if fault.code == "verify.entry_changed").parts["entry"] == 9


def test_an_entry_rewritten_with_its_digest_breaks_the_chain(story):
    with behind(story.path) as connection:
        (content,) = connection.execute("SELECT content FROM journal WHERE sequence = 9").fetchone()
        altered = content.replace(b'"day":"2026', b'"day":"2025')
        fresh = hashlib.sha256(altered).hexdigest()
        connection.execute("UPDATE journal SET content = ?, digest = ? WHERE sequence = 9", (altered, fresh))
    assert "verify.chain_broken" in codes(verify_book(story.path))


def test_a_chain_rewritten_to_the_end_is_betrayed_by_the_seals(story):
    """Somebody with the whole recipe alters a reading and computes every digest and row anew; the signatures hold."""
    with behind(story.path) as connection:
        last = ""
        rows = connection.execute("SELECT sequence, content FROM journal ORDER BY sequence").fetchall()
        for sequence, content in rows:
            record = json.loads(content)
            record["entry"]["previous"] = last
            for event in record["events"]:
                if event["type"] == "ReadingTaken":
                    event["reading"]["count"] -= 25_400
            altered = dumps(record)
            read_entry(altered)
            fresh = hashlib.sha256(altered).hexdigest()
            connection.execute(
                "UPDATE journal SET content = ?, digest = ?, previous = ? WHERE sequence = ?",
                (altered, fresh, last or "", sequence),
            )
            last = fresh
        connection.execute("UPDATE reading SET amount = amount - 25400")
    found = verify_book(story.path)
    assert codes(found) == {"verify.seal_differs", "verify.sealed_row_differs", "verify.statement_differs"}
    assert {fault.parts.get("field") for fault in found.faults} >= {"book.column.chain", "book.column.readings"}


@pytest.mark.parametrize(
    ("column", "value"), [("person", "someone"), ("at", 5), ("act", "OpenShop"), ("station", "other"), ("form", 1)]
)
def test_a_column_beside_the_bytes_is_named(story, column, value):
    with behind(story.path) as connection:
        before = connection.execute(f"SELECT {column} FROM journal WHERE sequence = 8").fetchone()[0]
        connection.execute(f"UPDATE journal SET {column} = ? WHERE sequence = 8", (value,))
    assert codes(verify_book(story.path)) == (set() if before == value else {"verify.column_changed"})


def test_a_missing_entry_is_named(story):
    with behind(story.path) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("DELETE FROM journal WHERE sequence = 8")
    assert {"verify.entry_missing", "verify.chain_broken"} <= codes(verify_book(story.path))


def test_entries_cut_off_at_the_end_leave_rows_behind(story):
    with behind(story.path) as connection:
        connection.execute("DELETE FROM journal WHERE sequence = (SELECT max(sequence) FROM journal)")
    assert "verify.row_without_entry" in codes(verify_book(story.path))


def test_one_byte_of_an_attached_file_is_named(story):
    with behind(story.path) as connection:
        kept = connection.execute("SELECT digest, content FROM attached_file").fetchall()
        name, content = next(row for row in kept if b"0.5" in row[1])
        forged = content.replace(b"0.5", b"0.4")
        connection.execute("UPDATE attached_file SET content = ? WHERE digest = ?", (forged, name))
    for found in (verify_book(story.path), verify_sheet(story.path, story.sheet_id)):
        assert codes(found) == {"verify.attached_changed"}
        assert found.faults[0].parts["name"] == "mill certificate.pdf"


def test_an_attached_file_taken_out_is_named(story):
    with behind(story.path) as connection:
        connection.execute("DELETE FROM attached_file")
    for found in (verify_book(story.path), verify_sheet(story.path, story.sheet_id)):
        assert codes(found) == {"verify.attached_missing"}


def test_a_file_that_no_record_names_is_told(story):
    with behind(story.path) as connection:
        strange = hashlib.sha256(b"strange").hexdigest()
        connection.execute("INSERT INTO attached_file VALUES (?, 3, 7, ?)", (strange, b"strange"))
    assert codes(verify_book(story.path)) == {"verify.attached_added"}
    assert verify_sheet(story.path, story.sheet_id).whole


def test_a_guard_taken_off_is_named(story):
    with closing(sqlite3.connect(story.path)) as connection:
        connection.execute("DROP TRIGGER reading_never_updated")
    (fault,) = verify_book(story.path).faults
    assert (fault.code, fault.parts["name"]) == ("verify.schema_changed", "reading_never_updated")


def test_an_unreadable_entry_is_named(story):
    with behind(story.path) as connection:
        connection.execute("UPDATE journal SET content = x'7b', digest = 'x' WHERE sequence = 9")
    assert "verify.entry_unreadable" in codes(verify_book(story.path))


def test_one_sheet_is_checked_alone(story):
    found = verify_sheet(story.path, story.sheet_id)
    assert found.whole
    assert [reason.code for reason in found.statements] == [
        "verify.sheet_whole",
        "verify.seal_holds",
        "verify.seal_holds",
    ]
    with pytest.raises(Refused):
        verify_sheet(story.path, "no such sheet")
    with behind(story.path) as connection:
        connection.execute("UPDATE note SET text = 'no burr'")
    assert codes(verify_sheet(story.path, story.sheet_id)) == {"verify.changed.row"}


# --- files ----------------------------------------------------------------------------------------------------


def sent(bench, file, content, form="csv"):
    file.write_bytes(content)
    digest = hashlib.sha256(content).hexdigest()
    bench.do(acts.RecordSent(sheet=bench.sheet_id, form=form, name="as sent.csv", digest=digest))


def test_a_file_is_known_again_under_any_name(told, tmp_path):
    file = tmp_path / "renamed since.csv"
    sent(told, file, b"1;0.5010\n")
    found = verify_file(file, told.path)
    assert codes(found) == set()
    known_as = found.statements[0]
    assert known_as.code == "verify.file_known"
    assert (known_as.parts["number"], known_as.parts["person"]) == ("HB-7", "Ann Ames")
    assert known_as.parts["then"] == "as sent.csv"


def test_an_altered_or_strange_file_is_not_known(told, tmp_path):
    file = tmp_path / "sheet.csv"
    sent(told, file, b"1;0.5010\n")
    file.write_bytes(b"1;0.5011\n")
    assert codes(verify_file(file, told.path)) == {"verify.file_unknown"}


def test_a_file_of_a_sheet_opened_again_says_so(told, tmp_path):
    file = tmp_path / "sheet.csv"
    told.sign(incomplete="two rows wait")
    sent(told, file, b"1;0.5010\n")
    told.do(acts.Reopen(sheet=told.sheet_id, reason="gauge was dropped"))
    found = verify_file(file, told.path)
    assert found.whole
    assert found.statements[-1].code == "verify.reopened_since"


def test_a_file_is_not_trusted_beyond_its_sheet(told, tmp_path):
    file = tmp_path / "sheet.csv"
    sent(told, file, b"1;0.5010\n")
    told.book.close()
    with behind(told.path) as connection:
        last = "SELECT max(sequence) FROM reading WHERE sheet = ?"
        connection.execute(f"UPDATE reading SET written = '.4999' WHERE sequence = ({last})", (told.sheet_id,))
    assert codes(verify_file(file, told.path)) == {"verify.changed.row"}


def test_a_data_file_is_checked_with_and_without_the_book(told, tmp_path):
    file = tmp_path / "hb-7.json"
    sent(told, file, write_data(told.sheet), "data")
    assert [reason.code for reason in verify_file(file).statements] == ["seal.holds", "seal.holds"]
    assert verify_file(file, told.path).whole
    file.write_bytes(file.read_bytes() + b"\n")  # saved again by an editor
    found = verify_file(file, told.path)
    assert found.whole
    assert found.statements[0].code == "verify.seals_known"


def test_a_data_file_of_another_book_is_not_known(told, new_bench, tmp_path):
    other = new_bench(tmp_path / "other.tenthwright", "bench 9")
    other.make_sheet()
    other.sign(incomplete="nothing measured yet")
    file = tmp_path / "other.json"
    file.write_bytes(write_data(other.sheet))
    assert codes(verify_file(file, told.path)) == {"verify.seals_unknown"}


def test_without_the_book_only_a_data_file_can_be_checked(tmp_path):
    file = tmp_path / "sheet.csv"
    file.write_bytes(b"1;0.5010\n")
    with pytest.raises(Refused) as refused:
        verify_file(file)
    assert refused.value.reasons[0].code == "seal.not_a_data_file"


def test_a_file_that_comes_in_while_the_book_is_read_is_no_fault(bench):
    """Somebody works on while the keeper verifies; a file that no entry names is found all the same."""
    bench.make_sheet()
    came = []

    def meanwhile(_done, _total):
        if not came:
            came.append(bench.enter("plate", EvidenceKind.MATERIAL, {"55-201.pdf": b"heat 55-201"}))

    assert verify_book(bench.path, meanwhile).whole and came
    assert verify_book(bench.path).whole
    with behind(bench.path) as connection:
        connection.execute("INSERT INTO attached_file SELECT 'ff', max(sequence), 1, x'00' FROM journal")
    assert "verify.attached_added" in [fault.code for fault in verify_book(bench.path).faults]

"""The sheets room's questions and work, as far as they stand without a window."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.background.worker import Failure
from app.parts.marks import Mark
from app.shelf import questions, work
from app.shelf.listing import line_of
from app.shelf.model import Line
from app.window import asking
from inspection.reasons import Reason
from inspection.words.say import say
from storage.book.failures import BookFailure
from storage.book.queries.sheets import ListedSheet
from storage.intake.faults import Fault, FileRefused

LINE = Line("s", "OB/22 07", "C", "Carrier", "001", "", "2026-11-25", "", Mark.OPEN, False, 0)


@pytest.fixture
def asked():
    """Questions asked, each answered by the next answer."""
    seen: list[asking.Question] = []
    answers: list[object] = []

    def answer(_parent, question):
        seen.append(question)
        return answers.pop(0)

    asking.replace_asker(answer)
    yield seen, answers
    asking.replace_asker(None)


def listed(**counts: int) -> ListedSheet:
    numbers = {"conforming": 0, "marginal": 0, "not_conforming": 0, "open": 0, "questions": 0} | counts
    return ListedSheet(
        "s", "P-1", "A", "", "", "", "", "2026-11-25", "p", ("1", "2"), 1, bool(counts.pop("sealed", 0)), **numbers
    )


@pytest.mark.parametrize(
    ("counts", "mark", "said"),
    [
        ({"conforming": 3}, Mark.CONFORMING, "all measured"),
        ({"conforming": 3, "open": 1}, Mark.OPEN, "1 to measure"),
        ({"marginal": 2}, Mark.MARGINAL, "2 marginal"),
        ({"open": 4, "questions": 1}, Mark.QUESTION, "1 question open, 4 to measure"),
        ({"not_conforming": 1, "open": 4, "questions": 1}, Mark.OUT, "1 not conforming, 1 question open, 4 to measure"),
    ],
)
def test_what_asks_for_most_attention_is_said_first_and_marked(counts, mark, said):
    line = line_of(listed(**counts))
    assert (line.mark, line.state) == (mark, said)


def test_serials_are_parted_by_commas(asked):
    asked[1].append({"file": "/tmp/a.csv", "serials": " 001, 002 ,,003"})
    assert questions.ask_new_sheet(None) == (Path("/tmp/a.csv"), ("001", "002", "003"))


def test_a_missing_ending_is_added_and_a_written_one_kept(asked):
    asked[1].extend([{"form": "xlsx", "file": "/tmp/a.b"}, {"form": "pdf", "file": "/tmp/a.PDF"}])
    assert questions.ask_export(None, LINE) == ("xlsx", Path("/tmp/a.b.xlsx"))
    assert questions.ask_export(None, LINE) == ("pdf", Path("/tmp/a.PDF"))


def test_the_suggested_name_is_one_that_every_disk_takes(asked):
    asked[1].append(None)
    questions.ask_export(None, LINE)
    assert asked[0][0].fields[1].value == "OB_22_07-C"


def test_signing_with_open_rows_asks_why(asked):
    asked[1].extend([{"passphrase": "p"}, {"passphrase": "p", "incomplete": "gauge is away"}])
    assert questions.ask_signing(None, LINE, "Ann") == ("p", "")
    assert questions.ask_signing(None, LINE._replace(open=2), "Ann") == ("p", "gauge is away")
    assert [len(question.fields) for question in asked[0]] == [1, 2]


def test_every_fault_of_a_file_is_told_by_its_place(asked):
    asked[1].append({})
    faults = (Fault(3, "requirement", 0, Reason("reader.empty")), Fault(9, "", 0, Reason("reader.empty")))
    refusal = FileRefused("a.csv", faults)
    assert questions.tell_faults(None, Failure(refusal.reasons), say)
    rows = asked[0][0].rows
    assert len(rows) == 2
    assert "3" in rows[0][0]
    assert "requirement" in rows[0][0]
    assert rows[0][1] == say(Reason("reader.empty"))


def test_a_failure_of_the_world_is_no_list_of_faults(asked):
    assert not questions.tell_faults(None, Failure((Reason("file.missing", {"name": "a", "folder": "b"}),)), say)
    assert not questions.tell_faults(None, Failure(fault="trace"), say)


def test_a_template_is_written_once_and_never_over_a_file(tmp_path):
    file = tmp_path / "features.csv"
    said = work.Template(file).run(None, None)
    assert file.name in said
    before = file.read_bytes()
    with pytest.raises(BookFailure):
        work.Template(file).run(None, None)
    assert file.read_bytes() == before


@pytest.mark.parametrize(("sealed", "next_step"), [(True, "send it to the customer"), (False, "Ctrl+G")])
def test_after_writing_it_is_said_where_the_file_lies_and_what_comes_next(monkeypatch, tmp_path, sealed, next_step):
    monkeypatch.setattr("app.jobs.sending.send", lambda *_given, **_more: None)
    monkeypatch.setattr(work, "hand_of", lambda *_given: None)
    said = work.Sending(LINE._replace(sealed=sealed), "csv", tmp_path / "a.csv", "p", None).run(None, None)
    assert "a.csv" in said
    assert str(tmp_path) in said
    assert next_step in said

"""What the journal says of readings that were questioned, corrected and undone, and that the counts follow."""

from __future__ import annotations

import re

from inspection.sheet import acts
from inspection.words.say import say, word
from storage.book.queries.sheet_journal import sheet_journal
from storage.book.queries.sheets import list_sheets
from storage.book.verify import verify_book


def said(bench) -> list[str]:
    """Every sentence of the sheet's journal, oldest first."""
    lines = bench.book.ask(sheet_journal, bench.book.shop(), bench.sheet, limit=1_000)
    return [say(reason) for line in reversed(lines) for reason in line.said]


def newest(bench) -> list[str]:
    (line,) = bench.book.ask(sheet_journal, bench.book.shop(), bench.sheet, limit=1)
    return [say(reason) for reason in line.said]


def waiting(bench) -> int:
    listed = bench.book.ask(list_sheets)[0]
    assert listed.questions == len(bench.sheet.open_questions())
    return listed.questions


def test_every_sentence_of_a_full_story_is_in_words(told):
    for sentence in said(told):
        assert not re.search(r"[\[\]{}@]|\b(act|verdict|observed|role|report|slip)\.\w", sentence), sentence


def test_an_answered_question_waits_again_when_its_answer_is_taken_back(bench):
    bench.make_sheet()
    bench.take(1, off=100)
    (question,) = bench.sheet.open_questions()
    answer = bench.take(1, answers=question.identity).events[0].reading
    assert "Why: read again after a question" in newest(bench)
    assert f"Slip question: {word('report.question.new_reading')}." in newest(bench)
    assert waiting(bench) == 0
    bench.do(acts.TakeBack(sheet=bench.sheet_id, reading=answer.identity))
    assert "Why: its correction was taken back" in newest(bench)
    assert f"Slip question: {word('report.question.left_open')}." in newest(bench)
    assert waiting(bench) == 1
    bench.do(acts.PutBack(sheet=bench.sheet_id, reading=answer.identity))
    assert waiting(bench) == 0
    bench.do(acts.TakeBack(sheet=bench.sheet_id, reading=answer.identity))
    bench.do(acts.TakeBack(sheet=bench.sheet_id, reading=question.reading, reason="wrong row"))
    assert newest(bench)[1] == "Why: wrong row"
    assert waiting(bench) == 0
    assert verify_book(bench.path).whole


def test_what_a_person_wrote_is_told_as_written(bench):
    bench.make_sheet()
    first = bench.take(0).events[0].reading
    bench.take(0, off=1, replaces=first.identity, reason="@slip.answered")
    assert "Why: @slip.answered" in newest(bench)

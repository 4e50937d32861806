"""Plans issued, issued again with sheets on them, kept while they are under way, and taken from files."""

from __future__ import annotations

import pytest

from app.plan import questions
from inspection.drawing.editing import Draft
from inspection.measuring.reading import Role, Slot
from inspection.quantity.reader import read
from inspection.sheet import acts
from storage.book.door import Book
from storage.book.queries.parts import list_parts
from storage.book.queries.sheets import list_sheets
from storage.drafts import drafts_place, kept_drafts

ROWS = "1\tlength\t1.250 ±.005\n2\tbore\t⌀.250 ±.003\n3\tnote\tDEBURR\n"
NO_HEAD = dict.fromkeys(("customer", "order", "order_line", "lot", "process", "machine", "temperature"), "")


def begin(planner, number: str = "KT-1", rows: str = ROWS) -> None:
    planner.press("Ctrl+N")
    planner.types(f"{number}\tA")
    planner.press("F4")
    planner.clipboard(rows)
    planner.press("Ctrl+V", "Ctrl+Home")


def issue(planner, waiting, answer: object) -> None:
    before = planner.writing.issue
    waiting.append(answer)
    planner.press("Ctrl+S")
    planner.qtbot.waitUntil(lambda: planner.writing.issue == before + 1)
    planner.settle()


def sheets(planner) -> list[str]:
    return [sheet.sheet for sheet in planner.kept(lambda book: book.ask(list_sheets))]


def newest(planner) -> object:
    def look(book):
        (part,) = book.ask(list_parts)
        return max(book.plans_of(part.part).values(), key=lambda plan: plan.issue)

    return planner.kept(look)


@pytest.fixture
def measured(planner, answers):
    """An issued plan with two sheets on it; the first has a reading of row 1."""
    waiting, _asked = answers
    begin(planner)
    issue(planner, waiting, {})
    for serial in ("001", "002"):
        waiting.append({"serials": serial, **NO_HEAD})
        planner.press("Ctrl+M")
        planner.qtbot.waitUntil(lambda: planner.frame._pages.currentWidget() is planner.frame.room("bench"))
        planner.press("Ctrl+2")
    sheet = planner.kept(lambda book: book.sheet(sheets_of(book)[1]))
    slot, quantity = Slot("", 1, Role.VALUE), read("1.2535", unit="in")
    row, piece = sheet.plan.characteristics[0].identity, sheet.pieces[0].identity
    planner.house.do(
        acts.TakeReading(sheet=sheet.identity, characteristic=row, piece=piece, slot=slot, quantity=quantity)
    )
    planner.settle()
    planner.press("Ctrl+L")
    planner.settle()
    planner.press("Return")
    planner.settle()
    return planner


def sheets_of(book: Book) -> list[str]:
    return [sheet.sheet for sheet in book.ask(list_sheets)]


def test_a_plan_issued_names_the_next_step(planner, answers) -> None:
    begin(planner)
    issue(planner, answers[0], {})
    assert "Ctrl+M makes a sheet" in planner.frame.notice()


def test_verdicts_that_would_change_are_listed_before(measured, answers) -> None:
    waiting, asked = answers
    planner = measured
    before = newest(planner)
    planner.press("Ctrl+Home", "Right", "Right")
    planner.types("1.250 ±.003\n")
    second, first = sheets(planner)
    issue(planner, waiting, {first: "go"})
    question = asked[-1]
    told = dict(question.rows)
    assert "Row 1, piece 001: conforming" in told[next(name for name in told if "001" in name)]
    assert told[next(name for name in told if "002" in name)] == "No verdict would change."
    assert {field.name: field.value for field in question.fields} == {first: "stay", second: "go"}
    after = newest(planner)
    assert after.issue == 2 and [row.identity for row in after.characteristics] == [
        row.identity for row in before.characteristics
    ]
    plans = planner.kept(lambda book: [book.sheet(name).plan.issue for name in (first, second)])
    assert plans == [2, 1]
    assert "One sheet goes over to it." in planner.frame.notice()


def test_a_row_that_was_read_is_not_lost_unseen(measured, answers) -> None:
    waiting, asked = answers
    planner = measured
    planner.press("Ctrl+Home", "Ctrl+D")
    assert "Row 1 has readings on sheets" in planner.frame.notice()
    second, _first = sheets(planner)
    issue(planner, waiting, {second: "stay"})
    told = dict(asked[-1].rows)
    assert "is missing from the new issue" in told[next(name for name in told if "001" in name)]
    assert [field.name for field in asked[-1].fields] == [second]


def test_undo_does_not_reach_across_an_issue(planner, answers) -> None:
    waiting, _asked = answers
    begin(planner)
    issue(planner, waiting, {})
    planner.press("Ctrl+Z")
    assert all(row.identity for row in planner.writing.draft.rows)
    assert planner.writing.untouched and not planner.writing.actions_by_name["issue"].isEnabled()


def test_what_cannot_be_read_is_not_issued(planner) -> None:
    begin(planner, rows=ROWS + "4\tlength\t1.2O\n5\tlength\t\n")
    planner.press("Ctrl+Home", "Ctrl+S")
    assert planner.table.at == (3, 2)
    assert "more fault" in planner.frame.notice()
    assert planner.kept(lambda book: book.ask(list_parts)) == []


def test_a_part_that_has_a_plan_is_not_begun_again(planner, answers) -> None:
    waiting, _asked = answers
    begin(planner)
    issue(planner, waiting, {})
    planner.press("Ctrl+L")
    begin(planner)
    planner.press("Ctrl+S")
    planner.qtbot.waitUntil(lambda: "already has a plan" in planner.frame.notice())


def test_an_issue_that_came_meanwhile_is_told(planner, answers) -> None:
    waiting, _asked = answers
    begin(planner)
    issue(planner, waiting, {})
    plan = newest(planner)
    planner.house.do(acts.IssuePlan(plan=plan))
    planner.settle()
    planner.press("Ctrl+Home", "Right", "Right")
    planner.types("1.25 ±.01\n")
    planner.press("Ctrl+S")
    planner.qtbot.waitUntil(lambda: "Issue 2 of this plan came" in planner.frame.notice())
    assert planner.writing.draft.rows[0].text("requirement") == "1.25 ±.01"


def test_the_next_revision_keeps_every_characteristic(planner, answers) -> None:
    waiting, asked = answers
    begin(planner)
    issue(planner, waiting, {})
    before = newest(planner)
    planner.press("Ctrl+L")
    planner.settle()
    waiting.append({"revision": "B", "drawing_revision": "B"})
    planner.press("Ctrl+R")
    planner.qtbot.waitUntil(planner.writing.isVisible)
    assert asked[-1].title == "Next revision of KT-1"
    issue(planner, waiting, {})
    after = newest(planner)
    assert after.part.revision == "B" and after.characteristics == before.characteristics


# --- drafts ---------------------------------------------------------------------------------------------------


def test_a_draft_is_offered_again_after_the_window_was_closed(open_plan) -> None:
    planner = open_plan()
    begin(planner)
    planner.types("9")  # still in the cell when the window closes
    path = planner.path
    open_plan.close()
    ((kept,), _said) = kept_drafts(path)
    assert kept.draft.rows[0].text("number") == "9" and len(kept.draft.rows) == 3
    planner = open_plan()
    assert "under way" in planner.room.list_page.model.lines[0].texts[-1]
    planner.press("Return")
    planner.settle()
    assert planner.rows("number") == [("9",), ("2",), ("3",)]


def test_a_draft_is_on_disk_within_a_second_and_gone_when_issued(planner, answers) -> None:
    waiting, _asked = answers
    begin(planner)
    planner.qtbot.waitUntil(lambda: bool(kept_drafts(planner.path)[0]), timeout=1500)
    issue(planner, waiting, {})
    assert kept_drafts(planner.path) == ((), ())
    planner.press("Ctrl+Home", "Right", "Right")
    planner.types("1.25 ±.01\n")
    planner.press("Escape")
    planner.settle()
    ((kept,), _said) = kept_drafts(planner.path)
    assert kept.draft.plan and kept.name == kept.draft.part_identity
    waiting.append({})
    planner.press("Ctrl+D")
    planner.settle()
    assert kept_drafts(planner.path) == ((), ())
    assert planner.room.list_page.model.lines[0].texts[-1] == "issue 1"


def test_undoing_everything_leaves_no_draft(planner, answers) -> None:
    waiting, _asked = answers
    begin(planner)
    issue(planner, waiting, {})
    planner.press("Ctrl+Home", "Right", "Right")
    planner.types("1.25 ±.01\n")
    planner.press("Ctrl+L")
    planner.settle()
    planner.press("Return")
    planner.settle()
    assert planner.writing.draft.rows[0].text("requirement") == "1.25 ±.01"
    planner.press("Ctrl+Home", "Right", "Right")
    planner.types("1.250 ±.005\n")
    planner.press("Ctrl+L")
    planner.settle()
    assert kept_drafts(planner.path) == ((), ())


def test_a_draft_that_cannot_be_read_is_told(open_plan) -> None:
    planner = open_plan()
    begin(planner)
    path = planner.path
    open_plan.close()
    (drafts_place(path) / "new-x.draft.json").write_bytes(b"{")
    planner = open_plan()
    planner.settle()
    assert "could not be read and was left as it is" in planner.frame.notice()
    assert len(planner.room.list_page.model.lines) == 1


# --- the list and files ---------------------------------------------------------------------------------------


def test_parts_are_found_by_typing(planner, answers) -> None:
    waiting, _asked = answers
    for number in ("KT-1", "LM-2"):
        begin(planner, number)
        issue(planner, waiting, {})
        planner.press("Ctrl+L")
        planner.settle()
    page = planner.room.list_page
    assert [line.texts[0] for line in page.model.lines] == ["LM-2", "KT-1"]
    planner.types("kt")
    planner.qtbot.waitUntil(lambda: [line.texts[0] for line in page.model.lines] == ["KT-1"])
    planner.types("%")
    planner.qtbot.waitUntil(lambda: not page.model.lines)
    assert not page.actions_by_name["open"].isEnabled() and "No part of this number" in page._nothing.text()
    planner.press("Escape")
    planner.qtbot.waitUntil(lambda: len(page.model.lines) == 2)
    planner.press("Down", "Return")
    planner.qtbot.waitUntil(lambda: planner.writing.draft.head.get("number") == "KT-1")


def test_enter_before_the_list_has_come_opens_its_first_line(planner, answers, monkeypatch) -> None:
    waiting, _asked = answers
    begin(planner)
    issue(planner, waiting, {})
    worker, held = planner.house.worker, []
    with monkeypatch.context() as slow:
        slow.setattr(worker, "read", lambda *asked: held.append(asked))
        planner.press("Ctrl+L", "Return")
    assert not planner.room._is_writing and len(held) == 1
    worker.read(*held[0])
    planner.qtbot.waitUntil(lambda: planner.room._is_writing)
    assert planner.writing.draft.head["number"] == "KT-1"


def test_an_empty_room_says_what_to_do_first(planner) -> None:
    page = planner.room.list_page
    assert "Ctrl+N begins one" in page._nothing.text()
    assert [name for name, button in page._buttons.items() if button.isVisible()] == ["new", "file", "template"]


def test_a_room_entered_at_once_is_not_left_again(open_plan) -> None:
    planner = open_plan(at_once=True)
    planner.qtbot.wait(250)
    assert planner.frame.in_room() and planner.room.list_page.finding.hasFocus()


def test_a_feature_file_becomes_a_plan(planner, answers, tmp_path) -> None:
    waiting, asked = answers
    file = tmp_path / "features.csv"
    file.write_text("# part,FT-9\n# revision,A\nnumber,kind,requirement\n1,length,1.25 ±.01\n", "utf-8")
    waiting.extend([{"file": str(file), "serials": ""}, {}])
    planner.press("Ctrl+I")
    planner.qtbot.waitUntil(lambda: planner.writing.draft.head.get("number") == "FT-9")
    assert planner.writing.untouched and "with one row" in planner.frame.notice()
    planner.press("Ctrl+L")
    planner.settle()
    file.write_text("# part,FT-9\nnumber,kind,requirement\n1,length,1.2O\n", "utf-8")
    waiting.extend([{"file": str(file), "serials": ""}, {}])
    planner.press("Ctrl+I")
    planner.qtbot.waitUntil(lambda: len(asked) == 4)
    assert asked[3].title == "Nothing was taken from features.csv" and len(asked[3].rows) == 2
    planner.settle()
    waiting.extend([{"file": str(file), "serials": "001"}, {}])
    file.write_text("# part,FT-9\n# revision,B\nnumber,kind,requirement\n1,length,1.20 ±.01\n", "utf-8")
    planner.press("Ctrl+I")
    planner.qtbot.waitUntil(lambda: planner.frame._pages.currentWidget() is planner.frame.room("bench"))
    assert len(sheets(planner)) == 1


def test_what_a_feature_file_would_come_to_is_shown_before_it_is_taken(planner, answers, tmp_path) -> None:
    waiting, asked = answers
    file = tmp_path / "features.csv"
    file.write_text(
        "# part,FT-9\n# revision,A\nnumber,kind,requirement\n1,length,1.25 ±.01\n2,bore,2X ⌀.250 ±.003\n", "utf-8"
    )
    waiting.extend([{"file": str(file), "serials": "001, 002"}, None])
    planner.press("Ctrl+I")
    planner.qtbot.waitUntil(lambda: len(asked) == 2)
    planner.settle()
    told = asked[1].text
    assert "FT-9 revision A: 3 rows" in told and "Pieces: 001, 002." in told and "FT-9 is new to the book." in told
    assert asked[1].rows[0] == ("1", "length", "1.24 … 1.26 in", "1.25 ±.01")
    assert [row[0] for row in asked[1].rows] == ["1", "2.1", "2.2"]
    assert planner.kept(lambda book: book.ask(list_parts)) == [] and sheets(planner) == []


def test_a_feature_file_is_taken_as_it_was_looked_at(planner, answers, tmp_path, monkeypatch) -> None:
    waiting, _asked = answers
    file = tmp_path / "features.csv"
    text = "# part,FT-9\n# revision,A\nnumber,kind,requirement\n1,length,1.25 ±.01\n"
    file.write_text(text, "utf-8")
    looked = questions.ask_take_in

    def changed_meanwhile(*given: object) -> bool:
        file.write_text(text.replace("1.25", "9.75"), "utf-8")
        return looked(*given)

    monkeypatch.setattr(questions, "ask_take_in", changed_meanwhile)
    waiting.extend([{"file": str(file), "serials": ""}, {}])
    planner.press("Ctrl+I")
    planner.qtbot.waitUntil(lambda: planner.writing.draft.head.get("number") == "FT-9")
    assert [row.requirement.written for row in newest(planner).characteristics] == ["1.25 ±.01"]


def test_what_the_book_would_refuse_is_told_before_anything_is_taken(planner, answers, tmp_path) -> None:
    waiting, asked = answers
    file = tmp_path / "features.csv"
    file.write_text("# part,FT-9\n# revision,A\nnumber,kind,requirement\n1,length,1.25 ±.01\n", "utf-8")
    waiting.extend([{"file": str(file), "serials": "001, 001"}, {}])
    planner.press("Ctrl+I")
    planner.qtbot.waitUntil(lambda: len(asked) == 2)
    assert asked[1].title == "Nothing was taken from features.csv"
    planner.settle()
    assert planner.kept(lambda book: book.ask(list_parts)) == []


def test_an_empty_feature_file_is_written(planner, answers, tmp_path) -> None:
    waiting, _asked = answers
    file = tmp_path / "empty.csv"
    waiting.append({"file": str(file)})
    planner.press("Ctrl+T")
    planner.qtbot.waitUntil(file.exists)
    planner.settle()
    assert "requirement" in file.read_text("utf-8-sig") and "empty.csv is written" in planner.frame.notice()


def test_what_was_handed_over_but_not_written_is_written_at_the_end(open_plan, monkeypatch) -> None:
    planner = open_plan()
    begin(planner)
    worker, path = planner.house.worker, planner.path
    monkeypatch.setattr(worker, "read", lambda *_given: None)  # as if the book closed before its turn came
    planner.qtbot.wait(900)
    assert kept_drafts(path) == ((), ())
    open_plan.close()
    ((kept,), _said) = kept_drafts(path)
    assert kept.draft == Draft({"number": "KT-1", "revision": "A"}, kept.draft.rows) and len(kept.draft.rows) == 3

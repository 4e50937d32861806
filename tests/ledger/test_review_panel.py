"""The review of a sheet by keys alone: its list answered, rows reached, what may not be done said on its key."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QApplication, QWidget

from app.ledger.keys import AGAIN_KEYS, KEYS, REVIEW_BUTTONS, REVIEW_KEYS
from app.ledger.review import told
from app.ledger.review.obstacles import ObstaclesDialog
from app.ledger.review.panel import LEADS_TO, MOST_ROWS, STATES
from app.ledger.review.returning import ReturnDialog
from app.parts.buttons import ActionButton
from app.parts.marks import Mark
from app.parts.raising import RaiseDialog
from inspection.sheet import acts
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.review import StatementKind
from tests.ledger.conftest import ALT, CTRL, Ledger

ENTER, ESCAPE, TAB = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Tab
UP, DOWN, LEFT, RIGHT = Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right
LEAD, INSPECTOR = "Tomas Brandvold", "Mira Oduya"


@pytest.fixture
def lead(ledger: Ledger) -> Ledger:
    ledger.be(LEAD)
    return ledger


def test_the_list_stands_worst_first_and_says_what_must_be_answered(lead: Ledger) -> None:
    panel = lead.review("002")
    weights = [point.weight for point in panel.seen.points]
    assert weights == sorted(weights, reverse=True) and len(weights) > 5
    assert panel.points.hasFocus()
    for point, item in zip(panel.seen.points, panel.points.items, strict=True):
        assert item.mark is (Mark.QUESTION if point.must_answer else Mark.OPEN)
        assert item.side == ("must be answered" if point.must_answer else "may be answered")
    must = sum(point.must_answer for point in panel.seen.points)
    assert panel.count.text() == f"{len(weights)} of {len(weights)} wait for an answer, {must} must have it"
    assert "signed by Mira Oduya" in panel.standing.text() and "waits for review" in panel.standing.text()


def test_a_point_is_answered_with_words_and_the_next_one_comes(lead: Ledger) -> None:
    panel = lead.review("002")
    first, n = panel.point(), len(panel.seen.points)
    lead.press(ENTER)
    assert panel.answer.hasFocus()
    lead.writes("read at both ends, as the drawing asks", then=ENTER)
    lead.until(lambda: first.key in panel.seen.sheet.point_answers)
    assert panel.points.hasFocus() and panel.point() is not first
    assert panel.count.text().startswith(f"{n - 1} of {n}")
    item = panel.points.items[0]
    assert (item.mark, item.ticked, item.side) == (None, True, "answered")
    assert item.told[-1].startswith(f"{LEAD}, ") and item.told[-1].endswith(": read at both ends, as the drawing asks")
    with lead.book() as book:
        answers = book.sheet(panel.seen.sheet.identity).point_answers
    assert [(each.point, each.words) for each in answers.values()] == [
        (first.key, "read at both ends, as the drawing asks")
    ]


def test_an_answer_without_words_is_refused_below_it_and_words_left_are_there_again(lead: Ledger) -> None:
    panel = lead.review("002")
    lead.press(ENTER)
    lead.press(ENTER)
    lead.until(panel._problem.isVisible)
    assert panel._problem.text().startswith("An answer needs words.")
    lead.writes("half a")
    lead.press(ESCAPE)
    assert panel.points.hasFocus() and not panel.answer.isVisible() and not panel._problem.isVisible()
    lead.press(DOWN)
    lead.press(ENTER)
    assert panel.answer.text() == ""
    lead.press(ESCAPE)
    lead.press(UP)
    lead.press(ENTER)
    assert panel.answer.text() == "half a"
    lead.writes(" b")
    lead.press(Qt.Key.Key_U, ALT)
    assert panel.points.hasFocus() and not panel.answer.isVisible(), "another way away from it"
    lead.press(ENTER)
    assert panel.answer.text() == "half a b"
    assert not panel.seen.sheet.point_answers


def test_an_answer_is_written_anew(lead: Ledger) -> None:
    panel = lead.review("002")
    key = panel.point().key
    for words in ("first", " and more"):
        panel.points.go(0)
        lead.press(ENTER)
        lead.writes(words, then=ENTER)
        lead.until(
            lambda said=words: (
                panel.seen.sheet.point_answers.get(key, None) is not None
                and panel.seen.sheet.point_answers[key].words.endswith(said.strip())
            )
        )
    assert panel.seen.sheet.point_answers[key].words == "first and more"


def test_rows_of_a_point_are_told_and_one_opens_at_the_bench(lead: Ledger) -> None:
    panel = lead.review("002")
    assert panel.point().code == "not_conforming"
    (item,) = panel.rows.items
    (cell,) = panel.point().cells
    row = panel.seen.sheet.characteristic(cell[0])
    assert item.text.startswith(f"{row.number}   {row.requirement.written}   piece 002")
    assert item.mark is Mark.OUT and "over" in item.side
    lead.press(RIGHT)
    assert panel.rows.hasFocus()
    lead.press(LEFT)
    assert panel.points.hasFocus()
    lead.press(RIGHT)
    lead.press(ENTER)
    bench = lead.frame.room("bench")
    lead.until(lambda: bench.isVisible() and bench.seen is not None and bench.flow.at.row == row.identity)
    lead.press(Qt.Key.Key_4, CTRL)
    lead.until(panel.isVisible)
    assert panel.points.hasFocus() and panel.point().code == "not_conforming", "the review is gone on with"


def test_many_rows_of_a_point_are_counted(lead: Ledger, monkeypatch) -> None:
    monkeypatch.setattr("app.ledger.review.panel.MOST_ROWS", 3)
    panel = lead.review("002")
    row = next(row for row, point in enumerate(panel.seen.points) if len(point.cells) > 4)
    panel.points.go(row)
    assert MOST_ROWS > 100
    assert [item.text for item in panel.rows.items[3:]] == [f"and {len(panel.point().cells) - 3} more"]


def test_the_next_point_without_an_answer_is_one_key_away(lead: Ledger) -> None:
    panel = lead.review("002")
    panel.points.go(len(panel.seen.points) - 1)
    assert not panel.point().must_answer
    lead.press(Qt.Key.Key_U, ALT)
    assert panel.points.row() == 0, "those that must be answered come before those that may"


# --- what may not be done ---------------------------------------------------------------------------------------------


def test_who_may_not_is_told_by_the_door_s_own_words(ledger: Ledger) -> None:
    people = {person.name: person for person in ledger.house.shop.people.values()}
    assert "lead" in people[LEAD].duties
    panel = ledger.review("0901")
    ledger.be(LEAD)
    ledger.until(lambda: panel.actions_by_name["return"].toolTip().startswith("This sheet is not signed yet"))
    ledger.press(Qt.Key.Key_B, ALT)
    assert ledger.frame.notice().startswith("This sheet is not signed yet, so nobody needs to return the sheet")
    button = next(each for each in panel.buttons.buttons if each.text().startswith("Return it"))
    assert isinstance(button, ActionButton)
    assert button.property("look") == "idle" and button.isEnabled(), "it answers, and says why"
    assert "not signed yet" in button.accessibleDescription()


def test_every_key_of_the_review_is_listed_and_none_is_given_twice(lead: Ledger) -> None:
    panel = lead.review("002")
    shown = {action.text() for action in lead.room.actions()}
    assert shown == {action.text() for action in panel.actions_by_name.values()}
    assert set(REVIEW_BUTTONS) <= set(REVIEW_KEYS) and set(STATES) <= set(LEADS_TO) <= set(REVIEW_KEYS)
    for table in (KEYS, REVIEW_KEYS, AGAIN_KEYS):
        keys = [key for each in table.values() for key in (each.key, *each.more)]
        assert len(keys) == len(set(keys))
    assert set(STATES.values()) == set(StatementKind)
    assert len({REVIEW_KEYS[name].key for name in STATES}) == 4, "three statements, never one button"
    lead.press(ESCAPE)
    lead.until(lead.room.top.search.hasFocus)
    assert "Open at the Bench" in {action.text() for action in lead.room.actions()}


def test_a_review_that_nobody_opened_shows_nothing_of_another_sheet(lead: Ledger) -> None:
    panel = lead.review("002")
    first = panel.seen.sheet.identity
    lead.press(ESCAPE)
    lead.press(ESCAPE)
    lead.press(ESCAPE)
    lead.until(lambda: len(lead.room.model.lines) == 5)
    lead.types("c01")
    lead.shows("C01")
    lead.press(Qt.Key.Key_L, CTRL)
    lead.until(lambda: panel.seen is not None and panel.seen.sheet.identity != first)
    assert "C01" in panel.title.text()


def test_a_cell_of_a_point_is_opened_at_the_bench_on_its_own_piece(lead: Ledger) -> None:
    panel = lead.review("002")
    sheet, wanted = panel.seen.sheet, []
    lead.house.row_wanted.connect(lambda *given: wanted.append(given))
    cells = [(place, cell) for place, point in enumerate(panel.seen.points) for cell in point.cells]
    place, (row, piece) = next((at, cell) for at, cell in cells if cell[1] == sheet.pieces[-1].identity)
    panel.points.go(place)
    lead.press(Qt.Key.Key_Right)
    panel.rows.go(panel.seen.points[place].cells.index((row, piece)))
    lead.press(ENTER)
    lead.until(lambda: bool(wanted))
    serial = sheet.pieces[-1].serial
    assert wanted == [(sheet.identity, sheet.characteristic(row).number, serial)]


# --- what stands in the way -------------------------------------------------------------------------------------------


def test_what_stands_in_the_way_is_a_list_with_a_way_to_each(lead: Ledger) -> None:
    panel = lead.review("002")
    lead.press(Qt.Key.Key_F10)
    shown = lead.asked(ObstaclesDialog)
    (item,) = shown.list.items
    assert item.text.startswith("Row 29, piece 002, does not conform") and item.side == "raise it"
    lead.hits(ENTER)
    raising = lead.asked(RaiseDialog)
    assert [panel.seen.sheet.characteristic(row).number for row, _ in raising.rows.picked()] == ["29"]
    lead.hits(ESCAPE)
    lead.back()
    assert QApplication.activeWindow() is lead.frame


def test_what_has_no_row_is_said_quietly(lead: Ledger) -> None:
    lead.review("002")
    lead.press(Qt.Key.Key_F12)
    lead.until(lambda: "Approve the sheet first" in lead.frame.notice())


def test_standing_tells_who_and_when(lead: Ledger) -> None:
    panel = lead.review("0901")
    assert told.standing(panel.seen.sheet, panel.seen.shop) == "round 1, not signed yet"


def test_each_key_leads_to_an_act_that_the_table_of_steps_knows() -> None:
    from inspection.sheet.steps import STEPS

    assert all(issubclass(kind, acts.Act) and kind in STEPS for kind in LEADS_TO.values())


@pytest.mark.parametrize(
    ("theme", "scale", "size"), [("dark", 100, (1280, 720)), ("light", 200, (1280, 720)), ("dark", 250, (2560, 1440))]
)
def test_every_size_shows_the_list_its_rows_and_the_answer(open_ledger, theme, scale, size) -> None:
    ledger = open_ledger(theme=theme, scale=scale, size=size)
    ledger.be(LEAD)
    panel = ledger.review("002")
    ledger.press(ENTER)
    shown(panel, panel.points, panel.answer, panel.title, panel.standing)
    assert panel.points.height() > 2 * panel.points.sizeHintForRow(0)
    ledger.press(ESCAPE)
    ledger.press(RIGHT)
    shown(panel, panel.rows)
    assert panel.rows.hasFocus() and panel.points.isVisible() is not panel._narrow()
    ledger.press(LEFT)
    shown(panel, panel.points)
    ledger.press(Qt.Key.Key_B, ALT)
    returning = ledger.asked(ReturnDialog)
    ledger.hits(ENTER)
    shown(returning, returning.row_words, returning.rows, returning.yes)
    assert returning.height() <= ledger.frame.height()
    ledger.hits(ESCAPE)
    ledger.hits(ESCAPE)
    ledger.back()
    ledger.press(Qt.Key.Key_R, ALT)
    page = ledger.room.pages.again_page
    ledger.press(ENTER)
    shown(page, page.picks, page.asked, page.entry)


def shown(whole: QWidget, *parts: QWidget) -> None:
    """Each stands within the whole of it, in sight."""
    for part in parts:
        place = QRect(part.mapTo(whole, QPoint(0, 0)), part.size())
        assert part.isVisible() and whole.rect().contains(place), part.objectName() or type(part).__name__


# --- what somebody else does meanwhile, at another station ------------------------------------------------------------


def decide_elsewhere(ledger: Ledger, sheet: str, cell: tuple[str, str]) -> None:
    with ledger.book() as book:
        lead = next(person.identity for person in book.shop().people.values() if person.name == LEAD)
        raising = acts.RaiseNonconformance(
            sheet=sheet, piece=cell[1], characteristics=(cell[0],), number="NC-9", what="over by one feed step"
        )
        (raised,) = book.do(raising, person=lead).events
        leave = Leave("CR-118", "2026-09-21", "piece 002, row 29")
        deciding = acts.DisposeNonconformance(
            sheet=sheet,
            nonconformance=raised.nonconformance.identity,
            disposition=Disposition.USE_AS_IS,
            words="the customer takes it",
            leave=leave,
        )
        book.do(deciding, person=lead)


def test_an_answer_to_a_point_that_was_decided_elsewhere_is_kept_and_that_is_said(lead: Ledger) -> None:
    panel = lead.review("002")
    sheet, point = panel.seen.sheet.identity, panel.point()
    lead.press(ENTER)
    lead.writes("seen on the part")
    decide_elsewhere(lead, sheet, point.cells[0])
    lead.press(ENTER)
    lead.until(lambda: "is on the list no longer" in lead.frame.notice())
    assert "Row 29 (002) is not conforming" in lead.frame.notice()
    assert point.key in panel.seen.sheet.point_answers and panel.points.hasFocus() and not panel.answer.isVisible()
    assert "disposed" in {each.code for each in panel.seen.points} and point.key not in {
        each.key for each in panel.seen.points
    }


def test_an_answer_refused_because_the_sheet_was_opened_elsewhere_says_how_it_stands(lead: Ledger) -> None:
    panel = lead.review("002")
    lead.press(ENTER)
    lead.writes("seen on the part")
    with lead.book() as book:
        inspector = next(person.identity for person in book.shop().people.values() if person.name == INSPECTOR)
        book.do(acts.Reopen(sheet=panel.seen.sheet.identity, reason="a row was left out"), person=inspector)
    lead.press(ENTER)
    lead.until(lambda: "it stands so now: round 2, not signed yet" in panel._problem.text())
    assert panel.answer.text() == "seen on the part" and panel.answer.hasFocus()
    assert panel.standing.text().startswith("round 2, not signed yet")
    lead.press(ESCAPE)
    assert panel.points.hasFocus() and not panel.answer.isVisible() and not panel._problem.isVisible()
    lead.press(ENTER)
    assert lead.frame.notice().startswith("This sheet is not signed yet") and not panel.answer.isVisible()


def test_a_key_rests_where_there_is_nothing_for_it(lead: Ledger) -> None:
    panel = lead.review("002")
    for name, key, why in (
        ("decide", Qt.Key.Key_E, "No nonconformance of this sheet waits for a decision."),
        ("partial", Qt.Key.Key_P, "The sheet to be completed is not stated"),
        ("amend", Qt.Key.Key_M, "Only an approved sheet is amended"),
    ):
        assert panel.actions_by_name[name].toolTip().startswith(why), name
        lead.press(key, ALT)
        assert lead.frame.notice().startswith(why)
    button = next(each for each in panel.buttons.buttons if each.text().startswith("Decide"))
    assert button.property("look") == "idle"
    raising = next(each for each in panel.buttons.buttons if each.text().startswith("Nonconformance"))
    assert raising.property("look") != "idle", "row 29 has none"
    decide_elsewhere(lead, panel.seen.sheet.identity, panel.point().cells[0])
    panel.go_on()
    lead.until(lambda: raising.property("look") == "idle")
    assert raising.accessibleDescription().startswith("No row of this sheet is out or in doubt")

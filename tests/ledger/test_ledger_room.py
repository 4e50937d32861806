"""The Ledger by keys alone, down to what the book on disk holds."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF, QGuiApplication

from app.ledger import questions
from app.ledger.line import COLUMNS, line_of
from app.ledger.side import Face
from app.parts.marks import Mark
from app.parts.wrapped import wrapped
from app.window.theme import ROW, SMALL
from inspection.sheet import acts
from storage.book.queries.found_sheets import FoundSheet, State
from storage.book.queries.sheets import ListedSheet, list_sheets
from tests.ledger.conftest import ALT, CTRL, Ledger

ENTER, ESCAPE, DOWN = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Down
EVERY = ("0901", "01, 02", "001, 002, 003", "C01", "B17")


def listed(**counts: int) -> ListedSheet:
    numbers = {"conforming": 0, "marginal": 0, "not_conforming": 0, "open": 0, "questions": 0} | counts
    return ListedSheet("s", "P-1", "A", "", "", "", "", "2026-11-25", "p", ("1", "2"), 1, False, **numbers)


@pytest.mark.parametrize(
    ("counts", "mark", "said"),
    [
        ({"conforming": 3}, Mark.CONFORMING, "all measured"),
        ({"conforming": 3, "open": 1}, Mark.OPEN, "1 open"),
        ({"marginal": 2}, Mark.MARGINAL, "2 marginal"),
        ({"conforming": 3, "in_doubt": 2}, Mark.DOUBT_INSIDE, "2 in doubt"),
        ({"in_doubt": 1, "marginal": 2, "open": 1}, Mark.DOUBT_INSIDE, "1 in doubt, 2 marginal, 1 open"),
        ({"open": 4, "questions": 1}, Mark.QUESTION, "1 question, 4 open"),
        ({"not_conforming": 1, "open": 4, "questions": 1}, Mark.OUT, "1 out, 1 question, 4 open"),
    ],
)
def test_what_asks_for_most_attention_is_said_first_and_marked(counts, mark, said):
    line = line_of(FoundSheet(1, listed(**counts), State.OPEN))
    assert (line.mark, line.state) == (mark, said)


# --- finding ------------------------------------------------------------------------------------------------------


def test_letters_find_at_once_and_escape_shows_all_again(ledger: Ledger) -> None:
    assert ledger.serials() == list(EVERY)
    ledger.types("ob-2207 c01")
    ledger.shows("C01")
    ledger.reads("OB-2207")
    ledger.press(ESCAPE)
    ledger.shows(*EVERY)
    assert ledger.room.line().serials == "C01"  # still the one that was found
    ledger.types("no such thing")
    ledger.shows()
    assert "Esc" in ledger.room._empty.text()
    assert ledger.room._empty.isVisible()
    ledger.press(Qt.Key.Key_R, ALT)  # a key that has no sheet says so; it is no letter in the find line
    ledger.press(Qt.Key.Key_Return)
    assert "No sheet is listed" in ledger.frame.notice()
    assert ledger.room.top.search.text() == "no such thing" and ledger.room.pages.shown() is ledger.room.pages.finding


def test_a_head_that_was_written_later_is_what_is_found_and_shown(ledger: Ledger) -> None:
    ledger.types("pale po-2")
    ledger.shows("0901")
    ledger.reads("Pale Harbour Pumps")
    assert "PO-2" in ledger.room.side.text()
    ledger.press(ESCAPE)
    ledger.types("po-1")
    ledger.shows()


def test_enter_right_after_typing_opens_what_is_found_and_not_what_was_chosen(ledger: Ledger) -> None:
    ledger.types("B17")
    ledger.press(ENTER)
    bench = ledger.frame.room("bench")
    ledger.until(lambda: bench.isVisible() and bench.seen is not None)
    assert bench.seen.sheet.pieces[0].serial == "B17"


def test_states_cut_the_list_down_by_key(ledger: Ledger) -> None:
    signed = ("001, 002, 003", "C01", "B17")
    for key, serials in (("2", ("0901", "01, 02")), ("3", ()), ("4", signed), ("5", ()), ("7", ("C01", "B17"))):
        ledger.press(Qt.Key(ord(key)), ALT)
        ledger.shows(*serials)
    for key, serials in (("6", ()), ("8", ("001, 002, 003",))):
        ledger.press(Qt.Key(ord(key)), ALT)
        ledger.shows(*serials)
    ledger.press(Qt.Key.Key_1, ALT)
    ledger.shows(*EVERY)


def test_fields_are_asked_for_and_stand_in_the_find_line(ledger: Ledger, answers) -> None:
    given, asked = answers
    given.append({"person": "Tomas Brandvold"})
    ledger.press(Qt.Key.Key_F, ALT)
    ledger.shows()
    assert ledger.room.top.search.text() == 'by:"Tomas Brandvold"'
    assert "made by Tomas Brandvold" in ledger.room.top.about()
    given.append({"person": "Mira Oduya", "until": "2026-09-01"})
    ledger.press(Qt.Key.Key_F, ALT)
    ledger.shows("C01", "B17")
    assert next(field for field in asked[-1].fields if field.name == "person").value == "Tomas Brandvold"
    check = asked[-1].check
    for wrong in ({"since": "1 March"}, {"instrument": "X-99"}, {"since": "2026-03-02", "until": "2026-03-01"}):
        assert check(wrong).field in wrong
    assert check({"since": "2026-03-01", "until": "2026-03-01"}) == ""
    ledger.press(ESCAPE)
    ledger.shows(*EVERY)


def test_a_named_field_is_typed_and_what_it_cannot_mean_is_said(ledger: Ledger) -> None:
    ledger.types("serial:b1")
    ledger.shows("B17")
    ledger.press(ESCAPE)
    ledger.shows(*EVERY)
    ledger.types("with:X-9")
    ledger.until(lambda: "no instrument has the tag “X-9”" in ledger.room.top.about())
    assert ledger.serials() == list(EVERY), "what was found before still stands there"


def test_what_was_found_is_copied_and_written_by_keys(ledger: Ledger, answers, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("app.ledger.work.PAGE", 2)
    ledger.press(Qt.Key.Key_C, CTRL)
    clipboard = QGuiApplication.clipboard()
    clipboard.clear()
    ledger.until(lambda: clipboard.text().count("\n") == 1 + len(EVERY))
    rows = [line.split("\t") for line in clipboard.text().splitlines()]
    assert rows[0] == ["part", "rev", "name", "serials", "customer", "order", "made", "state"]
    assert [row[3] for row in rows[1:]] == list(EVERY)
    file = tmp_path / "found.csv"
    answers[0].append({"file": str(file)})
    ledger.press(Qt.Key.Key_E, CTRL)
    ledger.until(file.exists)
    assert file.read_text("utf-8-sig").splitlines()[1:] == [",".join(_quoted(row)) for row in rows[1:]]


def _quoted(row: list[str]) -> list[str]:
    return [f'"{cell}"' if "," in cell else cell for cell in row]


def test_further_pages_follow_while_there_is_room_below(open_ledger, monkeypatch) -> None:
    monkeypatch.setattr("app.ledger.work.PAGE", 2)
    assert open_ledger().serials() == list(EVERY)


# --- the page -----------------------------------------------------------------------------------------------------


def test_the_page_tells_pieces_what_is_out_seals_and_files(ledger: Ledger) -> None:
    ledger.types("002")
    ledger.shows("001, 002, 003")
    ledger.reads("Not conforming")
    text = ledger.room.side.text()
    with ledger.book() as book:
        sheet = book.sheet(ledger.demo.sheet)
    for wanted in ("001", "003", "Seals", sheet.seals[0].digest[:16], "Files sent", "OB-2207-C.pdf", "Mira Oduya"):
        assert wanted in text
    assert sheet.sent[0].digest[:16] in text
    ledger.press(ESCAPE)
    ledger.types("0901")
    ledger.reads("piece 0901:")


def test_the_journal_is_read_in_sentences_as_far_as_one_scrolls(ledger: Ledger) -> None:
    ledger.types("002")
    ledger.shows("001, 002, 003")
    ledger.press(Qt.Key.Key_J, ALT)
    ledger.reads("Mira Oduya: ")
    ledger.until(lambda: ledger.room.chosen.journal and ledger.room.chosen.journal[0].more)
    assert "Made the sheet for 3 pieces." not in ledger.room.side.text()
    for _ in range(80):
        ledger.press(Qt.Key.Key_PageDown, ALT)
        ledger.qtbot.wait(20)
    ledger.reads("Made the sheet for 3 pieces.")
    assert "2026-" in ledger.room.side.text()
    ledger.press(ESCAPE)
    ledger.reads("Pieces")


def test_a_part_in_time_lists_its_sheets_and_counts_by_revision(ledger: Ledger) -> None:
    ledger.types("c01")
    ledger.shows("C01")
    ledger.reads("C01")
    ledger.press(Qt.Key.Key_H, ALT)
    ledger.shows("0901", "001, 002, 003", "C01", "B17")
    ledger.reads("By revision")
    assert ledger.room.side.face is Face.PART
    with ledger.book() as book:
        out = sum(one.not_conforming for one in book.ask(list_sheets) if one.number == "OB-2207")
    assert f"\n{out}\n" in ledger.room.side.text()
    ledger.press(Qt.Key.Key_H, ALT)
    ledger.shows(*EVERY)


# --- going on -----------------------------------------------------------------------------------------------------


def test_a_sheet_is_signed_with_its_reason_and_a_new_round_begun(ledger: Ledger, answers) -> None:
    given, asked = answers
    ledger.types("0901")
    ledger.shows("0901")
    given.append({"passphrase": ledger.demo.passphrase, "incomplete": "only begun"})
    ledger.press(Qt.Key.Key_G, CTRL)
    ledger.until(lambda: ledger.room.line().sealed)
    assert [field.name for field in asked[-1].fields] == ["incomplete", "passphrase"]
    assert "signed and sealed" in ledger.frame.notice()
    ledger.reads("Signed with rows open: only begun")
    given.append({"reason": "the piece has come"})
    ledger.press(Qt.Key.Key_R, CTRL)
    ledger.until(lambda: not ledger.room.line().sealed)
    with ledger.book() as book:
        sheet = book.sheet(ledger.room.line().sheet)
    assert (sheet.round, len(sheet.seals)) == (2, 1)


def test_a_signing_stopped_at_its_pdf_is_signed_and_listed_so(ledger: Ledger, answers, monkeypatch) -> None:
    from threading import Event

    from app.jobs import signing

    begun = Event()

    def slow(*_given: object) -> None:
        begun.set()
        while True:
            Event().wait(0.002)
            _given[-1](1, 10)  # told how far it is, which is where it stops

    monkeypatch.setattr(signing, "sign_document", slow)
    ledger.types("0901")
    ledger.shows("0901")
    answers[0].append({"passphrase": ledger.demo.passphrase, "incomplete": "only begun"})
    ledger.press(Qt.Key.Key_G, CTRL)
    ledger.until(begun.is_set)
    ledger.press(Qt.Key.Key_Escape)
    ledger.until(lambda: ledger.room.line() is not None and ledger.room.line().sealed)
    assert "Ctrl+G at the Desk" in ledger.frame.notice()
    with ledger.book() as book:
        sheet = book.sheet(ledger.room.line().sheet)
    assert sheet.sealed and not sheet.documents


def test_a_wrong_passphrase_signs_nothing(ledger: Ledger, answers) -> None:
    answers[0].append({"passphrase": "not this one", "incomplete": "only begun"})
    ledger.press(Qt.Key.Key_G, CTRL)
    ledger.until(lambda: bool(ledger.frame.notice()))
    assert not ledger.room.line().sealed
    assert ledger.room._doing.isHidden()


def test_the_next_piece_is_made_and_opens_at_the_bench(ledger: Ledger, answers) -> None:
    answers[0].append({"serials": "D01, D02", "order": "PO-77"})
    ledger.types("c01")
    ledger.shows("C01")
    ledger.press(Qt.Key.Key_N, CTRL)
    bench = ledger.frame.room("bench")
    ledger.until(lambda: bench.isVisible() and bench.seen is not None)
    sheet = bench.seen.sheet
    assert [piece.serial for piece in sheet.pieces] == ["D01", "D02"]
    assert (sheet.head.order, sheet.head.customer) == ("PO-77", "Lantern Hill Optical")
    with ledger.book() as book:
        plans = book.plans_of(sheet.plan.part_identity)
        assert sheet.plan.issue == max(plan.issue for plan in plans.values())


def test_the_desk_is_one_key_away(ledger: Ledger) -> None:
    ledger.types("c01")
    ledger.shows("C01")
    wanted = ledger.room.line().sheet
    ledger.press(Qt.Key.Key_D, CTRL)
    desk = ledger.frame.room("desk")
    ledger.until(lambda: desk.isVisible() and desk.at_hand is not None and desk.at_hand.sheet.identity == wanted)


def test_what_is_done_elsewhere_is_seen_here(ledger: Ledger) -> None:
    sheet = ledger.room.model.lines[0].sheet
    ledger.house.do(acts.WriteNote(sheet=sheet, characteristic=_row(ledger, sheet), text="a burr"))
    ledger.types("burr")
    ledger.shows("0901")


def _row(ledger: Ledger, sheet: str) -> str:
    with ledger.book() as book:
        return book.sheet(sheet).plan.characteristics[0].identity


def test_serials_are_parted_by_commas(answers) -> None:
    answers[0].append({"serials": " 001, 002 ,,003", "order": " PO "})
    line = line_of(FoundSheet(1, listed(), State.OPEN))
    assert questions.ask_next(None, line) == (("001", "002", "003"), "PO")


# --- look ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("theme", "scale", "size"), [("dark", 100, (1280, 720)), ("light", 200, (1280, 720)), ("dark", 250, (2560, 1440))]
)
def test_every_size_shows_a_list_and_a_page_by_key(open_ledger, theme, scale, size) -> None:
    ledger = open_ledger(theme=theme, scale=scale, size=size)
    room = ledger.room
    assert room.table.isVisible()
    assert room.top.search.hasFocus()
    ledger.press(Qt.Key.Key_J, ALT)
    ledger.until(lambda: room.side.isVisible() and "Journal" in room.side.text())
    assert room.side.geometry().right() <= room.width()
    ledger.press(ESCAPE)
    ledger.press(DOWN)
    ledger.until(lambda: room.table.isVisible() and room.table.currentIndex().row() == 1)


#: What a state may come to at most on one sheet: everything that may be said of one that is signed.
LONGEST = "2 marks for review, run released, article not complete, sent, 2 out, 3 in doubt, 6 marginal"


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("scale", "size"), [(100, (1280, 720)), (100, (1440, 900)), (250, (3200, 1800))])
def test_the_longest_state_stands_whole_in_its_column(open_ledger, theme, scale, size) -> None:
    ledger = open_ledger(theme=theme, scale=scale, size=size)
    table, lines = ledger.room.table, ledger.room.model.lines
    table.show_lines((lines[0]._replace(state=LONGEST), *lines[1:]), lines[0].sheet)
    place = table.visualRect(ledger.room.model.index(0, COLUMNS.index("state")))
    assert place.right() <= table.viewport().width()
    small = ledger.house.theme.font(SMALL)
    told = wrapped(LONGEST, small, place.width() - ledger.house.theme.px(26), 2)
    assert " ".join(told) == LONGEST
    assert 2 * QFontMetricsF(small).height() <= place.height()
    for line in lines[1:]:  # in one line, in the size of all rows
        whole = QFontMetricsF(ledger.house.theme.font(ROW)).horizontalAdvance(line.state)
        assert whole <= place.width() - ledger.house.theme.px(26), line.state

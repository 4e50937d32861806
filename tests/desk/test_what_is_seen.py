"""What is seen at the Desk is what goes out: pages against a second program, bytes against file and journal."""

from __future__ import annotations

import csv
import hashlib
import io
import re
import shutil
import subprocess
from pathlib import Path
from threading import Event

import openpyxl
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage

from app.desk.keys import FORM_OF, KEYS

CTRL, ALT, SHIFT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ShiftModifier,
)

needs_poppler = pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="pdfinfo (poppler) is not installed")


def pages_of(file: Path) -> int:
    """How many pages another program counts (pdfinfo of poppler-utils)."""
    told = subprocess.run(["pdfinfo", str(file)], capture_output=True, text=True, check=True).stdout
    return int(re.search(r"^Pages:\s+(\d+)", told, re.MULTILINE)[1])


def export(desk, answers, form: str, name: str = "out", *, key=Qt.Key.Key_E, modifier=CTRL) -> None:
    answers[0].append({"form": form, "folder": str(desk.shop.folder), "name": name})
    desk.press(key, modifier)
    desk.settle()


@needs_poppler
def test_as_many_pages_are_seen_as_another_program_counts(desk, tmp_path):
    desk.see_pages()
    file = tmp_path / "seen.pdf"
    file.write_bytes(desk.room.pages.made.content)
    pages = pages_of(file)
    assert len(desk.room.pages.sizes) == pages > 1
    seen = [0]
    for _ in range(pages + 2):
        desk.press(Qt.Key.Key_PageDown)
        seen.append(desk.room.pages.page)
        desk.until(lambda: desk.room.pages.shown(desk.room.pages.page) is not None)
    assert seen == [*range(pages), pages - 1, pages - 1, pages - 1]
    desk.press(Qt.Key.Key_PageUp)
    assert desk.room.pages.page == pages - 2
    desk.press(Qt.Key.Key_Home, CTRL)
    assert desk.room.pages.page == 0


def test_a_page_is_drawn_dark_on_white_in_both_themes(open_desk):
    for theme in ("light", "dark"):
        desk = open_desk(theme=theme)
        desk.see_pages()
        image = desk.room.pages.shown(0).convertToFormat(QImage.Format.Format_Grayscale8)
        shades = bytes(image.constBits())
        assert image.pixelColor(2, 2).lightness() == 255
        assert min(shades) < 90
        assert sum(shade > 240 for shade in shades) > len(shades) / 2
        grabbed = desk.room.pages.viewport().grab().toImage()
        assert grabbed.pixelColor(grabbed.width() // 2, 30).lightness() == 255


def test_closer_and_whole_draw_the_page_anew_at_that_size(desk):
    desk.see_pages()
    whole = desk.room.pages.shown(0).width()
    for _ in range(3):
        desk.press(Qt.Key.Key_Plus)
    desk.until(lambda: desk.room.pages.shown(0) is not None)
    assert desk.room.pages.shown(0).width() == pytest.approx(whole * 1.25**3, abs=2)
    assert desk.room.pages.verticalScrollBar().maximum() > 0
    before = desk.room.pages.verticalScrollBar().value()
    desk.press(Qt.Key.Key_Down)
    assert desk.room.pages.verticalScrollBar().value() > before
    desk.press(Qt.Key.Key_0)
    assert desk.room.pages.shown(0).width() == whole
    assert desk.room.pages.verticalScrollBar().maximum() == 0


@pytest.mark.parametrize("face", ["pages", "workbook", "table", "data"])
def test_what_was_seen_is_what_is_written_and_what_the_journal_keeps(desk, answers, face):
    desk.press(Qt.Key(Qt.Key.Key_0 + int(KEYS[face].key[-1])), ALT)
    form = "signed-pdf" if face == "pages" else FORM_OF[face]  # the sheet was signed
    desk.until(lambda: form in desk.room.previews.made)
    desk.settle()
    seen = desk.room.previews.made[form]
    export(desk, answers, form)
    file = next(desk.shop.folder.glob("out.*"))
    assert file.read_bytes() == seen.content
    newest = desk.shop.sent()[0]
    assert (newest.form, newest.name, newest.digest) == (form, file.name, hashlib.sha256(seen.content).hexdigest())
    assert answers[1][0].fields[0].value == form
    assert desk.room.previews.made[form] is seen  # only a file was sent: nothing to make anew


def test_what_changed_since_it_was_seen_is_made_anew(open_desk, shop, answers):
    from inspection.sheet import acts

    desk = open_desk(shop.unsigned)
    desk.see_pages()
    before = desk.room.pages.made
    row = desk.room.at_hand.sheet.plan.characteristics[0].identity
    desk.house.do(acts.WriteNote(sheet=shop.unsigned, characteristic=row, text="Set aside for Friday."))
    desk.until(lambda: desk.room.pages.made is not before)
    desk.settle()
    assert desk.room.pages.made.content != before.content


def test_paper_is_changed_by_key_and_kept_for_the_customer(desk):
    desk.see_pages()
    assert desk.room.pages.made.form == "signed-pdf"  # on the paper it was signed on
    desk.press(Qt.Key.Key_U, CTRL)
    desk.until(lambda: desk.room.pages.made.form == "pdf" and bool(desk.room.pages.sizes))
    assert desk.room.pages.sizes[0] == (792, 612)
    desk.press(Qt.Key.Key_P, CTRL)
    desk.until(lambda: bool(desk.room.pages.sizes) and desk.room.pages.sizes[0] != (792, 612))
    assert desk.room.pages.sizes[0] == pytest.approx((841.89, 595.28), abs=0.01)
    assert desk.house.papers["Lantern Hill Optical"] == "a4"
    assert desk.house.papers[""] == "letter"


def test_the_workbook_is_seen_as_another_reader_finds_it(desk):
    desk.face(3)
    desk.until(lambda: bool(desk.room.workbook.grids))
    desk.settle()
    book = openpyxl.load_workbook(io.BytesIO(desk.room.previews.made["xlsx"].content))
    assert [grid.name for grid in desk.room.workbook.grids] == book.sheetnames
    for grid in desk.room.workbook.grids:
        sheet = book[grid.name]
        for row, cells in enumerate(sheet.iter_rows()):
            for column, cell in enumerate(cells):
                shown = grid.rows[row][column].text
                if isinstance(cell.value, str) or cell.value is None:
                    assert shown == (cell.value or "")
                else:
                    assert float(shown) == cell.value
                    digits = re.sub(r'"[^"]*"', "", cell.number_format.partition(";")[0])  # words stand in quotes
                    assert len(shown.partition(".")[2]) == len(digits.partition(".")[2])
    model = desk.room.workbook.model
    assert model.index(0, 0).data() == book.worksheets[0]["A1"].value
    desk.press(Qt.Key.Key_PageDown, CTRL)
    assert model.index(1, 1).data() == book.worksheets[1]["B2"].value
    assert model.headerData(27, Qt.Orientation.Horizontal) == "AB"


def test_table_and_data_file_are_seen_as_text(desk):
    desk.face(4)
    desk.until(lambda: desk.room.table.made is not None)
    assert next(csv.reader([desk.room.table.toPlainText().splitlines()[0]]))[:2] == ["number", "sheet"]
    desk.face(5)
    desk.until(lambda: desk.room.data.made is not None)
    assert desk.room.data.toPlainText().startswith('{"chain":"tenthwright-chain ')


def test_a_sheet_never_signed_has_no_data_file_and_says_so(open_desk, shop):
    desk = open_desk(shop.unsigned)
    desk.face(5)
    desk.settle()
    assert "never signed" in desk.room._told.text()


def test_every_form_is_written_into_one_folder_at_once(desk, answers):
    export(desk, answers, "all", "part 9", key=Qt.Key.Key_E, modifier=CTRL | SHIFT)
    assert answers[1][0].fields[0].value == "all"
    written = sorted(desk.shop.folder.glob("part 9.*"))
    assert [file.name[6:] for file in written] == [".csv", ".json", ".pdf", ".signed.pdf", ".xlsx"]
    kept = {line.name: line.digest for line in desk.shop.sent()[:5]}
    assert kept == {file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in written}


def test_a_sheet_never_signed_goes_out_in_three_forms(open_desk, shop, answers):
    desk = open_desk(shop.unsigned)
    answers[0].append({})  # despite what is missing
    export(desk, answers, "all", modifier=CTRL | SHIFT)
    assert sorted(line.form for line in shop.sent(shop.unsigned)) == ["csv", "pdf", "xlsx"]


def test_the_name_proposed_tells_part_pieces_and_signature(desk, answers):
    answers[0].append(None)
    desk.press(Qt.Key.Key_E, CTRL)
    assert answers[1][0].fields[2].value == "OB-2207_C_001_002_003"


def test_a_file_that_is_there_is_replaced_only_when_told(desk, answers):
    file = desk.shop.folder / "there.csv"
    file.write_text("mine")
    answers[0].append({"form": "csv", "folder": str(desk.shop.folder), "name": "there.csv"})
    answers[0].append(None)
    desk.press(Qt.Key.Key_E, CTRL)
    desk.settle()
    assert file.read_text() == "mine"
    assert len(desk.shop.sent()) == 5
    answers[0].append({"form": "csv", "folder": str(desk.shop.folder), "name": "there.csv"})
    answers[0].append({})
    desk.press(Qt.Key.Key_E, CTRL)
    desk.settle()
    assert desk.shop.sent()[0].digest == hashlib.sha256(file.read_bytes()).hexdigest()


def test_folder_and_name_are_looked_at_before_anything_is_made(desk, answers):
    answers[0].append(None)
    desk.press(Qt.Key.Key_E, CTRL)
    check = answers[1][0].check
    folder = str(desk.shop.folder)
    assert check({"form": "pdf", "folder": folder, "name": "a"}) == ""
    assert "nowhere" in check({"form": "pdf", "folder": f"{folder}/nowhere", "name": "a"})
    assert "sub/a" in check({"form": "pdf", "folder": folder, "name": "sub/a"})


def test_what_was_sent_is_listed_with_its_digest_by_key(desk, answers):
    export(desk, answers, "csv")
    desk.face(6)
    lines = desk.room.sent.model.lines
    demo = ["data file", "table (csv)", "workbook", "printed sheet", "signed PDF"]
    assert [line.form for line in lines] == ["table (csv)", *demo]
    assert {line.person for line in lines} == {"Mira Oduya"}
    assert [line.since for line in lines] == ["", *["changed"] * 5], "a nonconformance was raised since"
    digest = desk.shop.sent()[0].digest
    assert desk.room.sent.whole.isHidden()
    desk.press(Qt.Key.Key_D, CTRL)
    assert digest in desk.room.sent.whole.text()
    assert desk.room.sent.whole.isVisible()
    desk.press(Qt.Key.Key_Down)
    desk.press(Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == desk.shop.sent()[1].digest


def test_the_list_tells_what_became_of_the_sheet_since(open_desk, shop):
    from inspection.sheet import acts

    with shop.book() as book:
        person = book.sheet(shop.sheet).made_by
        row = book.sheet(shop.unsigned).plan.characteristics[0].identity
        book.do(acts.RecordSent(sheet=shop.unsigned, form="csv", name="a.csv", digest="ab" * 32), person=person)
        book.do(acts.WriteNote(sheet=shop.unsigned, characteristic=row, text="later"), person=person)
        book.do(acts.RecordSent(sheet=shop.unsigned, form="csv", name="b.csv", digest="cd" * 32), person=person)
        book.do(acts.Reopen(sheet=shop.sheet, reason="wrong revision"), person=person)
    desk = open_desk(shop.unsigned)
    assert [line.since for line in desk.room.at_hand.sent] == ["", "changed"]
    desk.prepare(shop.sheet)
    assert {line.since for line in desk.room.at_hand.sent} == {"reopened"}


def test_a_file_is_checked_by_key(desk, answers):
    export(desk, answers, "pdf")
    file = desk.shop.folder / "out.pdf"
    for content, words in (
        (file.read_bytes(), "is what was sent"),
        (file.read_bytes() + b" ", "is not as it was sent"),
    ):
        file.write_bytes(content)
        answers[0].append({"file": str(file)})
        answers[0].append({})
        desk.press(Qt.Key.Key_K, CTRL)
        desk.until(lambda: not answers[0])
        desk.settle()
        assert words in answers[1][-1].title
    assert any("not a file" in row[1] for row in answers[1][-1].rows)


def test_a_file_made_again_is_known_too(desk, answers):
    """The workbook's bytes are the same for the same sheet."""
    export(desk, answers, "xlsx", "first")
    desk.face(3)
    desk.until(lambda: bool(desk.room.workbook.grids))
    desk.press(Qt.Key.Key_R, CTRL)
    desk.settle()
    export(desk, answers, "xlsx", "second")
    first, second = (desk.shop.folder / f"{name}.xlsx" for name in ("first", "second"))
    assert first.read_bytes() == second.read_bytes()


def test_esc_stops_the_making_and_leaves_nothing(open_desk, monkeypatch):
    from threading import Event

    from app.desk import work

    held, go = Event(), Event()

    def slow(_self, _book, progress):
        held.set()
        for step in range(10_000):
            go.wait(0.002)
            progress(step, 10_000)

    desk = open_desk()
    desk.see_pages()
    monkeypatch.setattr(work.Making, "run", slow)
    desk.face(4)
    desk.until(held.is_set)
    assert desk.room.doing.isVisible()
    desk.press(Qt.Key.Key_Escape)
    assert desk.room.doing.isHidden()
    assert "Ctrl+R" in desk.room._told.text()
    monkeypatch.undo()
    desk.press(Qt.Key.Key_R, CTRL)
    desk.until(lambda: desk.room.table.made is not None and desk.room._stack.currentWidget() is desk.room.table)
    assert len(desk.shop.sent()) == 5


def test_esc_stops_a_sending_before_anything_is_written(desk, answers, monkeypatch):
    from threading import Event

    from app.jobs import sending

    held, go = Event(), Event()

    def slow(*_parts, progress, **_named):
        held.set()
        for step in range(10_000):
            go.wait(0.002)
            progress(step, 10_000)

    monkeypatch.setattr(sending, "make", slow)
    answers[0].append({"form": "csv", "folder": str(desk.shop.folder), "name": "never"})
    desk.face(6)
    desk.press(Qt.Key.Key_E, CTRL)
    desk.until(held.is_set)
    desk.press(Qt.Key.Key_Escape)
    desk.settle()
    assert list(desk.shop.folder.glob("never*")) == []
    assert len(desk.shop.sent()) == 5


def test_what_is_missing_is_listed_and_leads_to_its_row(open_desk, shop):
    desk = open_desk(shop.unsigned)
    lacks = desk.room.column.lacking.items.items
    stops = [lack.stops for lack in lacks]
    assert stops == sorted(stops, reverse=True)
    assert True in stops
    assert False in stops
    assert "not signed" in lacks[0].text
    place = next(place for place, lack in enumerate(lacks) if "rows are open" in lack.text)
    desk.press(Qt.Key.Key_M, CTRL)
    for _ in range(place):
        desk.press(Qt.Key.Key_Down)
    desk.press(Qt.Key.Key_Return)
    bench = desk.frame.room("bench")
    desk.until(lambda: bench.isVisible() and bench.seen is not None)
    assert bench.seen.sheet.identity == shop.unsigned
    assert bench.seen.row(bench.flow.at.row).number == lacks[place].row


def test_a_sheet_that_is_stopped_goes_out_only_when_told(open_desk, shop, answers):
    desk = open_desk(shop.unsigned)
    answers[0].append(None)
    desk.press(Qt.Key.Key_E, CTRL)
    desk.settle()
    lacks = desk.room.column.lacking.items.items
    assert [row[1] for row in answers[1][0].rows] == [lack.text for lack in lacks if lack.stops]
    assert shop.sent(shop.unsigned) == []
    answers[0].append({})
    export(desk, answers, "pdf", "copy")
    assert [line.name for line in shop.sent(shop.unsigned)] == ["copy.pdf"]


def test_a_signed_sheet_asks_nothing_more(desk, answers):
    assert not any(lack.stops for lack in desk.room.column.lacking.items.items)
    export(desk, answers, "csv")
    assert len(answers[1]) == 1


def test_what_the_head_lacks_leads_to_its_field(open_desk, shop):
    desk = open_desk(shop.unsigned)
    lacks = desk.room.column.lacking.items.items
    place = next(place for place, lack in enumerate(lacks) if lack.field == "order")
    desk.press(Qt.Key.Key_M, CTRL)
    for _ in range(place):
        desk.press(Qt.Key.Key_Down)
    desk.press(Qt.Key.Key_Return)
    assert desk.room.record.isVisible()
    desk.types("PO 4711")
    desk.press(Qt.Key.Key_Return)
    desk.until(lambda: desk.room.at_hand.sheet.head.order == "PO 4711")
    desk.settle()
    assert "order" not in [lack.field for lack in desk.room.column.lacking.items.items]
    desk.see_pages()
    desk.until(lambda: desk.room.pages.made.sheet.head.order == "PO 4711")


def test_a_pdf_that_lacks_its_signature_is_signed_by_key(open_desk, shop, answers):
    """Signed in the book alone, as before there were signed PDFs."""
    from inspection.sheet import acts
    from storage.seals.keys import unlock

    with shop.book() as book:
        person = book.shop().people[book.sheet(shop.unsigned).made_by]
        act = acts.SignSheet(sheet=shop.unsigned, incomplete="rows wait")
        book.do(act, person=person.identity, sign=unlock(person, shop.passphrase))
    desk = open_desk(shop.unsigned)
    desk.see_pages()
    assert desk.room.pages.made.form == "pdf"
    desk.press(Qt.Key.Key_U, CTRL)
    assert "Ctrl+G" in desk.frame.notice()
    answers[0].append({"passphrase": shop.passphrase})
    desk.press(Qt.Key.Key_G, CTRL)
    desk.until(lambda: desk.room.pages.made is not None and desk.room.pages.made.form == "signed-pdf")
    desk.settle()
    desk.press(Qt.Key.Key_G, CTRL)
    desk.until(lambda: "lacking in its PDF" in desk.frame.notice())


def test_a_signature_is_seen_where_it_stands(desk):
    """The field of whoever signed is not as empty as the one beside it."""
    desk.see_pages()
    desk.settle()
    desk.press(Qt.Key.Key_End, CTRL)
    desk.until(lambda: desk.room.pages.shown(desk.room.pages.page) is not None)
    seen = desk.room.pages.shown(desk.room.pages.page)
    across, down = seen.width(), seen.height()

    def ink(left: float, right: float) -> int:
        dots = ((x, y) for x in range(int(left * across), int(right * across)) for y in range(down // 5, down // 4))
        return sum(seen.pixelColor(x, y).lightness() < 128 for x, y in dots)

    assert ink(0.06, 0.46) > 10 and ink(0.54, 0.94) == 0


def test_nothing_of_another_sheet_goes_out_while_one_is_being_fetched(desk, answers, monkeypatch):
    from app.desk import work

    arrives, look = Event(), work.Look.run
    monkeypatch.setattr(work.Look, "run", lambda self, book: arrives.wait(10) and look(self, book))
    desk.settle()
    desk.face(1)
    desk.house.desk_wanted.emit(desk.shop.unsigned)
    for key, modifier in ((Qt.Key.Key_E, CTRL), (Qt.Key.Key_E, CTRL | SHIFT), (Qt.Key.Key_P, CTRL | SHIFT)):
        desk.frame.put_notice_away()
        desk.press(key, modifier)
        assert "not shown yet" in desk.frame.notice()
    arrives.set()
    desk.until(lambda: desk.room.at_hand.sheet.identity == desk.shop.unsigned)
    answers[0].append(None)
    desk.press(Qt.Key.Key_E, CTRL)
    desk.until(lambda: bool(answers[1]))

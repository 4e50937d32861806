"""A list as a file, read back by others: csv by Python, the workbook by openpyxl, pages by pypdfium2."""

from __future__ import annotations

import csv
from io import BytesIO, StringIO

import pytest
from openpyxl import load_workbook

from inspection.reasons import Refused
from inspection.words.say import say
from storage.dispatch.listing import Listing, as_text, listing_bytes, write_listing

HEADS = ("number", "result", "requirement", "serial")
ROWS = (
    ("7.9", "0.5000", "=HYPERLINK(1)", "001"),
    ("7.10", "−0.0200", "+.0005/-0", "002"),
    ("12a", "", "⌀ .500 ±.005", "003"),
    ("13", "+0.0015", "−", "004"),
)
LISTING = Listing("Row 7", HEADS, ROWS, ("Too few.",), (1,), "Quillfeather Machine")


def test_csv_keeps_every_text_and_makes_no_formula() -> None:
    told = list(csv.reader(StringIO(listing_bytes(LISTING, ".csv").decode("utf-8-sig"))))
    assert told[0] == list(HEADS)
    assert [row[0] for row in told[1:]] == ["7.9", "7.10", "12a", "13"]
    assert [row[1] for row in told[1:]] == ["0.5000", "-0.0200", "", "0.0015"]
    assert [row[2] for row in told[1:]] == ["'=HYPERLINK(1)", "'+.0005/-0", "⌀ .500 ±.005", "−"]
    assert as_text(LISTING).splitlines()[1].split("\t") == told[1]


def test_a_workbook_has_numbers_in_columns_of_measurements_and_texts_elsewhere() -> None:
    made = listing_bytes(LISTING, ".XLSX")
    assert made == listing_bytes(LISTING, ".xlsx")
    sheet = load_workbook(BytesIO(made)).active
    assert [sheet["A1"].value, sheet["A2"].value] == ["Row 7", "Too few."]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=4)]
    assert rows[0] == list(HEADS)
    assert [row[1] for row in rows[1:]] == [0.5, -0.02, None, 0.0015]
    assert sheet["B5"].number_format == "0.0000"
    assert [row[0] for row in rows[1:]] == ["7.9", "7.10", "12a", "13"]
    assert [row[3] for row in rows[1:]] == ["001", "002", "003", "004"]
    assert sheet["C5"].data_type == "s"
    assert sheet["C5"].value == "=HYPERLINK(1)"


def test_a_row_of_a_workbook_is_as_high_as_its_longest_text_wants() -> None:
    rows = (("1", "0.5", "short", "001"), ("2", "0.5", "was read with another instrument; " * 3, "002"))
    sheet = load_workbook(BytesIO(listing_bytes(Listing("Row 7", HEADS, rows), ".xlsx"))).active
    one, three = (sheet.row_dimensions[number].height for number in (4, 5))
    assert one is None and three is not None and three > 30, "what is wrapped lies over no other row"


def test_long_lists_go_on_over_pages_with_their_heads_and_nothing_is_cut() -> None:
    import pypdfium2

    rows = tuple((f"{n}", f"{n / 7:.4f}", "a requirement " * 12, f"S-{n:03}") for n in range(90))
    document = pypdfium2.PdfDocument(listing_bytes(Listing("Row 7", HEADS, rows, ("Too few.",)), ".pdf"))
    texts = [page.get_textpage().get_text_range() for page in document]
    assert len(texts) > 1
    assert all("requirement" in text and "serial" in text and f"page {n} of {len(texts)}" in text
               for n, text in enumerate(texts, 1))  # fmt: skip
    assert [f"S-{n:03}" in "".join(texts) for n in range(90)] == [True] * 90


def test_an_unknown_ending_and_a_glyph_that_is_not_there_are_refused(tmp_path) -> None:
    with pytest.raises(Refused) as refused:
        write_listing(LISTING, tmp_path / "list.doc")
    assert ".csv" in say(refused.value.reasons[0])
    with pytest.raises(Refused) as refused:
        listing_bytes(Listing("字", HEADS, ROWS), ".pdf")
    assert "字" in say(refused.value.reasons[0])
    assert list(tmp_path.iterdir()) == []

"""The doubt of results as it goes out: read back from page, workbook and csv by other programs."""

from __future__ import annotations

import csv
import io
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pypdfium2
import pytest
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet.report import Report
from inspection.words.say import say
from storage.dispatch.columns import columns_for
from storage.dispatch.pdf import SIDE, pdf_bytes, write_pdf
from storage.dispatch.table import COLUMNS, csv_bytes
from storage.dispatch.workbook import workbook_bytes, write_workbook

needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler) is not installed")


def read_back(report: Report, folder: Path) -> list[str]:
    """The printed pages as another program reads them (pdftotext of poppler-utils), one space between words."""
    path = folder / "sheet.pdf"
    write_pdf(report, path)
    told = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True).stdout
    return [" ".join(page.split()) for page in told.split("\f") if page.strip()]


# --- page -----------------------------------------------------------------------------------------------------------


@needs_poppler
def test_the_page_tells_rule_doubt_and_what_was_corrected(doubted: Report, tmp_path: Path) -> None:
    text = " ".join(read_back(doubted, tmp_path))
    for said in (
        "agreed by letter",
        "0.49962 … 0.50038",
        "U 0.00014",
        "g 0.00012",
        "budget B1",
        "P 55.6 %",
        "0015: read 0.5005, corrected 0.50049: temperature −0.00001",
        "checked 2026-11-25 08:02",
        "C-006 was not checked before",
    ):
        assert said in text, said


@needs_poppler
def test_what_counts_no_longer_and_what_is_in_question_stays_legible(doubted: Report, tmp_path: Path) -> None:
    text = " ".join(read_back(doubted, tmp_path))
    assert re.search(r"counts no longer 0014 1\.2505 2026-11-25 09:12 C-006", text)
    assert re.search(r"in question 0015 1\.2490", text)
    assert text.count("C-006 failed the check of 2026-11-25 10:31 by J. Marsh") == 2


@needs_poppler
def test_temperatures_are_a_table_and_budgets_begin_a_page_of_their_own(doubted: Report, tmp_path: Path) -> None:
    *pages, appendix = read_back(doubted, tmp_path)
    text = " ".join(pages)
    for said in (
        "Temperatures",
        "TH-2 pen thermometer",
        "calibrated, due 2027-05-01",
        "24 22.5 0.2 45 1",
        "by the window",
    ):
        assert said in text, said
    assert "Uncertainty budgets" not in text
    for said in (
        "Uncertainty budgets",
        "B1 for rows 1",
        "permissible error of M-014, outside use",
        "-0.00000202 in/(10⁻⁶/°C)",
        "u_c 0.0000714 in ν_eff 16.7 k 2.169 coverage probability 95.45 % U 0.00014 in",
        "left uncorrected 0.00005 in U 0.0014 in",
        "0.00005 in for temperature not added",
    ):
        assert said in appendix, said


def test_guard_bands_are_hatched_and_show_in_grey(doubted: Report) -> None:
    """Lines over a ground: dark and light beside each other, within the column of the strip and nowhere else."""

    def drawn(guard: str) -> Any:
        line = doubted.lines[0]
        results = tuple(replace(each, guard=guard) for each in line.results)
        told = replace(doubted, lines=(replace(line, results=results),))
        return pypdfium2.PdfDocument(pdf_bytes(told))[0].render(scale=4, grayscale=True).to_numpy()

    # A band too narrow to be seen keeps every word in its place.
    narrow, wide = drawn("0.00000"), drawn("0.00012")
    first = int(np.nonzero(narrow != wide)[0].min())
    plain, hatched = narrow[first : first + 24], wide[first : first + 24]
    changed = np.nonzero(plain != hatched)[1]
    strip = columns_for(pypdfium2.PdfDocument(pdf_bytes(doubted))[0].get_width() - 2 * SIDE, 2).strip
    assert 4 * (SIDE + strip.left) <= changed.min()
    assert changed.max() <= 4 * (SIDE + strip.left + strip.width)
    shades = hatched[plain != hatched]
    assert shades.min() < 130
    assert shades.max() > 200


def many_budgets(report: Report, count: int) -> Report:
    first = report.budgets[0]
    budgets = tuple(replace(first, name=f"B{n}", lines=first.lines * 2) for n in range(1, count + 1))
    return replace(report, budgets=budgets)


def test_no_budget_is_parted_by_the_end_of_a_page(doubted: Report) -> None:
    document = pypdfium2.PdfDocument(pdf_bytes(many_budgets(doubted, 30)))
    pages = [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]
    seen: list[str] = []
    for page in pages:
        named = re.findall(r"\b(B\d+) for rows", page)
        assert page.count("u_c 0.0000714") == len(named)
        assert not named or "part of the uncertainty" in page
        seen += named
    assert seen == [f"B{n}" for n in range(1, 31)]


def test_a_budget_longer_than_a_page_goes_on_under_its_headings(doubted: Report) -> None:
    first = doubted.budgets[0]
    long = replace(first, lines=tuple(replace(first.lines[0], part=f"part {n}") for n in range(120)))
    document = pypdfium2.PdfDocument(pdf_bytes(replace(doubted, budgets=(long,))))
    pages = [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]
    told = [page for page in pages if "part of the uncertainty" in page]
    assert len(told) > 2
    assert re.findall(r"\bpart (\d+)\b", " ".join(told)) == [str(n) for n in range(120)]


def test_a_sheet_without_doubt_has_no_trace_of_it(focuser: Report) -> None:
    document = pypdfium2.PdfDocument(pdf_bytes(focuser))
    text = " ".join(page.get_textpage().get_text_bounded() for page in document)
    for word in ("budget", "accepted", "Temperatures", "counts no longer"):
        assert word not in text
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(focuser)))
    assert book.sheetnames == ["Results", "Readings", "Sheet"]
    assert [cell.value for cell in book["Results"][1]][-1] == "notes"
    assert [cell.value for cell in book["Readings"][1]][-1] == "withdrawn"


def test_a_character_without_glyph_is_named_with_its_place(doubted: Report) -> None:
    first = doubted.budgets[0]
    odd = replace(first, lines=(replace(first.lines[0], estimate="±測"),))
    with pytest.raises(Refused) as refused:
        pdf_bytes(replace(doubted, budgets=(odd,)))
    assert say(refused.value.reasons[0]).startswith("Budgets hold 測 (U+6E2C)")
    note = replace(doubted.temperatures[0], note="定")
    with pytest.raises(Refused) as refused:
        pdf_bytes(replace(doubted, temperatures=(note,)))
    assert say(refused.value.reasons[0]).startswith("Temperatures hold 定 (U+5B9A)")


# --- workbook -------------------------------------------------------------------------------------------------------


def sheet_of(report: Report, folder: Path, name: str) -> list[dict[str, object]]:
    """The rows of a worksheet by their headings."""
    write_workbook(report, folder / "sheet.xlsx")
    sheet = openpyxl.load_workbook(folder / "sheet.xlsx")[name]
    heads = [str(cell.value) for cell in sheet[1]]
    assert len(set(heads)) == len(heads)
    return [dict(zip(heads, (cell.value for cell in row), strict=True)) for row in sheet.iter_rows(min_row=2)]


def test_the_workbook_holds_doubt_as_numbers_behind_what_it_held_before(doubted: Report, tmp_path: Path) -> None:
    first, second = sheet_of(doubted, tmp_path, "Results")
    told = ("U", "guard band g", "accepted from", "accepted to", "P of conformity, %", "before correction", "budget")
    assert [first[f"{name} 0015"] for name in told] == [0.00014, 0.00012, 0.49962, 0.50038, 55.6, 0.5005, "B1"]
    assert first["result 0015"] == 0.50049
    assert first["verdict 0015"] == "⊖ in doubt, measured inside"
    assert str(first["corrected"]).endswith("temperature −0.00001")
    assert (second["U 0014"], second["guard band g 0014"]) == (0.0014, None)
    heads = list(first)
    assert heads.index("notes") < heads.index("corrected") < heads.index("U 0014")


def test_readings_tell_their_checks_and_strike_what_counts_no_longer(doubted: Report, tmp_path: Path) -> None:
    rows = sheet_of(doubted, tmp_path, "Readings")
    assert [row["check before use"] for row in rows] == [each.check for line in doubted.lines for each in line.values]
    assert rows[0]["temperatures"] == "part 24 °C, instrument 22.5 °C"
    assert str(rows[2]["counts no longer"]).startswith("C-006 failed")
    assert str(rows[4]["in question"]).startswith("C-006 failed")
    sheet = openpyxl.load_workbook(tmp_path / "sheet.xlsx")["Readings"]
    assert [bool(sheet.cell(place, 6).font.strike) for place in range(2, 7)] == [False, False, True, False, False]


def test_budgets_have_a_sheet_with_numbers(doubted: Report, tmp_path: Path) -> None:
    rows = sheet_of(doubted, tmp_path, "Budgets")
    assert [row["budget"] for row in rows] == ["B1"] * 5 + ["B2"] * 5
    line, warm, combined, whole = rows[0], rows[2], rows[3], rows[4]
    assert (line["divisor"], line["u(x)"], line["share, %"], line["ν"]) == (1.732, 0.0000577, 66, "∞")
    assert (warm["sensitivity"], warm["unit of it"]) == (-0.00000202, "in/(10⁻⁶/°C)")
    assert (combined["part of the uncertainty"], combined["contribution"], combined["ν"]) == ("u_c", 0.0000714, 16.7)
    assert whole["part of the uncertainty"] == "U, coverage probability 95.45 %"
    assert (whole["u(x)"], whole["sensitivity"], whole["contribution"]) == (0.0000714, 2.169, 0.00014)
    left = rows[8]
    assert (left["part of the uncertainty"], left["contribution"]) == ("left uncorrected", 0.00005)
    assert "for temperature not added" in str(left["estimate"])


def test_temperatures_have_a_sheet_with_numbers(doubted: Report, tmp_path: Path) -> None:
    (row,) = sheet_of(doubted, tmp_path, "Temperatures")
    assert [row[name] for name in ("part, °C", "instrument, °C", "known within ±, °C", "lain together, min")] == [
        24,
        22.5,
        0.2,
        45,
    ]
    assert (row["thermometer"], row["rows"], row["note"]) == ("TH-2 pen thermometer", "1", "by the window")


def test_the_budgets_print_on_one_page_across(doubted: Report, tmp_path: Path) -> None:
    write_workbook(doubted, tmp_path / "sheet.xlsx")
    book = openpyxl.load_workbook(tmp_path / "sheet.xlsx")
    assert book["Budgets"].page_setup.fitToWidth == 1
    assert book["Budgets"].freeze_panes == "B2"


# --- csv ------------------------------------------------------------------------------------------------------------

#: The columns that there were before doubt was told; programs of others read them by place.
FIRST = (
    "number", "sheet", "zone", "key", "requirement", "name", "feature", "condition", "lower", "upper", "unit",
    "piece", "place", "answers", "reading", "as written", "instrument", "calibration", "read by", "taken",
    "withdrawn", "result", "state", "verdict", "reasons", "notes",
)  # fmt: skip


def test_the_csv_file_keeps_its_columns_and_adds_doubt_behind_them(doubted: Report) -> None:
    assert COLUMNS[: len(FIRST)] == FIRST
    rows = list(csv.DictReader(io.StringIO(csv_bytes(doubted).decode("utf-8-sig"))))
    told = (
        "U",
        "budget",
        "guard band",
        "accepted from",
        "accepted to",
        "probability of conformity",
        "before correction",
    )
    assert [rows[1][name] for name in told] == ["0.00014", "B1", "0.00012", "0.49962", "0.50038", "55.6", "0.5005"]
    assert rows[1]["corrections"] == "read 0.5005, corrected 0.50049: temperature −0.00001"
    assert rows[1]["state"] == "in doubt, measured inside"
    assert (rows[1]["check"], rows[1]["temperatures"]) == (
        "checked 2026-11-25 08:02 by J. Marsh",
        "part 24 °C, instrument 22.5 °C",
    )
    assert rows[2]["counts no longer"].startswith("C-006 failed")
    assert rows[4]["in question"].startswith("C-006 failed")


@pytest.mark.parametrize("made", [pdf_bytes, workbook_bytes, csv_bytes])
def test_the_same_report_gives_the_same_file(doubted: Report, made: Callable[[Report], bytes]) -> None:
    assert made(doubted) == made(doubted)


def test_every_field_of_a_budget_and_of_the_log_is_laid_out(doubted: Report) -> None:
    text = "".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(pdf_bytes(doubted)))
    squeezed = re.sub(r"\s", "", text)
    for told in (*doubted.temperatures, *doubted.budgets, *(line for each in doubted.budgets for line in each.lines)):
        for field in told.__struct_fields__:
            held = getattr(told, field)
            for part in [held] if isinstance(held, str) else [one for one in held if isinstance(one, str)]:
                assert re.sub(r"\s", "", part) in squeezed, field

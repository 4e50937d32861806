"""The printed sheet: its pages, what is refused, and that nothing half-made is left."""

import errno
import hashlib
import os
import re
import time
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet.report import Report
from inspection.words.say import say
from storage.book.failures import BookFailure
from storage.dispatch.pdf import pdf_bytes, write_pdf


def pages(content: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(content)
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]


def with_note(report: Report, note: str) -> Report:
    first, *others = report.lines
    return replace(report, lines=(replace(first, notes=(note,)), *others))


def test_the_digest_is_that_of_the_file_and_the_same_again(focuser: Report, tmp_path: Path) -> None:
    told = [write_pdf(focuser, tmp_path / name) for name in ("one.pdf", "two.pdf")]
    assert told[0] == told[1] == hashlib.sha256((tmp_path / "one.pdf").read_bytes()).hexdigest()


def test_title_and_author_are_in_the_file(focuser: Report) -> None:
    told = pypdfium2.PdfDocument(pdf_bytes(focuser)).get_metadata_dict()
    assert (told["Title"], told["Author"], told["Creator"]) == (focuser.title, focuser.shop, "Tenthwright")


@pytest.mark.parametrize(("paper", "size"), [("A4", (842, 595)), ("Letter", (792, 612))])
def test_paper_lies_on_its_side(focuser: Report, paper: str, size: tuple[int, int]) -> None:
    page = pypdfium2.PdfDocument(pdf_bytes(focuser, paper=paper))[0]
    assert tuple(map(round, page.get_size())) == size


def test_an_unknown_paper_is_refused(focuser: Report, tmp_path: Path) -> None:
    with pytest.raises(Refused) as refused:
        write_pdf(focuser, tmp_path / "sheet.pdf", paper="A0")
    assert "A4, Letter" in say(refused.value.reasons[0])


def test_every_page_repeats_the_heads_and_counts_itself(long_report: Callable[[int, int], Report]) -> None:
    told = pages(pdf_bytes(long_report(60, 3)))
    assert len(told) > 4
    for number, text in enumerate(told, start=1):
        assert f"page {number} of {len(told)}" in text
        assert "sealed, SHA-256 9c9c9c9c9c9c9c9c" in text
        if re.search(r"0\.4990 … 0\.5010", text):
            assert "requirement as drawn" in text
            assert "piece 0015" in text
    assert all("order and line PO 88121" in text for text in told)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_long_note_goes_on_over_the_page_whole(focuser: Report, paper: str) -> None:
    note = " ".join(f"word{place}" for place in range(2_500))
    told = pages(pdf_bytes(with_note(focuser, note), paper=paper))
    found = re.findall(r"word(\d+)", " ".join(told))
    assert found == [str(place) for place in range(2_500)]
    assert any("9 continued" in text for text in told)


def test_a_long_requirement_stands_across_the_columns(focuser: Report) -> None:
    """Two thousand signs in a column of some sixteen would be two pages and a half, all but that column empty."""
    long = replace(focuser.lines[0], requirement=" ".join(f"word{place}" for place in range(240)))
    told = pages(pdf_bytes(replace(focuser, lines=(long,))))
    assert re.findall(r"word(\d+)", told[0]) == [str(place) for place in range(240)]


def test_cautions_stand_on_one_page_with_their_heading(focuser: Report) -> None:
    """Wherever the table ends: two lines of them on a page of their own were read by nobody."""
    cautions = tuple(f"Caution {place}: local rules hold." for place in range(6))
    for lines in range(40):
        line = replace(focuser.lines[6], explained=tuple(f"Reason {place}." for place in range(lines)))
        told = pages(pdf_bytes(replace(focuser, lines=(line,), cautions=cautions)))
        assert [len(re.findall(r"Caution \d", text)) for text in told if "Caution" in text] == [6], lines


def test_a_note_without_a_space_is_cut_inside_the_word(focuser: Report) -> None:
    told = "".join(pages(pdf_bytes(with_note(focuser, "x" * 1_500))))
    assert told.replace(" ", "").count("x") >= 1_500


def test_a_row_taller_than_a_page_is_parted(focuser: Report) -> None:
    line = focuser.lines[6]
    tall = replace(line, explained=tuple(f"Reason number {place}." for place in range(150)))
    told = pages(pdf_bytes(replace(focuser, lines=(tall,))))
    assert len(re.findall(r"Reason number \d+", " ".join(told))) == 150
    assert any("16 continued" in text for text in told)


@pytest.mark.parametrize("withdrawn", ["", "taken back"])
def test_only_what_was_in_another_unit_is_said_to_be_converted(focuser: Report, withdrawn: str) -> None:
    line = next(each for each in focuser.lines if each.number == "12")
    first, second, third = (replace(each, withdrawn=withdrawn) for each in line.values)
    values = (first, replace(second, written="2 511/512"), third)
    text = " ".join(pages(pdf_bytes(replace(focuser, lines=(replace(line, values=values),)))))
    assert "converted from 76.175 mm" in text
    assert "written 2 511/512" in text and "converted from 2" not in text


@pytest.mark.parametrize("pieces", [1, 2, 4, 5, 12])
def test_every_piece_has_its_reading_on_every_row(long_report: Callable[[int, int], Report], pieces: int) -> None:
    report = long_report(5, pieces)
    text = " ".join(pages(pdf_bytes(report)))
    for serial in report.serials:
        assert serial in text
    assert len(re.findall(r"● ?0\.\d{4}", text)) == 5 * pieces


def test_many_readings_of_one_cell_in_the_grid_part_too(long_report: Callable[[int, int], Report]) -> None:
    report = long_report(1, 12)
    line = report.lines[0]
    many = [replace(line.values[0], place=f"station {place}") for place in range(90)]
    told = pages(pdf_bytes(replace(report, lines=(replace(line, values=(*many, *line.values[1:])),))))
    assert len(set(re.findall(r"station (\d+)", " ".join(told)))) == 90


def test_a_character_without_glyph_is_named_with_its_place(focuser: Report, tmp_path: Path) -> None:
    report = replace(with_note(focuser, "gauge 測定 used"), head=(("customer", "山田"), *focuser.head[1:]))
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"an older sheet")
    with pytest.raises(Refused) as refused:
        write_pdf(report, path)
    told = [say(reason) for reason in refused.value.reasons]
    assert told[0].startswith("In the head, customer holds 山 (U+5C71), 田 (U+7530),")
    assert told[1].startswith("Row 9, notes, holds 定 (U+5B9A), 測 (U+6E2C),")
    assert path.read_bytes() == b"an older sheet"


class Enough(Exception):
    """A person pressed Stop."""


@pytest.mark.parametrize("at", [0, 7, 11, 18])
def test_stopping_anywhere_leaves_what_stood_there(focuser: Report, tmp_path: Path, at: int) -> None:
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"an older sheet")

    def stop(done: int, total: int) -> None:
        assert total == 2 * len(focuser.lines)
        if done >= at:
            raise Enough

    with pytest.raises(Enough):
        write_pdf(focuser, path, progress=stop)
    assert [entry.read_bytes() for entry in tmp_path.iterdir()] == [b"an older sheet"]


def test_a_full_disk_is_a_sentence_and_leaves_nothing(
    focuser: Report, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_number: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BookFailure) as failed:
        write_pdf(focuser, tmp_path / "sheet.pdf")
    assert failed.value.reasons[0].code == "file.disk_full"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.measured
def test_two_hundred_rows_on_three_pieces_take_a_moment(long_report: Callable[[int, int], Report]) -> None:
    report = long_report(200, 3)
    before = time.perf_counter()
    pdf_bytes(report)
    assert time.perf_counter() - before < 3


def test_an_unsigned_sheet_says_that_it_is_a_working_copy(focuser: Report) -> None:
    told = pages(pdf_bytes(replace(focuser, sealed=False, signatures=())))
    assert all("working copy, not sealed" in text for text in told)
    assert "Not signed." in told[-1]


def test_a_sheet_without_rows_or_pieces_still_prints(focuser: Report) -> None:
    assert pages(pdf_bytes(replace(focuser, lines=(), serials=(), head=(), totals=(), cautions=())))

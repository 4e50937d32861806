"""Files that cannot be made, and a disk that is full: a sentence, what stood there before, and nothing half-written."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
from pathlib import Path

import pypdfium2
import pytest

from app.command.main import run
from app.command.outcome import Exit

FORMS = ("pdf", "xlsx", "csv")


def noting(place, *notes: str) -> str:
    """A reading file that writes notes to row 3."""
    return place.file("notes.csv", "serial,number,reading,note\n" + "".join(f'7,3,,"{note}"\n' for note in notes))


def noted(place, *notes: str) -> None:
    assert place.say("read", noting(place, *notes))[0] == Exit.DONE


def signed(place) -> None:
    assert place.say("sign", "--incomplete", "row 3 waits")[0] == Exit.DONE


# --- what a form cannot carry -------------------------------------------------------------------------------------


def test_a_character_without_a_glyph_is_named_with_its_row_before_anything_is_written(place) -> None:
    noted(place, "read with the 測 gauge")
    sent = place.folder / "sheet.pdf"
    sent.write_bytes(b"an older sheet")
    before = place.state()
    code, out, err = place.say("export", "pdf", str(sent))
    assert (code, out) == (Exit.REFUSED, "")
    assert err.startswith("Row 3, notes, holds 測 (U+6E2C), which the printed sheet cannot show. No PDF was made;")
    assert place.state() == before
    for form in ("xlsx", "csv"):  # as the sentence advises
        assert place.say("export", form, str(place.folder / f"sheet.{form}"))[0] == Exit.DONE


def test_a_row_taller_than_a_page_goes_on_over_pages_whole(place) -> None:
    words = [f"w{number}" for number in range(3_000)]
    noted(place, *(" ".join(words[start : start + 300]) for start in range(0, len(words), 300)))
    sent = place.folder / "sheet.pdf"
    assert place.say("export", "pdf", str(sent), "--paper", "a4")[0] == Exit.DONE
    document = pypdfium2.PdfDocument(sent)
    told = [page.get_textpage().get_text_bounded() for page in document]
    document.close()
    found = [word for page in told for word in page.split() if word.startswith("w") and word[1:].isdecimal()]
    assert found == words
    assert all(f"page {number} of {len(told)}" in page for number, page in enumerate(told, start=1))
    assert any("3 continued" in " ".join(page.split()) for page in told)


def test_a_note_longer_than_a_cell_is_refused_for_the_workbook_and_cut_nowhere(place) -> None:
    noted(place, *["burr " * 390] * 20)
    sent = place.folder / "sheet.xlsx"
    before = place.state()
    code, _, err = place.say("export", "xlsx", str(sent))
    assert code == Exit.REFUSED
    assert err.startswith("Row 3, notes, is ")
    assert "and a cell of a workbook holds 32767. No workbook was made;" in err
    assert place.state() == before


# --- a disk that is full ------------------------------------------------------------------------------------------


@pytest.fixture
def small_disk(tmp_path: Path):
    """A disk of 6 MB."""
    mount = shutil.which("mount")
    if mount is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        pytest.skip("only root may mount a small disk")
    folder = tmp_path / "small disk"
    folder.mkdir()
    if subprocess.run([mount, "-t", "tmpfs", "-o", "size=9m", "tmpfs", str(folder)], check=False).returncode:
        pytest.skip("no small disk can be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def fill(folder: Path, leaving: int = 0) -> None:
    """Fill the disk but for so many bytes."""
    with (folder / "filler").open("wb", buffering=0) as file:
        free = os.statvfs(folder)
        rest = free.f_bavail * free.f_frsize - leaving
        file.write(bytes(rest))


@pytest.mark.parametrize("form", FORMS)
def test_an_export_to_a_full_disk(place, small_disk, form: str) -> None:
    sent = small_disk / f"sheet.{form}"
    sent.write_bytes(b"an older sheet")
    fill(small_disk)
    before = sorted(file.name for file in small_disk.iterdir())
    told = place.state()
    code, out, err = place.say("export", form, str(sent))
    assert (code, out) == (Exit.WORLD, "")
    assert err.startswith(f"The disk that holds {small_disk} is full. sheet.{form} was not written; what stood there")
    assert sent.read_bytes() == b"an older sheet"
    assert sorted(file.name for file in small_disk.iterdir()) == before
    assert place.state() == told


def test_readings_into_a_book_on_a_full_disk(new_place, small_disk) -> None:
    place = new_place(small_disk)
    readings = noting(place, *["burr " * 390] * 20)
    fill(small_disk)
    before = place.state()
    code, out, err = place.say("read", readings)
    assert (code, out) == (Exit.WORLD, "")
    assert err.startswith("The disk that holds shop.tenthwright is full. Nothing of this entry was written;")
    assert place.state() == before
    (small_disk / "filler").unlink()
    assert place.say("read", readings)[0] == Exit.DONE
    assert place.say("verify")[0] == Exit.DONE


def test_signing_on_a_full_disk_leaves_the_sheet_open(new_place, small_disk) -> None:
    place = new_place(small_disk)
    fill(small_disk)
    before = place.state()
    code, _, err = place.say("sign", "--incomplete", "row 3 waits")
    assert code == Exit.WORLD
    assert "is full. Nothing of this entry was written" in err
    assert place.state() == before
    (small_disk / "filler").unlink()
    signed(place)
    assert place.say("verify", "--sheet", "WB-9")[0] == Exit.DONE


def test_a_new_book_on_a_full_disk(small_disk, place) -> None:
    fill(small_disk)
    place.book = small_disk / "new.tenthwright"
    code, _, err = place.say("new", "--shop", "Elm Row", "--person", "Jo")
    assert code == Exit.WORLD
    assert "is full" in err
    assert [file.name for file in small_disk.iterdir()] == ["filler"]


def test_the_demo_on_a_full_disk(small_disk, place) -> None:
    fill(small_disk, leaving=1_000_000)
    code, out, err = _demo(small_disk)
    assert (code, out) == (Exit.WORLD, "")
    assert "is full" in err
    (small_disk / "filler").unlink()
    assert _demo(small_disk)[0] == Exit.DONE


def _demo(folder: Path) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = run(["demo", "--no-window", "--folder", str(folder / "demo")], environ={}, out=out, err=err)
    return code, out.getvalue(), err.getvalue()

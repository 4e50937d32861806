"""A file that is to be kept with a record: read once, and never whole where it is too large."""

from __future__ import annotations

import os
import tracemalloc
from hashlib import sha256
from pathlib import Path

import pytest

from app.crib.work import Reading
from app.desk.record_work import ReadFile
from inspection.attached import Attached
from inspection.reasons import Refused
from storage.book.attached import LARGEST
from storage.book.failures import BookFailure

BOTH = pytest.mark.parametrize("reading", [Reading, ReadFile])


@BOTH
def test_it_is_named_by_its_digest(tmp_path: Path, reading) -> None:
    file = tmp_path / "certificate.pdf"
    file.write_bytes(b"%PDF-1.7")
    assert reading(file).run(None, None) == (
        Attached("certificate.pdf", sha256(b"%PDF-1.7").hexdigest(), 8),
        b"%PDF-1.7",
    )


@BOTH
def test_of_a_file_that_is_too_large_no_more_is_read_than_shows_it(tmp_path: Path, reading) -> None:
    file = tmp_path / "film.bin"
    file.touch()
    os.truncate(file, 40 * LARGEST)  # holds no bytes of the disk
    tracemalloc.start()
    try:
        with pytest.raises(Refused) as refused:
            reading(file).run(None, None)
        _now, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert refused.value.reasons[0].code == "file.attached_too_large"
    assert most < 3 * LARGEST


@BOTH
def test_one_that_is_not_there_is_named(tmp_path: Path, reading) -> None:
    with pytest.raises(BookFailure) as failed:
        reading(tmp_path / "gone.pdf").run(None, None)
    assert failed.value.reasons[0].code == "file.missing"

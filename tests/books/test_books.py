"""One real book of every released schema: each opens, moves if it must, and says what it said when it was made."""

from __future__ import annotations

import importlib.util
import json
import shutil
from pathlib import Path

import pytest

from storage.book.door import Book
from storage.book.header import SCHEMA, read_header
from storage.book.verify import verify_book

HERE = Path(__file__).parent
BOOKS = sorted(HERE.glob("schema_*.tenthwright"))


@pytest.fixture(scope="module")
def summary():
    spec = importlib.util.spec_from_file_location("make_book", HERE / "make_book.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.summary


def test_every_released_schema_has_its_book():
    assert [path.stem for path in BOOKS] == [f"schema_{n}" for n in range(1, SCHEMA + 1)]
    assert [read_header(path).version for path in BOOKS] == list(range(1, SCHEMA + 1))


@pytest.mark.parametrize("kept", BOOKS, ids=lambda path: path.stem)
def test_a_kept_book_says_what_it_said(kept, tmp_path, summary):
    path = Path(shutil.copy(kept, tmp_path / kept.name))
    told = json.loads(kept.with_suffix(".json").read_text(encoding="utf-8"))
    del told["program"]
    with Book.open(path, station="later") as book:
        assert json.loads(json.dumps(summary(book))) == told
    found = verify_book(path)
    assert found.whole, found.faults
    signed = [len(sheet["seals"]) + len(sheet.get("statements", [])) for sheet in told["sheets"].values()]
    holding = [one for one in found.statements if one.code in ("verify.seal_holds", "verify.statement_holds")]
    assert len(holding) == sum(signed)

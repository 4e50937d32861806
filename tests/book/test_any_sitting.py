"""Whatever is done at a bench, in whatever order: the book folds to the same state, counts right and checks whole."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.reasons import Refused
from inspection.sheet import acts
from storage.book.door import Book
from storage.book.tally import counted
from storage.book.verify import verify_book

STEPS = st.tuples(
    st.sampled_from(["read", "read", "read", "correct", "take back", "put back", "keep", "later", "note", "order"]),
    st.integers(0, 3),
    st.integers(0, 1),
    st.sampled_from([0, 1, -4, 5, 6, 25, 100, -500]),
)


def act_of(bench, sheet, step):
    """The act of a step, None where there is nothing to do it to."""
    kind, place, piece, off = step
    row = sheet.plan.characteristics[place].identity
    cell = (row, sheet.pieces[piece].identity)
    counting = sheet.counting(*cell)
    questions = sheet.open_questions()
    gone = [name for name in sheet.withdrawn if sheet.readings[name].characteristic == row]
    match kind:
        case "read":
            return bench.reading(place, piece, off)
        case "correct" if counting:
            return bench.reading(place, piece, off, replaces=counting[0].identity, reason="held askew")
        case "take back" if counting:
            return acts.TakeBack(sheet=sheet.identity, reading=counting[-1].identity, reason="dropped")
        case "put back" if gone:
            return acts.PutBack(sheet=sheet.identity, reading=gone[-1], reason="was right")
        case "keep" if questions:
            return acts.KeepAsWritten(sheet=sheet.identity, question=questions[0].identity)
        case "later" if questions:
            return acts.LeaveOpen(sheet=sheet.identity, question=questions[0].identity)
        case "note":
            return acts.WriteNote(sheet=sheet.identity, characteristic=row, text=f"note {off}")
        case "order":
            return acts.RunBy(sheet=sheet.identity, order=("piece", "feature")[piece])
    return None


@pytest.fixture(scope="module")
def begun(tmp_path_factory, key, bench_kind):
    """A bench with a sheet on which nothing was read; its book is closed, to be copied."""
    bench = bench_kind(tmp_path_factory.mktemp("begun") / "begun.tenthwright", key)
    bench.make_sheet()
    bench.book.close()
    return bench


@settings(max_examples=25, deadline=None)
@given(st.lists(STEPS, min_size=1, max_size=25))
def test_any_sitting_folds_counts_and_checks(begun, steps):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(shutil.copy(begun.path, Path(folder) / "shop.tenthwright"))
        with Book.open(path, station="any") as begun.book:
            for step in steps:
                with contextlib.suppress(Refused):
                    act = act_of(begun, begun.sheet, step)
                    if act is not None:
                        begun.do(act)
            sheet = begun.sheet
            assert begun.book._held.tallies[begun.sheet_id] == counted(sheet)
        with Book.open(path) as again:
            assert again.sheet(begun.sheet_id) == sheet
        found = verify_book(path)
        assert found.whole, found.faults

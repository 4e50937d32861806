"""The head of the chain carried outside the book: on every file that went out, by hand, and on the station.

A book whose end was cut off at a signature, an old backup, and a backup that was put back and went on differently are
each whole by themselves, which is asserted first; a head that was carried outside finds each of them.
"""

from __future__ import annotations

import io
import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.command.main import run
from app.jobs.hand import Hand
from app.jobs.packing import send_package
from app.jobs.sending import FORMS, send
from app.jobs.station_head import go_by, watched
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.chain_head import ChainHead, head_typed
from inspection.words.say import say
from storage.book.carried import Carried, check_heads
from storage.book.door import Book
from storage.book.verify import verify_book
from storage.dispatch.carried_head import head_in
from storage.heads import head_seen
from tests.book.test_tampered import forge
from tests.book.test_verify import behind

#: A csv file has no place for a head; a signed PDF is printed as a PDF is.
MADE = tuple(form for form in FORMS if form != "signed-pdf")
CARRYING = tuple(form for form in MADE if form != "csv")


class Kept:
    """The newest book with what went out of it, and what somebody may put in its place."""

    def __init__(self, folder: Path, key: Any, bench_kind: Any) -> None:
        bench = bench_kind(folder / "newest.tenthwright", key)
        self.newest, self.files = bench.path, folder / "out"
        self.files.mkdir()
        bench.make_sheet(rows=1, serials=("001",))
        bench.take(0)
        bench.sign()
        self.old = Path(shutil.copy(bench.path, folder / "old.tenthwright"))
        self.sheet_id, self.person = bench.sheet_id, bench.person
        self.further = acts.IssueRules(rules=bench.book.shop().rules)
        bench.do(acts.Reopen(sheet=bench.sheet_id, reason="one more look"))
        bench.sign()
        signed = bench.book.head().position
        bench.do(acts.Reopen(sheet=bench.sheet_id, reason="and another"))
        bench.sign()
        self.head = bench.book.head()
        hand = Hand(bench.book, bench.time, bench.person)
        for form in MADE:
            send(hand, bench.sheet_id, form, self.files / f"sheet{FORMS[form]}")
        send_package(hand, bench.sheet_id, self.files / "package.zip")
        send_package(hand, bench.sheet_id, self.files / "package", as_folder=True)
        bench.book.close()
        self.cut = self.cut_at(signed, folder / "cut.tenthwright")
        self.other = Path(shutil.copy(self.old, folder / "other.tenthwright"))
        with Book.open(self.other, clock=bench.time.clock, identities=bench.time.identity) as book:
            for _ in range(self.head.position + 20):
                book.do(self.further, person=bench.person)

    def cut_at(self, position: int, path: Path) -> Path:
        """The newest book without what came after this entry, and without files, which all came later."""
        with closing(sqlite3.connect(self.newest)) as connection:
            kept = connection.execute("SELECT content FROM journal WHERE sequence <= ? ORDER BY sequence", (position,))
            records = [json.loads(content) for (content,) in kept]
        forge(Path(shutil.copy(self.newest, path)), records)
        with behind(path) as connection:
            connection.execute("DELETE FROM attached_file")
        return path


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory, key: Any, bench_kind: Any) -> Kept:
    return Kept(tmp_path_factory.mktemp("heads"), key, bench_kind)


@pytest.fixture(autouse=True)
def station(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A station that has seen nothing yet."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


WRONG = {"cut": "head.beyond", "old": "head.beyond", "other": "head.differs"}


@pytest.mark.parametrize(("which", "code"), WRONG.items())
def test_what_is_whole_by_itself_is_found_by_a_head_that_was_carried_outside(kept: Kept, which: str, code: str) -> None:
    book = getattr(kept, which)
    assert verify_book(book).whole
    assert [fault.code for fault in check_heads(book, [Carried(kept.head, "the page")]).faults] == [code]
    assert check_heads(kept.newest, [Carried(kept.head, "the page")]).whole


@pytest.mark.parametrize("name", [*(f"sheet{FORMS[form]}" for form in CARRYING), "package.zip", "package"])
def test_every_file_that_went_out_carries_a_head_of_the_chain(kept: Kept, name: str) -> None:
    head = head_in(kept.files / name)
    assert head.position >= kept.head.position and len(head.digest) == 64
    assert check_heads(kept.newest, [Carried(head, name)]).whole
    assert not check_heads(kept.old, [Carried(head, name)]).whole


@pytest.mark.parametrize("content", [b"", b"{}", b"PK\x03\x04 broken", b"%PDF-1.7 broken", b"<QIF", b"\xff\xfe\x00"])
def test_a_file_without_a_head_is_refused(kept: Kept, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "file").write_bytes(content)
    for path in (tmp_path / "file", kept.files / "sheet.csv"):
        with pytest.raises(Refused) as refused:
            head_in(path)
        assert refused.value.reasons[0].code == "head.none_in_file"


def put_in_place(kept: Kept, which: str, tmp_path: Path) -> Path:
    """A book that this station saw to its end, and then another one at its place."""
    path = tmp_path / "shop.tenthwright"
    shutil.copy(kept.newest, path)
    with opened(path) as hand:
        assert hand.book.notices == ()
    shutil.copy(getattr(kept, which), path)
    return path


def opened(path: Path) -> Hand:
    from storage.book.clock import new_identity, wall_clock

    return Hand.open(path, wall_clock, new_identity)


@pytest.mark.parametrize(("which", "code"), [("cut", "head.older"), ("old", "head.older"), ("other", "head.other")])
def test_a_station_tells_a_book_that_is_not_what_it_saw(kept: Kept, tmp_path: Path, which: str, code: str) -> None:
    """It is told at every opening, and read all the same, until somebody says that it is right."""
    path = put_in_place(kept, which, tmp_path)
    seen = head_seen(path)
    for _ in range(2):
        with opened(path) as hand:
            assert [notice.code for notice in hand.book.notices] == [code]
            assert hand.book.sheet(kept.sheet_id).seals
        assert head_seen(path) == seen
    assert not check_heads(path).whole
    go_by(path)
    with opened(path) as hand:
        assert hand.book.notices == ()
    assert check_heads(path).whole


def test_an_old_copy_at_another_place_is_told_and_is_no_fault(kept: Kept, tmp_path: Path) -> None:
    """People look into old copies on purpose; what is written in one parts the two."""
    path = put_in_place(kept, "newest", tmp_path)
    copy = Path(shutil.copy(kept.old, tmp_path / "copy.tenthwright"))
    with opened(copy) as hand:
        assert [notice.code for notice in hand.book.notices] == ["head.copy_further"]
    found = check_heads(copy)
    assert found.whole and [each.code for each in found.statements] == ["head.held", "head.copy_ahead"]
    assert str(path) in say(found.statements[1])


def test_the_head_is_kept_after_a_signature_though_the_window_is_cut_off(kept: Kept, tmp_path: Path) -> None:
    path = Path(shutil.copy(kept.old, tmp_path / "shop.tenthwright"))
    book = Book.open(path)
    assert watched(book) == ()
    first = head_seen(path)
    book.do(kept.further, person=kept.person)
    assert head_seen(path) == first
    book.do(acts.RecordSent(sheet=kept.sheet_id, form="pdf", name="a.pdf", digest="ab" * 32), person=kept.person)
    now, seen = book.head(), head_seen(path)
    assert seen is not None and seen.head == now
    book._engines.close()  # as if the process had ended here


def test_a_data_folder_that_takes_nothing_is_no_matter(kept: Kept, tmp_path: Path) -> None:
    (tmp_path / "data").write_bytes(b"a file, not a folder")
    path = Path(shutil.copy(kept.old, tmp_path / "shop.tenthwright"))
    with opened(path) as hand:
        assert hand.book.notices == ()
    assert [said.code for said in check_heads(path).statements] == ["head.none_at_hand"]


# --- by command line --------------------------------------------------------------------------------------------------


def verify(*given: str) -> tuple[int, str]:
    from storage.book.clock import new_identity, wall_clock

    out, err = io.StringIO(), io.StringIO()
    code = run(["verify", *given], clock=wall_clock, identities=new_identity, environ={}, out=out, err=err, ask=None)
    assert "[" not in out.getvalue() + err.getvalue()
    return code, out.getvalue() + err.getvalue()


def checks(kept: Kept) -> Iterator[tuple[tuple[str, ...], int, str]]:
    typed = kept.head.told.upper().replace("-", " ")
    page = str(kept.files / "sheet.pdf")
    yield ("--book", str(kept.newest), "--head", typed, "--against", page), 0, "entries came after the last head"
    yield ("--book", str(kept.newest)), 0, "No head of this book's chain was at hand"
    yield ("--book", str(kept.old), "--head", typed), 1, f"ends at entry {verify_end(kept.old)}, before the head"
    yield (str(kept.other), "--against", page), 1, "holds another entry"
    yield ("--book", str(kept.newest), "--head", "12:abc"), 3, "too short"
    yield ("--book", str(kept.newest), "--head", "twelve"), 3, "is no head of a chain"
    yield (page, "--book", str(kept.newest), "--head", typed), 3, "Only a book is held against"


def verify_end(path: Path) -> int:
    with Book.open(path, only_read=True) as book:
        return book.head().position


def test_verify_holds_a_book_against_heads(kept: Kept) -> None:
    for given_, code, said in checks(kept):
        found, told = verify(*given_)
        assert (found, said in told) == (code, True), (given_, told)


def test_verify_holds_a_book_against_what_the_station_saw(kept: Kept, tmp_path: Path) -> None:
    path = put_in_place(kept, "old", tmp_path)
    code, told = verify("--book", str(path))
    assert code == 1 and "that this computer carries" in told
    assert verify("--book", str(path), "--go-by")[0] == 1
    assert verify("--book", str(path))[0] == 0


# --- the head itself --------------------------------------------------------------------------------------------------


@given(st.integers(1, 10**9), st.binary(min_size=32, max_size=32))
def test_what_is_printed_is_typed_back(position: int, digest: bytes) -> None:
    head = ChainHead(position, digest.hex())
    typed = head_typed(f" {head.told.upper()} ")
    assert (typed.position, head.digest.startswith(typed.digest)) == (position, True)
    assert typed.is_at(head.digest) and not typed.is_at("") and not typed.is_at("0" * 64 if digest[0] else "f" * 64)


@given(st.text())
def test_nothing_else_is_taken_for_a_head(text: str) -> None:
    try:
        head = head_typed(text)
    except Refused:
        return
    assert head.position > 0 and len(head.digest) >= 16

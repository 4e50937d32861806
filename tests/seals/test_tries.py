"""Waiting after wrong passphrases: how it grows, what it outlasts, and what takes it off."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.reasons import Reason, Refused
from inspection.sheet.people import Person
from inspection.words.say import say
from storage.seals.tries import FORGOTTEN, WAITS, Tries, one_try, seen_at, tries_place, wait_after, wait_of

NOON = 1_772_452_800_000_000
SECOND = 1_000_000
ANN = Person("ann", "Ann Ames")
moments = st.integers(0, 4 * 10**15)


@pytest.fixture(autouse=True)
def data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "shöp.tenthwright"


def wrong(book: Path, now: int, person: Person = ANN) -> list[str]:
    """A wrong try at a moment; what is said of it."""
    with pytest.raises(Refused) as caught, one_try(book, person, now):
        raise Refused(Reason("seal.wrong_passphrase", {"person": person.name}))
    for reason in caught.value.reasons:
        assert "[" not in say(reason)
    return [reason.code for reason in caught.value.reasons]


def right(book: Path, now: int) -> None:
    with one_try(book, ANN, now):
        pass


# --- the table --------------------------------------------------------------------------------------------------------


def test_three_wrong_ones_are_free_and_then_it_doubles_up_to_a_minute() -> None:
    assert [wait_after(Tries(n, NOON), NOON) for n in range(11)] == [0, 0, 0, 2, 4, 8, 16, 32, 60, 60, 60]
    assert wait_after(Tries(5, NOON), NOON + 3 * SECOND) == 5
    assert wait_after(Tries(5, NOON), NOON + 8 * SECOND) == 0
    assert wait_after(Tries(10**9, NOON), NOON + 60 * SECOND) == 0


def test_an_hour_forgets() -> None:
    almost = NOON + FORGOTTEN * SECOND - 1
    assert seen_at(Tries(9, NOON), almost) == Tries(9, NOON)
    assert seen_at(Tries(9, NOON), almost + 1) == Tries()


@given(wrong=st.integers(0, 10**6), last=moments, now=moments, later=st.integers(0, 10**10))
def test_no_wait_is_shortened_by_more_than_the_time(wrong: int, last: int, now: int, later: int) -> None:
    """Whatever the clock said before, one who waits ``later`` on has that much less to wait."""
    held = seen_at(Tries(wrong, last), now)
    first, second = wait_after(held, now), wait_after(held, now + later)
    assert 0 <= second <= first <= WAITS[-1]
    assert first - second <= later // SECOND + 1


@given(wrong=st.integers(3, 20), back=st.integers(1, 10**15))
def test_a_clock_set_back_shortens_nothing_and_lengthens_nothing_for_good(wrong: int, back: int) -> None:
    whole = wait_after(Tries(wrong, NOON), NOON)
    held = seen_at(Tries(wrong, NOON), NOON - back)
    assert wait_after(held, NOON - back) == whole
    assert wait_after(held, NOON - back + whole * SECOND) == 0


# --- kept -------------------------------------------------------------------------------------------------------------


def test_the_fourth_waits_however_often_the_program_was_closed(book: Path) -> None:
    for n in range(2):
        assert wrong(book, NOON + n) == ["seal.wrong_passphrase"]
    assert wrong(book, NOON + 2) == ["seal.wrong_passphrase", "seal.next_try"]
    assert wait_of(book, "ann", NOON + 3) == 2
    assert wrong(book, NOON + 3) == ["seal.wait"], "nothing was tried"
    assert wait_of(book, "ann", NOON + 2 + 2 * SECOND) == 0
    assert wrong(book, NOON + 2 + 2 * SECOND) == ["seal.wrong_passphrase", "seal.next_try"]
    assert wait_of(book, "ann", NOON + 2 + 2 * SECOND) == 4


def test_the_right_one_forgets_and_leaves_nothing(book: Path, data_folder: Path) -> None:
    for n in range(2):
        wrong(book, NOON + n)
    assert tries_place(book, "ann").exists()
    right(book, NOON + 3)
    assert not tries_place(book, "ann").exists()
    right(book, NOON + 4)
    assert not [path for path in data_folder.rglob("*") if path.is_file()]


def test_each_person_and_each_book_waits_for_itself(book: Path, tmp_path: Path) -> None:
    for n in range(3):
        wrong(book, NOON + n)
    assert wait_of(book, "bo", NOON) == wait_of(tmp_path / "other.tenthwright", "ann", NOON) == 0
    place = tries_place(book, "ann")
    assert "ann" not in place.name and "shöp" not in str(place)
    if os.name == "posix":
        assert stat.S_IMODE(place.parent.stat().st_mode) == 0o700


def test_a_clock_set_back_begins_the_wait_anew(book: Path) -> None:
    for n in range(3):
        wrong(book, NOON + n)
    year_ago = NOON - 365 * 86_400 * SECOND
    assert wait_of(book, "ann", year_ago) == 2
    assert wait_of(book, "ann", year_ago + 2 * SECOND) == 0, "and does not last until the clock has come round"


def test_what_is_no_wrong_passphrase_is_not_counted(book: Path) -> None:
    with pytest.raises(Refused), one_try(book, ANN, NOON):
        raise Refused(Reason("seal.no_key", {"person": "Ann Ames"}))
    with pytest.raises(ZeroDivisionError), one_try(book, ANN, NOON):
        raise ZeroDivisionError
    assert not tries_place(book, "ann").exists()


@pytest.mark.parametrize("content", [b"", b"{", b'{"wrong": -5, "last": 3}', b'{"wrong": "many"}', b"\xff"])
def test_a_damaged_file_holds_nobody_up_and_is_written_anew(book: Path, content: bytes) -> None:
    wrong(book, NOON)
    tries_place(book, "ann").write_bytes(content)
    assert wait_of(book, "ann", NOON) == 0
    for n in range(3):
        wrong(book, NOON + n)
    assert wait_of(book, "ann", NOON + 2) == 2


def test_a_folder_that_takes_no_file_keeps_nobody_from_signing(book: Path, data_folder: Path) -> None:
    data_folder.write_bytes(b"no folder")
    assert wrong(book, NOON) == ["seal.wrong_passphrase"]
    right(book, NOON)

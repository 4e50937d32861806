"""Trials of one person: theirs alone, kept whole, gone in one step, and a damaged file is told and kept beside."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import msgspec
import pytest
from msgspec.structs import replace

from inspection.instruments.starter import starter_crib
from inspection.reasons import Refused
from inspection.studies.feel import Trial, begun, read_take, with_take
from inspection.words.say import known, say
from storage import feel
from storage.book.failures import BookFailure
from storage.feel import KeptFeel, feel_place, forget_feel, keep_trial, kept_feel, want_feel

MICROMETER = next(one for one in starter_crib("2099-01-01") if one.tag == "M-01")


@pytest.fixture(autouse=True)
def data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "shöp 1.tenthwright"


def trial(identity: str, *texts: str) -> Trial:
    made = begun(MICROMETER, ".5", identity, "2026-03-01")
    for at, text in enumerate(texts):
        made = with_take(made, read_take(made, text, at))
    return made


def test_a_trial_comes_back_as_it_was_and_in_its_place(book: Path) -> None:
    assert kept_feel(book, "mira") == KeptFeel()
    first, second = trial("1", ".5001"), trial("2", "12.7 mm")
    keep_trial(book, "mira", first)
    keep_trial(book, "mira", second)
    longer = trial("1", ".5001", ".4999")
    keep_trial(book, "mira", longer)
    assert kept_feel(book, "mira") == KeptFeel((longer, second), wanted=True)


def test_each_person_and_each_book_has_a_file_of_its_own(book: Path, tmp_path: Path, data_folder: Path) -> None:
    keep_trial(book, "mira", trial("1", ".5001"))
    assert kept_feel(book, "bo") == KeptFeel()
    assert kept_feel(tmp_path / "other.tenthwright", "mira") == KeptFeel()
    (file,) = (path for path in data_folder.rglob("*") if path.is_file())
    assert file == feel_place(book, "mira")
    assert "mira" not in str(file)
    assert not list(tmp_path.glob("*.tenthwright*"))  # nothing of it goes where the book lies


@pytest.mark.skipif(os.name != "posix", reason="rights as POSIX has them")
def test_other_users_of_the_computer_cannot_look_into_the_folder(book: Path) -> None:
    want_feel(book, "mira")
    assert stat.S_IMODE(feel_place(book, "mira").parent.stat().st_mode) == 0o700


def test_nothing_is_written_until_it_is_wanted(book: Path, data_folder: Path) -> None:
    assert not kept_feel(book, "mira").wanted
    assert not data_folder.exists()
    want_feel(book, "mira")
    assert kept_feel(book, "mira") == KeptFeel(wanted=True)
    keep_trial(book, "mira", trial("1", ".5"))
    want_feel(book, "mira")
    assert len(kept_feel(book, "mira").trials) == 1


def test_a_trial_whose_readings_were_all_taken_away_is_dropped(book: Path) -> None:
    keep_trial(book, "mira", trial("1", ".5"))
    keep_trial(book, "mira", trial("1"))
    keep_trial(book, "mira", trial("2"))
    assert kept_feel(book, "mira") == KeptFeel(wanted=True)


def test_forgetting_leaves_nothing(book: Path) -> None:
    place = feel_place(book, "mira")
    for content in (b"{", b"[]"):
        keep_trial(book, "mira", trial("1", ".5"))
        place.write_bytes(content)
    keep_trial(book, "mira", trial("2", ".5"))
    keep_trial(book, "bo", trial("3", ".5"))
    assert len(list(place.parent.iterdir())) == 4
    assert forget_feel(book, "mira")
    assert [path.name for path in place.parent.iterdir()] == [feel_place(book, "bo").name]
    assert not forget_feel(book, "mira")
    assert kept_feel(book, "mira") == KeptFeel()


def damaged() -> list[bytes]:
    good = {"form": 1, "trials": json.loads(msgspec.json.encode((trial("1", ".5"),)))}
    later = {**good, "form": 2}
    odd = json.loads(json.dumps(good))
    odd["trials"][0]["takes"][0]["quantity"]["unit"] = "furlong"
    return [b"", b"{", b"\xff\xfe", b"[]", b'{"trials": []}', *(json.dumps(each).encode() for each in (later, odd))]


@pytest.mark.parametrize("content", damaged())
def test_a_damaged_file_is_told_left_and_set_aside_by_the_next_trial(book: Path, content: bytes) -> None:
    place = feel_place(book, "mira")
    want_feel(book, "mira")
    place.write_bytes(content)
    found = kept_feel(book, "mira")
    (reason,) = found.said
    assert (found.trials, found.wanted) == ((), True)
    assert known(reason.code)
    assert place.name in say(reason)
    assert place.read_bytes() == content
    keep_trial(book, "mira", trial("1", ".5"))
    assert kept_feel(book, "mira") == KeptFeel((trial("1", ".5"),), wanted=True)
    (aside,) = (path for path in place.parent.iterdir() if path != place)
    assert aside.read_bytes() == content


def test_a_full_file_takes_no_more_and_keeps_what_it_has(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feel, "MOST_TRIALS", 2)
    keep_trial(book, "mira", trial("1", ".5"))
    keep_trial(book, "mira", trial("2", ".5"))
    with pytest.raises(Refused, match=r"feel\.refused\.full"):
        keep_trial(book, "mira", trial("3", ".5"))
    keep_trial(book, "mira", replace(trial("2", ".5", ".5001"), day="2026-03-02"))
    assert [len(one.takes) for one in kept_feel(book, "mira").trials] == [1, 2]


def test_a_folder_that_cannot_be_made_is_told(book: Path, data_folder: Path) -> None:
    data_folder.write_text("a file where the folder should be")
    with pytest.raises(BookFailure) as failed:
        keep_trial(book, "mira", trial("1", ".5"))
    assert known(failed.value.reasons[0].code)

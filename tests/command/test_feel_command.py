"""A block read again and again by command line: what is told, what is kept for whom, and how it is forgotten."""

from __future__ import annotations

import io
import itertools
import json
import uuid
from pathlib import Path
from typing import Any

import pytest

from app.command.main import run
from app.command.outcome import Exit
from inspection.sheet import acts
from inspection.sheet.people import Person
from storage.book.clock import Moment
from storage.book.door import Book
from storage.feel import feel_place

READINGS = ".5001 .5000 .5001 .5000 .4999 .5000 .5001 .5000 .5000 .5001"


class Bench:
    """A book with two people, asked by command lines."""

    def __init__(self, folder: Path) -> None:
        self.book = folder / "shop.tenthwright"
        self.numbers = itertools.count(1)
        assert self.say("new", "--shop", "Quillfeather", "--person", "Mira Oduya", "--starter-crib")[0] == Exit.DONE
        with Book.open(self.book) as book:
            self.mira = next(iter(book.shop().people))
            self.bo = next(
                identity
                for identity in book.do(acts.EnterPerson(person=Person("", "Bo Tran")), person=self.mira).shop.people
                if identity != self.mira
            )

    def say(self, *argv: str) -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()
        code = run(
            [*argv, "--book", str(self.book)],
            clock=lambda: Moment(next(self.numbers) * 1_000_000, "2026-03-01"),
            identities=lambda: str(uuid.UUID(int=next(self.numbers), version=4)),
            environ={"TENTHWRIGHT_PASSPHRASE": "long enough"},
            out=out,
            err=err,
        )
        assert "Traceback" not in out.getvalue() + err.getvalue()
        assert "[" not in err.getvalue()
        return code, out.getvalue(), err.getvalue()

    def feel(self, *argv: str, person: str = "Mira Oduya") -> tuple[int, str, str]:
        return self.say("feel", *argv, "--as", person)

    def told(self, *argv: str, person: str = "Mira Oduya") -> dict[str, Any]:
        code, out, err = self.feel(*argv, "--json", person=person)
        assert (code, err) == (Exit.DONE, "")
        found: dict[str, Any] = json.loads(out)
        return found


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return Bench(tmp_path)


def test_what_readings_show_stands_beside_what_the_instrument_should_do(bench: Bench) -> None:
    code, out, err = bench.feel("M-01", "--block", ".5", "--readings", READINGS)
    assert (code, err) == (Exit.DONE, "")
    assert "M-01 on a block of 0.5 in: 10 readings" in out
    for figure, shown, should in (
        ("bias", "0.0000300 in", "±0.0001 in (outside)"),
        ("scatter s", "0.0000675 in (ν = 9)", "0.00003 in (its record)"),
        ("at most (95.45 %)", "0.000113 in", ""),
    ):
        line = next(line for line in out.splitlines() if line.startswith(figure))
        assert shown in line
        assert should in line
    assert "was not kept" in out


def test_it_is_kept_only_for_who_asked_and_only_for_themselves(bench: Bench, tmp_path: Path) -> None:
    before = bench.book.read_bytes()
    first = bench.told("M-01", "--block", ".5", "--readings", READINGS)
    assert (first["kept"], first["file"]) == (False, "")
    assert not feel_place(bench.book, bench.mira).exists()
    kept = bench.told("M-01", "--block", ".25 + .25", "--readings", READINGS, "--keep")
    assert kept["file"] == str(feel_place(bench.book, bench.mira))
    later = bench.told("C-05", "--block", "1", "--readings", "1; 25.41 mm; 1.0005")  # wanted by now
    assert later["kept"] is True
    listed = bench.told()["trials"]
    assert [(one["tag"], one["written"], one["n"]) for one in listed] == [("M-01", ".25 + .25", 10), ("C-05", "1", 3)]
    assert listed[0]["bias"] == first["trial"]["bias"] == "0.00003"
    assert [one["tag"] for one in bench.told("C-05")["trials"]] == ["C-05"]
    assert bench.told(person="Bo Tran") == {"done": True, "wanted": False, "trials": []}
    assert bench.book.read_bytes() == before  # nothing of it is in the shop's book


def test_the_list_says_where_it_lies_and_forgetting_is_one_step(bench: Bench) -> None:
    bench.feel("M-01", "--block", ".5", "--readings", ".5 .5 .5", "--keep")
    _, out, _ = bench.feel()
    assert str(feel_place(bench.book, bench.mira)) in out
    assert "Mira Oduya alone" in out
    assert "hidden" in out  # equal readings have no scatter to list
    assert bench.told("--forget", person="Bo Tran")["forgotten"] is False
    assert bench.told("--forget")["forgotten"] is True
    assert list(feel_place(bench.book, bench.mira).parent.iterdir()) == []
    assert "No trial of yours is kept." in bench.feel()[1]
    assert bench.told("M-01", "--block", ".5", "--readings", ".5")["kept"] is False  # asked anew


def test_a_damaged_file_is_told_and_kept_beside(bench: Bench) -> None:
    bench.feel("M-01", "--block", ".5", "--readings", ".5 .5001", "--keep")
    place = feel_place(bench.book, bench.mira)
    place.write_bytes(b"{damaged")
    code, out, err = bench.feel()
    assert code == Exit.DONE
    assert place.name in err
    assert "No trial" in out
    code, _, err = bench.feel("M-01", "--block", ".5", "--readings", ".5 .5001")
    assert (code, place.name in err) == (Exit.DONE, True)
    assert len(bench.told()["trials"]) == 1
    assert sorted(path.read_bytes() == b"{damaged" for path in place.parent.iterdir()) == [False, True]


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (("M-01", "--block", ".5"), ["no readings of it"]),
        (("M-01", "--readings", ".5"), ["not of what"]),
        (("--block", ".5", "--readings", ".5"), ["no instrument"]),
        (("M-01", "--block", ".5", "--readings", ".5", "--forget"), ["asked for together"]),
        (("M-99", "--block", ".5", "--readings", ".5"), ["M-99"]),
        (("M-01", "--block", "1.5", "--readings", ".5"), ["outside the range"]),
        (("R-01", "--block", "1", "--readings", "1"), ["not read on a gauge block"]),
        (("M-01", "--block", ".5", "--readings", " "), ["no reading in"]),
        (("M-01", "--block", ".5", "--readings", ".5 .5o .5001 1,250"), ["Reading 2, “.5o”", "Reading 4, “1,250”"]),
    ],
)
def test_what_cannot_be_is_refused_in_words(bench: Bench, argv: tuple[str, ...], said: list[str]) -> None:
    code, out, err = bench.feel(*argv, *(["--keep"] if "--forget" not in argv else []))
    assert (code, out) == (Exit.REFUSED, "")
    assert all(each in err for each in said), err
    assert not feel_place(bench.book, bench.mira).exists()


def test_a_reading_with_the_mark_of_a_slip_is_pointed_out(bench: Bench) -> None:
    _, out, _ = bench.feel("M-01", "--block", ".5", "--readings", ".5 .5001 .4750 .5")
    assert "Reading 3, “.4750”: This stands apart" in out
    assert "whole turn of the thimble" in out

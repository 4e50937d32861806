"""Copies of one book on one station: behind, ahead, the same, and parted. Each is told for what it is, when it is
opened and when it is checked, and none of them is told that nothing was at hand."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from app.jobs.hand import Hand
from app.jobs.station_head import go_by
from inspection.reasons import Reason
from inspection.sheet import acts
from inspection.words.say import say
from storage.book import reaching
from storage.book.carried import check_heads
from storage.book.clock import new_identity, wall_clock
from storage.book.door import Book


class Two:
    """A book with one signed sheet, and a copy of it at another place."""

    def __init__(self, folder: Path, made: Path, sheet: str, person: str) -> None:
        self.main = Path(shutil.copy(made, folder / "main.tenthwright"))
        self.copy = Path(shutil.copy(made, folder / "copy.tenthwright"))
        self.sheet, self.person = sheet, person

    def work(self, path: Path, times: int = 1, *, sheet: bool = True) -> tuple[Reason, ...]:
        """Open a book, do something so many times, close it; what was said at the opening."""
        with Hand.open(path, wall_clock, new_identity) as hand:
            for n in range(times):
                about: Any = acts.IssueRules(rules=hand.book.shop().rules)
                if sheet:
                    about = acts.RecordSent(sheet=self.sheet, form="csv", name=f"{n}.csv", digest="ab" * 32)
                hand.book.do(about, person=self.person)
            return hand.book.notices


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, key: Any, bench_kind: Any) -> tuple[Path, str, str]:
    bench = bench_kind(tmp_path_factory.mktemp("copies") / "made.tenthwright", key)
    bench.make_sheet(rows=1, serials=("001",))
    bench.take(0)
    bench.sign()
    bench.book.close()
    return bench.path, bench.sheet_id, bench.person


@pytest.fixture
def two(tmp_path: Path, made: tuple[Path, str, str], monkeypatch: pytest.MonkeyPatch) -> Two:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    found = Two(tmp_path, *made)
    assert found.work(found.main, 0) == ()
    return found


def codes(path: Path) -> tuple[list[str], list[str]]:
    """What is found of a book against heads: faults, and what else is said."""
    found = check_heads(path)
    return [each.code for each in found.faults], [each.code for each in found.statements]


def test_a_copy_that_is_behind_is_told_as_that(two: Two) -> None:
    two.work(two.main, 3)
    assert codes(two.copy) == ([], ["head.copy_ahead"])
    said = say(check_heads(two.copy).statements[0])
    assert str(two.main) in said and "3 entries more" in said
    (told,) = two.work(two.copy, 0)
    assert told.code == "head.copy_further" and str(two.main) in say(told)
    assert two.work(two.main, 0) == ()
    assert codes(two.main) == ([], ["head.held", "head.copy_behind"])


def test_copies_that_hold_the_same_are_told_as_that(two: Two) -> None:
    assert codes(two.copy) == ([], ["head.copy_same"])
    assert two.work(two.copy, 0) == ()


@pytest.mark.parametrize(("here", "there"), [(2, 5), (5, 2), (3, 3)])
def test_copies_that_went_different_ways_are_told_with_both_heads_and_where_they_part(
    two: Two, here: int, there: int
) -> None:
    parted = end_of(two.main).position
    two.work(two.main, here)
    two.work(two.copy, there, sheet=False)
    for path, other in ((two.main, two.copy), (two.copy, two.main)):
        faults, rest = codes(path)
        assert faults == ["head.copy_apart"] and "head.none_at_hand" not in rest
        said = say(check_heads(path).faults[0])
        for part in (str(other), f"after entry {parted}", end_of(path).told, end_of(other).told, "HB-7 001", "--go-by"):
            assert part in said, (part, said)
        (told,) = two.work(path, 0)
        assert told.code == (
            "head.copy_other" if end_of(path).position >= end_of(other).position else "head.copy_further"
        )
    go_by(two.main)
    assert codes(two.main)[0] == [] and two.work(two.main, 0) == ()
    two.work(two.copy, 0)
    assert codes(two.main)[0] == [], "a look into the other one changes nothing"
    two.work(two.copy, 1)
    assert codes(two.main)[0] == ["head.copy_apart"], "that the other one goes on is told"


@pytest.mark.parametrize(("there", "faults"), [(4, []), (1, ["head.copy_apart_gone"])])
def test_a_copy_that_is_gone_is_told_by_the_head_it_had(two: Two, there: int, faults: list[str]) -> None:
    """Where it had gone farther, nobody can say any more whether it went another way."""
    two.work(two.main, 2)
    two.work(two.copy, there)
    two.copy.unlink()
    found, rest = codes(two.main)
    assert (found, rest) == (faults, ["head.held", *([] if faults else ["head.beyond"])])


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a place that never answers is made as a named pipe")
def test_a_place_that_does_not_answer_is_waited_for_with_word_of_it_and_let_go(
    two: Two, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Opening a named pipe that nobody writes to waits as a share does whose server is gone."""
    two.work(two.main, 2)
    two.work(two.copy, 4)
    two.copy.unlink()
    os.mkfifo(two.copy)
    monkeypatch.setattr(reaching, "PATIENCE", 0.3)
    steps: list[tuple[int, int]] = []
    found = check_heads(two.main, progress=lambda done, of: steps.append((done, of)))
    assert [each.code for each in found.statements] == ["head.held", "head.beyond", "head.copy_silent"]
    assert str(two.copy) in say(found.statements[-1]) and set(steps) == {(0, 1), (1, 1)} and steps[-1] == (1, 1)

    def stop(_done: int, _of: int) -> None:
        raise InterruptedError

    monkeypatch.setattr(reaching, "PATIENCE", 600)
    with pytest.raises(InterruptedError):
        check_heads(two.main, progress=stop)
    assert two.work(two.main, 1)[0].code == "head.copy_further", "nothing is held by what waited"


def end_of(path: Path) -> Any:
    with Book.open(path, only_read=True) as book:
        return book.head()

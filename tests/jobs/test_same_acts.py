"""A reading file writes, to the byte, what the same acts write when they are handed in one by one, as at the Bench."""

from __future__ import annotations

import itertools
import shutil
import sqlite3
import uuid
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from app.jobs.hand import Hand
from app.jobs.opening_shop import open_shop
from app.jobs.reading_in import read_in
from app.jobs.signing import sign
from app.jobs.taking_in import take_in
from inspection.instruments.crib import offers
from inspection.measuring.reading import Observed, Role, Slot
from inspection.quantity.reader import read
from inspection.quantity.units import Quantity
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from storage.book.clock import Moment
from storage.intake.faults import FileRefused
from storage.intake.features import read_features
from storage.intake.readings import read_readings

FEATURES = """\
# part,QF-11
# revision,A
# serials,"A1, A2"
number,kind,requirement
1,outside diameter,⌀.7500 ±.0005
2,length,1.250 ±.005
3,note,DEBURR ALL EDGES
4,thread,8-32 UNC-2B
"""
READINGS = """\
serial,number,role,reading,instrument,reason,replaces,withdraw,answer,note
A1,1,,.7752,,,,,,
A1,1,,.7502,,,,,new reading,
A2,1,,.7752,,,,,,
A2,1,,,,,,,keep,
A1,2,,1.25,C-03,at hand,,,,
A1,2,,1.252,,read at an angle,1,,,
A2,2,,1.249,,,,,,
A2,2,,,,wrong piece,,yes,,
A1,3,,as required,,,,,,under the lamp
A1,4,go,enters,,,,,,
"""


def ticking(first: int) -> Callable[[], Moment]:
    seconds = itertools.count(first)
    return lambda: Moment(next(seconds) * 1_000_000, "2026-09-21")


def counted(first: int) -> Callable[[], str]:
    numbers = itertools.count(first)
    return lambda: str(uuid.UUID(int=next(numbers), version=4))


def hand_on(book: Path, *, later: bool) -> Hand:
    first = 2_000 if later else 1
    hand = (Hand.open if later else Hand.new)(book, ticking(1_790_000_000 + first), counted(first))
    if later:
        hand.be("")
    return hand


@pytest.fixture
def books(tmp_path: Path) -> tuple[Path, Path, str]:
    """Two books alike, with a sheet."""
    one, two = tmp_path / "one", tmp_path / "two"
    with hand_on(one, later=False) as hand:
        open_shop(hand, shop="Shop", person="Ada", passphrase="streng geheim", starter_crib=True)
        taken = take_in(hand, read_features(FEATURES.encode(), "f.csv"))
    shutil.copy(one, two)
    assert taken.sheet is not None
    return one, two, taken.sheet.identity


def journal(book: Path) -> list[bytes]:
    with closing(sqlite3.connect(book)) as connection:
        return [row[0] for row in connection.execute("SELECT content FROM journal ORDER BY sequence")]


class Bench:
    """Acts handed in one by one, each made from the sheet as it stands."""

    def __init__(self, hand: Hand, sheet: str) -> None:
        self.hand, self.sheet = hand, sheet
        self.state = hand.book.sheet(sheet)
        self.rows = {row.number: row.identity for row in self.state.plan.characteristics}
        self.pieces = {piece.serial: piece.identity for piece in self.state.pieces}

    def do(self, act: acts.AnyAct) -> tuple[ev.Event, ...]:
        return self.hand.book.do(act, person=self.hand.person).events

    def take(
        self,
        serial: str,
        number: str,
        quantity: Quantity | None = None,
        observed: Observed | None = None,
        slot: Slot | None = None,
        **more: str,
    ) -> tuple[str, str]:
        """The identities of the reading, and of the question it raised."""
        act = acts.TakeReading(
            sheet=self.sheet,
            characteristic=self.rows[number],
            piece=self.pieces[serial],
            slot=slot or Slot(),
            quantity=quantity,
            observed=observed,
            **more,  # type: ignore[arg-type]
        )
        events = self.do(act)
        reading = next(event.reading.identity for event in events if isinstance(event, ev.ReadingTaken))
        asked = next((event.question.identity for event in events if isinstance(event, ev.QuestionAsked)), "")
        return reading, asked


def by_hand(bench: Bench) -> None:
    """What ``READINGS`` says, act by act."""
    _, asked = bench.take("A1", "1", read(".7752", unit="in"))
    bench.take("A1", "1", read(".7502", unit="in"), answers=asked)
    _, asked = bench.take("A2", "1", read(".7752", unit="in"))
    bench.do(acts.KeepAsWritten(sheet=bench.sheet, question=asked))
    shop = bench.hand.book.shop()
    caliper = next(offer for offer in offers(shop.crib, "2026-09-21") if offer.parts[0].tag == "C-03")
    bench.do(
        acts.ChooseInstrument(
            sheet=bench.sheet, characteristic=bench.rows["2"], method=caliper.method, reason="at hand"
        )
    )
    wrong, _ = bench.take("A1", "2", read("1.25", unit="in"))
    bench.take("A1", "2", read("1.252", unit="in"), replaces=wrong, reason="read at an angle")
    wrong, _ = bench.take("A2", "2", read("1.249", unit="in"))
    bench.do(acts.TakeBack(sheet=bench.sheet, reading=wrong, reason="wrong piece"))
    bench.take("A1", "3", observed=Observed.AS_REQUIRED, slot=Slot(role=Role.FINDING))
    bench.do(
        acts.WriteNote(
            sheet=bench.sheet, characteristic=bench.rows["3"], piece=bench.pieces["A1"], text="under the lamp"
        )
    )
    bench.take("A1", "4", observed=Observed.ENTERS, slot=Slot(role=Role.GO))


def test_the_journal_is_the_same_to_the_byte(books: tuple[Path, Path, str]) -> None:
    one, two, sheet = books
    with hand_on(one, later=True) as hand:
        read_in(hand, sheet, read_readings(READINGS.encode(), "r.csv"))
        filed = sign(hand, sheet, "streng geheim", incomplete="half way").sheet.seals[-1]
    with hand_on(two, later=True) as hand:
        by_hand(Bench(hand, sheet))
        typed = sign(hand, sheet, "streng geheim", incomplete="half way").sheet.seals[-1]
    assert filed.content == typed.content
    signed = 2  # the last ones hold the seal and its signature in the PDF, which are never twice the same
    assert journal(one)[:-signed] == journal(two)[:-signed]


def test_a_file_with_one_fault_changes_nothing(books: tuple[Path, Path, str]) -> None:
    one, two, sheet = books
    with hand_on(one, later=True) as hand, pytest.raises(FileRefused) as caught:
        read_in(hand, sheet, read_readings((READINGS + "A1,4,go,enters,,,,,,\n").encode(), "r.csv"))
    (fault,) = caught.value.faults
    assert fault.row == 12
    assert journal(one) == journal(two)


def test_what_another_hand_did_meanwhile_refuses_the_whole_file(
    books: tuple[Path, Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between rehearsal and transaction another program took one of the readings."""
    one, _, sheet = books
    with hand_on(one, later=True) as hand:
        file = read_readings(b"serial,number,reading\nA2,2,1.25\nA1,2,1.25\n", "r.csv")
        do_all = hand.book.do_all

        def interrupted(*given: object, **named: object) -> object:
            with Hand.open(one, ticking(1_780_000_000), counted(9_000)) as other:
                other.be("")
                Bench(other, sheet).take("A1", "2", read("1.25", unit="in"))
            return do_all(*given, **named)  # type: ignore[arg-type]

        monkeypatch.setattr(hand.book, "do_all", interrupted)
        with pytest.raises(Refused) as caught:
            read_in(hand, sheet, file)
        assert isinstance(caught.value, FileRefused)
        assert [fault.row for fault in caught.value.faults] == [3]
        assert len(hand.book.sheet(sheet).readings) == 1


def test_a_refused_sheet_leaves_the_plan_unissued(books: tuple[Path, Path, str]) -> None:
    one, two, _ = books
    with hand_on(one, later=True) as hand, pytest.raises(Refused):
        take_in(hand, read_features(FEATURES.encode(), "f.csv"), ("A1", "A1"))
    assert journal(one) == journal(two)

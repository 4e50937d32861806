"""An invented bracket, not the demo's part, and what happens while three pieces of it are measured: one story, told as
the rows of a reading file, which command line and window carry out alike."""

from __future__ import annotations

import csv
import io
import itertools
import shutil
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from msgspec import Struct

from app.command.main import run
from app.jobs.hand import Hand
from app.jobs.proving import prove
from app.jobs.reading_in import read_in
from inspection.sheet.cells import waiting
from storage.book.clock import Moment
from storage.book.queries.sheets import list_sheets
from storage.intake.readings import read_readings

HERE = Path(__file__).parent
SHOP, PERSON, PASSPHRASE = "Tern & Plover", "Ines Varga", "nine blue herons"
DAY = "2026-09-21"
FIRST_SECOND = 1_790_000_000

Row = dict[str, str]


class Step(Struct, frozen=True):
    """What happens at one slot, beside or in place of its plain reading; each row is one of a reading file."""

    before: tuple[Row, ...] = ()
    instead: tuple[Row, ...] = ()


#: By number and piece: everything that is no plain reading.
EVENTS: dict[tuple[str, str], Step] = {
    # a slip, answered with a new reading off the part
    ("3", "A2"): Step(instead=({"reading": ".5248"}, {"reading": ".4998", "answer": "new reading"})),
    # a slip that is kept as written: the slot is out
    ("13", "A3"): Step(instead=({"reading": ".2140"}, {"answer": "keep"})),
    # a correction
    ("4", "A1"): Step(
        instead=({"reading": ".7496"}, {"reading": ".7498", "replaces": "1", "reason": "read between the lines"})
    ),
    # one's own last entry taken back, and read again
    ("24", "A2"): Step(instead=({"reading": ".0041"}, {"withdraw": "yes"}, {"reading": ".0028"})),
    # another instrument, with a reason
    ("7", "A1"): Step(instead=({"reading": "1 1/2", "instrument": "R-02", "reason": "the caliper is at the lathe"},)),
    # a note
    ("16", "A1"): Step(before=({"note": "the leaf touches in the middle"},)),
}
FIELDS = (
    "serial",
    "number",
    "place",
    "role",
    "reading",
    "instrument",
    "reason",
    "replaces",
    "withdraw",
    "answer",
    "note",
)


def ticking(first: int) -> Callable[[], Moment]:
    """A clock that ticks a second an entry."""
    seconds = itertools.count(first)
    return lambda: Moment(next(seconds) * 1_000_000, DAY)


def counted(first: int) -> Callable[[], str]:
    """Identities that count."""
    numbers = itertools.count(first)
    return lambda: str(uuid.UUID(int=next(numbers), version=4))


class Walk:
    """A folder with a copy of the bracket's book, to be measured; time and identities go on where the book was left,
    the same in every copy."""

    def __init__(self, folder: Path, book: Path, sheet: str) -> None:
        self.folder, self.sheet = folder, sheet
        self.book = Path(shutil.copy(book, folder / "bracket.tenthwright"))
        self.clock, self.identities = ticking(FIRST_SECOND + 10_000), counted(10_000)
        self.said: list[str] = []

    def command(self, *argv: str) -> int:
        """Carry out one command line on the book; its output is kept in ``said``."""
        out = io.StringIO()
        code = run(
            [*argv, "--book", str(self.book)],
            clock=self.clock,
            identities=self.identities,
            environ={"TENTHWRIGHT_PASSPHRASE": PASSPHRASE},
            out=out,
            err=out,
        )
        self.said.append(out.getvalue())
        return code

    def hand(self) -> Hand:
        """The book opened by the one person in it."""
        hand = Hand.open(self.book, self.clock, self.identities)
        hand.be("")
        return hand


def as_file(rows: list[Row]) -> str:
    """Rows as the text of a reading file."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, FIELDS, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


@pytest.fixture(scope="session")
def features() -> Path:
    """The bracket's feature file."""
    return HERE / "bracket_features.csv"


@pytest.fixture(scope="session")
def bracket(tmp_path_factory: pytest.TempPathFactory, features: Path) -> tuple[Path, str]:
    """A book with the shop and the bracket's sheet, its instruments checked and nothing read yet, made by command line;
    and the sheet's name. The shop asks for no check after the work: what that asks is walked elsewhere."""
    book = tmp_path_factory.mktemp("bracket") / "bracket.tenthwright"
    given = {
        "clock": ticking(FIRST_SECOND),
        "identities": counted(1),
        "environ": {"TENTHWRIGHT_PASSPHRASE": PASSPHRASE},
    }
    for line in (
        ["new", "--shop", SHOP, "--person", PERSON, "--starter-crib"],
        ["rules", "--set", "closing check under=none"],
        ["take-in", str(features)],
    ):
        out = io.StringIO()
        assert run([*line, "--book", str(book)], out=out, err=out, **given) == 0, out.getvalue()
    with Hand.open(book, given["clock"], given["identities"]) as hand:
        hand.be("")
        (listed,) = hand.book.ask(list_sheets, limit=2)
        prove(hand, listed.sheet, hand_tags())
    return book, listed.sheet


def hand_tags() -> set[str]:
    """The marks of instruments that the story takes beside those on the route."""
    rows = (row for step in EVENTS.values() for row in (*step.before, *(step.instead or ())))
    return {row["instrument"] for row in rows if row.get("instrument")}


@pytest.fixture
def new_walk(bracket: tuple[Path, str], tmp_path: Path) -> Callable[[str], Walk]:
    """Make a copy of the bracket's book in a folder of the name given."""

    def make(name: str) -> Walk:
        folder = tmp_path / name
        folder.mkdir()
        return Walk(folder, *bracket)

    return make


@pytest.fixture(scope="session")
def story(bracket: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> tuple[Row, ...]:
    """Everything that is read on the three pieces, in the order of the route, which another instrument changes on the
    way: found by carrying it out on a copy."""
    walk = Walk(tmp_path_factory.mktemp("story"), *bracket)
    told: list[Row] = []
    with walk.hand() as hand:
        for rows in _at_each_slot(hand, walk.sheet):
            told += rows
            read_in(hand, walk.sheet, read_readings(as_file(list(rows)).encode(), "story.csv"))
    return tuple(told)


@pytest.fixture(scope="session")
def measured(bracket: tuple[Path, str], story: tuple[Row, ...], tmp_path_factory: pytest.TempPathFactory) -> Walk:
    """The bracket read and signed by command line."""
    walk = Walk(tmp_path_factory.mktemp("measured"), *bracket)
    readings = walk.folder / "readings.csv"
    readings.write_text(as_file(list(story)), encoding="utf-8")
    assert walk.command("read", str(readings)) == 0, walk.said
    assert walk.command("sign") == 0, walk.said
    return walk


@pytest.fixture(scope="session")
def story_file() -> Callable[[list[Row]], str]:
    """Rows as the text of a reading file."""
    return as_file


def _at_each_slot(hand: Hand, sheet_id: str) -> Iterator[tuple[Row, ...]]:
    values = _values()
    events = dict(EVENTS)
    at = None
    while True:
        sheet, shop = hand.book.sheet(sheet_id), hand.book.shop()
        following = next(waiting(shop, sheet, after=at), None)
        if following is None:
            assert not events, "every event of the story has its slot"
            return
        characteristic, piece, slot = following
        at = characteristic, piece
        number = sheet.characteristic(characteristic).number
        serial = next(each.serial for each in sheet.pieces if each.identity == piece)
        role = "" if slot.role in ("value", "finding") else str(slot.role)
        where = {"serial": serial, "number": number, "place": slot.place, "role": role}
        step = events.pop((number, serial), Step())
        plain = ({"reading": values[number.partition(".")[0], slot.place, role][serial]},)
        yield tuple({**where, **row} for row in (*step.before, *(step.instead or plain)))


def _values() -> dict[tuple[str, str, str], Row]:
    with (HERE / "bracket_values.csv").open(encoding="utf-8", newline="") as file:
        return {(row["number"], row["place"], row["role"]): row for row in csv.DictReader(file)}

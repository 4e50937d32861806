"""The whole job on an invented part of an invented shop, in a book and folder of its own.

Two earlier sheets give the part a history, and a second part lies on the bench half measured. Everything goes through
the same acts as real work, on the days it is said to be done. The folder is the demo's: its files are made anew each
time, and a folder that holds anything else is left alone.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from contextlib import suppress
from datetime import date, timedelta
from importlib.resources import files
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from app.jobs.hand import Hand
from app.jobs.opening_shop import open_shop
from app.jobs.people import entering, new_key
from app.jobs.proving import prove
from app.jobs.reading_in import read_in
from app.jobs.record import enter_record
from app.jobs.sending import FORMS, USUAL, report_of, send
from app.jobs.signing import sign
from app.jobs.taking_in import take_in
from inspection.instruments.record import Instrument
from inspection.instruments.starter import starter_crib
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.people import Duty
from inspection.sheet.report import Report
from storage.book.clock import Clock, Identities, Moment
from storage.book.failures import telling
from storage.intake.evidence import read_evidence
from storage.intake.features import read_features
from storage.intake.readings import read_readings

SHOP = "Quillfeather Machine"
INSPECTOR = "Mira Oduya"
LEAD = "Tomas Brandvold"
BOOK = "demo.tenthwright"
SHEET = "OB-2207-C"
#: The demo's sheets by their files, and how many days before its day each was made.
SHOP_OPENED = 240
EARLIER = (("carrier_b", 190), ("carrier_c_first", 75))
PRESENT = "carrier_c"
ON_THE_BENCH = "spacer"
#: Where the instruments lie, by the letter of their mark.
PLACES = {
    "A": "cabinet 3, drawer 1", "B": "cabinet 2, drawer 3", "C": "cabinet 1, drawer 1", "F": "cabinet 3, drawer 2",
    "G": "granite room, safe", "H": "granite room", "I": "granite room, shelf 1", "M": "cabinet 1, drawer 2",
    "P": "cabinet 2, drawer 1", "Q": "granite room, shelf 2", "R": "bench 1", "S": "cabinet 2, drawer 2",
    "T": "cabinet 3, drawer 4",
}  # fmt: skip
#: Due dates of the demo's crib, in days after its day: spread over a year, and one instrument overdue.
SOONEST, SPREAD, EVERY = 21, 340, 53
OVERDUE = ("C-15", -12)


class Demo(Struct, frozen=True):
    """What the demo made: its files by form ("book", "pdf" …), the report, the demo person's passphrase."""

    files: dict[str, Path]
    report: Report
    sheet: str
    passphrase: str


def default_folder() -> Path:
    """The demo's own folder in the user's data folder."""
    from platformdirs import user_data_path

    return user_data_path("tenthwright", appauthor=False) / "demo"


def run_demo(folder: Path, clock: Clock, identities: Identities, progress: Callable[[str], None] | None = None) -> Demo:
    """Take the demo's part through planning, readings, verdicts, signing and export; ``progress`` is told each step.

    Raises Refused for a folder that holds anything but a demo, BookFailure for what the disk will not have.
    """
    told = progress or (lambda _step: None)
    book = _cleared(folder)
    passphrase = f"demo-{secrets.token_hex(4)}"
    calendar = _Calendar(clock, SHOP_OPENED)
    with Hand.new(book, calendar, identities) as hand:
        told("shop")
        _shop(hand, passphrase, calendar.day_of_demo())
        told("history")
        for name, days in EARLIER:
            calendar.days = days
            earlier = _measured(hand, name)
            prove(hand, earlier, closing=True)
            sign(hand, earlier, passphrase)
        calendar.days = 0
        told("features")
        taken = _taken_in(hand, PRESENT)
        told("checks")
        _prove(hand, taken, PRESENT)
        told("readings")
        _read_in(hand, taken, PRESENT)
        prove(hand, taken, closing=True)
        told("record")
        name = f"{PRESENT}_record.csv"
        enter_record(hand, taken, read_evidence(_resource(name), name), folder)
        told("signing")
        signed = sign(hand, taken, passphrase).sheet
        made = {"book": book}
        for form in USUAL:
            told(form)
            made[form] = folder / f"{SHEET}{FORMS[form]}"
            send(hand, signed.identity, form, made[form])
        told("second")
        _measured(hand, ON_THE_BENCH)
        return Demo(made, report_of(hand, hand.book.sheet(signed.identity)), signed.identity, passphrase)


class _Calendar:
    """The demo's clock: the real one, some days earlier."""

    def __init__(self, clock: Clock, days: int) -> None:
        self._clock = clock
        self.days = days

    def __call__(self) -> Moment:
        now = self._clock()
        day = date.fromisoformat(now.day) - timedelta(days=self.days)
        return Moment(now.at - self.days * 86_400_000_000, day.isoformat())

    def day_of_demo(self) -> date:
        """The day on which the demo is run."""
        return date.fromisoformat(self._clock().day)


def _measured(hand: Hand, name: str) -> str:
    """Take in a part, prove its instruments and take in all of its readings; the sheet's identity."""
    sheet = _taken_in(hand, name)
    _prove(hand, sheet, name)
    _read_in(hand, sheet, name)
    return sheet


def _taken_in(hand: Hand, name: str) -> str:
    taken = take_in(hand, read_features(_resource(f"{name}.csv"), f"{name}.csv"))
    assert taken.sheet is not None
    return taken.sheet.identity


def _read_in(hand: Hand, sheet: str, name: str) -> None:
    read_in(hand, sheet, read_readings(_resource(f"{name}_readings.csv"), f"{name}_readings.csv"))


def _prove(hand: Hand, sheet: str, name: str) -> None:
    """Check what the sheet's rows ask for, and what its readings name beside."""
    rows = read_readings(_resource(f"{name}_readings.csv"), f"{name}_readings.csv").rows
    prove(hand, sheet, dict.fromkeys(tag for row in rows for tag in row.instrument.replace("+", " ").split()))


def _cleared(folder: Path) -> Path:
    """The place of the demo's book in an empty folder: an earlier demo's files are removed, and nothing else ever."""
    book = folder / BOOK
    own = {BOOK, f"{BOOK}-journal", *(f"{SHEET}{FORMS[form]}" for form in USUAL)}
    with telling(folder, "file"):
        folder.mkdir(parents=True, exist_ok=True)
        if not book.exists() and any(folder.iterdir()):
            raise Refused(Reason("command.demo.folder_in_use", {"folder": str(folder)}))
        for name in own:
            with suppress(FileNotFoundError):
                (folder / name).unlink()
    return book


def _resource(name: str) -> bytes:
    return (files("resources") / "demo" / name).read_bytes()


def _shop(hand: Hand, passphrase: str, day: date) -> None:
    """The shop with its inspector and lead, and a crib whose due dates are told from the demo's ``day``."""
    open_shop(hand, shop=SHOP, person=INSPECTOR, passphrase=passphrase)
    hand.book.do(entering(LEAD, (Duty.LEAD,), new_key(hand, LEAD, passphrase)), person=hand.person)
    hand.book.do(acts.IssueInstruments(instruments=_crib(day)), person=hand.person)


def _crib(day: date) -> tuple[Instrument, ...]:
    tag, overdue = OVERDUE
    due = (
        overdue if item.tag == tag else SOONEST + place * EVERY % SPREAD for place, item in enumerate(starter_crib("x"))
    )
    return tuple(
        replace(
            item,
            due=(day + timedelta(days=days)).isoformat() if item.due else "",
            place=PLACES.get(item.tag[:1], ""),
        )
        for item, days in zip(starter_crib("x"), due, strict=True)
    )

"""Makes the pictures in README: every room on the invented part, the printed sheet, the set-up page.

    .venv/bin/python .pictures/make.py [FOLDER [ROOM ...]]    (.pictures itself, and every room, if not given)

Every room at 1280×720, 1440×900 and scale 2, in both themes. Clock and identities are fixed, so that a picture
changes only when the program does.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from random import Random

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.background.opening import Opening
from app.bench.room import BenchRoom
from app.gauging.list_dialog import StudiesDialog
from app.gauging.result_dialog import ResultDialog
from app.jobs import demo
from app.jobs.hand import Hand
from app.jobs.proving import prove
from app.jobs.pulling import write_pull
from app.jobs.reading_in import read_in
from app.jobs.taking_in import take_in
from app.ledger.room import LedgerRoom
from app.window.early import Early
from app.window.frame import Frame
from app.window.sitting import Sitting
from app.window.start import furnish
from app.window.theme import NAMES, palette
from inspection.measuring.checks import configured
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.study_entry import asked_of, reading_act
from inspection.studies.conducted import Specimen, StudyKind
from storage.book.clock import Moment
from storage.intake.features import read_features
from storage.intake.readings import read_readings

DAY = datetime(2027, 3, 9, 7, 40, tzinfo=UTC)
SIZES = {"1280x720": (1280, 720, 100), "1440x900": (1440, 900, 100), "scale-2": (2880, 1800, 200)}
READ_TO = ("002", "24")  # the demo's readings are taken in up to this piece and row
AT, TYPED = "10", "1.2493"  # the row of that piece at which the entry then stands, and what is typed there
GUARDED = DecisionRule(RuleKind.GUARDED)  # the rule that the sheet half measured is judged by
LEFT_OUT = ("10", "14", "19")  # rows of that piece that nobody has come to yet
STEP = 2_540_000  # of a tenths micrometer
#: A row of the part whose limits changed with the revision, how many pieces more are measured on it, one every so many
#: days, and about what they come to in inches.
OFTEN, PIECES, EVERY, MEAN, SCATTER, GROWS = "12", 30, 2, 1.6243, 0.0006, 0.00004
ELSE = {"12": ("1.6285", "stop slipped; lead told")}  # readings of that piece that came out otherwise, with a note


def fixed_clock() -> Callable[[], Moment]:
    """Forty seconds between two looks at the clock."""
    seconds = count(step=40)
    return lambda: Moment(int(DAY.timestamp() + next(seconds)) * 1_000_000, DAY.date().isoformat())


class Later:
    """Forty seconds between two looks at the clock, some days after the fixed one."""

    def __init__(self) -> None:
        self.days, self._seconds = EVERY, count(step=40)

    def __call__(self) -> Moment:
        day = DAY + timedelta(days=self.days, seconds=next(self._seconds))
        return Moment(int(day.timestamp()) * 1_000_000, day.date().isoformat())


def fixed_identities() -> Callable[[], str]:
    """Identities counted up."""
    numbers = count(1)
    return lambda: str(uuid.uuid5(uuid.NAMESPACE_OID, str(next(numbers))))


def half_measured(book: Path) -> tuple[str, str, Moment]:
    """A book with the demo's part, measured half-way; the sheet, the person at the bench, and the moment."""
    with Hand.new(book, fixed_clock(), fixed_identities()) as hand:
        demo._shop(hand, "a picture's passphrase", DAY.date())
        taken = take_in(hand, read_features(demo._resource("carrier_c.csv"), "carrier_c.csv"))
        assert taken.sheet is not None
        sheet = taken.sheet.identity
        agreed = acts.ChooseDecisionRule(sheet=sheet, decision=GUARDED, reason="agreed with the customer")
        hand.be(demo.LEAD)
        hand.book.do(agreed, person=hand.person)
        hand.be(demo.INSPECTOR)
        demo._prove(hand, sheet, demo.PRESENT)
        log = acts.LogTemperature(sheet=sheet, part=21_600, instrument=20_900, thermometer="K-01", soak_minutes=30)
        hand.book.do(log, person=hand.person)
        lines = lines_before(*READ_TO)
        read_in(hand, taken.sheet.identity, read_readings(b"".join(lines), "carrier_c_readings.csv"))
        return sheet, hand.person, hand.foreseen.moment_ahead()


def gauge_study(hand: Hand) -> None:
    """Ten parts read three times each by everybody, as a shop's would come out: each person a little otherwise, and
    every reading on the micrometer's steps."""
    shop = hand.book.shop()
    micrometer = shop.by_tag("M-01")
    assert micrometer is not None
    readers = tuple(shop.people)[:3]
    start = acts.StartGaugeStudy(
        kind=StudyKind.CROSSED,
        title="Seat of the carrier",
        instrument=micrometer.identity,
        configuration=configured(micrometer),
        people=readers,
        specimens=tuple(Specimen(str(number)) for number in range(1, 11)),
        trials=3,
        band=10 * STEP,
        number="3",
    )
    study = hand.book.do(start, person=hand.person).stream
    for person in readers:
        while (asked := asked_of(held := hand.book.study(study), person)) is not None:
            if asked.question is not None:
                hand.book.do(acts.KeepStudyReading(study=study, reading=asked.question.identity), person=person)
                continue
            steps = hashlib.sha256(f"{asked.run} of the study".encode()).digest()[0] % 3 - 1
            part, of = int(asked.label), held.plan.runs[asked.run].person
            written = f"{(7494 + (part * 7) % 10 + (steps if of == 2 else steps // 2) + (of == 1)) / 10_000:.4f}"
            hand.book.do(reading_act(shop, held, person, written), person=person)


def lines_before(serial: str, number: str) -> Iterator[bytes]:
    """The demo's readings up to a row of a piece, without the rows left out and with those that came out otherwise."""
    for line in demo._resource("carrier_c_readings.csv").splitlines(keepends=True):
        at, row, *_ = line.decode().split(",")
        if (at, row) == (serial, number):
            return
        if at != serial or row not in {*LEFT_OUT, *ELSE}:
            yield line
        elif row in ELSE:
            read, note = ELSE[row]
            yield f"{serial},{row},,,{read},,,,,,{note}\n".encode()


def wait_for(app: QApplication, seen: Callable[[], object]) -> None:
    """Let the window work until ``seen``."""
    until = time.monotonic() + 20
    while not seen():
        app.processEvents()
        if time.monotonic() > until:
            raise TimeoutError("the window never showed it")
    app.processEvents()


def opened(
    app: QApplication, book: Path, last: Early, size: tuple[int, int, int], now: Moment | None = None
) -> tuple[Frame, Sitting]:
    """A window on a book, of this size: width and height in pixels, scale in per cent; for it, it is ``now``."""
    frame, sitting = furnish(app, last._replace(scale=size[2]))
    if now is not None:
        sitting._opener = lambda path: Opening(path, lambda: now)
    frame.resize(size[0], size[1])
    frame.show()
    sitting.begin(book)
    wait_for(app, lambda: sitting.house.shop is not None)
    settle(app)
    return frame, sitting


def closed(app: QApplication, frame: Frame, sitting: Sitting) -> None:
    """Close a window with everything on disk, and end it here: left to the collector it might end on another thread."""
    frame.close()
    wait_for(app, lambda: sitting.house.worker is None)
    frame.deleteLater()
    app.sendPostedEvents(frame, QEvent.Type.DeferredDelete)


def bench(
    app: QApplication, book: Path, last: Early, size: tuple[int, int, int], now: Moment
) -> Iterator[tuple[str, QImage]]:
    """The Bench with a sheet half measured."""
    frame, sitting = opened(app, book, last, size, now)
    type_at_the_row(frame)
    settle(app)
    frame.put_notice_away()
    settle(app)
    yield "bench", frame.grab().toImage()
    closed(app, frame, sitting)


def rooms(app: QApplication, book: Path, last: Early, size: tuple[int, int, int]) -> Iterator[tuple[str, QImage]]:
    """The other rooms, one after the other, on the demo's book."""
    frame, sitting = opened(app, book, last, size)
    for name in ("plan", "crib", "ledger", "desk"):
        frame.enter(name)
        settle(app)
        if name == "plan":
            QTest.keyClick(frame.windowHandle(), Qt.Key.Key_Down)
            QTest.keyClick(frame.windowHandle(), Qt.Key.Key_Return)
            settle(app)
        settle(app)
        frame.put_notice_away()
        settle(app)
        yield name, frame.grab().toImage()
    yield "gauge-study", result_of_study(app, frame)
    closed(app, frame, sitting)


def result_of_study(app: QApplication, frame: Frame) -> QImage:
    """The result of the gauge study, as it stands over the crib."""
    frame.enter("crib")
    settle(app)
    for key, kind in ((Qt.Key.Key_J, StudiesDialog), (Qt.Key.Key_R, ResultDialog)):
        QTest.keyClick((app.activeModalWidget() or frame).windowHandle(), key, Qt.KeyboardModifier.ControlModifier)
        wait_for(app, lambda kind=kind: isinstance(app.activeModalWidget(), kind))
        settle(app)
    picture = app.activeModalWidget().grab().toImage()
    for _ in range(2):
        QTest.keyClick(app.activeModalWidget().windowHandle(), Qt.Key.Key_Escape)
        settle(app)
    return picture


def in_time(hand: Hand, sheet: str, clock: Later) -> None:
    """Some months more of the part of a sheet: a piece every other day, one row of it measured."""
    plan, source = hand.book.sheet(sheet).plan, Random(12)
    for piece in range(PIECES):
        clock.days += EVERY
        head = Head(order=f"LH-{40_400 + piece // 6}", lot=f"L-{1_000 + piece // 6}")
        made = hand.book.do(
            acts.MakeSheet(plan=plan.identity, serials=(f"{101 + piece}",), head=head), person=hand.person
        )
        prove(hand, made.stream)
        value = MEAN + GROWS * piece + source.gauss(0, SCATTER)
        row = f"serial,number,reading\n{101 + piece},{OFTEN},{value:.4f}\n"
        read_in(hand, made.stream, read_readings(row.encode(), "readings.csv"))


def part(app: QApplication, book: Path, last: Early, size: tuple[int, int, int]) -> Iterator[tuple[str, QImage]]:
    """A row of the part in time, a result of it told; and how often which value came."""
    frame, sitting = opened(app, book, last, size)
    frame.enter("ledger")
    settle(app)
    room = frame.room("ledger")
    assert isinstance(room, LedgerRoom)
    QTest.keyClick(frame.windowHandle(), Qt.Key.Key_R, Qt.KeyboardModifier.AltModifier)
    wait_for(app, lambda: room.pages.rows_page is not None and room.pages.rows_page.looked is not None)
    page = room.pages.rows_page
    assert page is not None
    for _ in range([each.row.number for each in page.rows].index(OFTEN)):
        QTest.keyClick(frame.windowHandle(), Qt.Key.Key_Down)
    settle(app)
    for _ in range(3):
        QTest.keyClick(frame.windowHandle(), Qt.Key.Key_Left)
    settle(app)
    yield "part", frame.grab().toImage()
    QTest.keyClick(frame.windowHandle(), Qt.Key.Key_2, Qt.KeyboardModifier.AltModifier)
    settle(app)
    yield "distribution", frame.grab().toImage()
    closed(app, frame, sitting)


def type_at_the_row(frame: Frame) -> None:
    """A number is typed at the row and not entered."""
    room = frame.room("bench")
    assert isinstance(room, BenchRoom) and room.seen is not None
    sheet = room.seen.sheet
    row = next(each.identity for each in sheet.plan.characteristics if each.number == AT)
    room.flow.go((row, next(each.identity for each in sheet.pieces if each.serial == READ_TO[0])))
    QTest.keyClicks(room.entry, TYPED)


def settle(app: QApplication) -> None:
    """Half a second of the window's own time."""
    until = time.monotonic() + 0.5
    while time.monotonic() < until:
        app.processEvents()


def save(picture: QImage, file: Path) -> None:
    """Save a picture in the palette's and its most used colours, 256 of them: it has hardly more."""
    plain = picture.convertToFormat(QImage.Format.Format_RGB32)
    pixels = numpy.frombuffer(plain.constBits(), numpy.uint32)
    colors, often = numpy.unique(pixels, return_counts=True)
    used = [int(color) for color in colors[numpy.argsort(-often.astype(numpy.int64), kind="stable")]]
    own = [QColor(color).rgb() for name in NAMES for color in palette(name)]
    table = list(dict.fromkeys((*own, *used)))[:256]
    few = plain.convertToFormat(QImage.Format.Format_Indexed8, table, Qt.ImageConversionFlag.ThresholdDither)
    few.save(str(file))


def main(folder: Path, only: frozenset[str] = frozenset()) -> None:
    """Make every picture, or those of ``only`` these rooms."""

    def wanted(*rooms: str) -> bool:
        return not only or not only.isdisjoint(rooms)

    app = QApplication([])
    app.setCursorFlashTime(0)
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as lot:
        os.environ["XDG_CONFIG_HOME"] = os.environ["XDG_DATA_HOME"] = lot
        book = Path(lot) / "Quillfeather Machine.tenthwright"
        sheet, person, now = half_measured(book)
        clock, identities = fixed_clock(), fixed_identities()
        made = demo.run_demo(Path(lot) / "demo", clock, identities)
        whole = made.files["book"].rename(book.with_name(f"{book.stem} 2{book.suffix}"))
        with Hand.open(whole, clock, identities) as hand:
            hand.be(demo.INSPECTOR)
            office = hand.person
            gauge_study(hand)
            write_pull(hand, made.sheet, Path(lot) / "set-up.pdf", paper="Letter")
        months = Path(shutil.copy(whole, Path(lot) / "Quillfeather Machine 3.tenthwright"))
        if wanted("part", "distribution"):
            calendar = Later()
            with Hand.open(months, calendar, identities) as hand:
                hand.be(demo.INSPECTOR)
                in_time(hand, made.sheet, calendar)
        for theme in ("light", "dark"):
            for name, size in SIZES.items():
                last = Early(theme=theme, sheet=sheet, person=person)
                whose = last._replace(sheet=made.sheet, person=office)
                shown = (
                    *(bench(app, book, last, size, now) if wanted("bench") else ()),
                    *(rooms(app, whole, whose, size) if wanted("plan", "crib", "ledger", "desk") else ()),
                    *(part(app, months, whose, size) if wanted("part", "distribution") else ()),
                )
                for room, picture in shown:
                    if wanted(room):
                        save(picture, folder / f"{room}-{theme}-{name}.png")
        for file, name in ((made.files["pdf"], "page"), (Path(lot) / "set-up.pdf", "set-up-page")):
            if only:
                continue
            subprocess.run(["pdftoppm", "-r", "90", "-png", "-singlefile", str(file), str(folder / name)], check=True)
            save(QImage(str(folder / f"{name}.png")), folder / f"{name}.png")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent, frozenset(sys.argv[2:]))

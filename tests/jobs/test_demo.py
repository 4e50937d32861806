"""The demo: the same table every time, files in its own folder only, and what the drawing is meant to show."""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from app.jobs.demo import OVERDUE, Demo, run_demo
from app.jobs.hand import Hand
from inspection.drawing.characteristic import FeatureKind
from inspection.drawing.requirement import Form
from inspection.instruments.record import InstrumentKind
from inspection.measuring.verdict import Verdict
from inspection.reasons import Refused
from inspection.sheet.cells import open_cells
from storage.book.clock import Moment, new_identity, wall_clock
from storage.book.queries.sheets import list_sheets
from storage.book.verify import verify_book, verify_file

#: Kinds that no way of measuring reads alone: blocks set and prove other instruments.
NOT_READ = {InstrumentKind.GAUGE_BLOCKS, InstrumentKind.THERMOMETER}


def ticking(first: int, day: str) -> Callable[[], Moment]:
    seconds = itertools.count(first)
    return lambda: Moment(next(seconds) * 1_000_000, day)


def counted() -> Callable[[], str]:
    numbers = itertools.count(1)
    return lambda: str(uuid.UUID(int=next(numbers), version=4))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    folder = tmp_path_factory.mktemp("demo") / "Vorführung"
    return run_demo(folder, ticking(1_790_000_000, "2026-09-21"), counted())


def table(demo: Demo) -> list[tuple[object, ...]]:
    return [(line.number, line.requirement, line.results, line.state, line.verdict) for line in demo.report.lines]


def test_twice_on_other_days_gives_the_same_table(made: Demo) -> None:
    folder = made.files["book"].parent
    before = {path.name for path in folder.iterdir()}
    again = run_demo(folder, ticking(1_850_000_000, "2028-08-15"), counted())
    assert table(again) == table(made)
    assert {path.name for path in folder.iterdir()} == before == {path.name for path in made.files.values()}


def test_the_same_clock_and_identities_give_the_same_book(tmp_path: Path) -> None:
    """But for the keys, which are drawn at random."""
    contents = []
    for name in ("one", "two"):
        made = run_demo(tmp_path / name, ticking(1_790_000_000, "2026-09-21"), counted())
        with Hand.open(made.files["book"], wall_clock, new_identity) as hand:
            contents.append(hand.book.sheet(made.sheet).readings)
    assert contents[0] == contents[1]


def test_a_folder_with_anything_else_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "OB-2207-C.pdf").write_text("mine")
    with pytest.raises(Refused):
        run_demo(tmp_path, wall_clock, new_identity)
    assert [path.name for path in tmp_path.iterdir()] == ["OB-2207-C.pdf"]
    assert (tmp_path / "OB-2207-C.pdf").read_text() == "mine"


def test_what_the_drawing_is_meant_to_show(made: Demo) -> None:
    lines = made.report.lines
    states = [line.state for line in lines]
    assert 30 <= len(lines) <= 40
    assert states.count(Verdict.NOT_CONFORMING) == 1
    assert Verdict.OPEN not in states
    assert states.count(Verdict.MARGINAL) == 2
    assert any("read again" in note for line in lines for note in line.notes)


def test_every_form_kind_and_instrument_is_used(made: Demo) -> None:
    with Hand.open(made.files["book"], wall_clock, new_identity) as hand:
        sheet, shop = hand.book.sheet(made.sheet), hand.book.shop()
    rows = sheet.plan.characteristics
    assert {row.requirement.form for row in rows} == set(Form)
    assert {row.kind for row in rows} >= set(FeatureKind) - {FeatureKind.DEPTH, FeatureKind.STEP, FeatureKind.SLOT}
    used = {
        shop.issues[(part.identity, part.issue)].kind
        for reading in sheet.readings.values()
        for part in reading.method.parts
    }
    assert set(InstrumentKind) - used - NOT_READ == set()
    tags = {shop.issues[(p.identity, p.issue)].tag for r in sheet.readings.values() for p in r.method.parts}
    assert OVERDUE[0] not in tags
    assert len({one.due for one in shop.crib.values()}) > 50
    (question,) = sheet.questions.values()
    assert sheet.answers[question.identity].answer == "new reading"


def test_all_of_it_verifies(tmp_path: Path) -> None:
    made = run_demo(tmp_path, wall_clock, new_identity)
    assert verify_book(made.files["book"]).whole
    for form in ("pdf", "xlsx", "csv", "data"):
        assert verify_file(made.files[form], made.files["book"]).whole
    assert verify_file(made.files["data"]).whole


def test_the_part_has_a_history_and_a_second_part_lies_on_the_bench(made: Demo) -> None:
    with Hand.open(made.files["book"], wall_clock, new_identity) as hand:
        listed = hand.book.ask(list_sheets)
        present = hand.book.sheet(made.sheet)
        sheets = [hand.book.sheet(one.sheet) for one in listed]
    assert [(one.number, one.revision, one.sealed) for one in listed] == [
        ("LH-118", "A", False),
        ("OB-2207", "C", True),
        ("OB-2207", "C", True),
        ("OB-2207", "B", True),
    ]
    days = [date.fromisoformat(one.day) for one in listed]
    assert [(days[0] - day).days for day in days] == [0, 0, 75, 190]
    assert [sheet.plan.issue for sheet in sheets[1:]] == [3, 2, 1]
    kept = {row.identity for row in sheets[3].plan.characteristics}
    assert kept < {row.identity for row in present.plan.characteristics}
    spacer = sheets[0]
    assert {row.requirement.unit for row in spacer.plan.characteristics} == {"mm", "°", "µm"}
    assert sum(row.requirement.form is Form.FIT for row in spacer.plan.characteristics) >= 5
    first, second = ([piece for _, piece in open_cells(spacer)].count(one.identity) for one in spacer.pieces)
    assert (first, second) == (0, 17)
    assert not spacer.open_questions()

"""The rows of a part in time by keys: listed, charted, told point by point, spread, copied, written, pictured."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage

from app.jobs.looking_back import part_series, row_series, row_told
from app.jobs.results_told import COLUMNS
from app.ledger.back.charts import bars_of, range_plot, time_plot
from app.parts.marks import Mark
from app.parts.plot import Stroke
from inspection.drawing.plan import Plan
from inspection.measuring.reading import Slot
from inspection.measuring.slots import slots_of
from inspection.quantity.reader import read
from inspection.sheet import acts
from inspection.studies.history import Series, series_of
from storage.book.door import Book
from tests.benchmarks.bulk_book import make_bulk_book
from tests.ledger.conftest import ALT, CTRL, Ledger

ESCAPE, DOWN, LEFT, RIGHT = Qt.Key.Key_Escape, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right
SHIFT = Qt.KeyboardModifier.ShiftModifier


def opened(ledger: Ledger) -> Any:
    ledger.press(Qt.Key.Key_R, ALT)
    ledger.until(lambda: ledger.room.pages.rows_page is not None)
    page = ledger.room.pages.rows_page
    ledger.until(lambda: page.isVisible() and page.looked is not None and bool(page.page.toPlainText()))
    return page


def test_the_rows_of_the_chosen_sheet_s_part_by_keys(ledger: Ledger, answers: Any, tmp_path: Path) -> None:
    page = opened(ledger)
    line = ledger.room.line()
    assert page.title.text() == f"{line.part}, rows in time"
    with ledger.book() as book:
        part = book.sheet(line.sheet).plan.part_identity
        rows = part_series(book, part)
    assert len(page.list.items) == len(rows)
    assert page.list.hasFocus()
    out = [each.row.identity for each in rows if each.out]
    assert page.chosen().row.identity == out[0], "what was out stands first"
    assert "did not conform" in page.page.toPlainText()
    ledger.press(DOWN)
    ledger.until(lambda: page.looked.series.row.identity == page.rows[1].row.identity)
    shown = page.looked.series
    assert page.page.toPlainText().startswith(shown.row.number)
    assert page.shown.isVisible() is bool(shown.values)
    ledger.press(Qt.Key.Key_C, CTRL)
    copied = QGuiApplication.clipboard().text().splitlines()
    assert len(copied) == 1 + len(shown.results)
    assert {len(each.split("\t")) for each in copied} == {len(COLUMNS)}
    assert [each.split("\t")[1] for each in copied[1:]] == [each.serial for each in shown.results]
    data, picture = tmp_path / "row", tmp_path / "row.svg"
    answers[0].append({"file": str(data)})
    ledger.press(Qt.Key.Key_E, CTRL)
    ledger.until(data.with_suffix(".xlsx").exists)
    whole = tmp_path / "rows.csv"
    answers[0].append({"file": str(whole)})
    ledger.press(Qt.Key.Key_W, ALT)
    ledger.until(whole.exists)
    assert whole.read_text("utf-8-sig").count("\n") == 1 + len(rows)
    for file in (picture, picture.with_suffix(".png"), picture.with_suffix(".pdf")):
        answers[0].append({"file": str(file)})
        ledger.press(Qt.Key.Key_E, CTRL | SHIFT)
        ledger.until(file.exists)
    assert b"<svg" in picture.read_bytes()
    assert not QImage(str(picture.with_suffix(".png"))).isNull()
    assert picture.with_suffix(".pdf").read_bytes().startswith(b"%PDF")
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)


def test_results_are_told_one_by_one_and_lead_to_their_sheet(ledger: Ledger) -> None:
    page = opened(ledger)
    series, places = page.looked.series, page.shown.places
    assert page.shown.place() is None
    ledger.press(LEFT)
    assert page.shown.place() == places[-1]
    ledger.press(LEFT)
    ledger.press(RIGHT)
    ledger.press(RIGHT)
    ledger.press(LEFT)
    result, told = series.results[places[-2]], page.shown.line.text().replace("\u00a0", " ")
    assert page.shown.plot.place == page.shown.ranges.place == len(places) - 1
    people = {one.identity: one.name for one in ledger.house.shop.people.values()}
    tag = ledger.house.shop.crib[result.instrument].tag
    assert all(each in told for each in (result.day, result.serial, people[result.by], tag, "limits", "rev"))
    ledger.press(Qt.Key.Key_2, ALT)
    assert page.shown.spread
    assert page.shown.histogram.isVisible()
    ledger.press(Qt.Key.Key_Return)
    bench = ledger.frame.room("bench")
    ledger.until(lambda: bench.isVisible() and bench.seen is not None and bench.seen.sheet.identity == result.sheet)


def test_what_a_question_waits_about_is_named_and_its_sheet_opens_by_a_key(ledger: Ledger) -> None:
    """A tenfold size typed on a further piece and left: it stands apart from the results, and one key leads to it."""
    line = ledger.room.line()
    with ledger.book() as book:
        sheet = book.sheet(line.sheet)
        row = next(
            each
            for each in sheet.plan.characteristics
            if slots_of(each, None) == (Slot(),) and each.requirement.nominal
        )
        made = book.do(acts.MakeSheet(plan=sheet.plan.identity, serials=("Q1",)), person=sheet.made_by).sheet
        unit = row.requirement.unit
        ten = replace(read("1", unit=unit, kind=row.requirement.kind), count=10 * row.requirement.nominal)
        taking = acts.TakeReading(
            sheet=made.identity, characteristic=row.identity, piece=made.pieces[0].identity, slot=Slot(), quantity=ten
        )
        book.do(taking, person=sheet.made_by)
        assert book.sheet(made.identity).open_questions()
    ledger.press(Qt.Key.Key_H, ALT)
    ledger.until(lambda: "One question waits for an answer" in ledger.room.side.text())
    ledger.press(Qt.Key.Key_H, ALT)
    page = opened(ledger)
    names = [each.row.identity for each in page.rows]
    for _ in range(names.index(row.identity) - page.list.row()):
        ledger.press(DOWN)
    ledger.until(lambda: page.looked.series.row.identity == row.identity)
    assert "one question waits" in page.list.items[page.list.row()].told[0]
    assert f"piece Q1 of {page.looked.series.waiting[0].day}, sheet {made.identity[:8]}" in page.page.toPlainText()
    assert all(each.serial != "Q1" for each in page.looked.series.results)
    ledger.press(Qt.Key.Key_Q, ALT)
    bench = ledger.frame.room("bench")
    ledger.until(lambda: bench.isVisible() and bench.seen is not None and bench.seen.sheet.identity == made.identity)
    ledger.until(lambda: bench.flow.at is not None and bench.flow.at.row == row.identity)
    before = len(page.looked.series.results)
    ledger.press(Qt.Key.Key_Return)
    ledger.until(lambda: not bench.seen.sheet.open_questions())
    ledger.press(Qt.Key.Key_4, CTRL)
    ledger.until(lambda: not page.looked.series.waiting)
    assert page.isVisible()
    assert page.looked.series.row.identity == row.identity, "it is kept as written now, and counts"
    assert len(page.looked.series.results) == before + 1


def test_of_few_values_it_is_said_that_they_are_too_few(ledger: Ledger) -> None:
    page = opened(ledger)
    few = [place for place, each in enumerate(page.rows) if each.capability is not None and 0 < len(each.values) < 25]
    for _ in range(few[0] - page.list.row()):
        ledger.press(DOWN)
    ledger.until(lambda: "Too few for an index of capability" in page.page.toPlainText())
    assert "too few for capability" in page.list.items[few[0]].told[0]


# --- the plots ----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def charted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Series, dict[str, Plan], Any]:
    """A row of a shop's month with its plans, and the shop."""
    bulk = make_bulk_book(tmp_path_factory.mktemp("month") / "shop.tenthwright", 120, 4, 5)
    with Book.open(bulk.path) as book:
        series = row_series(book, bulk.parts[0], bulk.characteristics[0])
        return series, dict(book.plans_of(bulk.parts[0])), book.shop()


def test_the_charts_show_every_value_with_the_limits_of_row_and_chart(charted: Any) -> None:
    series, plans, _ = charted
    plot = time_plot(series, plans)
    values = [point for point in plot.points if point.mark is not Mark.OPEN]
    assert [point.y for point in values] == list(series.values)
    assert series.chart is not None
    ringed = {point.x - 1 for point in plot.points if point.mark is Mark.OPEN}
    assert ringed == set(series.chart.beyond)
    levels: dict[Stroke, list[int]] = {level.stroke: [] for level in plot.levels}
    for level in plot.levels:
        levels[level.stroke].append(level.y)
    asked = series.row.requirement
    assert levels[Stroke.LIMIT] == [asked.lower, asked.upper]
    assert levels[Stroke.CENTRE] == [round(series.chart.mean)]
    assert levels[Stroke.SCATTER] == [round(series.chart.lower), round(series.chart.upper)]
    ranges = range_plot(series)
    assert [(point.x, point.y) for point in ranges.points] == list(enumerate(series.chart.ranges, 2))
    assert ranges.reach == plot.reach, "both stand in line"


def test_limits_that_were_others_and_guard_bands_are_marked_where_they_were(charted: Any) -> None:
    series, plans, _ = charted
    (plan,) = plans.values()
    asked = series.row.requirement
    wider = replace(asked, lower=asked.lower - 1000, upper=asked.upper + 1000)
    older = replace(plan, identity="older", issue=0, part=replace(plan.part, revision="0"), characteristics=tuple(
        replace(row, requirement=wider) if row.identity == series.row.identity else row for row in plan.characteristics
    ))  # fmt: skip
    results = [
        replace(each, plan="older") if place < 10 else replace(each, guard=77 if place >= 50 else None)
        for place, each in enumerate(series.results)
    ]
    found = series_of(series.row, results, {**plans, "older": older})
    assert len(found.values) == len(series.values) - 10
    plot = time_plot(found, {**plans, "older": older})
    limits = [(one.y, one.begin, one.end, bool(one.label)) for one in plot.levels if one.stroke is Stroke.LIMIT]
    assert limits == [
        (wider.lower, None, 10, False),
        (wider.upper, None, 10, False),
        (asked.lower, 11, None, True),
        (asked.upper, 11, None, True),
    ]
    n = len(results)
    assert [(one.begin, one.end, one.low, one.high) for one in plot.hatches] == [
        (51, n, asked.lower, asked.lower + 77),
        (51, n, asked.upper - 77, asked.upper),
    ]
    assert [one.x for one in plot.uprights] == [11]
    assert [found.met(place) for place in range(n)] == [Fraction(value) for value in series.values]


def test_the_histogram_holds_every_value_and_a_curve_only_where_it_may(charted: Any) -> None:
    series, plans, shop = charted
    told = row_told(series, plans, shop)
    assert told.step == 2_540_000, "a micrometer of ten-thousandths of an inch"
    bars = bars_of(series, told.step, normal=True)
    assert bars is not None
    assert sum(bars.counts) == len(series.values)
    assert bars.curve == (float(series.capability.sample.mean), series.capability.sample.deviation)
    assert [level.y for level in bars.levels] == [series.row.requirement.lower, series.row.requirement.upper]
    assert bars_of(series, told.step, normal=False).curve is None
    assert told.normal is ("history.found.expected" in {each.code for each in told.findings})

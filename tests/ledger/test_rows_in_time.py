"""The rows of a part in time by keys: listed, charted, told, copied; and the chart itself on a shop's month."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from app.jobs.looking_back import part_series, row_series
from app.ledger.back.told import plot_of
from app.parts.marks import Mark
from app.parts.plot import Stroke
from storage.book.door import Book
from tests.benchmarks.bulk_book import make_bulk_book
from tests.ledger.conftest import ALT, CTRL, Ledger

ESCAPE, DOWN = Qt.Key.Key_Escape, Qt.Key.Key_Down


def opened(ledger: Ledger) -> object:
    ledger.press(Qt.Key.Key_R, ALT)
    ledger.until(lambda: ledger.room.pages.rows_page is not None)
    page = ledger.room.pages.rows_page
    ledger.until(lambda: page.isVisible() and page.looked is not None and bool(page.page.toPlainText()))
    return page


def test_the_rows_of_the_chosen_sheet_s_part_by_keys(ledger: Ledger) -> None:
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
    assert page.plot.isVisible() is bool(shown.values)
    ledger.press(Qt.Key.Key_C, CTRL)
    copied = QGuiApplication.clipboard().text().splitlines()
    assert len(copied) == 1 + len(shown.results)
    assert {len(each.split("\t")) for each in copied} == {8}
    assert [each.split("\t")[1] for each in copied[1:]] == [each.serial for each in shown.results]
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)


def test_of_few_values_it_is_said_that_they_are_too_few(ledger: Ledger) -> None:
    page = opened(ledger)
    few = [place for place, each in enumerate(page.rows) if each.capability is not None and 0 < len(each.values) < 25]
    for _ in range(few[0] - page.list.row()):
        ledger.press(DOWN)
    ledger.until(lambda: "Too few for an index of capability" in page.page.toPlainText())
    assert "too few for capability" in page.list.items[few[0]].told[0]


@pytest.mark.parametrize("number", [1, 3])
def test_the_chart_shows_every_value_with_the_limits_of_row_and_chart(tmp_path: Path, number: int) -> None:
    bulk = make_bulk_book(tmp_path / "shop.tenthwright", 120, 4, 5)
    with Book.open(bulk.path) as book:
        series = row_series(book, bulk.parts[0], bulk.characteristics[number - 1])
    plot = plot_of(series)
    values = [point for point in plot.points if point.mark is not Mark.OPEN]
    assert [point.y for point in values] == list(series.values)
    assert series.chart is not None
    ringed = {point.x - 1 for point in plot.points if point.mark is Mark.OPEN}
    assert ringed == set(series.chart.beyond)
    levels = {level.stroke: [] for level in plot.levels}
    for level in plot.levels:
        levels[level.stroke].append(level.y)
    asked = series.row.requirement
    assert levels[Stroke.LIMIT] == [asked.lower, asked.upper]
    assert levels[Stroke.CENTRE] == [round(series.chart.mean)]
    assert levels[Stroke.SCATTER] == [round(series.chart.lower), round(series.chart.upper)]

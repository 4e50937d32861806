"""Certificates over the years in the crib: plotted, an interval advised, a file opened by key; and what falls due."""

from __future__ import annotations

import io
import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QDesktopServices

from app.command.main import run
from app.crib.detail import DRIFT_PLOT
from inspection.instruments.record import CertifiedPoint, Use
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.sheet import acts
from storage.book.attached import attached
from storage.book.clock import Moment

ALT = Qt.KeyboardModifier.AltModifier
ERRORS = (0, 1, 2, 4)  # hundred-thousandths of an inch of .0001 permitted, one a year


def certify(crib: Any, tag: str) -> None:
    """Four certificates of as many years, each with its table."""
    for year, error in zip(range(2020, 2024), ERRORS, strict=True):
        held = crib.house.shop.by_tag(tag)
        points = tuple(
            CertifiedPoint(Use.OUTSIDE, INCH // part, error * INCH // 100_000 // part, INCH // 200_000)
            for part in (4, 2, 1)
        )
        record = replace(
            held,
            points=points,
            certificate=f"K-{year}",
            certified=f"{year}-03-01",
            due=f"{year + 1}-03-01",
            every_readings=500,
        )
        crib.house.do(acts.IssueInstrument(instrument=record))
        crib.settle()


def test_certificates_are_plotted_and_an_interval_is_advised(crib: Any) -> None:
    certify(crib, "M-01")
    crib.find("M-01")
    crib.qtbot.waitUntil(lambda: "Certificates together" in crib.page() and "Together:" in crib.page())
    plot = crib.room.side.record.shown_plot(DRIFT_PLOT)
    assert [(point.place[:4], point.y * 100_000 // INCH) for point in plot.points] == [
        ("2020", 0),
        ("2021", 1),
        ("2022", 2),
        ("2023", 4),
    ]
    assert all(point.reach == (point.y - INCH // 200_000, point.y + INCH // 200_000) for point in plot.points)
    assert sorted(level.y for level in plot.levels) == [-INCH // 10_000, 0, INCH // 10_000]
    page = crib.page()
    assert "12 months may become 15" in page and "ILAC-G24" in page and "The shop decides" in page
    assert "outside at 1 in: the error moves by 0.000013 in a year" in page
    assert "It was not read since its certificate; its interval allows 500 readings" in page
    assert "2023" in crib.room.side.record.accessibleDescription()
    # all sizes together, each a line with its name; then each alone; then the worst again
    crib.press(Qt.Key.Key_G, ALT)
    assert crib.room.side.record.verticalScrollBar().value() > 0, "what is plotted is brought in sight"
    together = crib.room.side.record.shown_plot(DRIFT_PLOT)
    assert together.names == (".25 in", ".5 in", "1 in") and "3 points together" in crib.page()
    assert [(name, y * 100_000 // INCH) for y, name in together.ends] == [(".25 in", 1), (".5 in", 2), ("1 in", 4)]
    assert [len([1 for point in together.points if point.series == n]) for n in range(3)] == [4, 4, 4]
    assert "outside at .25 in, 2023-03-01" in crib.room.side.record.accessibleDescription()
    for at in (".25 in", ".5 in", "1 in"):
        crib.press(Qt.Key.Key_G, ALT)
        assert f"outside at {at}: +" in crib.page() and "strokes are U" in crib.page()
        assert not crib.room.side.record.shown_plot(DRIFT_PLOT).names
    crib.press(Qt.Key.Key_G, ALT)
    assert crib.room.side.record.shown_plot(DRIFT_PLOT) == plot and "12 months may become 15" in crib.page()


def test_an_attached_file_is_opened_by_key_and_one_that_could_run_is_not(
    crib: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: opened.append(Path(url.toLocalFile())) or True)
    content = b"%PDF-1.7 stands for a certificate"
    one = attached("17-26.pdf", content)
    held = crib.house.shop.by_tag("M-01")
    crib.house.do(acts.IssueInstrument(instrument=replace(held, files=(one,))), files={one.digest: content})
    crib.settle()
    crib.find("M-01")
    crib.press(Qt.Key.Key_W, ALT)
    crib.qtbot.waitUntil(lambda: bool(opened))
    assert (opened[0].name, opened[0].read_bytes()) == ("17-26.pdf", content)
    script = attached("run.exe", b"MZ")
    held = crib.house.shop.by_tag("M-02")
    crib.house.do(acts.IssueInstrument(instrument=replace(held, files=(script,))), files={script.digest: b"MZ"})
    crib.settle()
    crib.find("M-02")
    crib.press(Qt.Key.Key_W, ALT)
    crib.qtbot.waitUntil(lambda: "could do more than be read" in crib.frame.notice())
    assert len(opened) == 1


def test_what_falls_due_is_said_quietly_after_the_opening_and_a_key_leads_to_it(
    open_crib: Any, what_comes_later: None
) -> None:
    def prepare(book: Any, _sheet: str) -> None:
        shop, today = book.shop(), date.today()
        person = next(iter(shop.people))
        for tag, days in (("C-05", -1), ("C-06", 14), ("M-01", 15), ("M-02", 0)):
            due = (today + timedelta(days=days)).isoformat()
            book.do(acts.IssueInstrument(instrument=replace(shop.by_tag(tag), due=due)), person=person)
        book.do(acts.IssueRules(rules=replace(shop.rules, remind_days=14)), person=person)

    crib = open_crib(prepare=prepare)
    crib.qtbot.waitUntil(lambda: bool(crib.frame.notice()))
    assert crib.frame.notice() == (
        "One instrument is overdue. 2 instruments are due within 14 days. Shift+F9 lists them."
    )
    crib.press(Qt.Key.Key_1, Qt.KeyboardModifier.ControlModifier)
    crib.press(Qt.Key.Key_F9, Qt.KeyboardModifier.ShiftModifier)
    assert crib.room.isVisible() and (crib.tags(), crib.frame.notice()) == (["C-05"], "")
    crib.press(Qt.Key.Key_F9, Qt.KeyboardModifier.ShiftModifier)
    assert crib.tags() == ["C-06", "M-02"]
    crib.press(Qt.Key.Key_F9, Qt.KeyboardModifier.ShiftModifier)
    assert crib.tags() == ["C-05"]


def test_what_was_read_as_often_as_it_may_be_is_listed_as_overdue(
    open_crib: Any, take: Any, what_comes_later: None
) -> None:
    tags: list[str] = []

    def prepare(book: Any, sheet: str) -> None:
        tags.append(take(book, sheet, "2", "1.2501"))
        held = book.shop().by_tag(tags[0])
        since = replace(held, certified=date.today().isoformat(), certificate="K-9", every_readings=1)
        book.do(acts.IssueInstrument(instrument=since), person=next(iter(book.shop().people)))

    crib = open_crib(prepare=prepare)
    crib.qtbot.waitUntil(lambda: "One instrument is overdue" in crib.frame.notice())
    crib.press(Qt.Key.Key_F9, Qt.KeyboardModifier.ShiftModifier)
    assert crib.tags() == tags
    crib.qtbot.waitUntil(lambda: "was read once" in crib.page())
    assert "read as often as it may be" in crib.page() and "Nobody can choose it" in crib.page()


def test_what_falls_due_is_told_by_the_shops_rule_and_by_use(crib: Any) -> None:
    rules = replace(crib.house.shop.rules, remind_days=10)
    crib.house.do(acts.IssueRules(rules=rules))
    days = {"C-05": "2098-01-11", "C-06": "2098-01-12", "M-01": "2097-12-31"}
    for tag, due in days.items():
        crib.house.do(acts.IssueInstrument(instrument=replace(crib.house.shop.by_tag(tag), due=due)))
        crib.settle()

    def told(*more: str) -> tuple[int, dict[str, Any]]:
        out = io.StringIO()
        now = Moment(4_039_437_600_000_000, "2098-01-01")
        code = run(
            ["due", "--json", "--book", str(crib.path), *more],
            clock=lambda: now,
            environ={},
            out=out,
            err=io.StringIO(),
        )
        return code, {each["tag"]: each for each in json.loads(out.getvalue())["instruments"]}

    code, found = told()
    assert code == 1
    assert set(found) & set(days) == {"C-05", "M-01"}, "within ten days, the tenth one too"
    assert (found["M-01"]["state"], found["C-05"]["days_left"]) == ("overdue", 10)
    assert set(days) <= set(told("--within", "11")[1])

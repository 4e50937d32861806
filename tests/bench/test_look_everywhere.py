"""Every room, the rail, the strip, the pages without a book and every question: no words wider than their place, none
too small, none too faint. Contrast as WCAG 2.1 defines it, 1.4.3: 4.5 : 1."""

from __future__ import annotations

from collections import Counter

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QAbstractButton, QLabel, QPushButton, QScrollArea, QWidget

from app.bench import questions
from app.parts.fitted import Fitted, Sentence
from app.window import asking
from app.window.dialog import QuestionDialog
from app.window.keys import ROOMS
from app.window.people import ask_new_book
from app.window.theme import NAMES, SMALL


def luminance(color) -> float:
    parts = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in color.getRgbF()[:3])
    return sum(part * share for part, share in zip(parts, (0.2126, 0.7152, 0.0722), strict=True))


def contrast(one, other) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def faults(root: QWidget) -> list[str]:
    """What is wrong with the words of a window's labels and buttons."""
    found, picture = [], root.grab().toImage()
    for widget in [*root.findChildren(QLabel), *root.findChildren(QPushButton)]:
        if widget.isVisible() and widget.text() and not widget.visibleRegion().isEmpty():
            found += [f"{what}: {widget.text()}" for what in _wrong(widget, root, picture)]
    for area in root.findChildren(QScrollArea):
        if area.isVisible() and area.widget() is not None and area.widget().width() > area.viewport().width():
            found.append("scrolled sideways")
    return found


def _wrong(widget, root, picture):
    if widget.font().pixelSize() < SMALL:
        yield "small"
    if isinstance(widget, QPushButton):
        wide, high = widget.fontMetrics().horizontalAdvance(widget.text()), widget.fontMetrics().height()
        if wide > widget.width():
            yield "cut"
    elif isinstance(widget, Fitted):
        if widget.fontMetrics().horizontalAdvance(widget.text()) > widget.width():
            yield "cut"
    elif not isinstance(widget, Sentence):
        flags = Qt.TextFlag.TextWordWrap if widget.wordWrap() else Qt.AlignmentFlag.AlignLeft
        needed = widget.fontMetrics().boundingRect(QRect(0, 0, widget.width(), 9999), int(flags), widget.text())
        wide, high = needed.width(), needed.height()
        if wide > widget.width() or high > widget.height():
            yield "cut"
    ground = _ground(widget, root, picture)
    if not isinstance(widget, QAbstractButton):
        role = QPalette.ColorRole.WindowText
        if contrast(widget.palette().color(role), ground) < 4.5:
            yield "faint"


def _ground(widget, root, picture):
    """The colour most seen where a widget's words stand."""
    shown = widget.visibleRegion().boundingRect()
    at = widget.mapTo(root, shown.topLeft())
    across, down = range(0, shown.width(), 3), range(0, shown.height(), 2)
    seen = Counter(picture.pixel(at.x() + x, at.y() + y) for x in across for y in down)
    return QColor(seen.most_common(1)[0][0])


@pytest.mark.parametrize("theme", NAMES)
@pytest.mark.parametrize("room", ROOMS)
def test_every_room_at_every_size(bench, room, theme):
    bench.house.set_theme(bench.house.theme.named(theme))
    bench.frame.enter(room)
    for size in ((1280, 720), (1440, 900)):
        bench.frame.resize(*size)
        bench.qtbot.wait(120)
        assert faults(bench.frame) == []
        bench.house.noticed.emit("The disk is full. Nothing was lost, and what was read is kept. " * 3, True)
        bench.qtbot.wait(30)
        assert faults(bench.frame) == []
        bench.frame.put_notice_away()


def test_the_pages_without_a_book(bench):
    frame = bench.frame
    frame._pages.setCurrentWidget(frame.waiting)
    bench.qtbot.wait(30)
    assert faults(frame) == []


@pytest.mark.parametrize("theme", NAMES)
def test_every_question_of_the_bench_and_the_frame(bench, theme):
    bench.house.set_theme(bench.house.theme.named(theme))
    asked: list[asking.Question] = []

    def answer(_parent, question):
        asked.append(question)

    asking.replace_asker(answer)
    try:
        bench.go("1")
        room = bench.room
        for ask in (
            room.asking.instrument,
            room.asking.note,
            room.setting.temperature,
            room.setting.rule,
            bench.frame._show_keys,
        ):
            ask()
        questions.ask_repeats(room, "1", 1, 3, "the mean of 3 readings would settle it, the first one among them")
        questions.ask_closing(room, room.seen.parts(room.flow.at.row))
        questions.ask_which(room, room.seen.parts(room.flow.at.row))
        bench.frame.person_wanted.emit()
        ask_new_book(bench.frame, bench.path)
    finally:
        asking.replace_asker(None)
    assert len(asked) >= 10
    for question in asked:
        dialog = QuestionDialog(bench.frame, question)
        bench.qtbot.addWidget(dialog)
        dialog.show()
        bench.qtbot.wait(30)
        assert faults(dialog) == [], question.title
        dialog.close()

"""A path too long for its field gives way in its folders; the name of the file stays to be read."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QApplication

from app.window.path_line import PathLine, shortened

PATH = "/home/somebody/shared drive/quality/books of the shop in the yard/of this year/yard.tenthwright"


@pytest.fixture
def metrics(qapp: QApplication) -> QFontMetrics:
    return QFontMetrics(qapp.font())


def test_a_path_with_room_stays_whole(metrics: QFontMetrics) -> None:
    assert shortened(PATH, metrics.horizontalAdvance(PATH) + 1, metrics) == PATH


@pytest.mark.parametrize("part", [3, 2])
def test_folders_give_way_in_their_middle(metrics: QFontMetrics, part: int) -> None:
    width = metrics.horizontalAdvance(PATH) // part
    shown = shortened(PATH, width, metrics)
    assert shown.endswith("/yard.tenthwright") and shown.startswith("/home") and "…" in shown
    assert metrics.horizontalAdvance(shown) <= width


def test_a_name_alone_keeps_its_beginning_and_its_ending(metrics: QFontMetrics) -> None:
    width = metrics.horizontalAdvance("yard.tenth")
    shown = shortened(PATH, width, metrics)
    assert shown.startswith("ya") and shown.endswith("ht") and "…" in shown
    assert metrics.horizontalAdvance(shown) <= width


@pytest.mark.parametrize("path", ["", "yard.tenthwright", "/", "/only/folders/"])
def test_any_text_of_the_field_can_be_shown(metrics: QFontMetrics, path: str) -> None:
    assert shortened(path, 10_000, metrics) == path
    assert metrics.horizontalAdvance(shortened(path, 20, metrics)) <= 20 or path == ""


def test_the_whole_path_is_in_the_tool_tip(qtbot) -> None:
    line = PathLine(PATH)
    qtbot.addWidget(line)
    assert line.toolTip() == PATH
    line.setText("/elsewhere/yard.tenthwright")
    assert line.toolTip() == "/elsewhere/yard.tenthwright"

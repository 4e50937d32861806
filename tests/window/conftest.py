"""A frame with no book behind it, questions answered by the test, and silence: no Qt message may pass unseen."""

from __future__ import annotations

import pytest
from PySide6.QtCore import qInstallMessageHandler

from app.window import asking
from app.window.start import furnish
from storage.settings import Settings

#: Messages that are no fault of this program, each with its reason.
ALLOWED = ("This plugin does not support propagateSizeHints()",)  # the offscreen platform has no window manager


@pytest.fixture(autouse=True)
def silence():
    """Fail on any message of Qt's that is not allowed."""
    heard: list[str] = []
    before = qInstallMessageHandler(lambda _kind, _context, text: heard.append(text))
    yield
    qInstallMessageHandler(before)
    assert [text for text in heard if text not in ALLOWED] == []


@pytest.fixture
def answers(monkeypatch):
    """Answers to coming questions, in order; ``asked`` holds the questions. An unexpected question fails."""
    waiting: list[object] = []
    asked: list[asking.Question] = []

    def answer(_parent, question):
        asked.append(question)
        assert waiting, f"nobody expected to be asked: {question.title}"
        return waiting.pop(0)

    asking.replace_asker(answer)
    yield waiting, asked
    asking.replace_asker(None)
    assert waiting == [], "a question that the test expected was never asked"


@pytest.fixture
def frame_and_sitting(qapp, qtbot):
    frame, sitting = furnish(qapp, Settings(theme="light", scale=100))
    frame.resize(1280, 720)
    yield frame, sitting
    frame.close()
    qtbot.waitUntil(lambda: sitting.house.worker is None)
    with qtbot.waitSignal(frame.destroyed):
        frame.deleteLater()


@pytest.fixture
def frame(frame_and_sitting):
    return frame_and_sitting[0]

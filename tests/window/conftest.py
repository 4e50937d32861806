"""A frame with no book behind it."""

from __future__ import annotations

import pytest

from app.window.start import furnish
from storage.settings import Settings


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

"""What every test stands on: no screen, the same examples in every CI run, silence, and answers given by the test."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

settings.register_profile(
    "ci", derandomize=True, deadline=None, print_blob=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("bench", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "bench")

#: Messages that are no fault of this program, each with its reason.
ALLOWED = ("This plugin does not support propagateSizeHints()",)  # the offscreen platform has no window manager


@pytest.fixture(scope="session", autouse=True)
def own_data(tmp_path_factory):
    """No test touches the folders of whoever runs it, but for the cache, where the typeface is."""
    with pytest.MonkeyPatch.context() as patch:
        for kind in ("data", "config", "state"):
            patch.setenv(f"XDG_{kind.upper()}_HOME", str(tmp_path_factory.mktemp(kind)))
        yield


@pytest.fixture(autouse=True)
def no_copies(own_data):
    """Tests copy one book again and again, and none of them works on what another one left at another place."""
    shutil.rmtree(Path(os.environ["XDG_DATA_HOME"], "tenthwright", "heads"), ignore_errors=True)


@pytest.fixture(autouse=True)
def silence(request):
    """Fail on any message of Qt's that is not allowed, in every test that has an application."""
    if "qapp" not in request.fixturenames and "qtbot" not in request.fixturenames:
        yield
        return
    from PySide6.QtCore import qInstallMessageHandler

    heard: list[str] = []
    before = qInstallMessageHandler(lambda _kind, _context, text: heard.append(text))
    yield
    qInstallMessageHandler(before)
    assert [text for text in heard if text not in ALLOWED] == []


@pytest.fixture(autouse=True)
def nothing_later(request, monkeypatch):
    """What the window loads and tells a moment after the opening does not come at any time into a test that is about
    something else; the fixture ``what_comes_later`` lets it come."""
    if "qapp" in request.fixturenames or "qtbot" in request.fixturenames:
        from app.window import sitting

        soon = sitting.WARM_AFTER if "what_comes_later" in request.fixturenames else 10**8
        monkeypatch.setattr(sitting, "WARM_AFTER", soon)


@pytest.fixture
def what_comes_later():
    """Asked for by a test of what comes a moment after the opening."""


@pytest.fixture(autouse=True)
def in_words(request, monkeypatch):
    """Fail where a code that has no words, or a sentence that lacks a part, is told: codes are put together too, and
    no search of the sources finds those."""
    from inspection.words import catalogue

    missing: list[str] = []
    tell = catalogue.unworded
    monkeypatch.setattr(catalogue, "unworded", lambda name, texts: missing.append(name) or tell(name, texts))
    yield
    assert not missing or request.node.get_closest_marker("unworded"), missing


@pytest.fixture
def answers(monkeypatch):
    """Answers to coming questions, in order; ``asked`` holds the questions. An unexpected question fails."""
    from app.window import asking

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

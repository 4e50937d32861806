"""Ctrl+C while the program is still being loaded: code 130 (128 + SIGINT, the shells' convention) and not a word."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from app.command.outcome import Exit
from app.command.start import STOPPED

#: Begins as ``-m`` would, with the signal sent when a module is about to be loaded.
BEGUN = """
import importlib.abc, os, runpy, signal, sys
begun, awaited, sys.argv = sys.argv[1], sys.argv[2], [sys.argv[0], *sys.argv[3:]]
class AtImport(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name == awaited:
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, AtImport())
runpy.run_module(begun, run_name="__main__")
"""


def stopped(begun: str, module: str, *argv: str) -> tuple[int, str, str]:
    environ = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    command = [sys.executable, "-P", "-c", BEGUN, begun, module, *argv]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60, env=environ)
    return done.returncode, done.stdout, done.stderr


@pytest.mark.skipif(os.name != "posix", reason="a signal is sent")
@pytest.mark.parametrize("module", ["app.command.main", "argparse", "msgspec", "inspection.words.say"])
def test_the_command_line_leaves_quietly(module: str) -> None:
    assert stopped("app.command.start", module, "list") == (Exit.STOPPED, "", "")


@pytest.mark.skipif(os.name != "posix", reason="a signal is sent")
@pytest.mark.parametrize("module", ["app.window.start", "PySide6.QtWidgets", "app.window.frame"])
def test_the_window_leaves_quietly(module: str) -> None:
    assert stopped("app.window.__main__", module) == (Exit.STOPPED, "", "")


def test_the_code_is_the_documented_one() -> None:
    assert int(Exit.STOPPED) == STOPPED

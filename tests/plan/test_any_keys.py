"""Whatever keys come in whatever order: nothing breaks, and no characteristic is there twice."""

from __future__ import annotations

import random

import pytest

from app.window import asking

KEYS = (
    "Up", "Down", "Left", "Right", "Home", "End", "PageUp", "PageDown", "Tab", "Shift+Tab", "Return", "Shift+Return",
    "F2", "Escape", "Delete", "Backspace", "Ctrl+C", "Ctrl+X", "Ctrl+V", "Ctrl+A", "Ctrl+I", "Ctrl+D", "Alt+Up",
    "Alt+Down", "Ctrl+K", "Ctrl+J", "Ctrl+R", "Ctrl+PageDown", "Ctrl+PageUp", "Ctrl+E", "Ctrl+Z", "Ctrl+Y", "Ctrl+G",
    "F4", "Shift+Down", "Shift+Right", "Shift+Up", "Ctrl+Home", "Ctrl+End", "Ctrl+Return", "Ctrl+S", "Ctrl+M", "F7",
)  # fmt: skip
TYPED = ("1", "b", "4X .5 ±.01", "le", "\t", "o", "±", " ", '"', "⌀.5")


@pytest.mark.parametrize("seed", range(2))
def test_any_keys(planner, seed) -> None:
    chance = random.Random(seed)

    def answer(_parent, question):
        answers = {
            field.name: chance.choice([value for value, _ in field.choices] or ["1", "3", "-1", "7.1", "", "A"])
            for field in question.fields
        }
        wrong = question.check(answers) if question.check else ""
        return None if wrong or chance.random() < 0.3 else answers

    asking.replace_asker(answer)
    try:
        planner.press("Ctrl+N")
        planner.types("M-1\tA")
        planner.press("F4")
        planner.clipboard("1\tlength\t4X 1.25 ±.01\tn\tlathe\n2\tbore\t.25 ±.01\tm\tmill\n3\tnote\tX\n")
        planner.press("Ctrl+V")
        for _ in range(300):
            if chance.random() < 0.3:
                planner.types(chance.choice(TYPED))
            else:
                planner.press(chance.choice(KEYS))
            come_back(planner)
            held = [row.identity for row in planner.writing.draft.rows if row.identity]
            assert len(held) == len(set(held))
        planner.settle()
    finally:
        asking.replace_asker(None)


def come_back(planner) -> None:
    """To the plan again where the keys led elsewhere."""
    if planner.frame._pages.currentWidget() is not planner.room:
        planner.settle()
        planner.press("Ctrl+2")
    if not planner.room._is_writing:
        planner.settle()
        planner.press("Return")
        planner.settle()
        if not planner.room._is_writing:
            planner.press("Ctrl+N")

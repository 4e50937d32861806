"""The Plan room at every size, in both themes and at twice the scale: nothing cut or too small, every code in words."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from app.parts.fitted import Fitted
from app.plan import questions
from app.plan.columns import COLUMNS, LEAST, pages, widths
from app.plan.head import LINES
from app.plan.keys import LIST_KEYS, PLAN_KEYS, TABLE_KEYS
from app.plan.work import SheetAhead
from app.window import asking
from app.window.dialog import QuestionDialog
from app.window.theme import NAMES, SMALL
from inspection.drawing.plan import Part
from inspection.reasons import Reason
from inspection.words.say import known, say

ROWS = (
    "1\toutside diameter\t⌀.7500 +.0000/-.0005\tbearing seat\tlathe\n"
    "2\tbore\t4X ⌀.136 +.004/-.001\tscrew holes\tmill\n"
    "3\tlength\t1.25 ±.0O1\tbody\tlathe\n"
    "4\tthread\t8-32 UNC-2B\tclamp\tmill\n"
    "6\tlength\t1.2500 ±.0003\toverall\tlathe\n"
)


def cut(root: QWidget) -> list[str]:
    """The words that are wider or higher than their place, or too small."""
    found = []
    for widget in [*root.findChildren(QLabel), *root.findChildren(QPushButton)]:
        if not widget.isVisible() or not widget.text() or widget.visibleRegion().isEmpty():
            continue
        metrics, box = widget.fontMetrics(), QRect(0, 0, widget.width(), 9999)
        one_line = isinstance(widget, (Fitted, QPushButton)) or not widget.wordWrap()
        flags = Qt.AlignmentFlag.AlignLeft if one_line else Qt.TextFlag.TextWordWrap
        needed = metrics.boundingRect(box, int(flags), widget.text())
        if needed.width() > widget.width() or needed.height() > widget.height() or widget.font().pixelSize() < SMALL:
            found.append(widget.text())
    return found


def fill(planner) -> None:
    planner.press("Ctrl+N")
    planner.types("EP-310\tA\tEyepiece adapter")
    planner.press("F4")
    planner.clipboard(ROWS)
    planner.press("Ctrl+V", "Ctrl+Home")


@pytest.mark.parametrize("theme", NAMES)
@pytest.mark.parametrize(("size", "scale"), [((1280, 720), 100), ((1440, 900), 100), ((2560, 1440), 200)])
def test_nothing_is_cut(open_plan, theme, size, scale) -> None:
    planner = open_plan(size, theme=theme, scale=scale)
    assert cut(planner.room) == []
    fill(planner)
    for keys in (("Down",), ("Down",), ("F4",), ("Tab",), ("F4",), ("Ctrl+G",)):
        planner.press(*keys)
        planner.qtbot.wait(220)
        assert cut(planner.room) == [], keys
        assert planner.writing.form.width() <= planner.writing._scrolled.viewport().width()
    planner.press("Ctrl+L")
    planner.settle()
    assert cut(planner.room) == []


def test_the_smallest_window_keeps_table_and_title(open_plan) -> None:
    planner = open_plan((1280, 720), scale=250)
    fill(planner)
    planner.qtbot.wait(200)
    assert planner.table.viewport().height() >= 2 * planner.table.rowHeight(0)
    assert planner.writing.foot.open.isVisible() and planner.writing.title.isVisible()
    assert cut(planner.writing.foot) == []


def test_in_a_low_room_the_head_of_a_new_plan_is_not_written_over(open_plan) -> None:
    planner = open_plan((1280, 720), scale=250)
    planner.press("Ctrl+N")
    writing = planner.writing
    planner.qtbot.waitUntil(lambda: writing._scrolled.isVisible() and not writing._hint.isVisible())
    planner.press("F4")
    planner.qtbot.waitUntil(lambda: writing._hint.isVisible() and not writing._scrolled.isVisible())


def test_pages_hold_every_column_and_fill_the_room() -> None:
    for room in (500, 800, 1100, 1400, 3000):
        made = pages(room)
        assert {name for page in made for name in page} == set(COLUMNS)
        for page in made:
            wide = widths(page, room)
            assert sum(wide.values()) == pytest.approx(room)
            if len(page) > 5:
                assert all(wide[name] >= LEAST[name] for name in page)
    assert len(pages(3000)) == 1


def test_every_code_of_the_room_has_words() -> None:
    codes = [f"plan.column.{name}" for name in COLUMNS]
    codes += [f"plan.head.{name}{end}" for line in LINES for name, _wide in line for end in ("", ".long")]
    codes += [key.code for keys in (LIST_KEYS, PLAN_KEYS, TABLE_KEYS) for key in keys.values()]
    codes += [f"plan.sheet.{name}" for name in questions.HEAD_ASKED]
    codes += [f"plan.renumber.{how}" for how in ("one", "shift", "order", "sort")]
    codes += [f"plan.ratio.{name}" for name in ("resolution", "accuracy", "uncertainty", "gauge class")]
    codes += [f"plan.{what}.{part}" for what in ("revise", "drop", "renumber", "issue", "sheet", "file", "template")
              for part in ("title", "yes")]  # fmt: skip
    steps = ("head", "type", "fill", "clear", "paste", "insert", "delete", "move", "split", "join", "renumber")
    codes += [f"plan.step.{step}" for step in steps]
    assert [code for code in codes if not known(code)] == []


def test_every_question_is_whole(planner) -> None:
    asked: list[asking.Question] = []

    def answer(_parent, question):
        asked.append(question)

    ahead = (
        SheetAhead("s1", "001, 002", "2026-03-02", (Reason("plan.no_verdict_changes"),), (), True),
        SheetAhead("s2", "003", "2026-03-02", (Reason("plan.row_with_readings_gone", {"number": "1"}),), (), False),
    )
    part = Part("EP-310", "A", customer="Lantern Hill Optical")
    asking.replace_asker(answer)
    try:
        questions.ask_revision(planner.frame, part)
        questions.ask_drop(planner.frame, "EP-310")
        questions.ask_renumber(planner.frame, "7")
        questions.ask_issue(planner.frame, "EP-310", (), say)
        questions.ask_issue(planner.frame, "EP-310", ahead, say)
        questions.ask_sheet(planner.frame, part)
        questions.ask_file(planner.frame)
        questions.ask_template(planner.frame)
    finally:
        asking.replace_asker(None)
    assert len(asked) == 8
    for question in asked:
        dialog = QuestionDialog(planner.frame, question)
        planner.qtbot.addWidget(dialog)
        dialog.show()
        planner.qtbot.wait(20)
        assert cut(dialog) == [], question.title
        dialog.close()


def test_keys_of_the_room_are_listed_and_none_is_given_twice(planner, answers) -> None:
    waiting, asked = answers
    fill(planner)
    waiting.append(None)
    planner.press("F1")
    names = [name for _key, name in asked[0].rows]
    assert {"Issue the plan", "Split a count", "Paste cells", "Head"} <= set(names)
    assert names.index("Issue the plan") < names.index("Light or dark"), "the room's keys stand before the window's"
    keys = [key for each, _name in asked[0].rows for key in each.split(",  ")]
    assert len(keys) == len(set(keys))

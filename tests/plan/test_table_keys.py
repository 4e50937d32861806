"""The plan's table under real keys: moving, typing, completing, blocks, rows, counts, numbers, undo."""

from __future__ import annotations

import pytest

ROWS = (
    "1\tlength\t1.250 ±.005\tbody\tlathe\n"
    "2\tbore\t4X ⌀.250 ±.003\tholes\tmill\n"
    "3\tnote\tDEBURR\tedges\t\n"
    "4\tlength\t.500 ±.005\tstep\tlathe\n"
)


@pytest.fixture
def typed(planner):
    """A plan of four rows, pasted from a spreadsheet, with the focus in its table."""
    planner.press("Ctrl+N")
    planner.types("KT-1\tA")
    planner.press("F4")
    planner.clipboard("No.\tKind\tCallout\tName\tSet-up\r\n" + ROWS.replace("\n", "\r\n"))
    planner.press("Ctrl+V", "Ctrl+Home")
    assert planner.table.hasFocus() and len(planner.writing.draft.rows) == 4
    return planner


def numbers(planner) -> list[str]:
    return [number for (number,) in planner.rows("number")]


def test_a_block_with_its_heads_is_pasted_and_copied_again(typed) -> None:
    assert typed.rows("number", "kind", "requirement", "name", "set_up")[1] == (
        "2", "bore", "4X ⌀.250 ±.003", "holes", "mill",
    )  # fmt: skip
    typed.press("Shift+Down", "Shift+Right", "Shift+Right")
    typed.press("Ctrl+C")
    assert typed.clipboard() == "1\tlength\t1.250 ±.005\n2\tbore\t4X ⌀.250 ±.003\n"
    typed.press("Ctrl+End", "Home", "Ctrl+V")
    assert numbers(typed) == ["1", "2", "3", "4", "1", "2"]
    assert typed.table.places() == range(4, 6)
    typed.press("Ctrl+Z")
    assert numbers(typed) == ["1", "2", "3", "4"]
    typed.press("Ctrl+Y")
    assert len(numbers(typed)) == 6


def test_typing_goes_on_by_tab_and_enter(typed) -> None:
    typed.press("Ctrl+Down", "Home")
    typed.types("5\tb\t⌀.500 ±.001\n6\tou")
    assert typed.table.editor.text() == "outside diameter" and typed.table.editor.selectedText() == "tside diameter"
    typed.types("\t⌀1.000 ±.001\n")
    assert typed.rows("number", "kind", "requirement")[4:] == [
        ("5", "bore", "⌀.500 ±.001"), ("6", "outside diameter", "⌀1.000 ±.001"),
    ]  # fmt: skip
    assert typed.table.at == (6, 0)


def test_other_words_are_reached_by_arrows(typed) -> None:
    typed.press("Right")
    typed.types("c")
    assert typed.table.editor.text() == "centre distance"
    typed.press("Down")
    assert typed.table.editor.text() == "chamfer"
    typed.press("Backspace")
    typed.types("oat\t")
    assert typed.rows("kind")[0] == ("coating thickness",)


def test_f2_edits_and_esc_drops(typed) -> None:
    typed.press("Right", "Right", "F2")
    typed.types("9")
    assert typed.table.editor.text() == "1.250 ±.0059"
    typed.press("Escape")
    assert typed.rows("requirement")[0] == ("1.250 ±.005",) and typed.table.hasFocus()
    typed.types("2.0 ±.1")
    typed.press("Up")
    assert typed.rows("requirement")[0] == ("2.0 ±.1",)


def test_what_is_typed_is_read_back_at_once(typed) -> None:
    typed.press("Right", "Right")
    typed.types("1.250 ±.01")
    under = typed.table.under
    assert under.said == "1.240 … 1.260 in"
    assert typed.writing.model.line(0).reads == "1.240 … 1.260 in"
    assert typed.writing.draft.rows[0].text("requirement") == "1.250 ±.005"
    typed.types("O")
    assert under.said and under._wrong
    assert under._x == pytest.approx(typed.table.editor.x_of(len("1.250 ±.01")), abs=1)
    assert "DEBURR" not in under.said and typed.writing.foot.read_back.said() == under.said
    typed.press("Return")
    assert typed.writing.model.line(0).faults and not under.isVisible()
    typed.qtbot.wait(250)
    assert typed.writing.foot.open.text().startswith("One row cannot be read yet")
    typed.press("Ctrl+Home", "Ctrl+E")
    assert typed.table.at == (0, 2)


def test_cells_are_emptied_and_filled(typed) -> None:
    typed.press("Right", "Right", "Right", "Shift+Down", "Shift+Down", "Delete")
    assert typed.rows("name") == [("",), ("",), ("",), ("step",)]
    typed.types("same")
    typed.press("Ctrl+Return")
    assert typed.rows("name") == [("same",), ("same",), ("same",), ("step",)]
    typed.clipboard("one")
    typed.press("Ctrl+V")
    assert typed.rows("name")[:3] == [("one",)] * 3
    typed.press("Ctrl+X")
    assert typed.clipboard() == "one\none\none\n" and typed.rows("name")[0] == ("",)
    typed.clipboard("+.0005/-0")  # copied, it is no formula where it is pasted; pasted here, it is what it was
    typed.press("Ctrl+V", "Ctrl+C")
    assert typed.clipboard() == "'+.0005/-0\n" * 3
    typed.press("Ctrl+V")
    assert typed.rows("name")[:3] == [("+.0005/-0",)] * 3


def test_rows_come_go_and_move(typed) -> None:
    typed.press("Down", "Ctrl+I")
    typed.types("1A\n")
    assert numbers(typed) == ["1", "1A", "2", "3", "4"]
    typed.press("Up", "Shift+Down", "Alt+Down")
    assert numbers(typed) == ["1", "3", "1A", "2", "4"]
    typed.press("Alt+Up", "Alt+Up")
    assert numbers(typed) == ["1A", "2", "1", "3", "4"]
    typed.press("Ctrl+D")
    assert numbers(typed) == ["1", "3", "4"]
    for _ in range(6):
        typed.press("Ctrl+Z")
    assert numbers(typed) == ["1", "2", "3", "4"]


def test_a_count_is_split_and_joined_by_keys(typed) -> None:
    typed.press("Down", "Ctrl+K")
    assert numbers(typed) == ["1", "2.1", "2.2", "2.3", "2.4", "3", "4"]
    assert typed.table.places() == range(1, 5)
    assert typed.writing.model.line(2).reads == "0.247 … 0.253 in"
    typed.press("Ctrl+J")
    assert numbers(typed) == ["1", "2", "3", "4"]
    typed.press("Up", "Ctrl+K")
    assert "occurs once" in typed.frame.notice()


def test_numbers_are_given_anew(typed, answers) -> None:
    waiting, asked = answers
    waiting.append({"how": "shift", "number": "", "by": "2"})
    typed.press("Down", "Down", "Ctrl+R")
    assert numbers(typed) == ["1", "2", "5", "6"]
    assert asked[0].check({"how": "shift", "number": "", "by": "x"}) and not asked[0].check(
        {"how": "shift", "number": "", "by": "-1"}
    )
    waiting.append({"how": "one", "number": "9", "by": ""})
    typed.press("Ctrl+Home", "Ctrl+R")
    assert numbers(typed) == ["9", "2", "5", "6"]
    waiting.append({"how": "order", "number": "", "by": ""})
    typed.press("Ctrl+R")
    assert numbers(typed) == ["2", "5", "6", "9"]
    waiting.append({"how": "shift", "number": "", "by": "-3"})
    typed.press("Ctrl+R")
    assert "fall below 1" in typed.frame.notice()


def test_rows_stand_by_set_up_and_as_drawn(typed) -> None:
    typed.press("Ctrl+G")
    model = typed.writing.model
    assert [model.line(place).row.text("number") for place in range(4)] == ["3", "1", "4", "2"]
    assert [model.head_at(place) for place in range(4)] == ["", "lathe", None, "mill"]
    assert typed.table.at.row == 1  # the row at hand stays at hand
    typed.press("Ctrl+I")
    typed.types("1A\tle\t.1 ±.01\n")
    assert numbers(typed) == ["1A", "1", "2", "3", "4"] and typed.rows("set_up")[0] == ("lathe",)
    typed.press("Ctrl+G")
    assert [model.line(place).row.text("number") for place in range(5)] == ["1A", "1", "2", "3", "4"]
    assert all(typed.table.rowHeight(place) == typed.table.rowHeight(0) for place in range(5))


def test_columns_turn_as_they_are_reached(typed) -> None:
    shown, of = typed.table.pages_shown()
    assert (shown, of > 1) == (1, True)
    typed.press("End")
    assert typed.table.pages_shown() == (of, of)
    assert not typed.table.isColumnHidden(typed.table.at.column) and not typed.table.isColumnHidden(2)
    typed.press("Home")
    typed.press("Ctrl+PageDown")
    assert typed.table.pages_shown()[0] == 2
    assert not typed.table.horizontalScrollBar().maximum()


def test_tab_leaves_at_the_ends(typed) -> None:
    typed.press("Shift+Tab")
    assert not typed.table.hasFocus()


def test_a_changed_default_is_read_again(typed) -> None:
    typed.press("Right", "Right")
    typed.types("1.250")
    typed.press("Return", "F4")
    assert typed.writing.model.line(0).faults
    typed.press(*["Tab"] * 12)
    typed.types(".004")
    typed.press("F4")
    assert typed.writing.model.line(0).reads == "1.246 … 1.254 in"
    typed.press("F4", *["Tab"] * 12)
    typed.types("-")
    typed.press("Tab")
    typed.qtbot.wait(250)
    assert typed.writing.form._problem.isVisible()


def test_a_paste_too_wide_says_so(typed) -> None:
    typed.clipboard("\t".join("abc"))
    typed.press("End", "Ctrl+V")
    assert "3 columns wide" in typed.frame.notice()


def test_instruments_are_named_for_the_row(typed) -> None:
    typed.press("Down")
    typed.qtbot.wait(250)
    assert typed.writing.foot.instrument.text() and "Fit" in typed.writing.foot.why.text()
    typed.press("Up")
    typed.qtbot.wait(250)
    assert "resolution" in typed.writing.foot.why.text()


def test_the_model_tells_each_cell_by_name(typed) -> None:
    model = typed.writing.model
    from app.plan.model import ACCESSIBLE

    assert model.data(model.index(0, 3), ACCESSIBLE) == "reads as 1.245 … 1.255 in"
    assert typed.table.accessibleName() and typed.table.currentIndex().row() == typed.table.at.row

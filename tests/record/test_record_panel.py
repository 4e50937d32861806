"""The record is entered by keys alone: head, materials, processes, tests, files; a sealed sheet is only read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QComboBox, QLineEdit, QPushButton, QTableView

from inspection.sheet import acts
from inspection.sheet.evidence import Approval, Evidence, EvidenceKind
from inspection.sheet.head import Head, SubItem
from inspection.sheet.measured import measurement

Key = Qt.Key
CONTROL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
HEAD = Head(customer="Lantern Hill Optical", order="PO 88121", cause="new_part")
PLATE = Evidence("", EvidenceKind.MATERIAL, "6061-T6 plate", approved=Approval.YES)


def enter(shop: Any, *evidence: Evidence) -> None:
    for each in evidence:
        shop.do(acts.EnterEvidence(sheet=shop.sheets[0], evidence=each))


def test_a_head_is_written_by_keys(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_H, CONTROL)
    desk.fill("Lantern Hill Optical", "PO 88121", "3", "L-417", "26-118", "router R-88", "mill 3", "20.4 C")
    assert "not written yet" in desk.panel._standing.text()
    desk.press(Key.Key_Down)  # detail
    desk.press(Key.Key_Tab)
    desk.press(Key.Key_Down)  # partial
    desk.press(Key.Key_Tab)
    desk.fill("OB-2206, sheet 12")
    desk.press(Key.Key_Space)  # new part
    desk.press(Key.Key_S, CONTROL)
    desk.settle()
    assert shop.sheet().head == Head(
        customer="Lantern Hill Optical", order="PO 88121", order_line="3", supplier_code="L-417", lot="26-118",
        process="router R-88", machine="mill 3", temperature="20.4 C", detail="detail", extent="partial",
        baseline="OB-2206, sheet 12", cause="new_part",
    )  # fmt: skip
    assert (desk.changes, desk.panel._standing.text()) == (1, "Everything here is written.")


def test_sub_items_of_an_assembly_are_entered_by_keys(desk: Any, shop: Any) -> None:
    shop.do(acts.WriteHead(sheet=shop.sheets[0], head=replace(HEAD, detail="assembly")))
    desk.show(0)
    desk.panel.go_to_head("sub_items")
    desk.press(Key.Key_Insert)
    for text in ("OB-1", "C", "drawtube", "0014-1"):
        desk.types(text)
        desk.press(Key.Key_Return)
        desk.press(Key.Key_Right)
    desk.press(Key.Key_Insert)
    desk.press(Key.Key_Insert)
    desk.types("OB-3")
    desk.press(Key.Key_Return)
    desk.press(Key.Key_S, CONTROL)
    desk.settle()
    assert shop.sheet().head.sub_items == (SubItem("OB-1", "C", "drawtube", "0014-1"), SubItem("OB-3"))
    desk.press(Key.Key_Delete)
    desk.press(Key.Key_S, CONTROL)
    desk.settle()
    assert shop.sheet().head.sub_items == (SubItem("OB-1", "C", "drawtube", "0014-1"),)


def test_what_was_typed_into_the_head_is_written_on_leaving(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_H, CONTROL)
    desk.types("Larkfield")
    desk.show(1)
    desk.settle()
    assert shop.sheet(0).head.customer == "Larkfield"
    desk.press(Key.Key_H, CONTROL)
    desk.types("Other")
    desk.panel.hide()
    desk.settle()
    assert shop.sheet(1).head.customer == "Other"


def test_what_was_typed_is_written_before_the_book_is_closed(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_H, CONTROL)
    desk.types("Larkfield")
    desk.house.leaving.emit()
    desk.settle()
    assert shop.sheet().head.customer == "Larkfield"


def test_what_is_being_typed_survives_another_hand(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_H, CONTROL)
    desk.types("Lark")
    enter(shop, PLATE)
    shop.do(acts.WriteHead(sheet=shop.sheets[0], head=Head(order="PO 88121", cause="lapse")))
    desk.show(0)
    desk.types("field")
    desk.press(Key.Key_Return)
    desk.settle()
    assert shop.sheet().head == Head(customer="Larkfield", order="PO 88121", cause="lapse")
    assert desk.panel.list.entries.rowCount() == 1


def test_a_refused_head_stays_as_typed_and_says_why(desk: Any, shop: Any) -> None:
    shop.do(acts.WriteHead(sheet=shop.sheets[0], head=replace(HEAD, detail="assembly")))
    desk.show(0)
    desk.panel.go_to_head("sub_items")
    desk.press(Key.Key_Insert)
    desk.press(Key.Key_Right)
    desk.types("C")
    desk.press(Key.Key_Return)
    desk.press(Key.Key_S, CONTROL)
    desk.settle()
    assert desk.panel._problem.text().startswith("A sub-item has no part number.")
    assert desk.panel._problem.isVisible()
    assert desk.panel.head.sub_items.items_now() == (SubItem("", "C"),)
    assert shop.sheet().head.sub_items == ()


def test_a_material_is_entered_by_keys(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_M, ALT)
    desk.fill("6061-T6 plate", "N1", "QS-12", "F", "heat 55-201", "Ostrava Metals")
    desk.press(Key.Key_Down)  # yes
    desk.press(Key.Key_Tab)
    desk.fill("55-201", "2026-02-20")
    desk.types("third sheet")
    desk.press(Key.Key_Return)
    desk.settle()
    (plate,) = shop.sheet().evidence.values()
    assert plate == Evidence(
        plate.identity, EvidenceKind.MATERIAL, "6061-T6 plate", "N1", "QS-12", "F", "heat 55-201", "Ostrava Metals",
        Approval.YES, "55-201", "2026-02-20", note="third sheet",
    )  # fmt: skip
    assert desk.panel.list.hasFocus()
    assert desk.panel.list.chosen() == plate


def test_a_measured_test_tells_its_limits_while_typed_and_its_verdict_when_written(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_T, ALT)
    desk.types("hardness")
    desk.press(Key.Key_Tab, times=9)
    desk.types("28-32 HRC")
    assert desk.panel.entry.read.text() == "Read as: lower limit 28 HRC, upper limit 32 HRC."
    desk.press(Key.Key_Tab)
    desk.types("33")
    assert "conforming" not in desk.panel.entry.read.text()
    desk.press(Key.Key_Return)
    desk.settle()
    (test,) = shop.sheet().evidence.values()
    assert test.measurement == measurement("28-32 HRC", "33")
    model = desk.panel.list.entries
    assert "not conforming" in model.data(model.index(0, 4))


def test_what_cannot_be_read_stays_in_the_form_with_the_reason(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_T, ALT)
    desk.types("hardness")
    desk.press(Key.Key_Tab, times=9)
    desk.types("28-32")
    desk.press(Key.Key_S, CONTROL)
    desk.settle()
    assert desk.panel.entry.problem.text().startswith("The unit is missing.")
    desk.types(" HRC")
    desk.press(Key.Key_S, CONTROL)
    desk.settle()
    assert [each.name for each in shop.sheet().evidence.values()] == ["hardness"]


def test_a_refused_entry_stays_in_the_form_with_the_reason(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_P, ALT)
    desk.press(Key.Key_Return)
    desk.settle()
    assert desk.panel.entry.problem.text().startswith("A material, process or test needs a name.")
    assert shop.sheet().evidence == {}


def test_an_entry_is_written_anew_and_struck_by_keys(desk: Any, shop: Any) -> None:
    enter(shop, PLATE, replace(PLATE, kind=EvidenceKind.PROCESS, name="anodise"))
    desk.show(0)
    desk.press(Key.Key_L, CONTROL)
    desk.press(Key.Key_Down)
    desk.press(Key.Key_Return)
    desk.press(Key.Key_End)
    desk.types(", black")
    desk.press(Key.Key_Return)
    desk.settle()
    assert [each.name for each in shop.sheet().evidence.values()] == ["6061-T6 plate", "anodise, black"]
    desk.answers = [None, {"reason": "not asked for"}]
    desk.press(Key.Key_Delete)
    desk.press(Key.Key_Delete)
    desk.settle()
    assert [each.name for each in shop.sheet().evidence.values()] == ["6061-T6 plate"]
    assert [question.title for question in desk.asked] == ["Strike anodise, black off the sheet?"] * 2
    assert desk.panel.list.chosen().name == "6061-T6 plate"


def test_leaving_a_form_asks_only_if_something_was_typed(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_M, ALT)
    desk.press(Key.Key_Escape)
    assert desk.asked == []
    desk.press(Key.Key_M, ALT)
    desk.types("x")
    desk.answers = [None, {}]
    desk.press(Key.Key_Escape)
    assert desk.panel._pages.currentWidget() is desk.panel._entering
    desk.press(Key.Key_Escape)
    assert desk.panel._pages.currentWidget() is desk.panel._overview
    assert shop.sheet().evidence == {}


def test_an_entry_under_way_is_written_when_sheet_or_book_is_left(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_M, ALT)
    desk.types("plate")
    desk.show(1)
    desk.settle()
    assert [each.name for each in shop.sheet(0).evidence.values()] == ["plate"]
    assert shop.sheet(1).evidence == {}
    desk.press(Key.Key_P, ALT)
    desk.types("anodise")
    desk.house.leaving.emit()
    desk.house.leaving.emit()
    desk.settle()
    assert [each.name for each in shop.sheet(1).evidence.values()] == ["anodise"]


def test_an_entry_that_cannot_be_read_is_told_when_it_is_left(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_T, ALT)
    desk.types("hardness")
    desk.press(Key.Key_Tab, times=9)
    desk.types("hard")
    desk.show(1)
    desk.settle()
    (notice,) = desk.notices
    assert notice.startswith("What was typed about “hardness” could not be read, so it was not written.")
    assert shop.sheet(0).evidence == {}


def test_an_entry_under_way_waits_while_another_room_is_looked_at(desk: Any, shop: Any) -> None:
    desk.press(Key.Key_M, ALT)
    desk.types("pla")
    desk.panel.hide()
    desk.panel.show()
    desk.settle()
    desk.panel.setFocus()
    desk.press(Key.Key_End)
    desk.types("te")
    desk.press(Key.Key_Return)
    desk.settle()
    assert [each.name for each in shop.sheet().evidence.values()] == ["plate"]


# --- files ----------------------------------------------------------------------------------------------------------


def test_a_file_is_attached_saved_out_and_left_out(desk: Any, shop: Any, tmp_path: Path) -> None:
    enter(shop, PLATE)
    desk.show(0)
    desk.press(Key.Key_L, CONTROL)
    certificate, other = tmp_path / "heat 55-201.pdf", tmp_path / "mark.jpg"
    certificate.write_bytes(b"%PDF heat 55-201")
    other.write_bytes(b"a photograph")
    for file in (certificate, other, certificate):
        desk.answers = [{"file": str(file)}]
        desk.press(Key.Key_T, CONTROL)
        desk.qtbot.waitUntil(lambda: not desk.worker._jobs)
        desk.qtbot.wait(50)
        desk.settle()
    (plate,) = shop.sheet().evidence.values()
    assert [file.name for file in plate.files] == ["heat 55-201.pdf", "mark.jpg"]
    assert desk.panel._files.text() == "Attached to 6061-T6 plate: heat 55-201.pdf, mark.jpg"
    assert desk.panel._problem.text().startswith("heat 55-201.pdf is attached to 6061-T6 plate already.")
    out = tmp_path / "out"
    out.mkdir()
    desk.answers = [{"which": plate.files[1].digest, "place": str(out)}]
    desk.press(Key.Key_S, CONTROL | SHIFT)
    desk.qtbot.waitUntil(lambda: "Saved mark.jpg." in desk.notices)
    assert (out / "mark.jpg").read_bytes() == b"a photograph"
    desk.answers = [{"which": plate.files[0].digest}]
    desk.press(Key.Key_T, CONTROL | SHIFT)
    desk.settle()
    (plate,) = shop.sheet().evidence.values()
    assert [file.name for file in plate.files] == ["mark.jpg"]


def test_a_drawing_is_taken_over_from_an_earlier_sheet_by_two_keys(desk: Any, shop: Any, tmp_path: Path) -> None:
    drawing = tmp_path / "OB.pdf"
    drawing.write_bytes(b"%PDF a drawing")
    desk.press(Key.Key_D, ALT)
    desk.qtbot.waitUntil(lambda: not desk.worker._jobs)
    desk.settle()
    desk.press(Key.Key_Return)
    desk.settle()
    desk.answers = [{"file": str(drawing)}]
    desk.press(Key.Key_T, CONTROL)
    desk.qtbot.waitUntil(lambda: not desk.worker._jobs)
    desk.qtbot.wait(50)
    desk.settle()
    (kept,) = shop.sheet().evidence.values()
    part = shop.sheet().plan.part
    assert (kept.name, kept.specification_revision) == (part.drawing or part.number, part.drawing_revision)
    assert [file.name for file in kept.files] == ["OB.pdf"]
    desk.show(1)
    desk.press(Key.Key_D, ALT)
    desk.qtbot.waitUntil(lambda: not desk.worker._jobs)
    desk.settle()
    desk.press(Key.Key_Return)
    desk.settle()
    (again,) = shop.sheet(1).evidence.values()
    assert (again.kind, again.files) == (EvidenceKind.DRAWING, kept.files)
    assert again.identity != kept.identity


@pytest.mark.parametrize(("content", "said"), [(b"", "is empty. It was not attached."), (None, "")])
def test_a_file_that_cannot_be_attached_is_told(
    desk: Any, shop: Any, tmp_path: Path, content: bytes | None, said: str
) -> None:
    enter(shop, PLATE)
    desk.show(0)
    desk.press(Key.Key_L, CONTROL)
    file = tmp_path / "heat.pdf"
    if content is not None:
        file.write_bytes(content)
    desk.answers = [{"file": str(file)}]
    desk.press(Key.Key_T, CONTROL)
    desk.qtbot.waitUntil(lambda: bool(desk.panel._problem.text()))
    assert "heat.pdf" in desk.panel._problem.text()
    assert said in desk.panel._problem.text()


# --- sealed, seen, read aloud -----------------------------------------------------------------------------------------


def test_a_sealed_sheet_is_read_only_and_says_why(desk: Any, shop: Any) -> None:
    enter(shop, PLATE)
    shop.do(acts.WriteHead(sheet=shop.sheets[0], head=HEAD))
    shop.sign()
    desk.show(0)
    assert "is under the seal" in desk.panel._standing.text()
    desk.press(Key.Key_H, CONTROL)
    desk.types("x")
    for name in ("write", "material", "process", "test", "attach", "drop_file"):
        assert not desk.panel.actions_by_name[name].isEnabled()
    desk.press(Key.Key_M, ALT)
    desk.press(Key.Key_L, CONTROL)
    desk.press(Key.Key_Return)
    desk.press(Key.Key_Delete)
    desk.settle()
    assert (desk.asked, desk.panel._pages.currentWidget()) == ([], desk.panel._overview)
    assert shop.sheet().head == HEAD
    assert not any(box.isEnabled() for box in desk.panel.head.causes.values())


def test_going_to_what_is_missing(desk: Any, shop: Any) -> None:
    enter(shop, PLATE, replace(PLATE, name="bar"))
    desk.show(0)
    desk.panel.go_to_evidence(list(desk.panel.sheet.evidence)[1])
    assert (desk.panel.list.hasFocus(), desk.panel.list.chosen().name) == (True, "bar")
    desk.panel.go_to_head("order")
    assert desk.panel.head.blocks["order"].field.hasFocus()
    desk.panel.go_to_head("cause")
    assert next(iter(desk.panel.head.causes.values())).hasFocus()


def test_everything_has_a_name_to_be_read_aloud(desk: Any) -> None:
    kinds = (QLineEdit, QComboBox, QCheckBox, QPushButton, QTableView)
    named = [widget for kind in kinds for widget in desk.panel.findChildren(kind) if widget.focusPolicy()]
    assert len(named) > 30
    assert [widget for widget in named if not widget.accessibleName()] == []


@pytest.mark.parametrize(("theme", "scale"), [("light", 100), ("dark", 150), ("light", 250)])
def test_nothing_is_wider_than_the_panel(open_desk: Any, shop: Any, theme: str, scale: int) -> None:
    """At every scale what does not fit goes below, never to the side."""
    enter(shop, PLATE)
    desk = open_desk(theme=theme, scale=scale)
    for width in (880, 640, 420):
        desk.window.resize(desk.house.theme.px(width), desk.house.theme.px(600))
        desk.qtbot.wait(20)
        for area in (desk.panel._overview, desk.panel._entering):
            desk.panel._pages.setCurrentWidget(area)
            desk.qtbot.wait(10)
            assert area.widget().width() <= area.viewport().width()
    shown = desk.window.grab().toImage()
    assert shown.width() == desk.window.width()

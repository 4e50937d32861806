"""What the head, materials, processes and tests of a sheet lack before it may go."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.sheet import acts
from inspection.sheet.evidence import Approval, Evidence, EvidenceKind
from inspection.sheet.head import SubItem
from inspection.sheet.measured import measurement
from inspection.sheet.nonconformance import Disposition
from tests.sheet.whole_sheet import ANODISE, HARDNESS, MET, PLATE, ROW, Whole, decided, meets, out, raised


@pytest.fixture
def whole(life: Any) -> Whole:
    return Whole(life)


# --- the head -------------------------------------------------------------------------------------------------------


def head_without(field: str) -> Callable[[Whole], None]:
    def meet(whole: Whole) -> None:
        whole.fill(**{field: ""})

    return meet


for name in ("customer", "order", "supplier_code", "process", "detail", "cause"):
    MET[name] = head_without(name)


def part_without(field: str) -> Callable[[Whole], None]:
    def meet(whole: Whole) -> None:
        plan = whole.issue(part=replace(whole.life.sheet.plan.part, **{field: ""}))
        whole.life.do(acts.AdoptPlan(sheet=whole.life.sheet_id, plan=plan.identity))
        whole.fill()

    return meet


for name in ("part_revision", "drawing_revision"):
    MET[name] = part_without(name.replace("part_", ""))


@meets("sub_items")
def _(whole: Whole) -> None:
    whole.fill(detail="assembly")


@meets("sub_item_unproven")
def _(whole: Whole) -> None:
    whole.fill(detail="assembly", sub_items=(SubItem("HB-8", "A"),))


@meets("sub_item_twice")
def _(whole: Whole) -> None:
    whole.fill(detail="assembly", sub_items=(SubItem("HB-8", serial="7", sheet="S-1"),) * 2)


@meets("baseline")
def _(whole: Whole) -> None:
    whole.fill(extent="partial")


# --- materials, processes and tests -----------------------------------------------------------------------------------


@meets("no_material")
def _(whole: Whole) -> None:
    whole.fill(ANODISE)


def plate_with(**fields: Any) -> Callable[[Whole], None]:
    return lambda whole: whole.fill(replace(PLATE, **fields), ANODISE, HARDNESS) and None


for name, given in {
    "evidence_row": {"number": "99"},
    "specification": {"specification": ""},
    "specification_revision": {"specification_revision": ""},
    "certificate": {"certificate": ""},
    "certificate_file": {"files": ()},
    "certificate_day": {"certified": ""},
    "certificate_late": {"certified": "2026-03-03"},
    "supplier": {"supplier": ""},
    "undecided": {"approved": Approval.UNDECIDED},
    "not_approved": {"approved": Approval.NO},
}.items():
    MET[name] = plate_with(**given)


@meets("drawing_file")
def _(whole: Whole) -> None:
    whole.fill(PLATE, ANODISE, HARDNESS, Evidence("", EvidenceKind.DRAWING, "D-1"))


@meets("drawing_other")
def _(whole: Whole) -> None:
    drawing = Evidence("", EvidenceKind.DRAWING, "D-1", specification_revision="Z", files=PLATE.files)
    whole.fill(PLATE, ANODISE, HARDNESS, drawing)


@meets("other_revision")
def _(whole: Whole) -> None:
    whole.fill(PLATE, replace(ANODISE, specification_revision="rev. B"), HARDNESS)


def test_the_revision_that_the_drawing_asks_for_is_known_however_it_is_written(whole: Whole) -> None:
    whole.fill(PLATE, replace(ANODISE, specification_revision="Rev c"), HARDNESS)
    assert whole.missing() == {}


def hardness_with(**fields: Any) -> Callable[[Whole], None]:
    return lambda whole: whole.fill(PLATE, ANODISE, replace(HARDNESS, **fields)) and None


MET["test_open"] = hardness_with(measurement=measurement("≥ 88.0 HRB"))
MET["test_not_conforming"] = hardness_with(measurement=measurement("≥ 88.0 HRB", "87.9"))
MET["test_not_conforming_noted"] = hardness_with(measurement=measurement("≥ 88.0 HRB", "87.9"), note="taken, CR-118")


@meets("test_not_conforming_named")
def _(whole: Whole) -> None:
    failed = replace(HARDNESS, number="1", measurement=measurement("≥ 88.0 HRB", "87.9"))
    out(whole)
    whole.enter(failed)
    decided(whole, raised(whole), Disposition.REWORK)
    whole.life.take("1", ".5000")
    whole.life.sign()


MET["test_few_decimals"] = hardness_with(measurement=measurement("≥ 88.0 HRB", "89"))


def test_a_test_that_is_not_measured_is_passed_or_open(whole: Whole) -> None:
    for passed, code in (("", "test_open"), ("no", "test_not_conforming"), ("yes", "")):
        whole.life.make(("001",), ROW)
        whole.enter(Evidence("", EvidenceKind.TEST, "runs quietly", passed=passed))
        found = {name for name in whole.missing() if name.startswith("test_")}
        assert found == ({code} if code else set())

"""The starter crib and the gauge classes against reference rows; where both come from one source: a transcription."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.choice import FITNESS, choose
from inspection.instruments.crib import offers
from inspection.instruments.designations import read_designation
from inspection.instruments.pins import go_bounds
from inspection.instruments.reach import permissible_error
from inspection.instruments.record import Instrument, InstrumentKind, Standing, Use
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib
from inspection.quantity.units import UNITS
from inspection.standards.gauges import class_tolerance

REFERENCE = Path(__file__).parents[1] / "reference"
IN = 25_400_000_000


def reference(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def count(text: str, unit: str) -> int:
    exact = Fraction(text) * UNITS[unit.replace("um", "µm")].count
    assert exact.denominator == 1
    return int(exact)


def by_tag() -> dict[str, Instrument]:
    return {item.tag: item for item in starter_crib("2027-06-30")}


def test_every_kind_is_held_once_and_named_apart() -> None:
    crib = starter_crib("2027-06-30")
    assert {item.kind for item in crib} == set(InstrumentKind)
    assert len({item.tag for item in crib}) == len(crib)
    assert all(item.identity == "" and item.issue == 0 and item.standing is Standing.IN_SERVICE for item in crib)
    assert {item.due for item in crib} == {"", "2027-06-30"}
    assert {item.due for item in starter_crib()} == {""}


def test_a_thermometer_is_kept_but_measures_no_feature() -> None:
    crib = {item.tag: item for item in starter_crib("2027-06-30")}
    held = crib["K-01"]
    assert (held.kelvin, held.due, held.permissible) == (500, "2027-06-30", ())
    assert not any(held in offer.parts for offer in offers(crib, "2026-03-02"))


def test_gauge_classes_are_the_charts() -> None:
    """A transcription: table and reference come from the same chart (ASME B89.1.5)."""
    rows = [r for r in reference("instruments.csv") if r["standard"] == "ASME B89.1.5" and r["range_unit"] == "in"]
    assert len(rows) == 42
    for row in rows:
        assert class_tolerance(row["class_or_grade"], count(row["range_to"], "in")) == count(row["value"], "in")
    assert class_tolerance("X", count("0.8251", "in")) == count(".00006", "in")
    assert class_tolerance("X", count("0.009", "in")) is None


def test_metric_chart_is_the_inch_chart_converted() -> None:
    """The chart's own metric columns, rounded there to 0.00001 mm, from the inch table."""
    rows = [r for r in reference("instruments.csv") if r["standard"] == "ASME B89.1.5" and r["range_unit"] == "mm"]
    assert len(rows) == 42
    for row in rows:
        middle = (count(row["range_over"], "mm") + count(row["range_to"], "mm")) // 2
        found = class_tolerance(row["class_or_grade"], middle)
        assert found is not None
        assert found / 1e9 == pytest.approx(float(row["value"]), abs=0.0000101)


def test_directions_of_plugs_and_rings() -> None:
    """ASME B89.1.5 practice: GO plug plus, NO-GO plug minus, GO ring minus, NO-GO ring plus."""
    rows = {r["quantity"]: r["value"] for r in reference("instruments.csv") if r["standard"] == "ASME B89.1.5 practice"}
    (go, no_go), (ring_go, ring_no_go) = go_bounds(100, 200, 5), go_bounds(100, 200, 5, ring=True)
    signs = {
        "GO plug tolerance direction": "plus" if go == (100, 105) else "",
        "NOGO plug tolerance direction": "minus" if no_go == (195, 200) else "",
        "GO ring tolerance direction": "minus" if ring_go == (195, 200) else "",
        "NOGO ring tolerance direction": "plus" if ring_no_go == (100, 105) else "",
    }
    assert signs == {name: rows[name] for name in signs}


@pytest.mark.parametrize(
    ("standard", "tags"),
    [
        ("ASME B89.1.14 typical", ["C-05", "C-06"]),
        ("ISO 13385-1 typical", ["C-15", "C-16"]),
        ("ASME B89.1.13 typical", ["M-01", "M-02", "M-03", "M-04"]),
        ("DIN 863-1", ["M-11", "M-12", "M-13", "M-14"]),
        ("US Army TB 9-5210-208-35", ["C-01", "C-02", "C-03", "C-04"]),
    ],
)
def test_permissible_errors_outside(standard: str, tags: list[str]) -> None:
    """A transcription: the crib's outside values come from the same sources."""
    checked = 0
    for row in reference("instruments.csv"):
        if row["standard"] != standard:
            continue
        upper = count(row["range_to"], row["range_unit"])
        for item in (by_tag()[tag] for tag in tags):
            if item.low < upper <= item.high:
                checked += 1
                assert permissible_error(item, Use.OUTSIDE, upper) == count(row["value"], row["value_unit"])
    assert checked >= 2


def test_rules_and_tape_by_the_formula() -> None:
    """2014/32/EU MI-008: E = a + b · (metres begun), with a and b of the reference."""
    rows = reference("instruments.csv")
    factor = {
        (r["class_or_grade"], r["quantity"][-1]): Fraction(r["value"]) for r in rows if "a + b L" in r["quantity"]
    }
    for tag, grade, size in (("R-03", "I", 12 * IN), ("R-08", "II", 36 * IN), ("R-08", "II", 144 * IN)):
        metres = -(-size // 10**12)
        wanted = (factor[grade, "a"] + factor[grade, "b"] * metres) * 10**9
        assert permissible_error(by_tag()[tag], Use.OUTSIDE, size) == wanted


@pytest.mark.parametrize(
    ("tag", "name"), [("G-01", "81-piece inch"), ("G-02", "87-piece metric"), ("G-03", "112-piece metric (M112)")]
)
def test_block_sets(tag: str, name: str) -> None:
    """A transcription of the series; the totals are each set's own."""
    rows = [row for row in reference("gauge_block_sets.csv") if row["set"] == name]
    sizes = {member.size for member in by_tag()[tag].members}
    for row in rows:
        if row["kind"] == "total":
            assert len(by_tag()[tag].members) == len(sizes) == int(row["pieces"])
        else:
            assert count(row["series_from"], row["unit"]) in sizes
            assert count(row["series_to"], row["unit"]) in sizes


@pytest.mark.parametrize(
    ("drawn", "gauge", "same"),
    [
        ("4X 1/4-20 UNC-2B THRU", "1/4-20 UNC-2B", True),
        ("1/4-20 UNC-3B", "1/4-20 UNC-2B", False),
        ("M6-6H", "M6x1 - 6H", True),
        ("M6x0.75-6H", "M6x1 - 6H", False),
        ("M8 x 1.25 - 6g", "M8x1.25 - 6g", True),
        ("#10-32 UNF-2B", "10-32 UNF-2B", True),
    ],
)
def test_thread_designations(drawn: str, gauge: str, same: bool) -> None:
    assert (read_designation(drawn) == read_designation(gauge)) is same
    assert read_designation(gauge) is not None


def test_every_kind_of_feature_has_a_method_in_the_starter_crib() -> None:
    crib = {item.tag: replace(item, identity=item.tag, issue=1) for item in starter_crib("2027-06-30")}
    rows = [_row(kind) for kind in FeatureKind]
    choice = choose(rows, crib, Rules(), "2026-11-25")
    for i, row in enumerate(rows):
        assert choice.best[i] >= 0, row.kind
        found = choice.assess(i, int(choice.best[i]))
        assert found.fitness is FITNESS[choice.fitness[i, choice.best[i]]]


def _row(kind: FeatureKind) -> Characteristic:
    if kind is FeatureKind.THREAD:
        return Characteristic("c", "1", kind, Requirement("1/4-20 UNC-2B", Form.THREAD))
    if kind is FeatureKind.NOTE:
        return Characteristic("c", "1", kind, Requirement("BREAK SHARP EDGES", Form.NOTE))
    if kind is FeatureKind.ANGLE:
        degree = UNITS["°"].count
        limits = Requirement("45° ±1°", Form.PLUS_MINUS, UNITS["°"].kind, "°", 0, 45 * degree, 44 * degree, 46 * degree)
        return Characteristic("c", "1", kind, replace(limits, band=2 * degree))
    if kind in (FeatureKind.ROUGHNESS, FeatureKind.COATING, FeatureKind.GEOMETRIC):
        top = {FeatureKind.ROUGHNESS: "0.000063", FeatureKind.COATING: "0.001"}.get(kind, "0.005")
        upper = count(top, "in")
        return Characteristic(
            "c", "1", kind, Requirement("max", Form.MAXIMUM, upper=upper, band=upper, natural_zero=True)
        )
    nominal, half = (IN // 4, IN // 50) if kind in (FeatureKind.RADIUS, FeatureKind.CHAMFER) else (IN // 2, IN // 100)
    return Characteristic(
        "c",
        "1",
        kind,
        Requirement("x", Form.PLUS_MINUS, nominal=nominal, lower=nominal - half, upper=nominal + half, band=2 * half),
    )

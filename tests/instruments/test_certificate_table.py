"""A certificate's table as it is typed: read to the very counts, spoken back the same, refused at the character."""

from __future__ import annotations

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.instruments import certificate_table
from inspection.instruments.certificate_table import Cells, cell_of, joined, parted, points_text, read_points
from inspection.instruments.record import CertifiedPoint, Permissible, Use
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.words.say import say

IN, MM, UM = UNITS["in"].count, UNITS["mm"].count, UNITS["µm"].count
TENTH = IN // 10_000
RANGE = (0, 6 * IN)
STATED = (Permissible(Use.OUTSIDE, 6 * IN, TENTH), Permissible(Use.INSIDE, 6 * IN, 2 * TENTH))


def test_examples() -> None:
    assert doctest.testmod(certificate_table).failed == 0


@pytest.mark.parametrize(
    ("written", "unit", "point"),
    [
        ("outside 1 in +.0001 U .00005", "in", CertifiedPoint(Use.OUTSIDE, IN, TENTH, TENTH // 2)),
        ("outside 2 in 0 U .00005 k 2", "in", CertifiedPoint(Use.OUTSIDE, 2 * IN, 0, TENTH // 2)),
        ("Outside at 1 -.0001 U=.00005 (k=2.13)", "in", CertifiedPoint(Use.OUTSIDE, IN, -TENTH, TENTH // 2, 2_130)),
        ("outside @1-1/2 in −1 tenth U ±.5 tenth", "in", CertifiedPoint(Use.OUTSIDE, IN * 3 // 2, -TENTH, TENTH // 2)),
        ("outside 1 + 100 µin U 50", "in", CertifiedPoint(Use.OUTSIDE, IN, TENTH, TENTH // 2)),  # U in the error's unit
        ("inside 25 mm -2 µm U 1.5 µm k 1.96", "in", CertifiedPoint(Use.INSIDE, 25 * MM, -2 * UM, 3 * UM // 2, 1_960)),
        ("depth 25-0.002 U 0,0015", "mm", CertifiedPoint(Use.DEPTH, 25 * MM, -2 * UM, 3 * UM // 2)),
        ("step 10 0.000 mm U 0.003", "mm", CertifiedPoint(Use.STEP, 10 * MM, 0, 3 * UM)),
        ("height 0 0 U 2 µm", "mm", CertifiedPoint(Use.HEIGHT, 0, 0, 2 * UM)),
        ("outside 10.5 in +0 U .0001", "in", CertifiedPoint(Use.OUTSIDE, IN * 21 // 2, 0, TENTH)),
    ],
)  # fmt: skip
def test_as_a_machinist_writes_it(written: str, unit: str, point: CertifiedPoint) -> None:
    (found,) = read_points(written, unit, (0, 12 * IN), ())
    assert found == point


def test_an_angle() -> None:
    degree, minute = UNITS["°"].count, UNITS["'"].count
    written = "angle at 45°30' −2' U 1'; angle 90° 0 U 1'"
    found = read_points(written, "°", (0, 180 * degree), ())
    assert found == (
        CertifiedPoint(Use.ANGLE, 45 * degree + 30 * minute, -2 * minute, minute),
        CertifiedPoint(Use.ANGLE, 90 * degree, 0, minute),
    )
    assert read_points(points_text(found, "°"), "°", (0, 180 * degree), ()) == found


def test_lines_and_semicolons_part_points_and_any_order_is_kept() -> None:
    found = read_points("outside 2 0 U .0001\noutside 1 0 U .0001; inside 1 0 U .0001", "in", RANGE, STATED)
    assert [(point.use, point.size // IN) for point in found] == [(Use.OUTSIDE, 2), (Use.OUTSIDE, 1), (Use.INSIDE, 1)]


def test_spoken_back() -> None:
    written = "inside at 2 in −.0001 in U .00005 in k 2.13; outside at 1 in 0 U .00005 in"
    assert points_text(read_points(written, "in", RANGE, STATED), "in") == written


counts = st.one_of(
    st.integers(0, 60_000).map(lambda n: n * IN // 10_000),
    st.integers(0, 150_000).map(lambda n: n * UM),
    st.integers(0, 6 * IN),
)
points = st.builds(
    CertifiedPoint,
    st.sampled_from(list(Use)),
    counts,
    counts.flatmap(lambda n: st.sampled_from([n, -n])),
    counts.filter(bool),
    st.integers(1_000, 14_000),
)


@given(
    st.lists(points, max_size=6, unique_by=lambda point: (point.use, point.size)), st.sampled_from(["in", "mm", "µm"])
)
def test_any_table_comes_back(held: list[CertifiedPoint], unit: str) -> None:
    text = points_text(held, unit)
    assert read_points(text, unit, RANGE, ()) == tuple(held)
    assert read_points(joined(parted(text)), unit, RANGE, ()) == tuple(held)


@pytest.mark.parametrize(
    ("written", "code", "at"),
    [
        ("outsied 1 0 U .0001", "crib.cell.use", 0),
        ("outside", "crib.cell.no_expanded", 7),
        ("outside 1 in +.0001", "crib.cell.no_expanded", 19),
        ("outside 1 in +.0001 u .00005", "crib.cell.small_u", 20),
        ("outside U .0001", "crib.cell.no_point_size", 8),
        ("outside 1 in U .0001", "crib.cell.no_point_error", 12),
        ("outside 1 in .0001 U .0001", "crib.cell.no_point_error", 13),
        ("outside 1 in ±.0001 U .0001", "crib.cell.error_sign", 13),
        ("outside 1 in +.0001 U 0", "crib.cell.expanded_nothing", 22),
        ("outside 1 in +.0001 U", "reader.empty", 21),
        ("outside 1 in + U .0001", "reader.empty", 14),
        ("outside 1 in +.0001 U .00005 k", "crib.cell.factor", 30),
        ("outside 1 in +.0001 U .00005 k .9", "crib.cell.factor", 31),
        ("outside 1 in +.0001 U .00005 k 2.1234", "crib.cell.factor", 31),
        ("outside 1 in +.0001 U .00005 k 15", "crib.cell.factor", 31),
        ("outside 1 in +.0001x U .00005", "reader.unknown_unit", 19),
        ("outside -1 in +.0001 U .00005", "reader.sign", 8),
        ("outside 6.001 +.0001 U .00005", "crib.cell.outside_range", 8),
        ("outside 1 +1.0001 U .00005", "crib.cell.point_large", 11),  # the indication in place of the error
        ("outside 25 mm 0 U 1.5", "crib.cell.point_large", 18),  # meant in µm
        ("inside 1 0 U .0001; outside 1 0 U .0001; inside 1.00 in +.0001 U .0001", "crib.cell.point_twice", 41),
    ],
)
def test_a_fault_points_at_its_character(written: str, code: str, at: int) -> None:
    with pytest.raises(Refused) as refused:
        read_points(written, "in", RANGE, STATED)
    (reason,) = refused.value.reasons
    assert (reason.code, reason.parts["at"]) == (code, at)
    said = {**reason.parts, "text": reason.parts.get("text", "")}
    assert not say(type(reason)(reason.code, said)).startswith("[")


def test_all_faults_are_told_together() -> None:
    with pytest.raises(Refused) as refused:
        read_points("outside 1 0; inside 9 in 0 U .0001\ndepth x", "in", RANGE, STATED)
    assert [reason.parts["at"] for reason in refused.value.reasons] == [11, 20, 42]


def test_an_instrument_without_range_or_errors_takes_any_point() -> None:
    assert read_points("roughness 120 µin +20 U 8", "µin", (0, 0), ())[0].error == 20 * UNITS["µin"].count


def test_cell_by_cell_is_the_same_as_line_by_line() -> None:
    """What is kept is parted into cells and joined again to the same points; a refusal finds its cell."""
    written = "inside at 2 in −.0001 in U .00005 in k 2.13; outside @1-1/2 in 0 U ±.00005 (k 2.5)"
    rows = parted(written)
    assert [row.all for row in rows] == [
        ("inside", "2 in", "−.0001 in", ".00005 in", "2.13"),
        ("outside", "1-1/2 in", "0", ".00005", "2.5"),
    ]
    assert read_points(joined(rows), "in", RANGE, STATED) == read_points(written, "in", RANGE, STATED)


@pytest.mark.parametrize(
    ("second", "code", "place"),
    [
        (Cells("", "1", "0", ".0001"), "crib.cell.use", (1, "use", 0)),
        (Cells("outside", "", "+.0001", ".0001"), "crib.cell.no_point_size", (1, "size", 0)),
        (Cells("outside", "1", ".0001", ".0001"), "crib.cell.no_point_error", (1, "error", 0)),
        (Cells("outside", "1", "", ".0001"), "crib.cell.no_point_error", (1, "error", 0)),
        (Cells("outside", "1", "+.0001"), "crib.cell.no_expanded", (1, "expanded", 0)),
        (Cells("outside", "1", "+.0001", "0"), "crib.cell.expanded_nothing", (1, "expanded", 0)),
        (Cells("outside", "1", "+.0001", ".00005", "20"), "crib.cell.factor", (1, "factor", 0)),
        (Cells("outside", "1 inn", "+.0001", ".00005"), "reader.unknown_unit", (1, "size", 2)),
        (Cells("inside", "2", "+.0001", ".00005"), "crib.cell.point_twice", (1, "size", 0)),
    ],
)
def test_a_refusal_names_row_cell_and_character(second: Cells, code: str, place: tuple[int, str, int]) -> None:
    rows = [Cells("inside", "2", "0", ".0001"), second]
    with pytest.raises(Refused) as refused:
        read_points(joined(rows), "in", RANGE, STATED)
    (reason,) = refused.value.reasons
    assert (reason.code, cell_of(reason, rows)) == (code, place)

"""Callouts: every form read to exact limits, every fault under its character, and nothing but these two outcomes."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.drawing.callout import count_of, read_callout
from inspection.drawing.characteristic import FeatureKind as Kind
from inspection.drawing.plan import TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.quantity.units import MICRO_ARCSECONDS_PER_DEGREE as DEGREE
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE as MM
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.words.say import say

INCH_BLOCK = TitleBlock(
    inch={1: INCH // 50, 2: INCH // 100, 3: INCH // 200, 4: INCH // 2000}, fraction=INCH // 64, angle=DEGREE // 2
)
MM_BLOCK = TitleBlock(unit="mm", general="mK")
EMPTY = TitleBlock()


def read(
    text: str, kind: Kind = Kind.LENGTH, block: TitleBlock = INCH_BLOCK, unit: str = "", **more: int
) -> Requirement:
    return read_callout(text, kind=kind, title_block=block, unit=unit, **more)


def exact(text: str, unit: str) -> int | None:
    """A plain decimal as counts, by its own way: through fractions."""
    if text == "-":
        return None
    count = Fraction(text) * UNITS[unit].count
    assert count.denominator == 1
    return int(count)


def assert_read(found: Requirement, form: Form, unit: str, decimals: int, counts: str) -> None:
    """``counts`` are nominal, lower, upper and band in ``unit``, - where there is none."""
    wanted = tuple(exact(text, unit) for text in counts.split())
    assert (found.form, found.unit, found.decimals) == (form, unit, decimals)
    assert (found.nominal, found.lower, found.upper, found.band) == wanted


PM, GENERAL, LIMITS = Form.PLUS_MINUS, Form.GENERAL, Form.LIMITS


@pytest.mark.parametrize(
    ("text", "form", "decimals", "counts"),
    [
        ("⌀.7500 +.0000/-.0005", PM, 4, ".75 .7495 .75 .0005"),
        (".500±.005", PM, 3, ".5 .495 .505 .01"),
        (".500 ±.005", PM, 3, ".5 .495 .505 .01"),
        ("0.5000 ±.005", PM, 4, ".5 .495 .505 .01"),
        (".500 +/- .005", PM, 3, ".5 .495 .505 .01"),
        (".500 +-.005", PM, 3, ".5 .495 .505 .01"),
        (".500%%p.005", PM, 3, ".5 .495 .505 .01"),
        (".500 ±5 thou", PM, 3, ".5 .495 .505 .01"),
        (".500 +.003/0", PM, 3, ".5 .5 .503 .003"),
        (".500 0/-.003", PM, 3, ".5 .497 .5 .003"),
        (".500 +.003 -.001", PM, 3, ".5 .499 .503 .004"),
        (".500 +.003/+.001", PM, 3, ".5 .501 .503 .002"),
        (".500 -.001/-.003", PM, 3, ".5 .497 .499 .002"),
        ("0,5±0,01", PM, 2, ".5 .49 .51 .02"),
        ("1.2495-1.2505", LIMITS, 4, "- 1.2495 1.2505 .001"),
        ("1.2495 – 1.2505", LIMITS, 4, "- 1.2495 1.2505 .001"),
        ("1.2495/1.2505", LIMITS, 4, "- 1.2495 1.2505 .001"),
        ("1.2495…1.2505", LIMITS, 4, "- 1.2495 1.2505 .001"),
        ("1.2495...1.2505", LIMITS, 4, "- 1.2495 1.2505 .001"),
        ("1.2495 TO 1.2505", LIMITS, 4, "- 1.2495 1.2505 .001"),
        (".010 MAX", Form.MAXIMUM, 3, "- - .010 .010"),
        ("MAX .50", Form.MAXIMUM, 2, "- - .5 .02"),
        (".500 MIN.", Form.MINIMUM, 3, "- .5 - .01"),
        ("[1.500]", Form.BASIC, 3, "1.5 - - -"),
        ("1.500 BSC", Form.BASIC, 3, "1.5 - - -"),
        ("(1.500)", Form.REFERENCE, 3, "1.5 - - -"),
        ("1.500 REF", Form.REFERENCE, 3, "1.5 - - -"),
        ("1.500 STOCK", Form.REFERENCE, 3, "1.5 - - -"),
        ("1 5/32", GENERAL, 6, "1.15625 1.140625 1.171875 .03125"),
        ("1-5/32", GENERAL, 6, "1.15625 1.140625 1.171875 .03125"),
        (".500", GENERAL, 3, ".5 .495 .505 .01"),
        (".5000", GENERAL, 4, ".5 .4995 .5005 .001"),
        (".500 [12.70]", GENERAL, 3, ".5 .495 .505 .01"),
        ("[12.70] .500", GENERAL, 3, ".5 .495 .505 .01"),
        (".500±.005 [12.70±0.13]", PM, 3, ".5 .495 .505 .01"),
        (".500 [12.70] ±.005", PM, 3, ".5 .495 .505 .01"),
        ("[1.500] [38.10]", Form.BASIC, 3, "1.5 - - -"),
    ],
)
def test_inch_sizes(text: str, form: Form, decimals: int, counts: str) -> None:
    assert_read(read(text), form, "in", decimals, counts)


@pytest.mark.parametrize(
    ("text", "form", "decimals", "counts"),
    [
        ("12.5", GENERAL, 1, "12.5 12.3 12.7 .4"),  # ISO 2768-m
        ("12.50", GENERAL, 2, "12.5 12.3 12.7 .4"),
        ("24,9/25,1", LIMITS, 1, "- 24.9 25.1 .2"),
        ("12/13", LIMITS, 0, "- 12 13 1"),
        ("25 +0.05/-0.02", PM, 2, "25 24.98 25.05 .07"),
        ("12 ±50 µm", PM, 2, "12 11.95 12.05 .1"),
        ("12.5 MAX", Form.MAXIMUM, 1, "- - 12.5 .4"),
    ],
)
def test_metric_sizes(text: str, form: Form, decimals: int, counts: str) -> None:
    assert_read(read(text, block=MM_BLOCK), form, "mm", decimals, counts)


@pytest.mark.parametrize(
    ("text", "counts", "decimals"),
    [
        ("25 H7", "25 25 25.021 .021", 3),
        ("⌀25H7", "25 25 25.021 .021", 3),
        ("25 R7", "25 24.959 24.98 .021", 3),
        ("25 JS7", "25 24.9895 25.0105 .021", 4),
        ("25 H7 (+0.021/0)", "25 25 25.021 .021", 3),
        ("25 H7 (25.000-25.021)", "25 25 25.021 .021", 3),
        ("25 H7 THRU", "25 25 25.021 .021", 3),
    ],
)
def test_fits_of_holes(text: str, counts: str, decimals: int) -> None:
    """Limits of H7 and R7 at 25 mm as common practice prints them; ISO 286 itself is checked with its table."""
    found = read(text, Kind.BORE, MM_BLOCK)
    assert_read(found, Form.FIT, "mm", decimals, counts)
    assert [reason.code for reason in found.explained] == ["limits.by_iso286"]


def test_fit_of_a_shaft_on_a_metric_row_of_an_inch_drawing() -> None:
    assert_read(read("25 f7", Kind.OUTSIDE_DIAMETER, unit="mm"), Form.FIT, "mm", 3, "25 24.959 24.98 .021")
    assert_read(read("25mm f7", Kind.OUTSIDE_DIAMETER), Form.FIT, "mm", 3, "25 24.959 24.98 .021")


@pytest.mark.parametrize(
    ("text", "kind", "form", "counts"),
    [
        ("R.03 MIN", Kind.RADIUS, Form.MINIMUM, "- .03 - .02"),
        (".03 R", Kind.RADIUS, GENERAL, ".03 .02 .04 .02"),
        ("R.030 ±.005", Kind.RADIUS, PM, ".03 .025 .035 .01"),
        (".03 X 45°", Kind.CHAMFER, GENERAL, ".03 .02 .04 .02"),
        (".03±.01 X 45°", Kind.CHAMFER, PM, ".03 .02 .04 .02"),
        ("45° X .03", Kind.CHAMFER, GENERAL, ".03 .02 .04 .02"),
        (".03-.05 X 45 deg", Kind.CHAMFER, LIMITS, "- .03 .05 .02"),
        ("BREAK EDGE .005-.015", Kind.CHAMFER, LIMITS, "- .005 .015 .01"),
        ("↧ .250 ±.010", Kind.DEPTH, PM, ".25 .24 .26 .02"),
        (".250 DEEP", Kind.DEPTH, GENERAL, ".25 .245 .255 .01"),
        (".0002-.0004", Kind.COATING, LIMITS, "- .0002 .0004 .0002"),
        ("0 ±.005", Kind.STEP, PM, "0 -.005 .005 .01"),
    ],
)
def test_other_kinds_of_features(text: str, kind: Kind, form: Form, counts: str) -> None:
    found = read(text, kind)
    wanted = tuple(exact(each, "in") for each in counts.split())
    assert (found.form, found.nominal, found.lower, found.upper, found.band) == (form, *wanted)


@pytest.mark.parametrize(
    ("text", "form", "decimals", "counts"),
    [
        ("45°", GENERAL, 1, "45 44.5 45.5 1"),
        ("45° ±1°", PM, 0, "45 44 46 2"),
        ("45°30' ±15'", PM, 2, "45.5 45.25 45.75 .5"),
        ("45 deg +/- 0.5 deg", PM, 1, "45 44.5 45.5 1"),
        ("45%%d%%p1%%d", PM, 0, "45 44 46 2"),
        ("45° +1°/-0°", PM, 0, "45 45 46 1"),
        ("44-46°", LIMITS, 0, "- 44 46 2"),
        ("[45°]", Form.BASIC, 0, "45 - - -"),
        ("45° MAX", Form.MAXIMUM, 0, "- - 45 1"),
    ],
)
def test_angles(text: str, form: Form, decimals: int, counts: str) -> None:
    assert_read(read(text, Kind.ANGLE), form, "°", decimals, counts)


def test_a_third_of_a_degree_keeps_its_exact_limits() -> None:
    found = read("30° ±20'", Kind.ANGLE)
    assert (found.lower, found.upper) == (30 * DEGREE - DEGREE // 3, 30 * DEGREE + DEGREE // 3)


def test_an_angle_of_iso_2768_asks_for_its_shorter_side() -> None:
    """ISO 2768-1 m, over 10 to 50 mm: ±30'."""
    assert_read(read("45°", Kind.ANGLE, MM_BLOCK, shorter_side=25 * MM), GENERAL, "°", 1, "45 44.5 45.5 1")
    assert fault("45°", Kind.ANGLE, MM_BLOCK) == ("general.shorter_side", 0)


@pytest.mark.parametrize(
    ("text", "block", "unit", "upper"),
    [
        ("Ra 63 µin", INCH_BLOCK, "µin", "63"),
        ("63 uin", INCH_BLOCK, "µin", "63"),
        ("63", INCH_BLOCK, "µin", "63"),
        ("63 µin Ra MAX", INCH_BLOCK, "µin", "63"),
        ("Ra 1.6", MM_BLOCK, "µm", "1.6"),
        ("Ra 1.6 µm", INCH_BLOCK, "µm", "1.6"),
    ],
)
def test_roughness_has_a_natural_zero(text: str, block: TitleBlock, unit: str, upper: str) -> None:
    found = read(text, Kind.ROUGHNESS, block)
    assert (found.unit, found.lower, found.upper, found.band) == (unit, None, exact(upper, unit), found.upper)
    assert found.natural_zero


def test_roughness_between_two_limits() -> None:
    assert_read(read("Ra 16-32", Kind.ROUGHNESS), LIMITS, "µin", 0, "- 16 32 16")
    assert_read(read("32/63", Kind.ROUGHNESS), LIMITS, "µin", 0, "- 32 63 31")


@pytest.mark.parametrize(
    ("text", "diameter", "codes"),
    [
        ("⌖ ⌀.010 Ⓜ A B", True, ["band.natural_zero", "frame.no_bonus"]),
        ("|⌖|⌀.010 (M)|A|B|C|", True, ["band.natural_zero", "frame.no_bonus"]),
        ("POSITION .010 A B Ⓜ", False, ["band.natural_zero", "frame.no_shift"]),
        ("FLATNESS .010", False, ["band.natural_zero"]),
        ("⟂ .010 A", False, ["band.natural_zero"]),
        ("// .010 A", False, ["band.natural_zero"]),
        (".010 TIR", False, ["band.natural_zero"]),
        ("total runout .010 A-B", False, ["band.natural_zero"]),
        (".010", False, ["band.natural_zero"]),
    ],
)
def test_geometric_tolerances(text: str, diameter: bool, codes: list[str]) -> None:
    found = read(text, Kind.GEOMETRIC)
    assert_read(found, Form.MAXIMUM, "in", 3, "- - .01 .01")
    assert (found.natural_zero, found.diameter) == (True, diameter)
    assert [reason.code for reason in found.explained] == codes


def test_only_a_broken_edge_makes_a_maximum_an_error() -> None:
    edge, size = read("BREAK EDGES .010 MAX", Kind.CHAMFER), read(".010 MAX X 45°", Kind.CHAMFER)
    assert (edge.band, edge.natural_zero) == (INCH // 100, True)
    assert (size.band, size.natural_zero) == (INCH // 100, False)  # ±.005 by the title block


@pytest.mark.parametrize(
    ("text", "unit", "nominal", "inside"),
    [
        ("M6x1-6H", "mm", "6", True),
        ("M6-6H", "mm", "6", True),
        ("M10×1.25-6g LH", "mm", "10", False),
        ("1/4-20 UNC-2B", "in", ".25", True),
        ("1/4-20UNC-2A", "in", ".25", False),
        (".250-28 UNF-2B", "in", ".25", True),
        ("#10-32 UNF-2A", "in", ".19", False),  # .060 + 10 × .013 in
        ("10-24 UNC 2B", "in", ".19", True),
        ("4-40 UNC-2B THRU", "in", ".112", True),
        ("1-8 UNC-2A", "in", "1", False),  # one inch: no numbered size is that coarse
        ("1-64 UNC-2A", "in", ".073", False),
        ("1 1/8-7 UNC-2B", "in", "1.125", True),
    ],
)
def test_threads(text: str, unit: str, nominal: str, inside: bool) -> None:
    found = read(text, Kind.THREAD)
    assert (found.form, found.unit, found.nominal) == (Form.THREAD, unit, exact(nominal, unit))
    assert (found.lower, found.upper, found.band) == (None, None, None)
    assert [reason.code for reason in found.explained] == ["thread.internal" if inside else "thread.external"]


def test_a_note_is_any_text() -> None:
    assert read("PASSIVATE PER SPEC, ±nothing", Kind.NOTE) == Requirement("PASSIVATE PER SPEC, ±nothing", Form.NOTE)


@pytest.mark.parametrize(
    "spelling", ["⌀.75", "Ø.75", "ø .75", "%%c.75", "%%C.75", "dia .75", "DIA. .75", "o.75", ".75 DIA"]
)
def test_every_spelling_of_a_diameter(spelling: str) -> None:
    found = read(spelling, Kind.LENGTH)
    assert (found.diameter, found.nominal, found.written) == (True, INCH * 3 // 4, spelling)


def test_a_bore_is_a_diameter_without_its_sign() -> None:
    assert read(".750", Kind.BORE).diameter and not read(".750", Kind.SLOT).diameter


# --- the governing unit


def test_a_unit_in_the_callout_governs_where_the_row_names_none() -> None:
    assert_read(read("12.7mm ±0.1"), PM, "mm", 1, "12.7 12.6 12.8 .2")
    assert_read(read("12.7 ±0.1 mm"), PM, "mm", 1, "12.7 12.6 12.8 .2")
    assert read("5-8 µm", Kind.COATING).unit == "µm"
    assert read("5-8 µm", Kind.COATING).lower == 5_000_000


def test_a_row_keeps_its_unit() -> None:
    assert fault("12.7 mm ±0.1", unit="in") == ("callout.unit_conflict", 5)
    assert_read(read(".5 ±.1", unit="mm"), PM, "mm", 1, ".5 .4 .6 .2")


def test_metric_defaults_by_decimals_only_if_the_block_says_so() -> None:
    block = TitleBlock(unit="mm", metric={1: MM // 2}, general="m")
    assert_read(read("12.5", block=block), GENERAL, "mm", 1, "12.5 12 13 1")
    assert_read(read("12.50", block=block), GENERAL, "mm", 2, "12.5 12.3 12.7 .4")
    assert fault("12.5", block=TitleBlock(unit="mm", inch={1: INCH})) == ("general.missing", 0)


# --- faults


def fault(text: str, kind: Kind = Kind.LENGTH, block: TitleBlock = INCH_BLOCK, unit: str = "") -> tuple[str, int]:
    """Code and place of the one reason for which a callout is refused; its sentence is there with all its parts."""
    with pytest.raises(Refused) as refused:
        read(text, kind, block, unit)
    (reason,) = refused.value.reasons
    sentence = say(reason)
    assert sentence and reason.code not in sentence and "{" not in sentence
    at = reason.parts["at"]
    assert isinstance(at, int)
    return reason.code, at


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        ("", "callout.empty", 0),
        ("abc", "callout.number_missing", 0),
        ("⌀", "callout.number_missing", 1),
        (".5 ±", "callout.number_missing", 4),
        (".500 ±.0o5", "callout.rest", 8),
        ("1,157", "reader.comma", 1),
        (".500 ±1,157", "reader.comma", 7),
        ("1/3", "reader.denominator", 2),
        ("500mil", "reader.mil", 3),
        ("1.25.5", "reader.two_marks", 4),
        ("%%c1,157", "reader.comma", 4),
        ("1.2505/1.2495", "callout.limits_order", 7),
        ("1.25/1.25", "callout.limits_equal", 5),
        ("1.25-1.250", "callout.limits_equal", 5),
        (".5 +.00/-.00", "callout.zero_band", 9),
        (".5 ±0", "callout.zero_band", 4),
        (".5 -.005/+.005", "callout.deviations_order", 10),
        (".5 +.001/+.003", "callout.deviations_order", 10),
        (".5 +.005", "callout.deviation_missing", 8),
        (".5 +.005/.003", "callout.sign_missing", 9),
        ("0 MAX", "callout.zero", 0),
        (".005 ±.010", "callout.below_nothing", 6),
        (".500 ±.005 X .25", "callout.second_size", 11),
        ("4X ⌀.5", "callout.count_here", 0),
        (".250 TYP", "callout.typical", 5),
        (".5 .6", "callout.rest", 3),
        (".5 ±.1 ?", "callout.rest", 7),
        ("[1.5 ±.1]", "callout.enclosed", 5),
        ("(1.5", "callout.bracket_open", 4),
        ("R.5", "callout.no_radius", 0),
        (".5 in ±1 mm", "callout.units_mixed", 9),
        ("25 H7", "fit.inch", 3),
        (".50000", "general.decimals", 0),
        ("⌀ .50000", "general.decimals", 2),
        (".50000 MAX", "band.ask", 0),
        ("999999 in", "reader.too_large", 0),
    ],
)
def test_faults_of_inch_sizes(text: str, code: str, at: int) -> None:
    assert fault(text) == (code, at)


@pytest.mark.parametrize(
    ("text", "kind", "block", "code", "at"),
    [
        ("25 f7", Kind.BORE, MM_BLOCK, "fit.side", 3),
        ("25 H7", Kind.OUTSIDE_DIAMETER, MM_BLOCK, "fit.side", 3),
        ("25 H7/g6", Kind.BORE, MM_BLOCK, "fit.assembly", 5),
        ("25 H7 (+0.02/0)", Kind.BORE, MM_BLOCK, "fit.printed", 6),
        ("25 K9", Kind.BORE, MM_BLOCK, "fit.undefined", 3),
        ("501 H7", Kind.BORE, MM_BLOCK, "fit.size", 4),
        ("0.4", Kind.LENGTH, MM_BLOCK, "general.no_value", 0),
        ("12.5", Kind.LENGTH, EMPTY, "general.missing", 0),
        ("1/2", Kind.LENGTH, EMPTY, "general.fraction", 0),
        ("45°", Kind.ANGLE, EMPTY, "general.missing", 0),
        ("12.5 MAX", Kind.LENGTH, EMPTY, "band.ask", 0),
        ("45°30' ±15", Kind.ANGLE, EMPTY, "callout.angle_unit", 8),
        ("⌀45", Kind.ANGLE, EMPTY, "callout.no_diameter", 0),
        (".03 X 45° ±1°", Kind.CHAMFER, INCH_BLOCK, "callout.chamfer_tolerance", 10),
        ("BREAK EDGES .010", Kind.CHAMFER, INCH_BLOCK, "callout.edge_break", 12),
        ("⌖ ⌀.000 Ⓜ A", Kind.GEOMETRIC, INCH_BLOCK, "frame.zero_at_material", 3),
        ("⏥ 0", Kind.GEOMETRIC, INCH_BLOCK, "callout.zero", 2),
        ("⟂ .001 A xyz", Kind.GEOMETRIC, INCH_BLOCK, "callout.rest", 9),
        ("Ra 63/32", Kind.ROUGHNESS, INCH_BLOCK, "callout.limits_order", 6),
        ("M6x1", Kind.THREAD, EMPTY, "thread.class_missing", 4),
        ("1/4-20 UNC", Kind.THREAD, EMPTY, "thread.class_missing", 10),
        ("M6x1-6X", Kind.THREAD, EMPTY, "thread.class", 5),
        ("M6x1-6H X .5", Kind.THREAD, EMPTY, "thread.rest", 8),
        ("M6.5-6H", Kind.THREAD, EMPTY, "thread.pitch", 0),
        ("1/4-18 NPT", Kind.THREAD, EMPTY, "thread.pipe", 0),
        ("bolt", Kind.THREAD, EMPTY, "thread.designation", 0),
    ],
)
def test_faults_of_other_rows(text: str, kind: Kind, block: TitleBlock, code: str, at: int) -> None:
    assert fault(text, kind, block) == (code, at)


def test_a_band_that_was_asked_for_feeds_the_ratios_alone() -> None:
    found = read("12.5 MAX", block=TitleBlock(unit="mm"), band=MM // 10)
    assert (found.lower, found.upper, found.band) == (None, 12_500_000_000, MM // 10)
    assert [reason.code for reason in found.explained] == ["band.stated"]


# --- counts


@pytest.mark.parametrize(
    ("text", "kind", "count", "rest"),
    [
        ("4X ⌀.250 ±.005", None, 4, "⌀.250 ±.005"),
        ("4x⌀.250", None, 4, "⌀.250"),
        ("2 X .25", None, 2, ".25"),
        ("(2X) .25", None, 2, ".25"),
        (".250 DIA 4 PLACES", None, 4, ".250 DIA"),
        (".250 2 PL", None, 2, ".250"),
        ("4X M6x1-6H", Kind.THREAD, 4, "M6x1-6H"),
        ("M6x1-6H", Kind.THREAD, 1, "M6x1-6H"),
        ("2X 45°", Kind.ANGLE, 2, "45°"),
        ("2X 45°", Kind.CHAMFER, 1, "2X 45°"),
        ("2X .03 X 45°", Kind.CHAMFER, 2, ".03 X 45°"),
        (".250", None, 1, ".250"),
    ],
)
def test_counts(text: str, kind: Kind | None, count: int, rest: str) -> None:
    assert count_of(text, kind) == (count, rest)


@pytest.mark.parametrize("text", ["0X .250", "1000X .250"])
def test_a_count_of_nothing_or_too_many_is_refused(text: str) -> None:
    with pytest.raises(Refused) as refused:
        count_of(text)
    assert refused.value.reasons[0].code == "callout.count" and say(refused.value.reasons[0])


# --- whatever is written

DECIMALS = st.integers(1, 5)
SIGNS = st.sampled_from(["", "⌀", "Ø ", "%%c", "DIA "])


def drawn(count: int, decimals: int, *, zero: bool) -> str:
    """An inch number of ``count`` steps of its last decimal, with or without the leading zero."""
    text = f"{count // 10**decimals}.{count % 10**decimals:0{decimals}d}"
    return text if zero or not text.startswith("0") else text[1:]


@given(
    st.integers(1, 999_999),
    st.integers(1, 999),
    st.integers(0, 999),
    DECIMALS,
    SIGNS,
    st.booleans(),
    st.sampled_from(["-", " - ", "/", "…", " to "]),
)
def test_what_is_drawn_reads_back(
    nominal: int, plus: int, minus: int, decimals: int, sign: str, zero: bool, between: str
) -> None:
    step = INCH // 10**decimals
    kind = Kind.STEP  # may pass below nothing
    size, up, down = (drawn(count, decimals, zero=zero) for count in (nominal, plus, minus))
    even = read(f"{sign}{size} ±{up}", kind)
    assert (even.nominal, even.lower, even.upper) == (nominal * step, (nominal - plus) * step, (nominal + plus) * step)
    uneven = read(f"{sign}{size} +{up}/-{down}", kind)
    assert (uneven.lower, uneven.upper, uneven.band) == ((nominal - minus) * step, (nominal + plus) * step, uneven.band)
    high = drawn(nominal + plus, decimals, zero=zero)
    both = read(f"{sign}{size}{between}{high}", kind)
    assert (both.lower, both.upper, both.band) == (nominal * step, (nominal + plus) * step, plus * step)
    assert even.decimals == uneven.decimals == both.decimals == decimals
    most = read(f"{sign}{size} MAX", kind, band=step)
    assert (most.lower, most.upper) == (None, nominal * step)
    for text, form in ((f"[{sign}{size}]", Form.BASIC), (f"({sign}{size})", Form.REFERENCE)):
        plain = read(text, kind)
        assert (plain.form, plain.nominal, plain.lower, plain.upper) == (form, nominal * step, None, None)


@given(st.integers(0, 359), st.integers(0, 59), st.integers(1, 59))
def test_degrees_and_minutes_read_back(degrees: int, minutes: int, tolerance: int) -> None:
    found = read(f"{degrees}°{minutes}' ±{tolerance}'", Kind.ANGLE)
    nominal = degrees * DEGREE + minutes * DEGREE // 60
    half = tolerance * DEGREE // 60
    assert (found.nominal, found.lower, found.upper) == (nominal, nominal - half, nominal + half)


ALPHABET = st.sampled_from(
    [*"0123456789.,/+-±⌀RXxHMgf°'\"()[]|… ", "mm", "in", "MAX", "MIN", "UNC-2B", "Ⓜ", "٣", "²", "%%", "t"]
)


@given(
    st.one_of(st.text(max_size=30), st.lists(ALPHABET, max_size=12).map("".join)),
    st.sampled_from(list(Kind)),
    st.sampled_from([INCH_BLOCK, MM_BLOCK, EMPTY]),
    st.sampled_from(["", "in", "mm", "µm", "°", "?"]),
)
def test_any_text_is_read_or_refused_with_a_place_and_a_sentence(
    text: str, kind: Kind, block: TitleBlock, unit: str
) -> None:
    try:
        _, rest = count_of(text, kind)
        found = read(rest, kind, block, unit)
    except Refused as refused:
        for reason in refused.reasons:
            at = reason.parts["at"]
            assert isinstance(at, int) and 0 <= at <= len(text)
            assert say(reason)
        return
    assert all(say(reason) for reason in found.explained)
    if found.lower is not None and found.upper is not None:
        assert found.band == found.upper - found.lower > 0

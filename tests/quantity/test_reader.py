"""The reader: every notation of the bench exactly, everything else refused at its character."""

from __future__ import annotations

import locale
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.quantity.reader import ANGLE_WORDS, LENGTH_WORDS, LONGEST_ENTRY, decimal_at, read, unit_symbol
from inspection.quantity.units import LARGEST_COUNT, UNITS, Kind
from inspection.reasons import Part, Refused
from inspection.words.say import known, say

INCH = 25_400_000_000
MM = 1_000_000_000
DEGREE = 3_600_000_000

READ_ON_INCH = [
    ("1.1575", Fraction("1.1575") * INCH, "in", 4),
    (".5", INCH / 2, "in", 1),
    ("0,5", INCH / 2, "in", 1),
    ("0,157", Fraction("0.157") * INCH, "in", 3),
    ("1,1575", Fraction("1.1575") * INCH, "in", 4),
    ("1.", INCH, "in", 0),
    ("0.5000", INCH / 2, "in", 4),
    ("1 5/32", Fraction(37, 32) * INCH, "in", None),
    ("1-5/32", Fraction(37, 32) * INCH, "in", None),
    ('1 5/32"', Fraction(37, 32) * INCH, "in", None),
    ("5/64", Fraction(5, 64) * INCH, "in", None),
    ("12.7mm", INCH / 2, "mm", 1),
    ("12.7 MM", INCH / 2, "mm", 1),
    ("28 µm", 28 * MM // 1000, "µm", 0),
    ("28 μm", 28 * MM // 1000, "µm", 0),
    ("28um", 28 * MM // 1000, "µm", 0),
    ("28 micron", 28 * MM // 1000, "µm", 0),
    ("28 microns", 28 * MM // 1000, "µm", 0),
    ("1.1 thou", Fraction("0.0011") * INCH, "thou", 1),
    ("5 tenths", Fraction("0.0005") * INCH, "tenth", 0),
    ('1"', INCH, "in", 0),
    ("1″", INCH, "in", 0),
    ("58.5 cm", 585 * MM, "cm", 1),
    ("63 µin", Fraction("0.000063") * INCH, "µin", 0),
    ("63 uin", Fraction("0.000063") * INCH, "µin", 0),
    ("1.6 µm", 16 * MM // 10_000, "µm", 1),
    ("\u00a0 .25\t in \r\n", INCH / 4, "in", 2),
]


@pytest.mark.parametrize(("text", "count", "unit", "decimals"), READ_ON_INCH)
def test_an_inch_entry_reads(text: str, count: Fraction, unit: str, decimals: int | None) -> None:
    quantity = read(text, unit="in")
    assert (quantity.count, quantity.unit, quantity.decimals) == (count, unit, decimals)
    assert quantity.written == text


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("+3 thou", Fraction("0.003") * INCH),
        ("-0.02 mm", -20 * MM // 1000),
        ("−.002", Fraction("-0.002") * INCH),
        ("- 1 5/32", Fraction(-37, 32) * INCH),
        ("-0", 0),
    ],
)
def test_a_deviation_reads_with_its_sign(text: str, count: Fraction) -> None:
    assert read(text, unit="in", signed=True).count == count


@pytest.mark.parametrize(
    ("text", "count", "unit", "decimals"),
    [
        ("45", 45 * DEGREE, "°", 0),
        ("45.5 deg", 91 * DEGREE // 2, "°", 1),
        ("45,5°", 91 * DEGREE // 2, "°", 1),
        ("45°30'", 91 * DEGREE // 2, "°", None),
        ("45° 30′ 0″", 91 * DEGREE // 2, "°", None),
        ("45 deg 30 min", 91 * DEGREE // 2, "°", None),
        ("0°0'15.5\"", 15_500_000, "°", None),
        ("30'", DEGREE // 2, "'", 0),
    ],
)
def test_an_angle_entry_reads(text: str, count: int, unit: str, decimals: int | None) -> None:
    quantity = read(text, unit="°", kind=Kind.ANGLE)
    assert (quantity.count, quantity.unit, quantity.decimals) == (count, unit, decimals)


def parts_of(text: str, *, unit: str = "in", kind: Kind = Kind.LENGTH, signed: bool = False) -> dict[str, Part]:
    with pytest.raises(Refused) as refused:
        read(text, unit=unit, kind=kind, signed=signed)
    (reason,) = refused.value.reasons
    assert known(reason.code)
    assert f"[{reason.code}]" not in say(reason)
    return {"code": reason.code, **reason.parts}


REFUSED_ON_INCH = [
    ("", "empty", 0),
    ("   ", "empty", 0),
    ("-3", "sign", 0),
    ("5 mil", "mil", 2),
    ("5t", "t", 1),
    ("5 T", "t", 2),
    ("5 u", "micro", 2),
    ("1,157", "comma", 1),
    ("5,", "comma_ends", 1),
    ("1.234,5", "two_marks", 5),
    ("1,234.5", "two_marks", 5),
    ("1,157,000", "two_marks", 5),
    ("1/3", "denominator", 2),
    ("1 2/3", "denominator", 4),
    ("1/128", "denominator", 2),
    ("1/0", "denominator", 2),
    ("0/8", "numerator", 0),
    ("1 9/8", "numerator", 2),
    ("11/8", "space_lost", 0),
    ("9/8", "improper", 0),
    ("1 5/", "fraction_unfinished", 3),
    ("1 5/32 mm", "fraction_not_inch", 2),
    ("1e3", "exponent", 1),
    ("1.5E-3", "exponent", 3),
    ("1.1234567891", "too_fine", 10),
    ("0.000000000001", "too_fine", 13),
    ("nan", "not_a_number", 0),
    ("inf", "not_a_number", 0),
    ("-inf", "sign", 0),
    ("1 157", "two_numbers", 2),
    ("１", "character", 0),
    ("1２", "character", 1),
    ("٣", "character", 0),
    ("½", "character", 0),
    ("±3", "character", 0),
    ("1--2", "character", 1),
    ("1.5+2", "character", 3),
    (".", "no_digits", 0),
    ("mm", "no_number", 0),
    ("5 furlong", "unknown_unit", 2),
    ("12 mm 3", "more_after", 5),
    ("45°", "not_length", 2),
    ("9" * 20, "too_large", 0),
    ("1" * 65, "too_long", 64),
]


@pytest.mark.parametrize(("text", "code", "at"), REFUSED_ON_INCH)
def test_an_inch_entry_is_refused_at_its_character(text: str, code: str, at: int) -> None:
    parts = parts_of(text)
    assert (parts["code"], parts["at"]) == (f"reader.{code}", at)


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        ("45°30", "mark_missing", 3),
        ("45 30", "two_numbers", 3),
        ("45°60'", "sixty", 3),
        ("30'45°", "order", 5),
        ("45.5°30'", "only_last_has_decimals", 2),
        ("45 mm", "not_angle", 3),
        ("45 mil", "unknown_unit", 3),
    ],
)
def test_an_angle_entry_is_refused_at_its_character(text: str, code: str, at: int) -> None:
    parts = parts_of(text, unit="°", kind=Kind.ANGLE)
    assert (parts["code"], parts["at"]) == (f"reader.{code}", at)


@pytest.mark.parametrize(
    ("text", "unit", "first", "second"),
    [
        ("1,157", "in", "1.157", "1157"),
        ("5 mil", "mm", "5 thou", "5 mm"),
        ("2,5t", "in", "2.5 thou", "2.5 tenths"),
        ("28 µ", "mm", "28 µm", "28 µin"),
        ("5 tenths", "mm", "5 × 0.0001 in", "5 × 0.1 mm"),
        ("11/8", "in", "1 3/8", "1 1/8"),
    ],
)
def test_where_there_are_two_meanings_both_are_told(text: str, unit: str, first: str, second: str) -> None:
    parts = parts_of(text, unit=unit)
    assert (parts["first"], parts["second"]) == (first, second)


def test_a_fraction_on_a_metric_entry_is_refused_unless_inches_are_written() -> None:
    assert parts_of("1 5/32", unit="mm")["code"] == "reader.fraction_not_inch"
    assert read("1 5/32 in", unit="mm").unit == "in"


def test_the_largest_count_is_the_first_one_refused() -> None:
    pm = f"{LARGEST_COUNT - 1:016d}"
    assert read(f"{pm[:-6]}.{pm[-6:]}", unit="µm").count == LARGEST_COUNT - 1
    pm = f"{LARGEST_COUNT:016d}"
    assert parts_of(f"{pm[:-6]}.{pm[-6:]}", unit="µm")["code"] == "reader.too_large"


def test_a_unit_of_another_kind_is_a_fault_of_the_caller() -> None:
    with pytest.raises(ValueError, match="not a unit of length"):
        read("45", unit="°")


def test_every_word_for_a_unit_names_one_of_the_table() -> None:
    for kind, words in ((Kind.LENGTH, LENGTH_WORDS), (Kind.ANGLE, ANGLE_WORDS)):
        for word, symbol in words.items():
            assert UNITS[symbol].kind is kind
            assert word == word.lower()
            assert read(f"2 {word}", unit="in" if kind is Kind.LENGTH else "°", kind=kind).unit == symbol
    assert unit_symbol(" Inches ") == "in"
    assert unit_symbol("deg", Kind.ANGLE) == "°"
    assert unit_symbol("mil") is None


#: What hands and cables may send: mostly characters of numbers, then anything.
entries = st.one_of(
    st.text(alphabet="0123456789.,/-+−°'\" µμumintho eE", max_size=20),
    st.text(max_size=LONGEST_ENTRY + 3),
)
units = st.sampled_from(sorted(UNITS))


@given(entries, units, st.booleans())
def test_any_text_is_read_or_refused_within_itself(text: str, unit: str, signed: bool) -> None:
    kind = UNITS[unit].kind
    try:
        quantity = read(text, unit=unit, kind=kind, signed=signed)
    except Refused as refused:
        (reason,) = refused.reasons
        at = reason.parts["at"]
        assert isinstance(at, int)
        assert 0 <= at < max(1, len(text))
        assert f"[{reason.code}]" not in say(reason)
    else:
        assert quantity.written == text
        assert abs(quantity.count) < LARGEST_COUNT
        assert quantity.kind is kind is UNITS[quantity.unit].kind


@given(st.integers(0, 9_999_999), st.integers(0, 12), units)
def test_a_decimal_is_its_value_or_refused_but_never_rounded(digits: int, decimals: int, unit: str) -> None:
    value = Fraction(digits, 10**decimals)
    text = f"{digits // 10**decimals}." + f"{digits % 10**decimals:0{decimals}d}" * bool(decimals)
    steps = value * UNITS[unit].count
    kind = UNITS[unit].kind
    if steps.denominator != 1:
        assert parts_of(text, unit=unit, kind=kind)["code"] == "reader.too_fine"
    elif steps < LARGEST_COUNT:
        assert read(text, unit=unit, kind=kind).count == steps


@given(st.integers(0, 99), st.integers(1, 63), st.sampled_from([" ", "-", "  "]))
def test_every_64th_reads_exactly(whole: int, marks: int, gap: str) -> None:
    fraction = Fraction(marks, 64)
    text = f"{whole}{gap}{fraction.numerator}/{fraction.denominator}"
    assert read(text, unit="in").count == (whole + fraction) * INCH


def test_the_locale_has_no_say(monkeypatch: pytest.MonkeyPatch) -> None:
    odd = {**locale.localeconv(), "decimal_point": ",", "thousands_sep": ".", "grouping": [3, 0]}
    monkeypatch.setattr(locale, "localeconv", lambda: odd)
    assert read("1.157", unit="in").count == Fraction("1.157") * INCH
    assert parts_of("1,157")["code"] == "reader.comma"


@pytest.mark.parametrize(("text", "at"), [("", 0), ("±", 1)])
def test_no_number_at_all_is_refused_where_it_should_stand(text: str, at: int) -> None:
    with pytest.raises(Refused) as caught:
        decimal_at(text, at, len(text))
    assert [(each.code, each.parts["at"]) for each in caught.value.reasons] == [("reader.empty", at)]

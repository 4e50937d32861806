"""Quantities of functional tests: counts equal pint's conversions, exactly; texts are read or refused at the place."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.quantity.other import converted, find_unit, other_units, written_in
from inspection.quantity.other_limits import read_limits, read_result
from inspection.quantity.units import LARGEST_COUNT
from inspection.reasons import Refused
from inspection.standards.tables import rows
from inspection.words.say import say

UNITS = other_units()
ORACLE: Any = pint.UnitRegistry(non_int_type=Fraction)
#: pint's own name of each unit, from the table; the numbers come from pint's definitions alone.
NAMED = {row["unit"]: row["pint"] for row in rows("quantities") if row["pint"]}
numbers = st.builds(lambda digits, places: Fraction(digits, 10**places), st.integers(0, 99_999), st.integers(0, 3))


def by_pint(value: Fraction, unit: str, to: str) -> Fraction:
    return Fraction(ORACLE.Quantity(value, ORACLE.Unit(NAMED[unit])).to(ORACLE.Unit(NAMED[to])).magnitude)


def steps(value: Fraction, symbol: str) -> Fraction:
    return value * UNITS[symbol].count + UNITS[symbol].zero


PAIRS = [
    (one, other) for one in NAMED for other in NAMED if one != other and UNITS[one].quantity == UNITS[other].quantity
]


def test_the_oracle_knows_all_but_scales_and_percentages() -> None:
    alone = {UNITS[unit].quantity.split()[0] for unit in UNITS if unit not in NAMED}
    assert alone == {"hardness", "standard", "conductivity", "part", "speed"}


@pytest.mark.parametrize(("unit", "to"), PAIRS)
@given(value=numbers)
def test_a_value_in_two_units_is_one_count(unit: str, to: str, value: Fraction) -> None:
    expected = steps(by_pint(value, unit, to), to)
    assert converted(steps(value, unit), UNITS[unit], UNITS[to]) == expected
    if UNITS[unit].kind == UNITS[to].kind:
        assert steps(value, unit) == expected


@pytest.mark.parametrize("symbol", UNITS)
def test_a_unit_holds_its_decimals_and_what_a_shop_measures(symbol: str) -> None:
    unit = UNITS[symbol]
    assert unit.count % 1000 == 0, "three decimals are whole"
    assert unit.zero + 9 * unit.count < LARGEST_COUNT
    if unit.quantity not in ("leak rate",):
        assert unit.zero + 3000 * unit.count < LARGEST_COUNT, "and three thousand of them have room"


def test_every_row_says_where_it_comes_from() -> None:
    for row in rows("quantities"):
        assert row["source"]
        assert row["how_obtained"]


def test_a_spelling_means_one_unit() -> None:
    for row in rows("quantities"):
        for written in (row["unit"], *filter(None, row["spellings"].split(";"))):
            found = find_unit(written)
            assert found is not None, written
            assert found.symbol == row["unit"], written


@pytest.mark.parametrize(
    ("written", "symbol"),
    [
        ("Nm", "N·m"), ("N.m", "N·m"), ("N-m", "N·m"), ("in-lbf", "in·lbf"), ("IN LBS", "in·lbf"), ("ft-lb", "ft·lbf"),
        ("MPa", "MPa"), ("PSI", "psi"), ("mV", "mV"), ("hrc", "HRC"), ("°F", "°F"), ("deg F", "°F"), ("ohms", "Ω"),
        ("mbar*l/s", "mbar·l/s"), ("LBF", "lbf"), ("HV 10", "HV10"), ("µA", "µA"), ("μA", "µA"), ("MOhm", "MΩ"),
    ],
)  # fmt: skip
def test_the_shop_s_spellings_are_read(written: str, symbol: str) -> None:
    found = find_unit(written)
    assert found is not None
    assert found.symbol == symbol


def test_a_spelling_that_could_be_two_units_is_none() -> None:
    assert find_unit("mohm") == UNITS["mΩ"]
    assert find_unit("mv") == UNITS["mV"]  # there is no megavolt in the table
    assert find_unit("MOHM") is None


# --- requirements ---------------------------------------------------------------------------------------------------

READ = [
    ("≥ 45 HRC", "HRC", "45 HRC", ""),
    (">=45HRC", "HRC", "45 HRC", ""),
    ("45 HRC MIN", "HRC", "45 HRC", ""),
    ("min. 45 HRC", "HRC", "45 HRC", ""),
    ("60 psi MIN", "psi", "60 psi", ""),
    ("MAX 5 mbar", "mbar", "", "5 mbar"),
    ("5.0 mbar max.", "mbar", "", "5.0 mbar"),
    ("28 … 32 HRC", "HRC", "28 HRC", "32 HRC"),
    ("28-32 HRC", "HRC", "28 HRC", "32 HRC"),
    ("28 HRC – 32 HRC", "HRC", "28 HRC", "32 HRC"),
    ("28 to 32 hrc", "HRC", "28 HRC", "32 HRC"),
    ("12 ±1 N·m", "N·m", "11 N·m", "13 N·m"),
    ("12 N·m ±0.5 N·m", "N·m", "11.5 N·m", "12.5 N·m"),
    ("12 +/- 1 N.m", "N·m", "11 N·m", "13 N·m"),
    ("12 +1/-0.5 N·m", "N·m", "11.5 N·m", "13.0 N·m"),
    ("12 +1 -0 N·m", "N·m", "12 N·m", "13 N·m"),
    ("12,5 ±0,5 in-lb", "in·lbf", "12.0 in·lbf", "13.0 in·lbf"),
    ("-40 … 85 °C", "°C", "-40 °C", "85 °C"),
    ("-40 to -20 °C", "°C", "-40 °C", "-20 °C"),
    ("70 ±2 °F", "°F", "68 °F", "72 °F"),
    ("≤ 1e-6 mbar·l/s", "mbar·l/s", "", "0.000001 mbar·l/s"),
    ("≤ 1 × 10⁻⁶ mbar l/s", "mbar·l/s", "", "0.000001 mbar·l/s"),
    ("30 min MAX", "min", "", "30 min"),
    ("≥ 30 min", "min", "30 min", ""),
    ("200 HV10 MIN", "HV10", "200 HV10", ""),
    ("29 … 31 %IACS", "%IACS", "29 %IACS", "31 %IACS"),
]


@pytest.mark.parametrize(("text", "symbol", "lower", "upper"), READ)
def test_a_requirement_becomes_limits(text: str, symbol: str, lower: str, upper: str) -> None:
    limits = read_limits(text)
    told = ["" if end is None else written_in(end, symbol, limits.decimals) for end in (limits.lower, limits.upper)]
    assert (limits.unit.symbol, *told) == (symbol, lower, upper)


REFUSED = [
    ("", 0, "There is no requirement."),
    ("HRC", 0, "There is no number"),
    ("45 HRC", 6, "One number alone"),
    ("> 45 HRC", 0, "“>” leaves its own limit out"),
    ("≥ 45", 4, "The unit is missing"),
    ("≥ 45 HRQ", 5, "“HRQ” is no unit known here. Was HR"),
    ("≥ 45 quibble", 5, "“quibble” is no unit known here. Write"),
    ("28 HRC … 300 HV", 13, "The limits stand in HRC and in HV"),
    ("12 ±1 N·m ±2 N·m", 0, "This cannot be read as limits"),
    ("32 … 28 HRC", 5, "The lower limit is above"),
    ("-5 … 5 HRC", 1, "There is nothing below zero"),
    ("≥ -300 °C", 3, "There is nothing below zero"),
    ("≥ 45.12345 HRC", 2, "There are more digits"),
    ("≤ 99999999999999 psi", 2, "That is more than can be kept"),
    ("≥ 1,234 psi", 3, ""),
    ("≥ 45 HRC!", 5, ""),
    ("≥ 45 [HRC", 5, ""),
    ("x" * 65, 64, "The entry has more than 64"),
]


@pytest.mark.parametrize(("text", "at", "said"), REFUSED)
def test_what_is_no_requirement_is_refused_at_its_place(text: str, at: int, said: str) -> None:
    with pytest.raises(Refused) as refused:
        read_limits(text)
    (reason,) = refused.value.reasons
    assert (reason.parts["at"], say(reason)[: len(said)]) == (at, said)
    assert "[" not in say(reason).replace(text, "").replace("“[HRC”", "")


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_with_a_place(text: str) -> None:
    try:
        limits = read_limits(text)
    except Refused as refused:
        assert 0 <= int(str(refused.reasons[0].parts["at"])) <= len(text)
    else:
        assert limits.lower is not None or limits.upper is not None


@given(
    st.sampled_from(sorted(UNITS)),
    st.integers(0, 99_999),
    st.integers(0, 3),
    st.sampled_from(["≥ {} {}", "{} {} MIN", "MIN {} {}"]),
)
def test_a_limit_reads_back_as_it_is_spoken(symbol: str, digits: int, places: int, shape: str) -> None:
    number = f"{Fraction(digits, 10**places).numerator}" if not places else f"{digits / 10**places:.{places}f}"
    if abs(Fraction(number)) * UNITS[symbol].count + UNITS[symbol].zero >= LARGEST_COUNT:
        return
    limits = read_limits(shape.format(number, symbol))
    assert limits.lower == steps(Fraction(number), symbol)
    assert written_in(limits.lower, symbol, places) == f"{number} {symbol}"


# --- results --------------------------------------------------------------------------------------------------------


def test_a_result_stands_in_its_limits_unit_unless_it_names_its_own() -> None:
    limits = read_limits("12 ±1 N·m")
    assert read_result("13.0", limits).count == limits.upper
    assert read_result("1300 cN·m", limits).count == limits.upper
    assert read_result(" 13,00 Nm ", limits).decimals == 2


@given(st.integers(0, 9_999_999), st.sampled_from(["≥ 60 psi", "≤ 60 psi", "55 … 65 psi"]))
def test_a_result_of_another_system_is_inside_exactly_where_its_exact_value_is(millibar: int, required: str) -> None:
    """4.136854… bar are 60 psi: no step holds both, and no result is rounded over a limit."""
    limits = read_limits(required)
    count = read_result(f"{millibar / 1000:.3f} bar", limits).count
    value = Fraction(millibar, 1000) * 100_000 / by_pint(Fraction(1), "psi", "Pa") * UNITS["psi"].count
    assert abs(count - value) < 1
    assert (limits.lower is None or count >= limits.lower) == (limits.lower is None or value >= limits.lower)
    assert (limits.upper is None or count <= limits.upper) == (limits.upper is None or value <= limits.upper)


@pytest.mark.parametrize(
    ("required", "text", "said"),
    [
        ("≥ 45 HRC", "44 HRB", "The requirement is in HRC, and nothing converts HRB into it."),
        ("≥ 45 HRC", "", "Nothing was typed."),
        ("≥ 45 HRC", "forty", ""),
        ("≥ 45 HRC", "45 45", ""),
        ("MAX 5 sccm", "0.01 mbar·l/s", "The requirement is in sccm, and nothing converts mbar·l/s into it."),
    ],
)
def test_a_result_that_cannot_be_meant_is_refused(required: str, text: str, said: str) -> None:
    with pytest.raises(Refused) as refused:
        read_result(text, read_limits(required))
    assert say(refused.value.reasons[0]).startswith(said)


def test_reading_a_test_brings_nothing_heavy() -> None:
    """pint is asked by these tests alone; the program reads its own table."""
    told = (
        "import sys, inspection.sheet.measured as m; m.measurement('12 ±1 N·m', '106 in·lb');"
        "print([n for n in ('pint', 'numpy', 'PySide6', 'sqlalchemy') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-X", "utf8", "-c", told], capture_output=True, check=True)
    assert done.stdout.strip() == b"[]"


@pytest.mark.parametrize(("text", "offered"), [("MAX 5 dyn", "N"), ("12 ±1 N·mm", "N·m"), ("3 inHg MIN", "bar")])
def test_a_unit_that_is_kept_in_no_table_is_answered_with_those_that_are(text: str, offered: str) -> None:
    with pytest.raises(Refused) as caught:
        read_limits(text)
    (reason,) = caught.value.reasons
    assert reason.code == "quantity.unit_not_here"
    assert offered in str(reason.parts["units"]).split(", ")


def test_a_word_that_is_no_unit_anywhere_is_said_to_be_none() -> None:
    with pytest.raises(Refused) as caught:
        read_limits("MIN 5 zorgs")
    assert caught.value.reasons[0].code.startswith("quantity.unknown_unit")

"""Parts in sentences: by their type, in the units asked for, plurals by their count."""

from __future__ import annotations

import subprocess
import sys

import pytest

from inspection.quantity.units import Kind
from inspection.reasons import Amount, Figure, Part, Reason
from inspection.words import catalogue as words
from inspection.words.catalogue import Template, entries
from inspection.words.say import known, say, word

WORDS = {
    "band": "The band is {band}.",
    "ratio": "{got} to 1, {needed} needed by {who}",
    "rows": {"one": "{n} row", "other": "{n} rows", "by": "n"},
    "lines": {"none": "no line", "one": "{n} line", "other": "{n} lines", "by": "n"},
    "bore": "bore",
    "kind.outside diameter": "outside diameter",
    "of": "for a {kind!w} and an {other!w:kind}",
    "braces": "{{as typed}}",
}


@pytest.fixture(autouse=True)
def few_words(monkeypatch: pytest.MonkeyPatch) -> None:
    few: dict[str, Template] = dict(entries(WORDS))
    monkeypatch.setattr(words, "catalogue", lambda language: few)
    monkeypatch.setattr("inspection.words.say.catalogue", lambda language: few)


@pytest.mark.parametrize(
    ("units", "sentence"),
    [
        ("", "The band is 0.0100 in."),
        ("in", "The band is 0.0100 in."),
        ("mm", "The band is 0.254 mm."),
    ],
)
def test_an_amount_is_shown_in_the_units_asked_for(units: str, sentence: str) -> None:
    assert say(Reason("band", {"band": Amount(254_000_000, Kind.LENGTH, "in", 4)}), units) == sentence


def test_an_amount_that_the_other_unit_cannot_hold_is_marked() -> None:
    assert (
        say(Reason("band", {"band": Amount(1_000_000_000, Kind.LENGTH, "mm", 2)}), "in") == "The band is ≈ 0.039370 in."
    )


def test_an_angle_keeps_its_unit_in_both_systems() -> None:
    angle = Reason("band", {"band": Amount(1_800_000_000, Kind.ANGLE, "°")})
    assert say(angle, "mm") == say(angle, "in") == "The band is 0.5°."


def test_figures_numbers_and_texts_stand_as_they_are() -> None:
    parts: dict[str, Part] = {"got": Figure("3.70"), "needed": 4, "who": "the {shop}"}
    assert say(Reason("ratio", parts)) == "3.70 to 1, 4 needed by the {shop}"


@pytest.mark.parametrize(("n", "sentence"), [(0, "0 rows"), (1, "1 row"), (2, "2 rows"), (21, "21 rows")])
def test_a_plural_follows_its_count(n: int, sentence: str) -> None:
    assert word("rows", n=n) == sentence


@pytest.mark.parametrize(("n", "sentence"), [(0, "no line"), (1, "1 line"), (2, "2 lines"), (10, "10 lines")])
def test_nothing_may_have_words_of_its_own(n: int, sentence: str) -> None:
    assert word("lines", n=n) == sentence


def test_a_decimal_that_begins_with_one_is_a_plural() -> None:
    assert word("rows", n=Figure("1.5")) == "1.5 rows"
    assert word("rows", n=Figure("1")) == "1 row"


@pytest.mark.unworded
@pytest.mark.parametrize("name", ["code", "language"])
def test_a_part_may_bear_any_name(name: str) -> None:
    assert say(Reason("no.such", {name: "x"})) == f"[no.such] {name} = x"


def test_a_part_can_be_a_code_of_its_own() -> None:
    assert word("of", kind="bore", other="outside diameter") == "for a bore and an outside diameter"


def test_doubled_braces_stand_for_themselves() -> None:
    assert word("braces") == "{as typed}"


@pytest.mark.unworded
def test_an_unknown_code_still_tells_what_it_knows() -> None:
    assert say(Reason("no.such", {"row": "7.1", "n": 3})) == "[no.such] row = 7.1, n = 3"
    assert not known("no.such")
    assert known("bore")


@pytest.mark.unworded
def test_a_missing_part_is_named_in_its_place() -> None:
    assert say(Reason("band")) == "The band is [band]."


def test_importing_the_words_opens_no_file_and_pulls_in_nothing_heavy() -> None:
    code = (
        "import sys, inspection.words.say; print(sorted({'importlib.resources', 'numpy', 'pint'} & set(sys.modules)))"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"

"""The find line: what it names, what it refuses and where, and that a line written from fields reads back as them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from app.jobs.finding import FIELDS, names_of, parted, values_of, wanted_by, written
from inspection.instruments.starter import starter_crib
from inspection.reasons import Refused
from inspection.sheet.people import Person
from inspection.sheet.state import Shop
from inspection.words.say import say
from storage.book.queries.found_sheets import Came, State, Wanted

CRIB = {f"i{n}": replace(one, identity=f"i{n}") for n, one in enumerate(starter_crib(due="2035-01-01"))}
PEOPLE = {"p1": Person("p1", "Mira Oduya"), "p2": Person("p2", "Mirabel Stone")}
SHOP = replace(Shop(), people=PEOPLE, crib=CRIB)
MICROMETER = next(identity for identity, one in CRIB.items() if one.tag == "M-01")


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("", Wanted()),
        ("hub 4711", Wanted(text="hub 4711")),
        ("part:TW-0001 rev:C", Wanted(number="TW-0001", revision="C")),
        ('customer:"Pale Harbour" pumps', Wanted(customer="Pale Harbour", text="pumps")),
        ("heat:55-201 with:m-01 verdict:not-conforming", Wanted(
            heat="55-201", instrument=MICROMETER, verdict=Came.NOT_CONFORMING)),
        ("verdict:in_doubt state:measured", Wanted(verdict=Came.IN_DOUBT, state=State.COMPLETE)),
        ("by:oduya since:2026-03-01 until:2026-03-01", Wanted(person="p1", since="2026-03-01", until="2026-03-01")),
        ("NC:NC-7 Lot:L1 serial:002 order:PO-9", Wanted(nonconformance="NC-7", lot="L1", serial="002", order="PO-9")),
        ("lot: heat:", Wanted()),
        ("a:b ratio 4:1", Wanted(text="a:b ratio 4:1")),
        ('"two words" serial:"0', Wanted(text="two words", serial="0")),
    ],
)  # fmt: skip
def test_a_line_is_read(line: str, wanted: Wanted) -> None:
    assert wanted_by(line, SHOP) == wanted


def test_a_tag_with_small_letters_is_found_as_it_is_written_and_in_other_capitals() -> None:
    """Of two that differ in capitals alone the very one is meant, and neither by a third spelling."""
    tags = {"i0": "M-13b", "i1": "c-1", "i2": "C-1"}
    shop = replace(SHOP, crib={name: replace(CRIB[name], tag=tag) for name, tag in tags.items()})
    for text, found in (("M-13b", "i0"), ("m-13B", "i0"), ("c-1", "i1"), ("C-1", "i2")):
        assert wanted_by(f"with:{text}", shop).instrument == found
    two = replace(shop, crib={"i1": replace(CRIB["i1"], tag="ab"), "i2": replace(CRIB["i2"], tag="aB")})
    with pytest.raises(Refused):
        wanted_by("with:AB", two)


@pytest.mark.parametrize(
    ("line", "at", "said"),
    [
        ("hub with:M-0", 9, "M-01"),
        ("by:mira", 3, "Mira Oduya, Mirabel Stone"),
        ("by:jo", 3, "nobody of the shop"),
        ("since:yesterday", 6, "2026-03-02"),
        ("verdict:good", 8, "conforming, in-doubt, marginal, not-conforming"),
    ],
)
def test_what_names_nothing_is_refused_at_its_place(line: str, at: int, said: str) -> None:
    with pytest.raises(Refused) as refused:
        wanted_by(line, SHOP)
    reason = refused.value.reasons[0]
    assert reason.parts["at"] == at
    assert said in say(reason)


def test_days_that_run_backwards_are_refused() -> None:
    with pytest.raises(Refused) as refused:
        wanted_by("since:2026-03-02 until:2026-03-01", SHOP)
    assert refused.value.reasons[0].code == "find.backwards"


def test_what_is_looked_for_already_stays() -> None:
    assert wanted_by("x", SHOP, Wanted(part="p", text="y", sent=True)) == Wanted(part="p", text="y x", sent=True)


TEXTS = st.text("aB7-./é ", max_size=9).map(lambda text: " ".join(text.split()))


@given(st.dictionaries(st.sampled_from(FIELDS), TEXTS), st.lists(st.text("xyz1-", min_size=1, max_size=4), max_size=3))
def test_a_line_written_from_fields_reads_back_as_them(fields: dict[str, str], words: list[str]) -> None:
    named, text = parted(written(fields, " ".join(words)))
    assert {name: each.text for name, each in named.items()} == {name: each for name, each in fields.items() if each}
    assert text == " ".join(words)


def test_no_name_or_value_stands_for_two() -> None:
    names = [name for field in FIELDS for name in names_of(field)]
    assert len(names) == len(set(names))
    for field, kind in (("verdict", Came), ("state", State)):
        assert set(values_of(field)) == {each.value for each in kind}

"""The shop's rules as text: what is written is read again, every fault at its character, and each number with its
source. The default numbers are common practice, as in the rules themselves."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.instruments.rules import CustomerRule, Rules, check_rules
from inspection.instruments.rules_as_written import (
    changed,
    changes_said,
    field_named,
    follows,
    meant,
    read_rules,
    rule_lines,
    set_rule,
    written_rules,
)
from inspection.instruments.spelling import Piece
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.guard_as_written import decision_text, read_decision
from inspection.reasons import Reason, Refused
from inspection.words.catalogue import catalogue
from inspection.words.say import say

GUARDED = DecisionRule(RuleKind.GUARDED)
THOU = 25_400_000

decisions = st.builds(
    DecisionRule,
    kind=st.sampled_from([RuleKind.GUARDED, RuleKind.PROBABILITY]),
    probability=st.integers(5_001, 9_999),
    printed=st.booleans(),
) | st.sampled_from([DecisionRule(), DecisionRule(RuleKind.GUARDED, by_expanded=True), DecisionRule(printed=True)])
ratios = st.integers(1, 10_000)
names = st.text(st.characters(categories=("L", "Nd"), include_characters=" =.&-"), min_size=1, max_size=20).filter(
    lambda name: name.strip("\"'“”„‘’ ") == name and name.casefold() != "none"
)


def set_rules(texts: list[str], base: Rules) -> Rules:
    """One after the other, and held against each other at the end."""
    for text in texts:
        base = set_rule(text, base)
    check_rules(base)
    return base


@st.composite
def rules(draw: st.DrawFn) -> Rules:
    needed, marginal = sorted([draw(ratios), draw(ratios)], reverse=True)
    customers = draw(st.dictionaries(names.map(str.casefold), decisions, max_size=3))
    return Rules(
        resolution_needed=draw(ratios),
        accuracy_needed=draw(ratios),
        uncertainty_needed=draw(ratios),
        gauge_class_needed=needed,
        gauge_class_marginal=marginal,
        temperature_spread=draw(st.integers(1, 20_000)),
        temperature_room=draw(st.integers(0, 20_000)),
        pick_up_seconds=draw(st.integers(0, 3_600)),
        change_seconds=draw(st.integers(0, 3_600)),
        temperature_minutes=draw(st.integers(1, 44_640)),
        temperature_corrected=draw(st.booleans()),
        check_minutes=draw(st.integers(0, 44_640)),
        closing_band=draw(st.integers(0, 10**12)),
        decision=draw(decisions),
        customers=tuple(CustomerRule(name, decision) for name, decision in customers.items()),
    )


@given(rules())
def test_what_is_written_is_read_again(given_rules: Rules) -> None:
    names = {" ".join(each.customer.split()).casefold() for each in given_rules.customers}
    if len(names) == len(given_rules.customers):
        assert read_rules(written_rules(given_rules), Rules()) == given_rules


def test_every_rule_is_told_with_its_source_and_no_field_is_forgotten() -> None:
    lines = rule_lines(Rules())
    assert {line.field for line in lines} == set(Rules.__struct_fields__) - {"issue"}
    for line in lines:
        assert line.says.code in catalogue()
        assert line.source and line.how_obtained
        assert field_named(line.name) == line.field
    said = {line.field: line.text for line in lines}
    assert said["resolution_needed"] == "10 : 1"
    assert said["check_minutes"] == "8 h"
    assert said["closing_band"] == ".001 in"
    assert said["temperature_room"] == said["customers"] == "none"


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("accuracy ratio=4", "accuracy_needed", 400),
        ("Accuracy-Ratio = 4:1", "accuracy_needed", 400),
        ("uncertainty=3.5 to 1", "uncertainty_needed", 350),
        ("check life=90 min", "check_minutes", 90),
        ("check life=none", "check_minutes", 0),
        ("closing check=.002 in", "closing_band", 2 * THOU),
        ("closing check=5 tenths", "closing_band", THOU // 2),
        ("room temperature=±5.4 °F", "temperature_room", 3_000),
        ("temperature correction=no", "temperature_corrected", False),
        ("pick up=.5 min", "pick_up_seconds", 30),
        ("pick up=0", "pick_up_seconds", 0),
        ("decision=guarded:95", "decision", GUARDED),
        (
            "decision rule=probability 99.5 %, printed",
            "decision",
            DecisionRule(RuleKind.PROBABILITY, 9_950, False, True),
        ),
        ("decision=guarded-U", "decision", DecisionRule(RuleKind.GUARDED, by_expanded=True)),
        ('customer "Harrow Mills"=guarded:95', "customers", (CustomerRule("Harrow Mills", GUARDED),)),
    ],
)
def test_a_rule_is_set_by_its_name(text: str, field: str, value: object) -> None:
    found = set_rules([text], Rules())
    assert getattr(found, field) == value
    assert [line.field for line in changed(Rules(), found)] in ([field], [])
    assert replace(found, **{field: getattr(Rules(), field)}) == Rules()


def reasons(text: str, base: Rules = Rules()) -> tuple[Reason, ...]:  # noqa: B008  a frozen value
    with pytest.raises(Refused) as caught:
        set_rules([text], base)
    for reason in caught.value.reasons:
        told = say(reason)
        assert told.endswith((".", " meant?")) and "[" not in told
    return caught.value.reasons


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        ("accuracy ratio=0", "rules.cell.ratio_beyond", 15),
        ("accuracy ratio=-4", "rules.cell.ratio", 15),
        ("accuracy ratio=4:2", "rules.cell.ratio", 16),
        ("accuracy ratio=4.125", "rules.cell.ratio_fine", 15),
        ("accuracy ratio=101", "rules.cell.ratio_beyond", 15),
        ("accuracy ratio=", "rules.cell.ratio", 15),
        ("check life=480", "rules.cell.minutes", 14),
        ("check life=.3 min", "rules.cell.minutes", 11),
        ("check life=32 days", "rules.cell.minutes_beyond", 11),
        ("temperature life=0 h", "rules.cell.minutes_beyond", 17),
        ("pick up=2 h", "rules.cell.seconds", 10),
        ("closing check=.001", "rules.cell.length", 14),
        ("closing check=.001 mil", "reader.mil", 19),
        ("temperature spread=0", "rules.cell.degrees", 19),
        ("temperature spread=1 furlong", "rules.cell.degrees", 19),
        ("temperature correction=maybe", "crib.cell.yes_or_no", 23),
        ("decision=gaurded:95", "rule.written.unknown", 9),
        ("decision=simple:95", "rule.written.simple", 16),
        ("decision=guarded:50", "rule.written.proves_nothing", 17),
        ("decision=guarded:.95", "rule.written.proves_nothing", 17),
        ("decision=guarded:100", "rule.written.proves_nothing", 17),
        ("decision=probability:95.125", "rule.written.fine", 21),
        ("decision=probability:u", "rule.written.probability", 21),
        ("decision=guarded:95 per mille", "rule.written.probability", 20),
        ("decision=", "rule.written.unknown", 9),
        ("customer Harrow=guarded:30", "rule.written.proves_nothing", 24),
        ("customer =simple", "rules.customer_unnamed", 10),
        ("customer Harrow=", "rules.customer_unknown", 16),
    ],
)
def test_nonsense_is_refused_at_its_character(text: str, code: str, at: int) -> None:
    (reason,) = reasons(text)
    assert (reason.code, reason.parts["at"]) == (code, at)


def test_an_unknown_name_is_refused_with_the_nearest() -> None:
    near, unknown, bare = (reasons(text)[0] for text in ("acuracy ratio=4", "xyz=4", "accuracy ratio"))
    assert near.parts["near"] == "accuracy ratio"
    assert "check life" in str(unknown.parts["names"])
    assert bare.code == "rules.no_sign"


def test_nonsense_and_rules_that_go_against_each_other_are_refused() -> None:
    assert [each.code for each in reasons("accuracy ratio=0")] == ["rules.cell.ratio_beyond"]
    assert [each.code for each in reasons("decision=guarded:5")] == ["rule.written.proves_nothing"]
    assert [each.code for each in reasons("gauge class marginal=30:1")] == ["rules.marginal_above"]


def test_a_customer_is_agreed_with_anew_and_struck() -> None:
    first = set_rules(["customer Harrow Mills=guarded:95", "customer A=B=simple"], Rules())
    assert [each.customer for each in first.customers] == ["Harrow Mills", "A=B"]
    anew = set_rules(['customer "harrow  mills"=guarded:99'], first)
    assert anew.decision_for("Harrow Mills").probability == 9_900
    assert len(anew.customers) == 2
    assert set_rules(["customer Harrow Mills="], anew).customers == first.customers[1:]


def test_a_form_tells_every_fault_with_its_field() -> None:
    cells = written_rules(Rules()) | {"accuracy_needed": "none", "customers": "Harrow = simple\nguarded:95"}
    with pytest.raises(Refused) as caught:
        read_rules(cells, Rules())
    told = [(each.parts["field"], each.code, each.parts["at"]) for each in caught.value.reasons]
    assert told == [("accuracy_needed", "rules.cell.ratio", 0), ("customers", "rules.customer_unnamed", 16)]


def test_a_change_says_what_was_and_what_follows() -> None:
    after = set_rules(["accuracy ratio=5:1", "customer Harrow Mills=guarded:95", "customer Nock=simple"], Rules())
    assert [say(each) for each in changes_said(Rules(), after)] == [
        "accuracy ratio: 4 : 1, now 5 : 1",
        "customers: none, now Harrow Mills = guarded:95; Nock = simple",
    ]
    assert changes_said(after, after) == ()
    first, *_, last = (say(each) for each in follows(Rules(), after))
    assert first == "Sheets made from now on go by them; those that are there keep theirs."
    assert last.startswith("A sheet that is there is judged otherwise only by a decision rule of its own")
    plain = follows(Rules(), set_rules(["accuracy ratio=5:1"], Rules()))
    assert "rules.follows.judging" not in [each.code for each in plain]


def test_decision_rules_are_told_in_words_while_they_are_typed() -> None:
    assert [(name, say(each)) for name, each in meant("decision", "guarded-U")] == [
        ("", "guarded acceptance by the expanded uncertainty U")
    ]
    assert [name for name, _ in meant("customers", "Harrow Mills = guarded:95\nNock = probability:99")] == [
        "Harrow Mills",
        "Nock",
    ]
    assert meant("decision", "guarded:5") == meant("accuracy_needed", "4") == ()


@given(decisions)
def test_a_decision_is_written_and_read_again(decision: DecisionRule) -> None:
    assert read_decision(Piece(decision_text(decision))) == decision

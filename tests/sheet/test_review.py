"""The way from signed to released: a review with its answers, a return, nonconformances, and three statements.

Three statements, never one button, and use as is completing nothing: trade practice and the field content of the
aerospace first-article standard, from memory ("common practice").
"""

from __future__ import annotations

from typing import Any, get_args

import pytest
from msgspec.structs import replace

from inspection.measuring.reading import Slot
from inspection.quantity.reader import read
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.canonical import form_4
from inspection.sheet.cells import open_cells, required
from inspection.sheet.head import Head
from inspection.sheet.missing import missing
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.people import Duty
from inspection.sheet.review import Returned, StatementKind
from inspection.sheet.review_life import in_the_way
from inspection.sheet.state import Stage
from inspection.sheet.steps import STEPS, not_now

ROWS = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    {"number": "2", "kind": "length", "requirement": ".600 ±.005"},
)
LEAVE = Leave("CR-118", "2026-03-01", "piece 001, row 1, up to .002 over")


@pytest.fixture
def shop(life_kind: Any) -> Any:
    """A sheet of two rows on two pieces, and a lead who has not touched it."""
    life = life_kind().open()
    life.make(("001", "002"), *ROWS)
    life.lead = life.enter("Lea Lund", Duty.LEAD)
    return life


def measured(life: Any, first: str = ".5000") -> Any:
    """Every row read, row 1 of the first piece as ``first``."""
    for piece in (0, 1):
        life.take("1", first if piece == 0 else ".5000", piece)
        life.take("2", ".6000", piece)
    return life


def stating(life: Any, kind: StatementKind, words: str = "") -> acts.MakeStatement:
    return acts.MakeStatement(sheet=life.sheet_id, kind=kind, words=words)


def state(life: Any, kind: StatementKind, words: str = "", person: str = "") -> Any:
    who = person or life.lead
    return life.do(stating(life, kind, words), person=who, sign=life.signer(who))


def refused(life: Any, kind: StatementKind, words: str = "", person: str = "") -> list[str]:
    who = person or life.lead
    return list(life.codes(stating(life, kind, words), person=who, sign=life.signer(who)))


def raised(life: Any, number: str = "NC-7", rows: tuple[str, ...] = ("1",), piece: int = 0) -> str:
    act = acts.RaiseNonconformance(
        sheet=life.sheet_id,
        piece=life.sheet.pieces[piece].identity,
        characteristics=tuple(life.row(row).identity for row in rows),
        number=number,
        what="bore is over by the amount of one feed step",
    )
    return str(life.do(act)[0].nonconformance.identity)


def dispose(life: Any, name: str, how: Disposition, **more: Any) -> acts.DisposeNonconformance:
    return acts.DisposeNonconformance(
        sheet=life.sheet_id, nonconformance=name, disposition=how, words="as agreed", **more
    )


# --- approval ---------------------------------------------------------------------------------------------------------


def test_the_three_statements_follow_one_another(shop: Any) -> None:
    measured(shop).sign()
    assert shop.sheet.stage is Stage.SIGNED
    assert refused(shop, StatementKind.COMPLETE) == ["review.not_approved"]
    assert refused(shop, StatementKind.RELEASED, "lot 4") == ["review.not_approved"]
    (approved,) = state(shop, StatementKind.APPROVED)
    content = form_4.read_statement(approved.content)
    assert (content.seal, content.kind, content.own) == (shop.sheet.seals[-1].digest, StatementKind.APPROVED, False)
    assert shop.sheet.stage is Stage.APPROVED
    state(shop, StatementKind.COMPLETE)
    (released,) = state(shop, StatementKind.RELEASED, "lot 4711, 200 pieces, this set-up")
    said = form_4.read_statement(released.content)
    assert said.words == "lot 4711, 200 pieces, this set-up"
    assert said.earlier == tuple(each.digest for each in shop.sheet.statements[:2])


def test_an_approved_sheet_is_left_alone(shop: Any) -> None:
    measured(shop).sign()
    state(shop, StatementKind.APPROVED)
    assert shop.codes(acts.Reopen(sheet=shop.sheet_id, reason="one more thing")) == ["life.approved"]
    assert shop.codes(shop.reading("1", ".5")) == ["life.approved"]
    assert refused(shop, StatementKind.APPROVED) == ["review.stated_already"]


def test_nobody_approves_an_own_sheet_unless_the_shop_allows_it(shop: Any) -> None:
    both = shop.enter("Ola", Duty.LEAD, Duty.INSPECTOR)
    measured(shop)
    shop.take("1", ".5005", replaces=shop.counted("1"), reason="read again", person=both)
    shop.sign()
    assert refused(shop, StatementKind.APPROVED, person=both) == ["review.own_sheet"]
    assert refused(shop, StatementKind.APPROVED, person=shop.person) == ["review.own_sheet"], "who signed it"
    shop.sheets[shop.sheet_id] = replace(shop.sheet, rules=replace(shop.sheet.rules, lead_may_approve_own=True))
    (approved,) = state(shop, StatementKind.APPROVED, person=both)
    assert form_4.read_statement(approved.content).own, "and the statement shows it"


def test_open_rows_stop_approval(shop: Any) -> None:
    shop.take("1", ".5000")
    shop.sign("the rest waits")
    assert refused(shop, StatementKind.APPROVED) == ["sign.row_open"] * 3


def ahead(life: Any, kind: StatementKind) -> list[str]:
    """What stands in the way of a statement that the lead would make now."""
    return [
        each.code
        for each in in_the_way(
            life.shop, life.sheet, kind, life.lead, max(each.at for each in (*life.sheet.seals, *life.sheet.statements))
        )
    ]


def test_what_stands_in_the_way_is_told_before_words_and_a_passphrase_are_asked(shop: Any) -> None:
    measured(shop, ".5070").sign()
    assert ahead(shop, StatementKind.APPROVED) == refused(shop, StatementKind.APPROVED) == ["approve.not_named"]
    assert ahead(shop, StatementKind.RELEASED) == ["review.not_approved"]
    shop.do(dispose(shop, raised(shop), Disposition.USE_AS_IS, leave=LEAVE), person=shop.lead)
    assert ahead(shop, StatementKind.APPROVED) == []
    state(shop, StatementKind.APPROVED)
    assert ahead(shop, StatementKind.APPROVED) == ["review.stated_already"]
    assert ahead(shop, StatementKind.COMPLETE) == ["review.not_complete"]
    assert ahead(shop, StatementKind.NOT_COMPLETE) == ahead(shop, StatementKind.RELEASED) == [], (
        "their words come later"
    )


def test_whether_a_person_may_is_told_before_the_act(shop: Any) -> None:
    measured(shop)
    assert not_now(shop.shop, shop.sheet, acts.SignSheet, shop.person) is None
    assert not_now(shop.shop, shop.sheet, acts.ReturnSheet, shop.lead) == Reason(
        "life.not_sealed", {"act": "act.ReturnSheet"}
    )
    shop.sign()
    assert not_now(shop.shop, shop.sheet, acts.ReturnSheet, shop.lead) is None
    office = shop.enter("Olle", Duty.OFFICE)
    told = not_now(shop.shop, shop.sheet, acts.ReturnSheet, office)
    assert told is not None and told.code == "life.duty"
    nobody = not_now(shop.shop, shop.sheet, acts.ReturnSheet, "nobody")
    assert nobody is not None and nobody.code == "life.nobody"


def test_a_clock_set_back_stops_approval(shop: Any) -> None:
    measured(shop).sign()
    shop.entries -= 5
    assert refused(shop, StatementKind.APPROVED) == ["review.clock_set_back"]


@pytest.mark.parametrize("kind", [StatementKind.COMPLETE, StatementKind.NOT_COMPLETE, StatementKind.RELEASED])
def test_a_clock_set_back_stops_what_follows_the_approval_too(shop: Any, kind: StatementKind) -> None:
    measured(shop).sign()
    state(shop, StatementKind.APPROVED)
    shop.entries -= 5
    assert refused(shop, kind, "words") == ["review.clock_set_back"]
    shop.entries += 5
    state(shop, kind, "words")


def test_a_statement_needs_the_signer_s_own_key(shop: Any) -> None:
    measured(shop).sign()
    act = stating(shop, StatementKind.APPROVED)
    assert shop.codes(act, person=shop.lead) == ["sign.without_key"]
    assert shop.codes(act, person=shop.lead, sign=shop.signer()) == ["sign.other_key"]


def test_a_release_says_within_what(shop: Any) -> None:
    measured(shop).sign()
    state(shop, StatementKind.APPROVED)
    assert refused(shop, StatementKind.RELEASED) == ["review.released_without_words"]
    assert refused(shop, StatementKind.NOT_COMPLETE) == ["review.not_complete_without_words"]


# --- the review -------------------------------------------------------------------------------------------------------


def test_a_point_is_answered_and_under_the_statement(shop: Any) -> None:
    measured(shop).sign()
    shop.do(acts.AnswerPoint(sheet=shop.sheet_id, point="marginal:1", words="measured again"), person=shop.lead)
    (approved,) = state(shop, StatementKind.APPROVED)
    assert [each.words for each in form_4.read_statement(approved.content).answers] == ["measured again"]


def test_what_the_lead_reads_again_counts_for_nothing(shop: Any) -> None:
    measured(shop).sign()
    row, piece = shop.cell("1")
    before = shop.judgement("1")
    act = acts.ReadRowAgain(
        sheet=shop.sheet_id, characteristic=row, piece=piece, slot=Slot(), quantity=read(".5010", unit="in")
    )
    shop.do(act, person=shop.lead)
    assert shop.judgement("1") == before
    (again,) = shop.sheet.read_again
    assert (again.reading.written, again.reading.by) == (".5010", shop.lead)
    assert again.reading.identity not in shop.sheet.readings


def test_a_returned_sheet_is_at_the_bench_with_words_to_its_rows(shop: Any) -> None:
    measured(shop).sign()
    rows = (Returned(shop.row("1").identity, "", "read it at both ends"), Returned("", "", "see row 1"))
    wordless = Returned(shop.row("2").identity, "", " ")
    shop.do(acts.ReturnSheet(sheet=shop.sheet_id, rows=(*rows, wordless)), person=shop.lead)
    assert (shop.sheet.stage, shop.sheet.round) == (Stage.OPEN, 2)
    assert shop.sheet.returns[-1].rows == rows
    shop.take("1", ".5005", replaces=shop.counted("1"), reason="as the lead asked")
    shop.sign()
    state(shop, StatementKind.APPROVED)
    assert shop.sheet.stage is Stage.APPROVED


# --- nonconformance ---------------------------------------------------------------------------------------------------


def test_what_does_not_conform_is_named_and_decided_before_approval(shop: Any) -> None:
    measured(shop, ".5070").sign()
    assert refused(shop, StatementKind.APPROVED) == ["approve.not_named"]
    name = raised(shop)
    assert refused(shop, StatementKind.APPROVED) == ["approve.undecided"]
    shop.do(dispose(shop, name, Disposition.USE_AS_IS, leave=LEAVE), person=shop.lead)
    state(shop, StatementKind.APPROVED)
    assert refused(shop, StatementKind.COMPLETE) == ["review.not_complete"], "whatever the customer accepts"
    assert "missing.used_as_is" in lacking(shop)
    state(shop, StatementKind.NOT_COMPLETE, "row 1 of piece 001; a partial follows")
    assert "missing.used_as_is_stated" in lacking(shop), "settled and stated, and not shown all the same"


def lacking(life: Any) -> list[str]:
    """What the sheet lacks before it may go."""
    return [each.reason.code for each in missing(life.shop, life.sheet)]


def test_a_number_with_spaces_around_it_is_the_same_number(shop: Any) -> None:
    measured(shop, ".5070")
    shop.take("2", ".6070", replaces=shop.counted("2"), reason="read at the other end")
    raised(shop, "NC-7")
    with pytest.raises(Refused) as caught:
        raised(shop, " NC-7 ", rows=("2",))
    assert [reason.code for reason in caught.value.reasons] == ["nonconformance.number_known"]


def test_the_rows_of_a_nonconformance_are_not_affected_by_it_a_second_time(shop: Any) -> None:
    name = raised(measured(shop, ".5070"))
    rows = (shop.row("1").identity, shop.row("2").identity, shop.row("2").identity)
    shop.do(dispose(shop, name, Disposition.REWORK, affected=rows), person=shop.lead)
    assert shop.sheet.nonconformances[name].affected == (shop.row("2").identity,)
    assert {number for number, _piece in _open_numbers(shop)} == {"1", "2"}


def _open_numbers(life: Any) -> list[tuple[str, str]]:
    return [(life.sheet.characteristic(row).number, piece) for row, piece in open_cells(life.sheet)]


def test_a_row_that_is_out_on_a_reworked_piece_and_was_no_part_of_the_work_asks_for_its_own_number(shop: Any) -> None:
    name = raised(measured(shop, ".5070"))
    shop.do(dispose(shop, name, Disposition.REWORK), person=shop.lead)
    shop.take("1", ".5000")
    shop.take("2", ".6070", replaces=shop.counted("2"), reason="read at the other end")
    codes = lacking(shop)
    assert "missing.not_conforming" in codes and "missing.not_conforming_again" not in codes


def test_nothing_more_is_asked_of_a_piece_that_was_scrapped_before_approval(shop: Any) -> None:
    """Another row of it was out as well, and nobody gives that a number any more."""
    measured(shop, ".5070")
    shop.take("2", ".6070", replaces=shop.counted("2"), reason="read at the other end")
    shop.do(dispose(shop, raised(shop), Disposition.SCRAP), person=shop.lead)
    shop.sign()
    state(shop, StatementKind.APPROVED)
    assert shop.sheet.stage is Stage.APPROVED


@pytest.mark.parametrize("how", [Disposition.USE_AS_IS, Disposition.REPAIR])
@pytest.mark.parametrize("leave", [None, Leave("", "2026-03-01", "all"), Leave("CR-1", "2026-03-01", " ")])
def test_a_customer_s_leave_has_document_day_and_scope(shop: Any, how: Disposition, leave: Leave | None) -> None:
    name = raised(measured(shop, ".5070"))
    assert shop.codes(dispose(shop, name, how, leave=leave), person=shop.lead) == ["nonconformance.without_leave"]


def test_rework_reopens_the_failed_row_and_those_it_affects(shop: Any) -> None:
    name = raised(measured(shop, ".5070"))
    first = shop.judgement("1")
    affected = (shop.row("2").identity,)
    shop.do(dispose(shop, name, Disposition.REWORK, affected=affected), person=shop.lead)
    cells = {(shop.sheet.characteristic(row).number, piece) for row, piece in open_cells(shop.sheet)}
    assert cells == {("1", shop.sheet.pieces[0].identity), ("2", shop.sheet.pieces[0].identity)}
    assert shop.sheet.reworked == {shop.sheet.pieces[0].identity: 1}
    (before,) = shop.sheet.before[shop.cell("1")]
    assert before.judgement == first and len(before.readings) == 1, "first values stay"
    shop.take("1", ".5000")
    shop.take("2", ".6000")
    shop.sign()
    state(shop, StatementKind.APPROVED)
    state(shop, StatementKind.COMPLETE)


def test_a_piece_that_fails_again_after_rework_gets_another_number(shop: Any) -> None:
    name = raised(measured(shop, ".5070"))
    shop.do(dispose(shop, name, Disposition.REWORK), person=shop.lead)
    shop.take("1", ".5065")
    shop.sign()
    assert refused(shop, StatementKind.APPROVED) == ["approve.not_named"]
    raised(shop, "NC-8")
    assert refused(shop, StatementKind.APPROVED) == ["approve.undecided"]


def test_a_scrapped_piece_is_asked_nothing_more(shop: Any) -> None:
    name = raised(measured(shop, ".5070"))
    shop.do(dispose(shop, name, Disposition.SCRAP), person=shop.lead)
    assert not required(shop.sheet, shop.cell("1"))
    shop.sign()
    state(shop, StatementKind.APPROVED)
    state(shop, StatementKind.COMPLETE)


def test_work_on_a_piece_is_not_decided_on_a_signed_sheet(shop: Any) -> None:
    measured(shop, ".5070").sign()
    name = raised(shop)
    assert shop.codes(dispose(shop, name, Disposition.REWORK), person=shop.lead) == ["nonconformance.sheet_signed"]
    assert shop.codes(dispose(shop, name, Disposition.SCRAP), person=shop.lead) == ["nonconformance.sheet_signed"]


def test_what_is_in_doubt_is_named_as_well(shop: Any) -> None:
    from inspection.measuring.guard import DecisionRule, RuleKind

    rule = DecisionRule(RuleKind.GUARDED)
    shop.do(acts.ChooseDecisionRule(sheet=shop.sheet_id, decision=rule, reason="agreed"))
    measured(shop, ".5050").sign()
    assert shop.verdict("1") == "in doubt, measured inside"
    assert refused(shop, StatementKind.APPROVED) == ["approve.not_named"]


# --- sheets that follow -----------------------------------------------------------------------------------------------


def not_complete(life: Any) -> str:
    """A sheet approved with row 1 of one piece used as is; its name."""
    name = raised(measured(life, ".5070"))
    life.do(dispose(life, name, Disposition.USE_AS_IS, leave=LEAVE), person=life.lead)
    life.sign()
    state(life, StatementKind.APPROVED)
    state(life, StatementKind.NOT_COMPLETE, "row 1 of piece 001")
    return str(life.sheet_id)


def test_of_what_is_stated_of_a_first_article_the_later_holds(shop: Any) -> None:
    measured(shop).sign()
    state(shop, StatementKind.APPROVED)
    state(shop, StatementKind.COMPLETE)
    state(shop, StatementKind.NOT_COMPLETE, "row 2 was read at the wrong end")
    assert refused(shop, StatementKind.NOT_COMPLETE, "once more") == ["review.stated_already"]
    baseline, row_2 = shop.sheet_id, shop.row("2").identity
    assert shop.codes(partial(shop, baseline)) == ["partial.nothing_left"]
    shop.do(partial(shop, baseline, "2"))
    assert shop.sheet.only == {row_2}
    shop.sheet_id = baseline
    state(shop, StatementKind.COMPLETE)
    assert shop.codes(partial(shop, baseline, "2")) == ["partial.baseline_not_stated"]
    _approved, first, second, third = shop.sheet.statements
    assert shop.sheet.first_article == third
    assert shop.sheet.in_place_of() == {first.digest: second, second.digest: third}


def about(life: Any) -> list[str]:
    return [row.number for row in life.sheet.plan.characteristics if row.identity in life.sheet.only]


def partial(life: Any, baseline: str, *numbers: str) -> Any:
    rows = tuple(life.row(number).identity for number in numbers)
    plan = life.sheets[baseline].plan.identity
    return acts.MakeSheet(plan=plan, serials=("014",), completes=baseline, rows=rows)


def test_a_partial_first_article_on_a_later_piece_completes_it(shop: Any) -> None:
    baseline = not_complete(shop)
    shop.do(partial(shop, baseline))
    assert [shop.sheet.characteristic(row).number for row, _ in open_cells(shop.sheet)] == ["1"]
    assert shop.sheet.head.extent == "partial" and "HB-7 B, 001, 002" in shop.sheet.head.baseline
    shop.take("1", ".5000")
    shop.sign()
    (approved,) = state(shop, StatementKind.APPROVED)
    assert form_4.read_statement(approved.content).baseline == "", "of both together only completeness is stated"
    (complete,) = state(shop, StatementKind.COMPLETE)
    assert form_4.read_statement(complete.content).baseline == shop.sheets[baseline].seals[-1].digest


def test_where_no_piece_is_left_a_partial_shows_every_row_that_is_judged(life_kind: Any) -> None:
    life = life_kind().open()
    life.make(("001",), *ROWS, {"number": "3", "kind": "length", "requirement": "(.700)"})
    life.lead = life.enter("Lea Lund", Duty.LEAD)
    life.take("1", ".5070")
    life.take("2", ".6000")
    life.do(dispose(life, raised(life), Disposition.SCRAP), person=life.lead)
    life.sign()
    state(life, StatementKind.APPROVED)
    assert refused(life, StatementKind.COMPLETE) == ["review.no_piece_left"]
    state(life, StatementKind.NOT_COMPLETE, "the piece was scrapped")
    life.do(partial(life, life.sheet_id))
    assert {life.sheet.characteristic(row).number for row in life.sheet.only} == {"1", "2"}


def test_rows_named_come_on_top_of_those_that_a_partial_owes(shop: Any) -> None:
    shop.do(partial(shop, not_complete(shop), "2"))
    assert about(shop) == ["1", "2"]


def test_a_partial_of_a_partial_whose_pieces_were_all_scrapped_owes_what_that_was_about(shop: Any) -> None:
    shop.do(partial(shop, not_complete(shop)))
    shop.take("1", ".5070")
    shop.do(dispose(shop, raised(shop), Disposition.SCRAP), person=shop.lead)
    shop.sign()
    state(shop, StatementKind.APPROVED)
    state(shop, StatementKind.NOT_COMPLETE, "the piece was scrapped")
    shop.do(partial(shop, shop.sheet_id))
    assert about(shop) == ["1"]


def test_a_partial_owes_what_a_newer_revision_has_new_or_asks_otherwise(shop: Any) -> None:
    baseline = not_complete(shop)

    def revised(rows: Any) -> Any:
        first, second = rows
        tighter = replace(second.requirement, upper=second.requirement.upper - 1)
        return (
            replace(first, number="1A"),
            replace(second, requirement=tighter),
            replace(second, identity="", number="3"),
        )

    plan = shop.issue_again(revised)
    shop.do(acts.MakeSheet(plan=plan.identity, serials=("014",), completes=baseline))
    assert about(shop) == ["1A", "2", "3"]
    same = shop.issue_again(lambda rows: [replace(row, number=f"{row.number}B") for row in rows])
    shop.do(acts.AdoptPlan(sheet=shop.sheet_id, plan=same.identity))
    assert about(shop) == ["1AB", "2B", "3B"], "a label asks nothing"


def test_a_partial_is_asked_for_no_row_that_its_revision_does_not_have_any_more(shop: Any) -> None:
    baseline = not_complete(shop)
    kept = shop.row("2").identity
    plan = shop.issue_again(lambda rows: [row for row in rows if row.number != "1"])
    shop.do(acts.MakeSheet(plan=plan.identity, serials=("014",), completes=baseline, rows=(kept,)))
    shop.take("2", ".6000")
    shop.sign()
    state(shop, StatementKind.APPROVED)
    state(shop, StatementKind.COMPLETE)


def test_a_partial_asks_for_a_baseline_that_is_stated(shop: Any) -> None:
    measured(shop).sign()
    assert shop.codes(partial(shop, shop.sheet_id)) == ["partial.baseline_not_stated"]


def test_an_approved_sheet_is_amended_by_another_one(shop: Any) -> None:
    old = not_complete(shop)
    before = shop.sheets[old]
    act = acts.AmendSheet(amended=old, reason="row 2 was read at the wrong end")
    shop.do(act, person=shop.lead)
    assert shop.sheets[old] == before, "the old one is left alone"
    assert (shop.sheet.amends, shop.sheet.stage) == (old, Stage.OPEN)
    assert {str(one.verdict) for one in shop.sheet.judgements.values()} == {"conforming", "not conforming"}
    first = shop.counted("2")
    back = acts.TakeBack(sheet=shop.sheet_id, reading=first, reason="wrong end")
    assert shop.codes(back) == ["reading.under_seal"]
    shop.take("2", ".6005", replaces=first, reason="read at the other end")
    assert shop.verdict("2") == "conforming"


def test_an_amended_partial_is_about_the_same_rows_and_completes_the_same_sheet(shop: Any) -> None:
    baseline = not_complete(shop)
    named = replace(partial(shop, baseline), head=Head(baseline="HB-7 B, 001, our sheet 118"))
    shop.do(named)
    assert shop.sheet.head.baseline == "HB-7 B, 001, our sheet 118", "as it was written"
    shop.take("1", ".5000")
    shop.sign()
    state(shop, StatementKind.APPROVED)
    first = shop.sheet
    shop.do(acts.AmendSheet(amended=first.identity, reason="the heat was another"), person=shop.lead)
    assert (shop.sheet.amends, shop.sheet.only, shop.sheet.completes) == (first.identity, first.only, baseline)


def test_only_an_approved_sheet_is_amended(shop: Any) -> None:
    measured(shop).sign()
    act = acts.AmendSheet(amended=shop.sheet_id, reason="one more thing")
    assert shop.codes(act, person=shop.lead) == ["amend.not_approved"]


# --- who and when -----------------------------------------------------------------------------------------------------


def at_stage(life: Any, stage: Stage) -> Any:
    measured(life)
    if stage is not Stage.OPEN:
        life.sign()
    if stage is Stage.APPROVED:
        state(life, StatementKind.APPROVED)
    assert life.sheet.stage is stage
    return life


@pytest.mark.parametrize("stage", list(Stage))
def test_every_act_every_duty_every_stage(shop: Any, stage: Stage) -> None:
    """What the table says is what is refused, whatever the act would say of itself: duty first, then stage."""
    life = at_stage(shop, stage)
    people = {duty: life.enter(f"only {duty.value}", duty) for duty in Duty}
    for kind in get_args(acts.AnyAct):
        if kind is acts.OpenShop or not issubclass(kind, acts.OnSheet):
            continue
        step = STEPS[kind]
        for duty, person in people.items():
            expected = (
                "life.duty" if duty not in step.duties else OTHERWISE[stage] if too_early_or_late(step, stage) else ""
            )
            if expected:
                assert life.codes(example(life, kind), person=person) == [expected], (kind, duty, stage)


OTHERWISE = {Stage.OPEN: "life.not_sealed", Stage.SIGNED: "life.sealed", Stage.APPROVED: "life.approved"}


def too_early_or_late(step: Any, stage: Stage) -> bool:
    return step.stages is not None and stage not in step.stages


def example(life: Any, kind: type[acts.Act]) -> acts.Act:
    """An act of this kind, as far as the table of steps looks at it."""
    import msgspec

    given: dict[str, Any] = {}
    for field in msgspec.structs.fields(kind):
        if field.required:
            given[field.name] = life.sheet_id if field.name == "sheet" else None
    return kind(**given)

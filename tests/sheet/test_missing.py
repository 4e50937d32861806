"""What a sheet lacks before it may go: every code of the table is met, said in words, and gone once it is mended."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.attached import Attached
from inspection.measuring.checks import configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.reading import Observed, Role, Slot
from inspection.sheet import acts
from inspection.sheet.events import Signature
from inspection.sheet.missing import kept_back, missing
from inspection.sheet.missing_linked import Completion
from inspection.sheet.missing_table import severities
from inspection.sheet.nonconformance import Disposition
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Statement
from inspection.standards.tables import rows as table
from inspection.words.say import known, say
from tests.sheet import test_missing_record  # noqa: F401 - it meets the other codes
from tests.sheet.refusals.of_review import marking
from tests.sheet.whole_sheet import (
    ANODISE,
    BEGUN,
    GUARDED,
    HARDNESS,
    MET,
    PLATE,
    ROW,
    Whole,
    decided,
    lead_of,
    meets,
    out,
    raised,
)


@pytest.fixture
def whole(life: Any) -> Whole:
    return Whole(life)


def test_a_sheet_with_everything_lacks_nothing(whole: Whole) -> None:
    assert missing(whole.life.shop, whole.fill().life.sheet) == ()


def test_the_table_has_words_for_every_code_and_says_why() -> None:
    for row in table("missing"):
        assert row["severity"] in ("stops", "mind")
        assert row["why"]
        assert row["code"] == "plan" or known(f"missing.{row['code']}"), row["code"]


def test_every_code_is_met() -> None:
    assert set(MET) == set(severities())


@pytest.mark.parametrize("code", sorted(severities()))
def test_what_is_missing_is_named_and_graded(whole: Whole, code: str) -> None:
    MET[code](whole)
    found = whole.missing(*BEGUN.get(code, ()))
    named = "plan.gaps" if code == "plan" else code
    assert named in found, f"{code} is not among {sorted(found)}"
    assert found[named].stops is severities()[code]
    for each in found.values():
        said = say(each.reason)
        assert said.endswith(".")
        assert not re.search(r"[\[\]{}]", said), said


@pytest.mark.parametrize(
    "code", sorted(set(severities()) - {"unsigned", "rows_open", "questions", "no_material", "plan", "certificate"})
)
def test_nothing_else_is_missing_where_only_that_was_left_out(whole: Whole, code: str) -> None:
    """One fault does not cry twice."""
    MET[code](whole)
    found = set(whole.missing(*BEGUN.get(code, ())))
    owed = {"used_as_is_stated", "partial_owed", "partial_begun"}
    assert found in ({code}, {code, "unsigned"}) or code in found < owed, found


def test_what_stops_stands_first(whole: Whole) -> None:
    found = missing(whole.life.shop, whole.life.sheet)
    order = [each.stops for each in found]
    assert order == sorted(order, reverse=True)
    assert {True, False} == set(order)


# --- rows -----------------------------------------------------------------------------------------------------------


@meets("unsigned")
def _(whole: Whole) -> None:
    whole.fill()
    whole.life.reopen()


@meets("unsaid_in_pdf")
def _(whole: Whole) -> None:
    """A first article stated complete, and a signed PDF that did not take that signature."""
    whole.fill()
    whole.state(StatementKind.APPROVED)
    files = (Attached("a.pdf", "a" * 64, 9),)
    for signed in (whole.life.sheet.seals[-1].digest, whole.life.sheet.statements[-1].digest):
        by = None if len(files) == 1 else lead_of(whole.life)
        whole.life.do(acts.KeepDocument(sheet=whole.life.sheet_id, signs=signed, files=files), person=by)
        files = (*files, Attached("b.pdf", "b" * 64, 9))
    whole.state(StatementKind.COMPLETE)


@meets("rows_open")
def _(whole: Whole) -> None:
    whole.head()


@meets("questions")
def _(whole: Whole) -> None:
    whole.life.take("1", "12.7")


@meets("marginal")
def _(whole: Whole) -> None:
    whole.head()
    whole.enter(PLATE, ANODISE, HARDNESS)
    whole.life.choose("1", "C-03")
    whole.life.change_instrument("C-03", resolution=50_000_000)
    whole.life.choose("1", "C-03")
    whole.read()
    whole.life.sign()


@meets("not_conforming")
def _(whole: Whole) -> None:
    whole.head()
    whole.enter(PLATE, ANODISE, HARDNESS)
    whole.life.take("1", ".5070")
    whole.life.take("N1", "as required")
    whole.life.sign()


@meets("not_conforming_waits")
def _(whole: Whole) -> None:
    out(whole)
    raised(whole)
    whole.life.sign()


@meets("nonconformance_waits")
def _(whole: Whole) -> None:
    """The row is in again; what was raised on it still keeps the sheet from being approved."""
    out(whole)
    raised(whole)
    whole.life.take("1", ".5000", replaces=whole.life.counted("1"), reason="a burr was taken off")
    whole.life.sign()


@meets("used_as_is")
def _(whole: Whole) -> None:
    out(whole)
    decided(whole, raised(whole), Disposition.USE_AS_IS)
    whole.life.sign()


def noted(whole: Whole) -> None:
    """Signed, with a row that is out and a note to it, and nothing else that says what became of it."""
    out(whole)
    row, piece = whole.life.cell("1")
    whole.life.do(acts.WriteNote(sheet=whole.life.sheet_id, characteristic=row, piece=piece, text="CR-118"))
    whole.life.sign()


@meets("not_conforming_noted")
def _(whole: Whole) -> None:
    """As an edition approved it that knew no nonconformances."""
    noted(whole)
    sheet, nobody = whole.life.sheet, Signature("none", "", "")
    approved = Statement(StatementKind.APPROVED, sheet.round, "", 0, "", "", nobody)
    whole.life.sheets[whole.life.sheet_id] = replace(sheet, statements=(approved,))


def test_a_note_is_no_disposition(whole: Whole) -> None:
    noted(whole)
    found = whole.missing()
    assert set(found) == {"not_conforming"} and found["not_conforming"].stops


def not_complete(whole: Whole, words: str = "row 1; a partial follows") -> None:
    MET["used_as_is"](whole)
    whole.state(StatementKind.APPROVED)
    whole.state(StatementKind.NOT_COMPLETE, words)


@meets("used_as_is_stated")
@meets("partial_owed")
@meets("partial_begun")
def _(whole: Whole) -> None:
    not_complete(whole)


def test_what_is_owed_is_named_until_a_partial_first_article_shows_it(whole: Whole) -> None:
    """Whatever was stated: the row used as is, and the partial one on a later piece, begun or not."""
    not_complete(whole)
    assert set(whole.missing()) == {"used_as_is_stated", "partial_owed"}
    assert whole.missing()["partial_owed"].numbers == ("1",)
    begun = whole.missing(Completion(("002",), complete=False))
    assert set(begun) == {"used_as_is_stated", "partial_begun"} and "002" in say(begun["partial_begun"].reason)
    assert whole.missing(Completion(("002",), complete=False), Completion(("003",), complete=True)) == {}
    alone = [each.reason.code for each in missing(whole.life.shop, whole.life.sheet)]
    assert alone == ["missing.used_as_is_stated"], "where nobody knows what follows"


def test_a_first_article_that_is_stated_complete_owes_nothing(whole: Whole) -> None:
    whole.fill()
    whole.state(StatementKind.APPROVED)
    whole.state(StatementKind.COMPLETE)
    assert whole.missing() == {}


@meets("not_complete_stated")
def _(whole: Whole) -> None:
    whole.fill()
    whole.state(StatementKind.APPROVED)
    whole.state(StatementKind.NOT_COMPLETE, "the heat of the plate is another")


@meets("rows_open_again")
def _(whole: Whole) -> None:
    out(whole)
    decided(whole, raised(whole), Disposition.REWORK)
    whole.life.sign("the mill is down")


@meets("not_conforming_again")
def _(whole: Whole) -> None:
    out(whole)
    decided(whole, raised(whole), Disposition.REPAIR)
    whole.life.take("1", ".5060")
    whole.life.sign()


@pytest.mark.parametrize("how", [Disposition.REWORK, Disposition.SCRAP, Disposition.RETURN])
def test_a_row_that_its_nonconformance_settles_lacks_nothing(whole: Whole, how: Disposition) -> None:
    """Made to conform and measured again, or gone with its piece."""
    out(whole)
    decided(whole, raised(whole), how)
    if how.measured_again:
        whole.life.take("1", ".5000")
    whole.life.sign()
    assert whole.missing() == {}


def test_nothing_is_asked_of_a_piece_that_left(whole: Whole) -> None:
    """Neither of what else was out on it, nor of how it was read, nor of a question that stands there."""
    whole.head()
    whole.enter(PLATE, ANODISE, HARDNESS)
    whole.life.take("N1", "not as required")
    whole.life.take("1", "12.7")
    name = raised(whole)
    assert {"not_conforming", "questions"} <= set(whole.missing())
    decided(whole, name, Disposition.SCRAP)
    whole.life.sign()
    assert whole.missing() == {}


def test_what_is_said_of_a_nonconformance_names_it_and_the_customer_s_document(whole: Whole) -> None:
    MET["used_as_is"](whole)
    (said,) = (say(each.reason) for each in whole.missing().values())
    assert said.startswith("Row 1 is used as it is: NC-7, by the customer's document CR-118.")


@meets("in_doubt_waits")
def _(whole: Whole) -> None:
    MET["in_doubt"](whole)
    whole.life.reopen()
    raised(whole)


@meets("in_doubt")
def _(whole: Whole) -> None:
    whole.head()
    whole.enter(PLATE, ANODISE, HARDNESS)
    rule = acts.ChooseDecisionRule(sheet=whole.life.sheet_id, decision=GUARDED, reason="agreed with the customer")
    whole.life.do(rule)
    whole.life.take("1", ".5045")
    whole.life.take("N1", "as required")
    whole.life.sign()


def test_a_doubt_that_was_decided_on_stops_nothing(whole: Whole) -> None:
    MET["in_doubt"](whole)
    life = whole.life
    life.reopen()
    name = raised(whole)
    assert "in_doubt_waits" in whole.missing()
    decided(whole, name, Disposition.USE_AS_IS)
    assert not {"in_doubt", "in_doubt_waits"}.intersection(whole.missing())


@meets("unproven")
def _(whole: Whole) -> None:
    life = whole.life
    asked = replace(life.sheet.rules, check_minutes=480)
    life.sheets[life.sheet_id] = replace(life.sheet, rules=asked)
    whole.fill()


@meets("marked")
def _(whole: Whole) -> None:
    """An instrument was found out, and the mark waits; one that was answered is missed no more."""
    life = whole.fill().life
    act = marking(life)
    first = life.do(act, person=lead_of(life))[0].mark.identity
    assert "marked" in whole.missing() and not kept_back(life.shop, life.sheet)
    life.do(acts.AnswerMark(sheet=life.sheet_id, mark=first, words="read again, it holds"), person=lead_of(life))
    assert "marked" not in whole.missing()
    life.do(act, person=lead_of(life))


@meets("suspect")
def _(whole: Whole) -> None:
    """A check that failed after signing."""
    life = whole.fill().life
    instrument = life.shop.crib[life.sheet.counting(*life.cell("1"))[0].method.parts[0].identity]
    set_up = configured(instrument)
    answers = tuple(replace(each, seen=False) if each.seen else each for each in good_answers(instrument, set_up))
    check = acts.RecordCheck(
        instrument=instrument.identity, issue=instrument.issue, configuration=set_up, answers=answers
    )
    (recorded,) = life.do(check)
    life.do(acts.ReopenReadings(sheet=life.sheet_id, check=recorded.check.made.identity))


@meets("few_decimals")
def _(whole: Whole) -> None:
    whole.head()
    whole.enter(PLATE, ANODISE, HARDNESS)
    whole.life.take("1", ".5")
    whole.life.take("N1", "as required")
    whole.life.sign()


def answered(role: Role, **fields: Any) -> Callable[[Whole], None]:
    """Row 1 as answered under an issue of the plan that gave leave."""

    def meet(whole: Whole) -> None:
        sheet = whole.fill().life.sheet
        (reading,) = sheet.counting(*whole.life.cell("1"))
        altered = replace(reading, slot=Slot(role=role), **fields)
        readings = {**sheet.readings, reading.identity: altered}
        whole.life.sheets[sheet.identity] = replace(sheet, readings=readings)

    return meet


MET["attribute"] = answered(Role.FINDING, count=None, observed=Observed.AS_REQUIRED)
MET["pins"] = answered(Role.ENTERS)


@meets("plan")
def _(whole: Whole) -> None:
    plan = whole.issue(last_balloon="2")
    whole.life.do(acts.AdoptPlan(sheet=whole.life.sheet_id, plan=plan.identity))


@meets("gauge_unnamed")
def _(whole: Whole) -> None:
    whole.fill()
    life, (part,) = (
        whole.life,
        whole.life.sheet.readings[whole.life.sheet.counting(*whole.life.cell("1"))[0].identity].method.parts,
    )
    life.shop = replace(
        life.shop, issues={key: one for key, one in life.shop.issues.items() if key[0] != part.identity}
    )


@meets("gauge_without_due")
def _(whole: Whole) -> None:
    tag = whole.life.shop.issues[
        (part := whole.life.sheet.assignments[whole.life.row("1").identity].assessment.method.parts[0]).identity,
        part.issue,
    ].tag
    whole.life.change_instrument(tag, due="")
    whole.life.do(acts.ChooseRoute(sheet=whole.life.sheet_id))
    whole.fill()


@meets("gauge_overdue")
def _(whole: Whole) -> None:
    whole.fill()
    life = whole.life
    life.shop = replace(
        life.shop,
        issues={key: replace(one, due="2026-03-01" if one.due else "") for key, one in life.shop.issues.items()},
    )


def test_the_due_date_is_the_last_good_day(whole: Whole) -> None:
    """Calibration is due on or after the day of a reading (common practice)."""
    life = whole.fill().life
    (day,) = {reading.day for reading in life.sheet.readings.values()}
    due = {key: replace(one, due=day if one.due else "") for key, one in life.shop.issues.items()}
    life.shop = replace(life.shop, issues=due)
    assert "gauge_overdue" not in whole.missing()


def test_a_missing_thing_says_where_it_is_mended(whole: Whole) -> None:
    whole.enter(replace(PLATE, certificate=""))
    found = whole.missing()
    assert found["certificate"].evidence == next(iter(whole.life.sheet.evidence))
    assert found["order"].field == "order"
    assert found["rows_open"].numbers == ("1", "N1")


def test_many_rows_are_counted_and_the_first_are_named(life: Any) -> None:
    life.make(("1",), *({**ROW, "number": str(n)} for n in range(1, 41)))
    found = next(each for each in missing(life.shop, life.sheet) if each.reason.code == "missing.rows_open")
    assert say(found.reason).startswith("40 rows are open: 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 … 40. Measure")
    assert len(found.numbers) == 40

"""What a review leaves, in the report that everything sent is laid out from: nonconformances with what was measured
again, returned rounds, statements, and the sheets that it follows from (common practice, no single source)."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.sheet import acts
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.people import Duty
from inspection.sheet.report import NonconformingRow, Report
from inspection.sheet.reporting import report
from inspection.sheet.review import Returned, StatementKind

ROWS = tuple({"number": str(n), "kind": "length", "requirement": f".{n}00 ±.005"} for n in (1, 2, 3))


def sheet_with(life_kind: Any) -> Any:
    """Row 1 of piece 001 over and reworked twice, row 3 of piece 002 under and used as is; returned once; stated."""
    life = life_kind().open()
    life.shop = replace(life.shop, rules=replace(life.shop.rules, lead_may_approve_own=True))
    life.lead = life.enter("Lea Lund", Duty.LEAD)
    life.make(("001", "002"), *ROWS)
    for piece in (0, 1):
        for row in ("1", "2"):
            life.take(row, f".{row}000", piece) if (row, piece) != ("1", 0) else life.take(row, ".1090")
    life.take("3", ".3010")
    life.take("3", ".2930", 1)
    kept(life)
    first = raised(life, "NC-7", "1", 0, "over by a feed step")
    disposed(life, first, Disposition.REWORK, "turn it once more", affected=(life.row("2").identity,))
    life.take("1", ".1070")
    life.take("2", ".2010")
    second = raised(life, "NC-8", "1", 0, "still over")
    disposed(life, second, Disposition.REWORK, "and once more")
    life.take("1", ".1005")
    life.third = raised(life, "NC-9", "3", 1, "short at the far end")
    kept(life)
    life.sign()
    words = (Returned("", "", "read once only"), Returned(life.row("3").identity, life.cell("3", 1)[1], "both ends"))
    life.do(acts.ReturnSheet(sheet=life.sheet_id, rows=words), person=life.lead)
    life.sign(person=life.lead)
    leave = Leave("CR-118", "2026-03-01", "piece 002, row 3")
    disposed(life, life.third, Disposition.USE_AS_IS, "the seal runs on 2", leave=leave)
    for kind, said in (
        (StatementKind.APPROVED, ""),
        (StatementKind.NOT_COMPLETE, "row 3 of 002; a partial follows"),
        (StatementKind.RELEASED, "lot 4711"),
    ):
        act = acts.MakeStatement(sheet=life.sheet_id, kind=kind, words=said)
        life.do(act, person=life.lead, sign=life.signer(life.lead))
    return life


def kept(life: Any) -> None:
    """Every questioned reading is kept as written."""
    for question in life.sheet.open_questions():
        life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=question.identity))


def raised(life: Any, number: str, row: str, piece: int, what: str) -> str:
    act = acts.RaiseNonconformance(
        sheet=life.sheet_id,
        piece=life.cell(row, piece)[1],
        characteristics=(life.row(row).identity,),
        number=number,
        what=what,
    )
    return str(life.do(act)[0].nonconformance.identity)


def disposed(life: Any, name: str, how: Disposition, words: str, **more: Any) -> None:
    act = acts.DisposeNonconformance(sheet=life.sheet_id, nonconformance=name, disposition=how, words=words, **more)
    life.do(act, person=life.lead)


@pytest.fixture(scope="module")
def reviewed(life_kind: Any) -> Any:
    return sheet_with(life_kind)


@pytest.fixture(scope="module")
def told(reviewed: Any) -> Report:
    return report(reviewed.sheet, reviewed.shop)


def test_each_nonconformance_is_told_with_its_decision_and_what_was_measured_again(told: Report) -> None:
    first, second, third = told.nonconformances
    assert first.rows == (
        NonconformingRow("1", "0.1090, not conforming, .004 over", "0.1070, not conforming, .002 over"),
        NonconformingRow("2", "0.2000, conforming", "0.2010, conforming", affected=True),
    )
    assert second.rows == (NonconformingRow("1", "0.1070, not conforming, .002 over", "0.1005, conforming"),)
    assert third.rows == (NonconformingRow("3", "0.2930, not conforming, .002 under"),)
    assert (first.number, first.serial, first.disposition, first.words) == (
        "NC-7",
        "001",
        "rework",
        "turn it once more",
    )
    assert first.raised.startswith("Ann Ames, 2026-") and first.decided.startswith("Lea Lund, 2026-")
    assert (third.disposition, third.leave) == ("use as is", "CR-118 of 2026-03-01: piece 002, row 3")


def test_what_was_read_before_the_work_stays_and_counts_no_longer(told: Report) -> None:
    """Printed as standing readings they would be a second result of the row."""
    row = next(line for line in told.lines if line.number == "1")
    values = [value for value in row.values if value.serial == "001"]
    assert [(value.text, value.counts, value.aside) for value in values] == [
        ("0.1090", False, "before rework under NC-7"),
        ("0.1070", False, "before rework under NC-8"),
        ("0.1005", True, ""),
    ]
    assert [result.nonconformance for result in row.results] == ["NC-7: rework; NC-8: rework", ""]


def test_returns_and_statements_are_told_in_whose_words_and_of_which_seal(reviewed: Any, told: Report) -> None:
    (back,) = told.returns
    assert back.round == "1" and back.returned.startswith("Lea Lund, ")
    assert back.rows == (("", "", "read once only"), ("3", "002", "both ends"))
    assert [made.statement for made in told.statements] == [
        "Round 2: sheet approved",
        "Round 2: first article not complete",
        "Round 2: run released",
    ]
    assert {made.seal for made in told.statements} == {reviewed.sheet.seals[-1].digest}
    assert [made.digest for made in told.statements] == [made.digest for made in reviewed.sheet.statements]
    assert [made.words for made in told.statements] == ["", "row 3 of 002; a partial follows", "lot 4711"]
    (why,) = told.statements[1].reasons
    assert "Row 3, piece 002" in why
    assert "rules allow a lead to approve an own sheet" in told.statements[0].own
    assert dict(told.head)["stated"] == "sheet approved, first article not complete, run released"


def test_a_statement_that_holds_no_longer_is_told_with_the_one_in_its_place(life_kind: Any) -> None:
    life = life_kind().open()
    life.lead = life.enter("Lea Lund", Duty.LEAD)
    life.make(("001",), ROWS[0])
    life.take("1", ".1000")
    life.sign()
    for kind in (StatementKind.APPROVED, StatementKind.COMPLETE, StatementKind.NOT_COMPLETE):
        act = acts.MakeStatement(sheet=life.sheet_id, kind=kind, words="the note was missed")
        life.do(act, person=life.lead, sign=life.signer(life.lead))
    told = report(life.sheet, life.shop)
    approved, complete, not_complete = told.statements
    assert (approved.replaces, approved.replaced, complete.replaces, not_complete.replaced) == ("", "", "", "")
    assert complete.replaced.startswith("It holds no longer: “first article not complete”, stated by Lea Lund on 2026-")
    assert not_complete.replaces.startswith("It stands in place of “first article complete”, stated by Lea Lund on ")
    assert dict(told.head)["stated"] == "sheet approved, first article not complete"


def test_a_linked_sheet_names_the_one_it_follows_from(reviewed: Any) -> None:
    old, seal = reviewed.sheet_id, reviewed.sheet.seals[-1].digest
    reviewed.do(acts.AmendSheet(amended=old, reason="the order line was wrong"))
    reviewed.sheets[reviewed.sheet_id] = amended = reviewed.sheet
    head = dict(report(amended, reviewed.shop).head)
    assert head["in place of"] == f"sheet {old}, sealed {seal[:16]} …: the order line was wrong"
    reviewed.do(acts.MakeSheet(plan=amended.plan.identity, serials=("003",), completes=old))
    partial = report(reviewed.sheet, reviewed.shop)
    head = dict(partial.head)
    assert head["completes"] == f"sheet {old}, in rows 3" and seal[:16] in head["baseline"]
    assert partial.totals[0] == "3 rows: 1 open, 2 shown on the baseline."
    reviewed.sheet_id = old


def test_a_piece_that_was_scrapped_has_no_open_rows(life_kind: Any) -> None:
    life = life_kind().open()
    life.lead = life.enter("Lea Lund", Duty.LEAD)
    life.make(("001", "002"), *ROWS)
    life.take("1", ".1090")
    kept(life)
    disposed(life, raised(life, "NC-1", "1", 0, "over"), Disposition.SCRAP, "not to be saved")
    told = report(life.sheet, life.shop)
    assert [[result.serial for result in line.results] for line in told.lines] == [["001", "002"], ["002"], ["002"]]
    assert "Piece 001 left the sheet: scrap." in told.totals

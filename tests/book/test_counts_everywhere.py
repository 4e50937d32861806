"""What a sheet came to is the same number wherever it is told: kept, listed, at the Bench, in the Ledger, printed, and
on the lead's list."""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from app.bench.seen import Seen
from app.command.book_verbs import listed_sheets
from app.jobs.hand import Foreseen, Hand
from app.jobs.sending import report_of
from app.ledger.detail import sheet_page
from app.ledger.line import line_of
from app.ledger.work import Looked
from app.window.theme import load
from inspection.sheet import acts
from inspection.sheet.counts import counted_as, counts_by_piece, counts_of
from inspection.sheet.nonconformance import Disposition
from inspection.sheet.points import points
from storage.book.queries.found_sheets import Wanted, found_sheets
from storage.book.tally import counted

THOU = 25_400_000  # pm


@pytest.fixture
def mixed(bench):
    """Three pieces of four rows: plain; marginal (a caliper of .0005 in for ±.002); out. The last piece was scrapped,
    and what was read of it stays what it came to."""
    rows = list(bench.make_sheet().plan.characteristics)
    given = rows[1].requirement
    assert given.nominal is not None
    narrow = {"lower": given.nominal - 2 * THOU, "upper": given.nominal + 2 * THOU, "band": 4 * THOU}
    rows[1] = replace(rows[1], requirement=replace(given, **narrow))
    plan = bench.do(acts.IssuePlan(plan=replace(bench.sheet.plan, identity="", characteristics=tuple(rows)))).events[0]
    made = bench.do(acts.MakeSheet(plan=plan.plan.identity, serials=("001", "002", "003")))
    sheet, bench.sheet_id = made.sheet, made.stream
    caliper = sheet.assignments[sheet.plan.characteristics[0].identity].assessment.method
    row = sheet.plan.characteristics[1].identity
    act = acts.ChooseInstrument(sheet=bench.sheet_id, characteristic=row, method=caliper, reason="at hand")
    bench.do(act)
    for place, piece, off in ((0, 0, 0), (0, 2, 0), (1, 0, 0), (1, 1, 0), (1, 2, 0), (2, 1, 9), (2, 2, 9)):
        bench.take(place, piece=piece, off=off)
    raised = acts.RaiseNonconformance(
        sheet=bench.sheet_id,
        piece=sheet.pieces[2].identity,
        characteristics=(sheet.plan.characteristics[2].identity,),
        number="NC-1",
        what="over",
    )
    name = bench.do(raised).events[0].nonconformance.identity
    bench.do(
        acts.DisposeNonconformance(
            sheet=bench.sheet_id, nonconformance=name, disposition=Disposition.SCRAP, words="too large"
        )
    )
    return bench


def test_every_place_tells_the_same_counts(mixed, qtbot) -> None:
    sheet, shop = mixed.sheet, mixed.book.shop()
    counts = counts_of(sheet)
    assert counts == {"conforming": 2, "marginal": 3, "not_conforming": 2, "in_doubt": 0, "open": 4}

    tally = counted(sheet)
    assert {name: getattr(tally, name) for name in counts} == counts, "as it is kept"
    found, _ = mixed.book.ask(found_sheets, Wanted())
    assert {name: getattr(found.listed, name) for name in counts} == counts, "as it is listed"
    assert "2 out, 3 marginal, 4 open" in line_of(found).state, "in the list of the Ledger"

    hand = Hand(mixed.book, Foreseen(mixed.time.clock, mixed.time.identity), mixed.person)
    assert listed_sheets(hand, Wanted())[1][0][-1] == "not signed, 4 open, 2 not conforming, 3 marginal"

    seen = Seen(shop, sheet)
    at_bench = [seen.count(piece) for piece in seen.pieces]
    by_piece = counts_by_piece(sheet)
    assert [(each.marginal, each.out) for each in at_bench] == [(1, 0), (1, 1), (1, 1)]
    assert [(by_piece[piece]["marginal"], by_piece[piece]["not_conforming"]) for piece in seen.pieces] == [
        (each.marginal, each.out) for each in at_bench
    ]
    assert sum(each.needed - each.measured for each in at_bench) == counts["open"]

    page = sheet_page(Looked(sheet, shop, ()), load())
    whole = re.sub(r"<[^>]+>", " ", page[page.rindex(">all<") :]).split()[1:6]
    assert whole == ["2", "3", "–", "2", "4"], "on the page of the Ledger"

    totals = report_of(hand, sheet).totals[0]
    told = "2 conforming, 3 conforming, instrument marginal, 4 open, 2 not conforming"
    assert totals == f"4 rows on 3 pieces: {told}."

    named = {"not_conforming": ("not_conforming", "disposed"), "marginal": ("marginal",), "open": ("open",)}
    listed = points(shop, sheet)
    for name, codes in named.items():
        cells = {cell for each in listed if each.code in codes for cell in each.cells}
        told = {cell for cell in every(sheet) if counted_as(sheet, cell) == name}
        assert len(told) == counts[name]
        # of a piece that left only what was decided is answered for
        asked = told if name == "not_conforming" else {cell for cell in told if cell[1] not in sheet.left}
        assert cells == asked, f"{name} on the lead's list"


def every(sheet) -> list[tuple[str, str]]:
    return [(row.identity, piece.identity) for row in sheet.plan.characteristics for piece in sheet.pieces]


def test_the_bench_counts_on_as_it_would_count_anew(mixed) -> None:
    seen = Seen(mixed.book.shop(), mixed.sheet)
    for place, piece, off in ((3, 0, 0), (2, 0, 9), (3, 1, 0)):
        seen.take(mixed.take(place, piece=piece, off=off))
        anew = Seen(mixed.book.shop(), mixed.sheet)
        assert [seen.count(each) for each in seen.pieces] == [anew.count(each) for each in anew.pieces]

"""A sheet as it goes out, built from its state: nothing is judged again here, only told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, tzinfo

from inspection.drawing.numbers import natural_key
from inspection.measuring.guard import rule_reason
from inspection.measuring.reading import Reading
from inspection.measuring.verdict import Verdict
from inspection.sheet.causes import cause_text
from inspection.sheet.certificates import fingerprint
from inspection.sheet.chain_head import ChainHead
from inspection.sheet.lines import WORST_FIRST, line_of
from inspection.sheet.moved_in import moved_in
from inspection.sheet.points_marks import cells_of, found_out
from inspection.sheet.report import Line, Report, Signed, SubItemLine
from inspection.sheet.report_budgets import Shared, budget_lines, per_cent, shared_budgets
from inspection.sheet.report_evidence import evidence_lines
from inspection.sheet.report_proofs import temperature_lines
from inspection.sheet.report_review import (
    amended,
    linked,
    nonconformance_lines,
    pieces_left,
    return_lines,
    stated_lines,
    stated_now,
)
from inspection.sheet.state import Cell, Seal, Sheet, Shop
from inspection.sheet.teller import Teller
from inspection.words.catalogue import catalogue

CAUTIONS = ("caution.verdict", "caution.machine", "caution.indicator", "caution.edges")
_LABEL = "dispatch.label."


def report(
    sheet: Sheet, shop: Shop, *, language: str = "en", zone: tzinfo = UTC, chain: ChainHead | None = None
) -> Report:
    """The whole sheet as it goes out, in ``language`` and with times in ``zone``; ``chain`` is the head of the book's
    chain, None where nothing goes out.

    Lines stand in the natural order of their balloon numbers. Verdicts are those of the sheet, as judged then. The
    catalogue of the language must be there (FileNotFoundError otherwise).
    """
    rows = sorted(sheet.plan.characteristics, key=lambda row: natural_key(row.number))
    order = {row.number: place for place, row in enumerate(rows)}
    shared = shared_budgets(sheet, rows)
    named = {cell: budget.name for budget in shared for cell in budget.cells}
    teller = Teller(shop, sheet, _taken(sheet), language, zone, named)
    lines = tuple(line_of(teller, row) for row in rows)
    part = sheet.plan.part
    return Report(
        title=teller.word("report.title", part=part.number, revision=part.revision),
        head=tuple(_head(teller, shared)),
        serials=tuple(piece.serial for piece in sheet.pieces),
        lines=lines,
        totals=tuple(_totals(teller, lines)),
        signatures=tuple(_signed(teller, seal) for seal in sheet.seals),
        cautions=tuple(teller.word(code) for code in CAUTIONS),
        labels={
            code.removeprefix(_LABEL): teller.word(code) for code in catalogue(language) if code.startswith(_LABEL)
        },
        sealed=sheet.sealed,
        language=language,
        shop=shop.name,
        sub_items=tuple(
            SubItemLine(item.number, item.revision, item.name, item.serial, item.sheet) for item in sheet.head.sub_items
        ),
        evidence=evidence_lines(sheet, language),
        temperatures=tuple(temperature_lines(teller, order)),
        budgets=tuple(budget_lines(sheet, shared, order, language)),
        nonconformances=tuple(nonconformance_lines(teller)),
        returns=tuple(return_lines(teller)),
        statements=tuple(stated_lines(teller)),
        chain=chain,
    )


def _taken(sheet: Sheet) -> Mapping[Cell, tuple[Reading, ...]]:
    taken: dict[Cell, list[Reading]] = {}
    for reading in sheet.readings.values():
        taken.setdefault((reading.characteristic, reading.piece), []).append(reading)
    return {cell: tuple(readings) for cell, readings in taken.items()}


# --- the head -------------------------------------------------------------------------------------------------


def _head(teller: Teller, budgets: Sequence[Shared]) -> Iterator[tuple[str, str]]:
    """Label and value of everything the head holds, in print order; what is empty is left out."""
    for code, text in _head_texts(teller, budgets):
        if text:
            yield teller.word(f"report.head.{code}"), text


def _head_texts(teller: Teller, budgets: Sequence[Shared]) -> Iterator[tuple[str, str]]:
    sheet, part, head = teller.sheet, teller.sheet.plan.part, teller.sheet.head
    yield "shop", teller.shop.name
    yield "customer", head.customer or part.customer
    yield "supplier_code", head.supplier_code
    yield "order", head.order
    yield "order_line", head.order_line
    yield "part", part.number
    yield "part_revision", part.revision
    yield "part_name", part.name
    yield "drawing", part.drawing
    yield "drawing_revision", part.drawing_revision
    yield "changes", part.changes
    yield "standard", part.standard
    yield "material", part.material
    yield "lot", head.lot
    yield "serials", ", ".join(piece.serial for piece in sheet.pieces)
    yield "process", head.process
    yield "machine", head.machine
    yield "detail", head.detail
    yield "extent", head.extent
    yield "baseline", head.baseline
    yield "completes", linked(teller)
    yield "amends", amended(teller)
    yield "stated", ", ".join(stated_now(teller))
    yield "cause", cause_text(head.cause, teller.language)
    yield "temperature", head.temperature
    yield "rule", teller.say(rule_reason(sheet.rules.decision))
    yield "rule_reason", sheet.decision_reason
    yield "uncertainty", _uncertainty(teller, budgets)
    yield "plan", teller.word("report.plan_issue", n=sheet.plan.issue)
    yield "made", f"{teller.person(sheet.made_by)}, {teller.when(sheet.made_at)}"
    yield "round", str(sheet.round) if sheet.round > 1 else ""
    yield "zone", str(teller.zone)
    yield "sheet", sheet.identity


def _uncertainty(teller: Teller, budgets: Sequence[Shared]) -> str:
    """What U is on this sheet; nothing where none was computed."""
    asked = dict.fromkeys(per_cent(budget.stated.confidence) for budget in budgets)
    return teller.word("report.uncertainty", p=", ".join(asked)) if asked else ""


# --- totals ---------------------------------------------------------------------------------------------------


def _totals(teller: Teller, lines: Sequence[Line]) -> Iterator[str]:
    """What the rows came to on each piece, then what a lead asks after: readings withdrawn, indications, questions."""
    elsewhere = Counter(line.verdict for line in lines if not line.results and line.state == Verdict.NOT_JUDGED)
    states = Counter(result.state for line in lines for result in line.results)
    told = [
        teller.word("report.count", n=states[verdict], verdict=teller.word(f"verdict.{verdict.name.lower()}"))
        for verdict in WORST_FIRST[::-1]
        if states[verdict]
    ]
    told += [teller.word("report.count", n=n, verdict=verdict) for verdict, n in elsewhere.items()]
    sheet = teller.sheet
    code = "report.rows" if len(sheet.pieces) == 1 else "report.rows_on_pieces"
    yield teller.word(code, n=len(lines), pieces=len(sheet.pieces), told=", ".join(told))
    if sheet.withdrawn:
        yield teller.word("report.withdrawn_count", n=len(sheet.withdrawn))
    indications = sum(reading.indication and name not in sheet.withdrawn for name, reading in sheet.readings.items())
    if indications:
        yield teller.word("report.indication_count", n=indications)
    yield from pieces_left(teller)
    yield from _proof_totals(sheet, teller)
    yield from _question_totals(teller)
    yield from _marks(teller)


def _proof_totals(sheet: Sheet, teller: Teller) -> Iterator[str]:
    """How many readings rest on no check, and how many a failed check put in question."""
    standing = [sheet.readings[name] for names in sheet.standing.values() for name in names]
    unproven = sum(bool(reading.unproven) and reading.identity not in sheet.reopened for reading in standing)
    for code, n in (
        ("unproven_count", unproven),
        ("reopened_count", sum(reading.identity in sheet.reopened for reading in standing)),
        ("suspect_count", sum(reading.identity in sheet.suspect for reading in standing)),
    ):
        if n:
            yield teller.word(f"report.{code}", n=n)


def _question_totals(teller: Teller) -> Iterator[str]:
    sheet = teller.sheet
    answers = Counter(sheet.answers[name].answer if name in sheet.answers else "left open" for name in sheet.questions)
    for answer in ("kept", "new reading", "left open", "taken back"):
        if answers[answer]:
            yield teller.word(f"report.questions.{answer.replace(' ', '_')}", n=answers[answer])
        moved = sum(moved_in(sheet, name) for name in sheet.questions) if answer == "new reading" else 0
        if moved:
            yield teller.word("report.questions.moved_in", n=moved)


def _marks(teller: Teller) -> Iterator[str]:
    """Marks for review: what was found of which instrument, which rows, who marked, and what was answered."""
    for mark in teller.sheet.marks.values():
        numbers = {teller.sheet.characteristic(row).number for row, _ in cells_of(teller.sheet, mark)}
        parts = {
            "found": teller.say(found_out(teller.shop, mark)),
            "rows": ", ".join(sorted(numbers, key=natural_key)),
            "person": teller.person(mark.by),
            "when": teller.when(mark.at),
            "words": mark.words,
        }
        yield teller.word("report.marked", **parts)
        if mark.waits:
            yield teller.word("report.mark_waits")
        else:
            person, when = teller.person(mark.answered_by), teller.when(mark.answered_at)
            yield teller.word("report.mark_answered", person=person, when=when, words=mark.answer)


# --- signatures -----------------------------------------------------------------------------------------------


def _signed(teller: Teller, seal: Seal) -> Signed:
    statement = "report.statement_incomplete" if seal.incomplete else "report.statement"
    return Signed(
        statement=teller.word(statement, n=seal.round, reason=seal.incomplete),
        person=teller.person(seal.by),
        when=teller.when(seal.at),
        digest=seal.digest,
        certificate=fingerprint(seal.signature.certificate),
    )

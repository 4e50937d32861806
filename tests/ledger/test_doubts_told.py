"""Cells in doubt on the page of a sheet: counted, named with their piece, and why."""

from __future__ import annotations

import shutil
from pathlib import Path

from PySide6.QtGui import QTextDocument

from app.jobs.demo import Demo
from app.ledger.detail import sheet_page
from app.ledger.work import Looked
from app.window.theme import load
from inspection.drawing.requirement import Form
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Slot
from inspection.measuring.verdict import Verdict
from inspection.quantity.speaker import plain
from inspection.quantity.units import Quantity
from inspection.sheet import acts
from storage.book.door import Book
from storage.book.queries.sheets import list_sheets


def page(looked: Looked) -> str:
    """The page as plain text, one space between words."""
    document = QTextDocument()
    document.setHtml(sheet_page(looked, load("light")))
    return " ".join(document.toPlainText().split())


def test_what_is_in_doubt_is_counted_and_named_with_its_reason(qapp, demo_book: Demo, tmp_path: Path) -> None:
    path = Path(shutil.copy(demo_book.files["book"], tmp_path / "shop.tenthwright"))
    with Book.open(path) as book:
        sheet = book.sheet(next(one.sheet for one in book.ask(list_sheets) if one.serials == ("0901",)))
        row = next(
            each
            for each in sheet.plan.characteristics
            if each.requirement.form is Form.PLUS_MINUS and each.repeats == 1 and not each.places
        )
        rule = acts.ChooseDecisionRule(sheet=sheet.identity, decision=DecisionRule(RuleKind.GUARDED), reason="agreed")
        book.do(rule, person=sheet.made_by)
        asked, piece = row.requirement, sheet.pieces[0]
        written = plain(asked.lower, asked.unit, 4)
        on_the_limit = Quantity(asked.lower, asked.kind, asked.unit, written, 4)
        reading = acts.TakeReading(
            sheet=sheet.identity,
            characteristic=row.identity,
            piece=piece.identity,
            slot=Slot(),
            quantity=on_the_limit,
        )
        book.do(reading, person=sheet.made_by)
        told = page(Looked(book.sheet(sheet.identity), book.shop(), ()))
        assert book.sheet(sheet.identity).judgement(row.identity, piece.identity).verdict is Verdict.DOUBT_INSIDE
    assert "⊖ in doubt" in told
    assert f"⊖ {row.number} {asked.written}, piece {piece.serial}" in told
    assert "conformity is shown from" in told

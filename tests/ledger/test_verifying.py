"""The whole book verified in the window, by keys: calm where all is well, what is not proved said, and the way to what
was altered behind the program's back."""

from __future__ import annotations

import io
import os
import shutil
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QProgressBar

from app.command.main import run
from app.jobs.hand import Hand
from app.jobs.verifying import Weight
from app.verifying.dialog import VerifyingDialog
from inspection.sheet import acts
from inspection.words.say import say, word
from storage.book import reaching, verify
from storage.book.clock import new_identity, wall_clock
from storage.book.queries.heads import digest_at
from storage.heads import keep_head
from tests.book.test_verify import behind
from tests.ledger.conftest import ALT, CTRL, Ledger


def dialog_of(ledger: Ledger) -> Any:
    """The window in which the book is verified, once it is there."""
    found: list[VerifyingDialog] = []

    def there() -> bool:
        found[:] = [each for each in ledger.frame.findChildren(VerifyingDialog) if each.isActiveWindow()]
        return bool(found)

    ledger.press(Qt.Key.Key_F9, CTRL)
    ledger.until(there)
    return found[0]


def verified(ledger: Ledger) -> Any:
    dialog = dialog_of(ledger)
    ledger.until(lambda: dialog.result_ is not None)
    return dialog


def by_command(path: Path) -> list[str]:
    out = io.StringIO()
    run(
        ["verify", "--book", str(path)],
        clock=wall_clock,
        identities=new_identity,
        environ={},
        out=out,
        err=io.StringIO(),
        ask=None,
    )
    return out.getvalue().splitlines()


def test_a_whole_book_is_told_calmly_and_the_very_lines_of_the_command_are_copied(ledger: Ledger) -> None:
    dialog = verified(ledger)
    assert dialog.said.text().startswith("Nothing stands against this book.")
    items = dialog.list.items
    assert {item.side for item in items} == {"not proved", "holds"}
    assert any("after the last signature" in item.text for item in items), "what is not proved is said"
    assert any("seals were checked, and hold" in item.text for item in items)
    ledger.hits(Qt.Key.Key_C, CTRL)
    copied = QGuiApplication.clipboard().text().splitlines()
    assert copied[0] == str(ledger.path) and copied[2:] == by_command(ledger.path)
    ledger.hits(Qt.Key.Key_Escape)
    ledger.back()


def test_what_was_altered_stands_first_and_leads_to_its_row(ledger: Ledger) -> None:
    with behind(ledger.path) as connection:
        connection.execute(
            "UPDATE reading SET amount = amount - 25400000 WHERE sequence ="
            " (SELECT max(sequence) FROM reading WHERE sheet = ? AND amount IS NOT NULL)",
            (ledger.demo.sheet,),
        )
    dialog = verified(ledger)
    assert "One thing stands against this book" in dialog.said.text()
    finding = dialog.finding()
    assert (finding.weight, finding.on.sheet) == (Weight.AGAINST, ledger.demo.sheet)
    assert "on the sheet of OB-2207 rev C: 001, 002, 003" in dialog.list.items[0].told
    ledger.hits(Qt.Key.Key_Return)
    bench = ledger.frame.room("bench")
    ledger.until(lambda: bench.isVisible() and bench.seen is not None)
    assert bench.seen.sheet.identity == ledger.demo.sheet
    assert bench.seen.row(bench.flow.at.row).number == finding.number


def test_it_is_stopped_by_esc_and_the_bench_goes_on_meanwhile(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """An act handed in while the book is read is on disk before the reading ends."""
    real, held = verify.verify_book, []

    def slow(path: Path, progress: Any) -> Any:
        while not held:
            progress(1, 10)
        return real(path, progress)

    monkeypatch.setattr(verify, "verify_book", slow)
    dialog = dialog_of(ledger)
    kept: list[Any] = []
    rules = ledger.house.shop.rules
    ledger.house.do(acts.IssueRules(rules=rules), kept=kept.append, refused=kept.append)
    ledger.until(lambda: bool(kept))
    assert dialog.result_ is None and dialog.doing.isVisible()
    ledger.hits(Qt.Key.Key_Escape)
    ledger.until(lambda: dialog.said.text().startswith("Stopped"))
    held.append(True)
    ledger.hits(Qt.Key.Key_R, ALT)
    ledger.until(lambda: dialog.result_ is not None)
    assert dialog.said.text().startswith("Nothing stands against")


def test_a_copy_that_went_another_way_is_settled_there(ledger: Ledger, answers: Any, tmp_path: Path) -> None:
    with ledger.book() as book:
        person, rules = book.sheet(ledger.demo.sheet).made_by, acts.IssueRules(rules=book.shop().rules)
    copy = Path(shutil.copy(ledger.path, tmp_path / "office.tenthwright"))
    with Hand.open(copy, wall_clock, new_identity) as hand:
        hand.book.do(rules, person=person)
    ledger.house.do(rules)
    dialog = verified(ledger)
    (against,) = (each for each in dialog.result_.findings if each.weight is Weight.AGAINST)
    assert against.reason.code == "head.copy_apart" and str(copy) in say(against.reason)
    answers[0].append({})
    ledger.hits(Qt.Key.Key_G, ALT)
    ledger.until(lambda: dialog.said.text().startswith("Nothing stands against"))
    assert any("it was said on this computer" in item.text for item in dialog.list.items)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a place that never answers is made as a named pipe")
def test_a_copy_where_nothing_answers_keeps_nobody_waiting(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Readings go on being kept while it is waited for, and Esc ends the wait."""
    monkeypatch.setattr(reaching, "PATIENCE", 600)
    away = tmp_path / "away.tenthwright"
    os.mkfifo(away)
    with ledger.book() as book:
        keep_head(away, book.ask(digest_at, 1), book.head())
        rules = book.shop().rules
    dialog = dialog_of(ledger)
    bar = dialog.doing.findChild(QProgressBar)
    ledger.until(lambda: bar.accessibleName() == word("verifying.part.outside"))
    kept: list[Any] = []
    ledger.house.do(acts.IssueRules(rules=rules), kept=kept.append, refused=kept.append)
    ledger.until(lambda: bool(kept))
    assert dialog.result_ is None and dialog.doing.isVisible()
    ledger.hits(Qt.Key.Key_Escape)
    ledger.until(lambda: dialog.said.text().startswith("Stopped"))
    monkeypatch.setattr(reaching, "PATIENCE", 0.2)
    ledger.hits(Qt.Key.Key_R, ALT)
    ledger.until(lambda: dialog.result_ is not None)
    (open_,) = (each for each in dialog.result_.findings if each.reason.code == "head.copy_silent")
    assert open_.weight is Weight.NOT_PROVED and str(away) in say(open_.reason)

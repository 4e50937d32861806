"""A time stamp by keys at the Desk: room left for it, asked for as a file, answered by another tool's authority."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from app.jobs.document import document_bytes, document_of
from app.window.start import settings_after
from inspection.sheet import acts
from inspection.words.say import say
from storage.seals.keys import unlock
from storage.seals.pdf_checking import check_pdf
from storage.settings import Settings
from tests.desk.conftest import CTRL
from tests.seals.test_pdf_stamp import OPENSSL, Authority

SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.mark.skipif(OPENSSL is None, reason="no openssl here to stamp by")
def test_a_time_stamp_is_asked_for_and_put_in_by_keys(open_desk, shop, answers, tmp_path):
    given, _ = answers
    with shop.book() as book:
        sheet = book.sheet(shop.unsigned)
        sign = unlock(book.shop().people[sheet.made_by], shop.passphrase)
        book.do(acts.SignSheet(sheet=shop.unsigned, incomplete="the rest waits"), person=sheet.made_by, sign=sign)
    desk = open_desk(shop.unsigned)
    notice = desk.frame.notice
    desk.press(Qt.Key.Key_Y, CTRL)
    assert "no signed PDF" in notice() or "not signed" in notice(), notice()
    desk.press(Qt.Key.Key_U, CTRL | SHIFT)
    assert "leaves room for a time stamp" in notice()
    assert settings_after(Settings(), desk.frame, desk.sitting).stamps, "kept as this person's taste"
    given.append({"passphrase": shop.passphrase})
    desk.press(Qt.Key.Key_G, CTRL)
    desk.until(lambda: document_of(desk.room.at_hand.sheet) is not None)
    given.append({"file": str(tmp_path / "ask.tsq")})
    desk.press(Qt.Key.Key_Y, CTRL)
    desk.until(lambda: (tmp_path / "ask.tsq").exists() and "Ctrl+Shift+Y" in notice())
    (tmp_path / "tsa").mkdir()
    (tmp_path / "no.tsr").write_bytes(b"no stamp at all")
    given.append({"file": str(tmp_path / "no.tsr")})
    desk.press(Qt.Key.Key_Y, CTRL | SHIFT)
    desk.until(lambda: "This is no time stamp for the last signature" in notice())
    (tmp_path / "answer.tsr").write_bytes(Authority(tmp_path / "tsa").answer((tmp_path / "ask.tsq").read_bytes()))
    given.append({"file": str(tmp_path / "answer.tsr")})
    desk.press(Qt.Key.Key_Y, CTRL | SHIFT)
    desk.until(lambda: "has its time stamp" in notice())
    with shop.book() as book:
        pdf = document_bytes(book, document_of(book.sheet(shop.unsigned)))
    found = check_pdf(pdf)
    assert found.whole and any("stamp" in each.code for each in found.statements), list(map(say, found.statements))

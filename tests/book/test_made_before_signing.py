"""A file made of an unsigned sheet is not what was signed afterwards, though its own bytes are unchanged."""

from __future__ import annotations

import hashlib

from inspection.sheet import acts
from inspection.words.say import say
from storage.book.verify import verify_file


def sent(bench, file):
    content = b"1;0.5010\n"
    file.write_bytes(content)
    digest = hashlib.sha256(content).hexdigest()
    bench.do(acts.RecordSent(sheet=bench.sheet_id, form="csv", name=file.name, digest=digest))


def codes(reasons):
    return [reason.code for reason in reasons]


def test_a_draft_is_not_what_was_signed_afterwards(told, tmp_path):
    file = tmp_path / "draft.csv"
    sent(told, file)
    assert verify_file(file, told.path).whole
    told.sign(incomplete="two rows wait")
    found = verify_file(file, told.path)
    assert codes(found.faults) == ["verify.made_before_signing"]
    assert "verify.file_known" in codes(found.statements)
    assert say(found.faults[0]) == (
        "This file was made before round 3 of HB-7 was signed, so it is not what was signed. Export the sheet again."
    )


def test_the_same_bytes_made_again_after_signing_are_what_was_signed(told, tmp_path):
    file = tmp_path / "sheet.csv"
    sent(told, file)
    told.sign(incomplete="two rows wait")
    sent(told, file)
    assert verify_file(file, told.path).whole


def test_a_file_of_the_round_before_stays_what_was_signed_then(told, tmp_path):
    file = tmp_path / "sheet.csv"
    told.sign(incomplete="two rows wait")
    sent(told, file)
    told.do(acts.Reopen(sheet=told.sheet_id, reason="gauge was dropped"))
    told.sign(incomplete="two rows wait")
    found = verify_file(file, told.path)
    assert found.whole
    assert "verify.reopened_since" in codes(found.statements)

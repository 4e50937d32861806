"""Signing cut off by a kill: the sheet is as it was before, or it is signed; never anything between, and never lost."""

from __future__ import annotations

import os
import signal
import subprocess
import sys

import pytest

from app.command.outcome import Exit
from tests.hard_knocks.conftest import ENVIRON

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills by signal")

#: Signs by the command itself, and waits at a moment for its end.
SIGNING = """
import os, sys, threading
from app.command.main import run
from storage.book import door
from storage.seals import keys, pdf_signing

def waiting(module, name, before="", after="", where=lambda *parts: True):
    plain = getattr(module, name)
    def stops(*parts, **named):
        here = where(*parts)
        wait(before if here else "")
        found = plain(*parts, **named)
        wait(after if here else "")
        return found
    setattr(module, name, stops)

def wait(moment):
    if moment == sys.argv[1]:
        os.write(1, b"here\\n")
        threading.Event().wait()

waiting(keys, "unlocked", after="key open")
sealed = lambda sitting: b"SheetSealed" in b"".join(row["content"] for row in sitting.journal_rows)
waiting(door, "_write", before="signed in memory", after="written and not committed", where=sealed)
waiting(door.Book, "do", after="committed and not told")
waiting(pdf_signing, "sign_pdf", after="PDF signed and not kept")
run(["sign", "--incomplete", "row 3 waits", "--book", sys.argv[2]], environ={"TENTHWRIGHT_PASSPHRASE": sys.argv[3]})
os.write(1, b"nobody waited\\n")
"""


@pytest.mark.parametrize(
    "moment",
    ["key open", "signed in memory", "written and not committed", "committed and not told", "PDF signed and not kept"],
)
def test_a_kill_leaves_a_sheet_signed_or_not(place, moment):
    line = [sys.executable, "-P", "-c", SIGNING, moment, str(place.book), ENVIRON["TENTHWRIGHT_PASSPHRASE"]]
    with subprocess.Popen(line, stdout=subprocess.PIPE, cwd="/") as signing:
        assert signing.stdout.readline() == b"here\n"
        signing.send_signal(signal.SIGKILL)
    signed = moment in ("committed and not told", "PDF signed and not kept")
    assert ("signed, round 1" in place.say("list")[1]) is signed
    again, _, refused = place.say("sign", "--incomplete", "row 3 waits")
    assert again == (Exit.REFUSED if signed else Exit.DONE), refused
    made_up, _, _ = place.say("sign-pdf")
    assert made_up == (Exit.DONE if signed else Exit.REFUSED)  # or the PDF was signed with the sheet
    code, told, _ = place.say("verify")
    assert code == Exit.DONE and told.count("): the seal of round 1 by Una holds.") == 1, told

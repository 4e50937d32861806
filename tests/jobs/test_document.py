"""The signed PDF: every key that signs the sheet signs it too, each signature behind the others, kept in the book."""

from __future__ import annotations

import shutil
import subprocess
import zipfile
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest

from app.command.main import run
from app.jobs import document, signing
from app.jobs.hand import Hand
from app.jobs.packing import pack
from app.jobs.people import entering, new_key
from app.jobs.sending import send
from inspection.attached import Attached
from inspection.drawing.plan import Part
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.people import Duty
from inspection.sheet.review import Returned, StatementKind
from inspection.words.say import say
from storage.book.attached import attached
from storage.book.documents import verify_documents
from storage.book.verify import verify_book, verify_file
from storage.seals.check import Verified
from storage.seals.keys import make_key
from storage.seals.pdf_attachments import read_pdf
from storage.seals.pdf_checking import check_pdf
from tests.book.conftest import NOON, PASSPHRASE, Bench, Clockwork, plan

PDFSIG, OPENSSL = shutil.which("pdfsig"), shutil.which("openssl")
ANN, LEA = "Ann Ames", "Lea Lund"


class Signers:
    """A book with a measured sheet, a hand of its inspector's and one of a lead who had no part in it."""

    def __init__(self, path: Path) -> None:
        self.bench = Bench(path, make_key(ANN, PASSPHRASE, NOON), clockwork=Clockwork("documents"))
        self.path = path
        self.inspector = self._hand(self.bench.person)
        self.bench.do(entering(LEA, (Duty.LEAD,), new_key(self.inspector, LEA, PASSPHRASE)))
        people = self.bench.book.shop().people.values()
        self.lead = self._hand(next(each.identity for each in people if each.name == LEA))
        self.bench.make_sheet(rows=2, serials=("1",))
        for place in (0, 1):
            self.bench.take(place)

    def _hand(self, person: str) -> Hand:
        foreseen = _Foreseen(self.bench)
        return Hand(self.bench.book, foreseen, person)  # type: ignore[arg-type]

    @property
    def sheet(self) -> str:
        return self.bench.sheet_id

    def sign(self) -> signing.Signed:
        return signing.sign(self.inspector, self.sheet, PASSPHRASE)

    def state(self, kind: StatementKind, words: str = "") -> signing.Signed:
        return signing.state(self.lead, self.sheet, kind, PASSPHRASE, words=words)

    def pdf(self) -> bytes:
        held = document.document_of(self.bench.sheet)
        assert held is not None
        return document.document_bytes(self.bench.book, held)


class _Foreseen:
    """The clock of the bench, as a hand asks for it."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench

    def now(self) -> Any:
        return self._bench.time.clock()


@pytest.fixture
def signers(tmp_path: Path) -> Any:
    made = Signers(tmp_path / "signers.tenthwright")
    yield made
    made.bench.book.close()


def said(pdf: bytes) -> str:
    found = check_pdf(pdf)
    assert not found.faults, [say(each) for each in found.faults]
    return " ".join(map(say, found.statements))


def test_each_who_signs_the_sheet_signs_its_pdf_behind_the_others(signers: Signers, tmp_path: Path) -> None:
    assert signers.sign().notices == ()
    first = signers.pdf()
    assert "Signed by Ann Ames on 2026-03-02 in the field “inspector”" in said(first)
    assert not signers.state(StatementKind.APPROVED, "seen on the part").notices
    signers.state(StatementKind.COMPLETE)
    signers.state(StatementKind.RELEASED, "lot 4, this set-up")
    pdf = signers.pdf()
    assert pdf.startswith(first)
    told = said(pdf)
    for field in ("inspector", "lead", "first-article", "release"):
        assert f"in the field “{field}”," in told
    assert "sheet approved (“seen on the part”), by Lea Lund" in told
    assert "run released (“lot 4, this set-up”)" in told
    assert [seal.digest for seal in read_pdf(pdf).seals] == [seal.digest for seal in signers.bench.sheet.seals]
    assert verify_book(signers.path).whole
    if PDFSIG is not None:
        (tmp_path / "out.pdf").write_bytes(pdf)
        told = subprocess.run([PDFSIG, "out.pdf"], cwd=tmp_path, capture_output=True, text=True, check=False).stdout
        assert told.count("Signature is Valid") == 4
        assert told.count("Total document signed") == 1  # the last one covers the whole file


def test_a_statement_made_again_takes_the_next_field_and_the_third_is_told(signers: Signers) -> None:
    signers.sign()
    signers.state(StatementKind.APPROVED)
    for lot in ("lot 4", "lot 5"):
        assert not signers.state(StatementKind.RELEASED, lot).notices
    whole = signers.pdf()
    made = signers.state(StatementKind.RELEASED, "lot 6")
    assert [each.code for each in made.notices] == ["document.no_field_left"]
    assert len(made.sheet.statements) == 4 and signers.pdf() == whole


def test_what_the_pdf_could_not_take_is_signed_later_by_whom_it_is(
    signers: Signers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A part whose name has letters without a glyph is signed in the book, and the person is told."""
    unprintable = plan(1, "HB-8")
    odd = Part("HB-8", "B", "block \U00013080")
    bench = signers.bench
    issued = bench.do(
        acts.IssuePlan(plan=type(unprintable)("", "", 0, odd, unprintable.title_block, unprintable.characteristics))
    )
    bench.sheet_id = bench.do(acts.MakeSheet(plan=issued.events[0].plan.identity, serials=("1",))).stream
    bench.take(0)
    made = signers.sign()
    assert made.sheet.sealed and made.notices[-1].code == "document.not_made"
    assert document.document_of(bench.sheet) is None
    monkeypatch.setattr("storage.dispatch.pdf.refuse_unprintable", lambda _report: None)
    with pytest.raises(Refused) as refused:
        signing.sign_pdf(signers.lead, signers.sheet, PASSPHRASE)
    assert refused.value.reasons[0].code == "document.nothing_left"
    after = signing.sign_pdf(signers.inspector, signers.sheet, PASSPHRASE)
    assert after.documents[1].signed == (after.seals[-1].digest,)


def test_a_new_round_has_a_pdf_of_its_own(signers: Signers) -> None:
    signers.sign()
    first = signers.pdf()
    back = acts.ReturnSheet(sheet=signers.sheet, rows=(Returned("", "", "once more"),))
    signers.bench.book.do(back, person=signers.lead.person)
    assert signers.pdf() == first  # what was signed stays what goes out
    signers.sign()
    second = signers.pdf()
    assert len(read_pdf(second).seals) == 2 and not second.startswith(first)
    assert set(signers.bench.sheet.documents) == {1, 2}


def test_it_goes_out_as_it_was_signed_and_is_known_again(signers: Signers, tmp_path: Path) -> None:
    signers.sign()
    signers.state(StatementKind.APPROVED)
    file = tmp_path / "sent.signed.pdf"
    send(signers.inspector, signers.sheet, "signed-pdf", file)
    assert file.read_bytes() == signers.pdf()
    known = verify_file(file, signers.path)
    assert known.whole and known.statements[0].code == "verify.file_known"
    assert verify_file(file).whole
    packed = pack(signers.bench.book, signers.bench.sheet, signers.bench.book.shop())
    assert file.read_bytes() in packed.files.values()
    other = Signers(tmp_path / "other.tenthwright")
    other.sign()
    file.write_bytes(other.pdf())
    foreign = verify_file(file, signers.path)
    assert {each.code for each in foreign.faults} >= {"signed_pdf.other_signer"}
    other.bench.book.close()
    with zipfile.ZipFile(BytesIO(packed.content)) as held:
        assert sum(name.endswith(".signed.pdf") for name in held.namelist()) == 1


@pytest.mark.skipif(OPENSSL is None, reason="no openssl here to stamp by")
def test_a_time_stamp_is_carried_as_files_and_kept(signers: Signers, tmp_path: Path) -> None:
    from tests.seals.test_pdf_stamp import Authority

    made = signing.sign(signers.inspector, signers.sheet, PASSPHRASE, making=document.Making(room_for_stamp=True))
    before = signers.pdf()
    with pytest.raises(Refused):
        document.put_stamp(signers.inspector, signers.sheet, b"no answer")
    assert signers.pdf() == before
    authority = Authority(tmp_path)
    answer = authority.answer(document.stamp_request(signers.inspector, signers.sheet))
    document.put_stamp(signers.inspector, signers.sheet, answer)
    stamped = signers.pdf()
    assert len(stamped) == len(before) and "says Common Name: Stamps" in said(stamped)
    assert signers.bench.sheet.documents[1].signed == (made.sheet.seals[-1].digest,)
    signers.state(StatementKind.APPROVED)
    assert signers.pdf().startswith(stamped) and "in the field “lead”" in said(signers.pdf())
    assert verify_book(signers.path).whole


@pytest.mark.parametrize("change", ["another's", "twice", "not appended", "unsigned"])
def test_the_book_keeps_no_pdf_that_is_not_one_signature_more(signers: Signers, change: str) -> None:
    """Whoever sends the act by other ways than the job: the door's own rules hold."""
    bench = signers.bench
    bench.sign()  # in the book alone
    from storage.book.attached import attached

    content = {change: f"%PDF {change}".encode() for change in ("a", "b")}
    part = {name: attached(f"{name}.pdf", held) for name, held in content.items()}
    given = {part[name].digest: held for name, held in content.items()}
    seal, person = bench.sheet.seals[-1].digest, bench.person
    keep = acts.KeepDocument(sheet=bench.sheet_id, signs=seal, files=(part["a"],))
    if change == "another's":
        person, code = signers.lead.person, "document.anothers"
    elif change == "twice":
        bench.book.do(keep, person=person, files=given)
        keep, code = (
            acts.KeepDocument(sheet=keep.sheet, signs=seal, files=(part["a"], part["b"])),
            "document.signed_already",
        )
    elif change == "not appended":
        keep, code = (
            acts.KeepDocument(sheet=keep.sheet, signs=seal, files=(part["a"], part["b"])),
            "document.not_appended",
        )
    else:
        keep, code = acts.KeepDocument(sheet=keep.sheet, signs="0" * 64, files=(part["a"],)), "document.nothing_signed"
    before = bench.sheet
    with pytest.raises(Refused) as refused:
        bench.book.do(keep, person=person, files=given)
    assert [each.code for each in refused.value.reasons] == [code]
    assert bench.sheet == before


# --- what the book keeps, checked with the book -----------------------------------------------------------------------


def kept(signers: Signers, signs: str, files: tuple[Attached, ...], content: bytes) -> None:
    """Keep these files as the signed PDF, the last one with this content, as a program that went wrong could."""
    act = acts.KeepDocument(sheet=signers.sheet, signs=signs, files=files)
    signers.bench.do(act, files={files[-1].digest: content})


def test_the_signatures_in_the_pdfs_that_a_book_keeps_are_checked_with_it(signers: Signers) -> None:
    signers.sign()
    signers.bench.state(StatementKind.APPROVED)
    asked: list[tuple[int, int]] = []
    found = verify_documents(signers.path, progress=lambda done, total: asked.append((done, total)))
    assert [say(each) for each in found.statements] == [
        "HB-7 (1): the signed PDF of round 1 holds, with its one signature."
    ]
    assert found.whole and asked == [(1, 1)]
    added = b"\n% a remark that nobody signed\n"
    files = (*signers.bench.sheet.documents[1].files, attached("more.pdf", added))
    kept(signers, signers.bench.sheet.statements[-1].digest, files, added)
    assert verify_book(signers.path).whole, "its bytes are what the journal names"
    for faults in (verify_documents(signers.path).faults, verify_documents(signers.path, signers.sheet).faults):
        assert [each.code for each in faults] == ["verify.document_fails", "signed_pdf.more_after"]
        assert say(faults[0]).startswith("HB-7 (1): the signed PDF of round 1 that the book keeps does not hold.")
    assert verify_documents(signers.path, "no such sheet") == Verified()


def test_a_pdf_of_another_sheet_is_not_taken_for_this_one_s(signers: Signers) -> None:
    signers.sign()
    files, pdf = signers.bench.sheet.documents[1].files, signers.pdf()
    signers.bench.make_sheet(rows=2, serials=("2",))
    for place in (0, 1):
        signers.bench.take(place)
    signers.bench.sign()
    kept(signers, signers.bench.sheet.seals[-1].digest, files, pdf)
    (fails, other) = verify_documents(signers.path, signers.sheet).faults
    assert (fails.code, fails.parts["serials"], other.code) == ("verify.document_fails", "2", "verify.document_other")
    assert verify_book(signers.path).whole


def test_the_command_checks_them_and_can_leave_them(signers: Signers) -> None:
    signers.bench.sign()
    files = (attached("none.pdf", b"%PDF nothing"),)
    kept(signers, signers.bench.sheet.seals[-1].digest, files, b"%PDF nothing")
    signers.bench.book.close()
    for more, code in (((), 1), (("--leave-pdfs",), 0)):
        out, err = StringIO(), Terminal()
        assert run(["verify", "--book", str(signers.path), *more], out=out, err=err) == code
        assert ("the signed PDF of round 1 that the book keeps does not hold" in out.getvalue()) is bool(code)
        assert (" is whole: " in out.getvalue()) is not bool(code)
        assert ("Checking the signatures in the PDFs" in err.getvalue()) is False, "one is done at once"
        assert err.getvalue().endswith("\r") or not err.getvalue(), "nothing is left on the line"


class Terminal(StringIO):
    """A stream that somebody looks at."""

    def isatty(self) -> bool:
        return True

"""A certificate issued by an authority (RFC 5280), made by openssl: it seals a sheet as one made here does."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from msgspec.structs import replace

from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.rows import characteristic
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.certificates import fingerprint
from inspection.sheet.people import Person
from inspection.words.say import say
from storage.book.clock import wall_clock
from storage.book.door import Book
from storage.book.verify import verify_book
from storage.seals.brought_keys import BroughtKey, bring_key
from storage.seals.check import check_signature
from storage.seals.data_file import verify_data, write_data
from storage.seals.keys import unlock

pytestmark = pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl here to make a chain by")

MIRA, PASSPHRASE, OPENS = "Mira Oduya", "four grey geese", "of the file"

#: Extensions of root, of the authority below it, and of the person's own certificate (RFC 5280, 4.2.1).
EXTENSIONS = {
    "root": "basicConstraints=critical,CA:TRUE\nkeyUsage=critical,keyCertSign,cRLSign\n",
    "people": "basicConstraints=critical,CA:TRUE,pathlen:0\nkeyUsage=critical,keyCertSign,cRLSign\n",
    "own": "basicConstraints=critical,CA:FALSE\nkeyUsage=critical,digitalSignature,nonRepudiation\n",
    "sealing ring": "basicConstraints=critical,CA:FALSE\nkeyUsage=critical,keyAgreement\n",
}


class Authority:
    """openssl in a folder of its own: a root, and under it the authority that issues certificates to people."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._make("root", "Lantern Hill root", "root")
        self._make("people", "Lantern Hill people", "people", above="root")

    def __call__(self, *words: str) -> None:
        subprocess.run(["openssl", *words], cwd=self.folder, capture_output=True, check=True, timeout=60)

    def _make(self, file: str, name: str, use: str, above: str = "", curve: str = "P-256") -> None:
        self("ecparam", "-name", curve, "-genkey", "-noout", "-out", f"{file}.key")
        self("req", "-new", "-key", f"{file}.key", "-subj", f"/CN={name}", "-out", f"{file}.csr")
        (self.folder / "use").write_text(EXTENSIONS[use], encoding="utf-8")
        by = ["-CA", f"{above}.pem", "-CAkey", f"{above}.key", "-CAcreateserial"] if above else ["-signkey", "root.key"]
        self("x509", "-req", "-in", f"{file}.csr", *by, "-days", "30", "-extfile", "use", "-out", f"{file}.pem")

    def issue(self, name: str, use: str = "own", curve: str = "P-256") -> bytes:
        """A PKCS#12 file with a person's new key, its certificate and the two above it."""
        self._make("own", name, use, "people", curve)
        above = (self.folder / "people.pem").read_text() + (self.folder / "root.pem").read_text()
        (self.folder / "above.pem").write_text(above)
        out = ["-certfile", "above.pem", "-out", "own.p12", "-passout", f"pass:{OPENS}"]
        self("pkcs12", "-export", "-inkey", "own.key", "-in", "own.pem", *out)
        return (self.folder / "own.p12").read_bytes()


@pytest.fixture(scope="module")
def authority(tmp_path_factory: pytest.TempPathFactory) -> Authority:
    return Authority(tmp_path_factory.mktemp("authority"))


@pytest.fixture(scope="module")
def brought(authority: Authority) -> BroughtKey:
    return bring_key(MIRA, authority.issue(MIRA), OPENS, PASSPHRASE, wall_clock().at)


@pytest.fixture(scope="module")
def sealed(brought: BroughtKey, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A book with one sheet, sealed by the key that was brought along."""
    path = tmp_path_factory.mktemp("book") / "shop.tenthwright"
    mira = Person("", MIRA, certificate=brought.key.certificate, locked_key=brought.key.locked_key)
    block = TitleBlock(unit="in", inch={3: INCH // 200})
    rows = characteristic({"number": "1", "kind": "length", "requirement": "1.250 ±.005"}, block)
    with Book.new(path) as book:
        shop = book.do(acts.OpenShop(name="Quillfeather Machine", first_person=mira), person="").shop
        person = next(iter(shop.people))
        act = acts.IssuePlan(plan=Plan("", "", 0, Part("LP-1", "A"), block, tuple(rows)))
        plan = book.do(act, person=person).events[0].plan
        sheet = book.do(acts.MakeSheet(plan=plan.identity, serials=("001",)), person=person).stream
        sign = unlock(book.shop().people[person], PASSPHRASE)
        book.do(acts.SignSheet(sheet=sheet, incomplete="only begun"), person=person, sign=sign)
    return path, sheet


def codes(found) -> list[str]:
    assert not any("[" in say(reason) or "{" in say(reason) for reason in (*found.statements, *found.faults))
    return [reason.code for reason in found.faults]


def test_a_book_sealed_by_it_is_whole(sealed) -> None:
    path, _sheet = sealed
    found = verify_book(path)
    assert codes(found) == []
    assert [reason.code for reason in found.statements] == ["verify.book_whole", "verify.seal_holds"]


def test_the_data_file_holds_by_the_fingerprint_under_the_seal(sealed, brought: BroughtKey) -> None:
    path, sheet = sealed
    with Book.open(path) as book:
        found = verify_data(write_data(book.sheet(sheet)))
    assert codes(found) == []
    (said,) = found.statements
    own = fingerprint(brought.key.certificate)
    assert (said.parts["person"], said.parts["fingerprint"]) == (MIRA, own)


def test_another_certificate_of_the_authority_cannot_stand_in_for_it(sealed, authority: Authority) -> None:
    """Made for the same key in another name, which its authority vouches for: the seal names the first one."""
    path, sheet = sealed
    authority("req", "-new", "-key", "own.key", "-subj", "/CN=Ann Ames", "-out", "other.csr")
    by = ["-CA", "people.pem", "-CAkey", "people.key", "-CAcreateserial"]
    authority("x509", "-req", "-in", "other.csr", *by, "-days", "30", "-out", "other.pem")
    other = (authority.folder / "other.pem").read_text()
    with Book.open(path) as book:
        held = book.sheet(sheet)
    seal = held.seals[0]
    changed = replace(held, seals=(replace(seal, signature=replace(seal.signature, certificate=other)),))
    assert codes(verify_data(write_data(changed))) == ["seal.unproven_certificate"]


def test_where_nothing_names_it_the_certificate_proves_nothing(brought: BroughtKey) -> None:
    mira = Person("mira", MIRA, certificate=brought.key.certificate, locked_key=brought.key.locked_key)
    signature, now = unlock(mira, PASSPHRASE)(b"content"), wall_clock().at
    assert [each.code for each in check_signature(b"content", signature, now)] == ["seal.unproven_certificate"]
    assert check_signature(b"content", signature, now, named=True) == ()
    assert [each.code for each in check_signature(b"altered", signature, now, named=True)] == ["seal.broken"]
    later = now + 31 * 86_400_000_000
    assert [each.code for each in check_signature(b"content", signature, later, named=True)] == ["seal.out_of_time"]


@pytest.mark.parametrize(
    ("use", "curve", "code"),
    [("sealing ring", "P-256", "brought.unfit_usage"), ("own", "secp384r1", "brought.unfit_kind")],
)
def test_the_demands_that_matter_stay(authority: Authority, use: str, curve: str, code: str) -> None:
    container = authority.issue("Bo Lindqvist", use, curve)
    with pytest.raises(Refused) as refused:
        bring_key("Bo Lindqvist", container, OPENS, PASSPHRASE, wall_clock().at)
    assert [reason.code for reason in refused.value.reasons] == [code]


def test_a_certificate_for_another_use_is_told_of_in_a_seal(authority: Authority) -> None:
    from cryptography.hazmat.primitives.serialization import pkcs12

    from storage.seals.sign import signer

    content = authority.issue(MIRA, "sealing ring")
    private, _, _ = pkcs12.load_key_and_certificates(content, OPENS.encode())
    pem = (authority.folder / "own.pem").read_text()
    signature = signer(private, pem)(b"content")
    found = check_signature(b"content", signature, wall_clock().at, named=True)
    assert [each.code for each in found] == ["seal.unfit_usage"]
    assert "[" not in say(found[0])

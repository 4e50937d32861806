"""What the tests of signed PDFs stand on: a small page, three fields, a signed file, and a person with a chain."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from io import BytesIO

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, pkcs12
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from reportlab.pdfgen.canvas import Canvas

from inspection.sheet.people import Person
from inspection.words.say import say
from storage.seals.brought_keys import bring_key
from storage.seals.data_file import write_data
from storage.seals.pdf_appearance import Said
from storage.seals.pdf_checking import check_pdf
from storage.seals.pdf_signing import SignatureField, Statement, prepare_pdf, sign_pdf

NOON = 1_772_452_800_000_000  # 2026-03-02 12:00 UTC
SECOND = 1_000_000
DAY = 86_400 * SECOND
PASSPHRASE = "four grey geese"
INSPECTOR_SAID = Said("Measured as the record shows", "Ann Ames", "2026-03-02", "ab" * 32)


@cache
def blank() -> bytes:
    out = BytesIO()
    canvas = Canvas(out, pagesize=(400, 300), invariant=1)
    canvas.drawString(50, 200, "0.5000")
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def fields() -> tuple[SignatureField, ...]:
    return (
        SignatureField(Statement.INSPECTOR, 0, (20, 20, 140, 70)),
        SignatureField(Statement.LEAD, 0, (150, 20, 260, 70)),
        SignatureField(Statement.RELEASE, -1, (270, 20, 380, 70)),
    )


def signed_pdf(sealed, person, sign, names=("inspector", "lead", "release"), **named) -> bytes:
    pdf = prepare_pdf(blank(), write_data(sealed), fields(), NOON)
    for name in names:
        pdf = sign_pdf(pdf, name, INSPECTOR_SAID, person, sign, NOON + 120 * SECOND, **named)
    return pdf


def codes(pdf: bytes, expected=None) -> list[str]:
    found = check_pdf(pdf, expected)
    for reason in (*found.statements, *found.faults):
        assert "[" not in say(reason) and "{" not in say(reason)
    return [reason.code for reason in found.faults]


def certificate(
    name, key, issuer=None, issuer_key=None, *, days=(-10, 1000), usage=(True, True), ca=False, stamps=False
):
    """An X.509 certificate for the tests; ``usage`` is (digital signature, non-repudiation), None for no key usage."""
    named = [x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, one)]) for one in (name, issuer or name)]
    noon = datetime.fromtimestamp(NOON // SECOND, UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(named[0])
        .issuer_name(named[1])
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(noon + timedelta(days=days[0]))
        .not_valid_after(noon + timedelta(days=days[1]))
        .add_extension(x509.BasicConstraints(ca=ca, path_length=None), critical=True)
    )
    if usage is not None:
        bits = x509.KeyUsage(usage[0], usage[1], not any(usage), False, False, ca, ca, False, False)
        made = made.add_extension(bits, critical=True)
    if stamps:
        made = made.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING]), critical=True)
    return made.sign(issuer_key or key, hashes.SHA256())


def container(key, own, chain=(), passphrase=b"file") -> bytes:
    return pkcs12.serialize_key_and_certificates(
        b"brought", key, own, list(chain) or None, BestAvailableEncryption(passphrase)
    )


def pem(found: x509.Certificate) -> str:
    return found.public_bytes(Encoding.PEM).decode()


def chain_of_three(name="Mira Oduya"):
    """A key with its certificate, and the two above it."""
    keys = [ec.generate_private_key(ec.SECP256R1()) for _ in range(3)]
    root = certificate("Lantern Hill root", keys[2], ca=True)
    middle = certificate("Lantern Hill people", keys[1], "Lantern Hill root", keys[2], ca=True)
    return keys[0], certificate(name, keys[0], "Lantern Hill people", keys[1]), (middle, root)


@cache
def chained_person() -> tuple[Person, tuple[str, ...]]:
    key, own, above = chain_of_three()
    brought = bring_key("Mira Oduya", container(key, own, above), "file", PASSPHRASE, NOON)
    person = Person("mira", "Mira Oduya", certificate=brought.key.certificate, locked_key=brought.key.locked_key)
    return person, brought.chain

"""A package made of a sheet: its files, certificates and drawing with a manifest; kept, so that it can go out again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from datetime import tzinfo
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from app.jobs.document import document_of
from app.jobs.hand import Hand
from app.jobs.sending import FORMS, PAPERS, USUAL, make, proposed_name
from inspection.reasons import Reason, Refused
from inspection.sheet import acts

if TYPE_CHECKING:
    from inspection.attached import Attached
    from inspection.layout.layout import Layout
    from inspection.sheet.state import Sent, Sheet, Shop
    from storage.book.door import Book
    from storage.dispatch.package import Member

#: What a package holds of every sheet, beside the customer's form.
HELD = (*USUAL, "json", "qif", "first-article", "first-article-xlsx")


class Packed(Struct, frozen=True):
    """A package as it goes out: its files by name, the zip of them and its SHA-256 in hex, and what is to be known of
    the customer's form in it."""

    files: Mapping[str, bytes]
    content: bytes
    digest: str
    notices: tuple[Reason, ...] = ()


def pack(
    book: Book,
    sheet: Sheet,
    shop: Shop,
    *,
    layout: Layout | None = None,
    beside: Sequence[tuple[str, bytes]] = (),
    paper: str = PAPERS["letter"],
    zone: tzinfo | None = None,
) -> Packed:
    """Everything that goes out of a sheet, the same bytes for the same sheet and head of the chain: printed sheet,
    workbook, table, data, open data, the customer's form by ``layout``, certificates, and the files ``beside`` (the
    drawing).

    Raises Refused for what some form cannot hold.
    """
    from inspection.sheet.open_sheet import moment_told
    from storage.dispatch.package import MANIFEST, Manifest, listed, manifest_bytes, with_free_names, zip_bytes

    notices: tuple[Reason, ...] = ()
    members = list(_made(book, sheet, shop, paper, zone))
    if layout is not None:
        form, notices = _form(book, sheet, shop, layout, zone)
        members.append(form)
    members += _papers(book, sheet, shop, beside)
    whole = with_free_names(members)
    part, seal = sheet.plan.part, sheet.seals[-1] if sheet.sealed else None
    manifest = Manifest(
        shop=shop.name,
        customer=sheet.head.customer or part.customer,
        part=part.number,
        revision=part.revision,
        serials=tuple(piece.serial for piece in sheet.pieces),
        sheet=sheet.identity,
        round=sheet.round,
        signed=sheet.sealed,
        made=moment_told(seal.at if seal else sheet.made_at),
        files=tuple(map(listed, whole)),
        chain=book.head_to_carry().written,
    )
    files = {MANIFEST: manifest_bytes(manifest), **{member.name: member.content for member in whole}}
    content = zip_bytes(files)
    return Packed(files, content, hashlib.sha256(content).hexdigest(), notices)


def _made(book: Book, sheet: Sheet, shop: Shop, paper: str, zone: tzinfo | None) -> Iterator[Member]:
    from storage.dispatch.package import Member

    name = proposed_name(sheet)
    lacking = {"data": not sheet.seals, "signed-pdf": document_of(sheet) is None}
    for form in HELD:
        if not lacking.get(form):
            made = make(book, sheet, shop, form, paper=paper, zone=zone)
            yield Member(name + FORMS[form], form, made.content)


def _form(
    book: Book, sheet: Sheet, shop: Shop, layout: Layout, zone: tzinfo | None
) -> tuple[Member, tuple[Reason, ...]]:
    from app.jobs.customer_form import fill_form, workbook_of
    from storage.dispatch.package import Member

    done = fill_form(sheet, shop, layout, workbook_of(book, layout), zone=zone)
    ending = Path(layout.workbook.name).suffix or ".xlsx"
    return Member(f"{proposed_name(sheet)} {layout.name}{ending}", "customer", done.content), done.notices


def _papers(book: Book, sheet: Sheet, shop: Shop, beside: Sequence[tuple[str, bytes]]) -> Iterator[Member]:
    """Certificates of materials, processes and tests, then those of the instruments that were read, each once."""
    from storage.book.attached import content_of
    from storage.dispatch.package import Member

    for name, content in beside:
        yield Member(name, "beside", content)
    used = {part for reading in sheet.readings.values() for part in reading.method.parts}
    instruments = [shop.issues[key] for part in used if (key := (part.identity, part.issue)) in shop.issues]
    held: dict[str, tuple[Attached, str]] = {}
    for evidence in sheet.evidence.values():
        held |= {file.digest: (file, "evidence") for file in evidence.files if file.digest not in held}
    for one in sorted(instruments, key=lambda each: (each.tag, each.issue)):
        held |= {file.digest: (file, "calibration") for file in one.files if file.digest not in held}
    for file, what in held.values():
        yield Member(file.name, what, book.ask(content_of, file.digest))


def send_package(
    hand: Hand,
    sheet: str,
    path: Path,
    *,
    layout: Layout | None = None,
    beside: Sequence[tuple[str, bytes]] = (),
    as_folder: bool = False,
    paper: str = PAPERS["letter"],
    zone: tzinfo | None = None,
) -> Packed:
    """Pack a sheet, write it to ``path`` as a zip or as a new folder, and keep it in the book. Raises Refused or
    BookFailure; the book then keeps nothing of it."""
    from storage.book.attached import attached

    packed = pack(
        hand.book, hand.book.sheet(sheet), hand.book.shop(), layout=layout, beside=beside, paper=paper, zone=zone
    )
    kept = {attached(name, content): content for name, content in packed.files.items()}
    _write(path, packed.files, packed.content, as_folder)
    act = acts.RecordSent(
        sheet=sheet,
        form="package",
        name=path.name.encode("utf-8", "replace").decode(),
        digest=packed.digest,
        layout=layout.identity if layout else "",
        layout_issue=layout.issue if layout else 0,
        files=tuple(kept),
    )
    hand.book.do(act, person=hand.person, files={one.digest: content for one, content in kept.items()})
    return packed


def packages_of(sheet: Sheet) -> tuple[Sent, ...]:
    """The packages that were made of a sheet, the newest first."""
    return tuple(each for each in reversed(sheet.sent) if each.form == "package")


def send_again(hand: Hand, sheet: str, wanted: str, path: Path, *, as_folder: bool = False) -> Sent:
    """Write a package that was kept once more, byte for byte; ``wanted`` is the beginning of its digest, empty for the
    newest. Raises Refused where there is none, or several; BookFailure."""
    from storage.book.attached import content_of
    from storage.dispatch.package import zip_bytes

    held = packages_of(hand.book.sheet(sheet))
    found = {each.digest: each for each in held if each.digest.startswith(wanted.casefold())}
    if not found:
        raise Refused(Reason("package.none_kept", {"digest": wanted[:16] or "-"}))
    if len(found) > 1 and wanted:
        raise Refused(Reason("package.several", {"digest": wanted[:16], "n": len(found)}))
    sent = next(iter(found.values()))
    files = {one.name: hand.book.ask(content_of, one.digest) for one in sent.files}
    content = zip_bytes(files)
    if hashlib.sha256(content).hexdigest() != sent.digest:
        raise Refused(Reason("package.not_the_same", {"name": sent.name}))
    _write(path, files, content, as_folder)
    return sent


def _write(path: Path, files: Mapping[str, bytes], content: bytes, as_folder: bool) -> None:
    from storage.dispatch.package import write_folder
    from storage.files import write_file

    if as_folder:
        write_folder(path, files)
    else:
        write_file(path, content)

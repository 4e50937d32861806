"""A sheet sent: its files made in memory, written beside their places and moved in, and each file's digest kept in
the book. What is shown before sending is made by the same call, so that it is the very file."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from datetime import tzinfo
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from app.jobs.hand import Hand
from app.jobs.local_time import LocalZone
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.steps import require

if TYPE_CHECKING:
    from inspection.sheet.chain_head import ChainHead
    from inspection.sheet.report import Report
    from inspection.sheet.state import Sheet, Shop
    from storage.book.door import Book

Progress = Callable[[int, int], None]

#: The forms that a sheet goes out in, and the usual ending of each.
FORMS = {
    "signed-pdf": ".signed.pdf",
    "pdf": ".pdf",
    "xlsx": ".xlsx",
    "csv": ".csv",
    "data": ".json",
    "json": ".sheet.json",
    "qif": ".qif",
    "first-article": ".first-article.pdf",
    "first-article-xlsx": ".first-article.xlsx",
}
#: Those that go out together where all are asked for; open data is asked for by name.
USUAL = ("signed-pdf", "pdf", "xlsx", "csv", "data")
PAPERS = {"letter": "Letter", "a4": "A4"}
#: More serials than this are named by the first and the last.
MOST_SERIALS = 3
#: Characters of a proposed name; with its ending and any letters it stays under the 255 bytes a disk takes.
MOST_OF_NAME = 60


class Made(Struct, frozen=True):
    """A file as it goes out: its bytes, their SHA-256 in hex, and the sheet and shop that it was made of."""

    form: str
    content: bytes
    digest: str
    paper: str
    sheet: Sheet
    shop: Shop

    def still_true(self, sheet: Sheet, shop: Shop) -> bool:
        """Whether the sheet as it stands would give this file again: only files were sent of it since."""
        return shop is self.shop and _told(sheet) == _told(self.sheet)


def _told(sheet: Sheet) -> Sheet:
    """The sheet without what no file tells: which files were made of it."""
    return replace(sheet, sent=(), last_entry="")


def make(
    book: Book,
    sheet: Sheet,
    shop: Shop,
    form: str,
    *,
    paper: str = PAPERS["letter"],
    zone: tzinfo | None = None,
    progress: Progress | None = None,
) -> Made:
    """The file that a sheet goes out as, in one of ``FORMS``: the same bytes for the same sheet and head of the book's
    chain, which it carries outside the book where its form has a place for it. A signed PDF is the one that ``book``
    keeps.

    Times are told in ``zone`` (None: this computer's). Raises Refused for what the form cannot hold.
    """
    if form == "signed-pdf":
        content = _kept(book, sheet)
    else:
        content = _content(book.head_to_carry(), sheet, shop, form, paper, zone, progress)
    return Made(form, content, hashlib.sha256(content).hexdigest(), paper, sheet, shop)


def send(
    hand: Hand,
    sheet: str,
    form: str,
    path: Path,
    *,
    paper: str = PAPERS["letter"],
    zone: tzinfo | None = None,
    progress: Progress | None = None,
) -> str:
    """Write a sheet to ``path`` in one of ``FORMS`` and keep the file's SHA-256 in the book; returns it in hex.

    As ``send_all`` with one form.
    """
    return send_all(hand, sheet, {form: path}, paper=paper, zone=zone, progress=progress)[form]


def send_all(
    hand: Hand,
    sheet: str,
    places: Mapping[str, Path],
    *,
    paper: str = PAPERS["letter"],
    zone: tzinfo | None = None,
    progress: Progress | None = None,
    made: Mapping[str, Made] | None = None,
) -> dict[str, str]:
    """Write a sheet to the place of each form and keep each file's SHA-256 in the book; returns them in hex by form.

    Every file is made before the first is written; what was ``made`` before is taken where it is still true. Times are
    told in ``zone`` (None: this computer's). Raises Refused or BookFailure. What a file could not be made for leaves
    what stood at every place; a file that was written stays, though the book could not keep its digest.
    """
    as_it_stands, shop = hand.book.sheet(sheet), hand.book.shop()
    kept = {form: acts.RecordSent(sheet=sheet, form=form, name=_name(path), digest="") for form, path in places.items()}
    for act in kept.values():
        require(shop, as_it_stands, act, hand.person)
    ready = {}
    for form in places:
        before = (made or {}).get(form)
        if before is not None and before.paper == paper and before.still_true(as_it_stands, shop):
            ready[form] = before
        else:
            ready[form] = make(hand.book, as_it_stands, shop, form, paper=paper, zone=zone, progress=progress)
    return {form: _keep(hand, kept[form], ready[form], path) for form, path in places.items()}


def _keep(hand: Hand, act: acts.RecordSent, made: Made, path: Path) -> str:
    from storage.files import write_file

    digest = write_file(path, made.content)
    hand.book.do(replace(act, digest=digest), person=hand.person)
    return digest


def _name(path: Path) -> str:
    """The file's name as the journal keeps it, though the disk's encoding may not be the journal's."""
    return path.name.encode("utf-8", "replace").decode()


def _kept(book: Book, sheet: Sheet) -> bytes:
    from app.jobs.document import document_bytes, document_of

    document = document_of(sheet)
    if document is None:
        raise Refused(Reason("document.none", {"number": sheet.plan.part.number}))
    return document_bytes(book, document)


def _content(
    chain: ChainHead,
    sheet: Sheet,
    shop: Shop,
    form: str,
    paper: str,
    zone: tzinfo | None,
    progress: Progress | None,
) -> bytes:
    if form == "data":
        from storage.seals.data_file import write_data

        return write_data(sheet, chain)
    if form == "json":
        from storage.dispatch.sheet_json import json_bytes

        return json_bytes(sheet, shop, chain)
    if form not in FORMS:
        raise Refused(Reason("command.form_unknown", {"form": form, "known": ", ".join(FORMS)}))
    told = _report(sheet, shop, zone, chain)
    if form == "qif":
        from inspection.sheet.open_sheet import open_sheet
        from storage.dispatch.qif import qif_bytes

        return qif_bytes(open_sheet(sheet, shop, told))
    if form.startswith("first-article"):
        return _first_article(sheet, shop, told, form, paper, zone)
    if form == "pdf":
        from storage.dispatch.pdf import pdf_bytes

        return pdf_bytes(told, paper=paper, progress=progress)
    if form == "xlsx":
        from storage.dispatch.workbook import workbook_bytes

        return workbook_bytes(told, paper=paper, progress=progress)
    from storage.dispatch.table import csv_bytes

    return csv_bytes(told, progress=progress)


def _first_article(sheet: Sheet, shop: Shop, told: Report, form: str, paper: str, zone: tzinfo | None) -> bytes:
    """The first article report in three parts, as pages or as a workbook."""
    from inspection.sheet.first_article import first_article
    from storage.dispatch.first_article import first_article_pdf, first_article_workbook

    made = first_article(sheet, shop, told, zone or LocalZone())
    return first_article_workbook(made) if form.endswith("xlsx") else first_article_pdf(made, paper=paper)


def paper_of(sheet: Sheet, papers: Mapping[str, str]) -> str:
    """The paper that this sheet's customer gets, as the exporters name it; ``papers`` by customer, "" for others."""
    customer = sheet.head.customer or sheet.plan.part.customer
    return PAPERS.get(papers.get(customer, papers.get("", "")), PAPERS["letter"])


def proposed_name(sheet: Sheet) -> str:
    """A file name of part, revision, serials and round, without its ending and with nothing in it that a disk refuses;
    a sheet that is not sealed says so.

    Many serials are told as the first and the last.
    """
    part, serials = sheet.plan.part, [piece.serial for piece in sheet.pieces]
    shown = serials if len(serials) <= MOST_SERIALS else [serials[0], "to", serials[-1]]
    told = [part.number, part.revision, *shown, f"round-{sheet.round}" if sheet.round > 1 else ""]
    told.append("" if sheet.sealed else "not-signed")
    name = "_".join(filter(None, map(str.strip, told)))
    return "".join(sign if sign.isalnum() or sign in "-_." else "-" for sign in name)[:MOST_OF_NAME].strip(".")


def report_of(hand: Hand, sheet: Sheet, zone: tzinfo | None = None) -> Report:
    """The report of a sheet, with times in ``zone`` (None: this computer's)."""
    return _report(sheet, hand.book.shop(), zone)


def _report(sheet: Sheet, shop: Shop, zone: tzinfo | None, chain: ChainHead | None = None) -> Report:
    from inspection.sheet.reporting import report

    return report(sheet, shop, zone=zone or LocalZone(), chain=chain)

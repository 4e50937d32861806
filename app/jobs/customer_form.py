"""A customer's form: its layout proposed, corrected, kept, and a sheet filled into it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import tzinfo
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from app.jobs.hand import Hand
from app.jobs.local_time import LocalZone
from inspection.layout.as_written import corrected
from inspection.layout.layout import Layout, of_customer, unplaced
from inspection.reasons import Reason, Refused
from inspection.sheet import acts

if TYPE_CHECKING:
    from inspection.layout.filling import Filling
    from inspection.sheet.state import Sheet, Shop
    from storage.book.door import Book
    from storage.dispatch.customer_form.fill import Filled


class Proposed(Struct, frozen=True):
    """A layout that is not kept yet, and the blank workbook that it is for."""

    layout: Layout
    workbook: bytes


class FilledForm(Struct, frozen=True):
    """A sheet on a customer's form: the bytes that go out, the parts of the workbook that are not the customer's own
    any more, and what is to be known of it."""

    layout: Layout
    content: bytes
    digest: str
    changed: tuple[str, ...]
    notices: tuple[Reason, ...]
    filled: Filled


def propose_layout(path: Path, customer: str, name: str = "") -> Proposed:
    """The layout that a customer's blank workbook shows. Raises BookFailure if it cannot be read, Refused for what
    cannot be filled or shows no table."""
    from storage.book.attached import read_attached
    from storage.dispatch.customer_form.propose import propose

    file, content = read_attached(path)
    return Proposed(propose(content, file, customer, name or path.stem), content)


def correct(proposed: Proposed, texts: Iterable[str]) -> Proposed:
    """The same with corrections; see ``inspection.layout.as_written``."""
    return replace(proposed, layout=corrected(proposed.layout, texts))


def looked_through(proposed: Proposed) -> tuple[Reason, ...]:
    """What a layout leaves out: what a reader of the form would miss, and what the form asks for in vain."""
    from storage.dispatch.customer_form.unfilled import unfilled_in

    return (*unplaced(proposed.layout), *unfilled_in(proposed.workbook, proposed.layout))


def issue_layout(hand: Hand, proposed: Proposed) -> Layout:
    """Keep a layout with its blank workbook, as a further issue where the customer has one of its name."""
    layout = same_name(hand.book.shop(), proposed.layout)
    files = {layout.workbook.digest: proposed.workbook}
    hand.book.do(acts.IssueLayout(layout=layout), person=hand.person, files=files)
    held = hand.book.shop().layouts
    return held[layout.identity] if layout.identity else list(held.values())[-1]


def same_name(shop: Shop, layout: Layout) -> Layout:
    """The layout as a further issue of the one that its customer has by this name, if there is one."""
    if layout.identity:
        return layout
    wanted = layout.name.strip().casefold()
    known = [each for each in of_customer(shop.layouts.values(), layout.customer) if each.name.casefold() == wanted]
    return replace(layout, identity=known[0].identity) if known else layout


def layout_for(shop: Shop, sheet: Sheet, name: str = "") -> Layout:
    """The customer's layout of this name, or its only one. Raises Refused, naming those there are."""
    customer = sheet.head.customer or sheet.plan.part.customer
    held = of_customer(shop.layouts.values(), customer)
    found = [each for each in held if not name or each.name.casefold() == name.casefold()]
    if len(found) == 1:
        return found[0]
    names = ", ".join(each.name for each in held)
    if not held:
        raise Refused(Reason("command.layout.none", {"customer": customer or "-"}))
    if name and not found:
        raise Refused(Reason("command.layout.other", {"customer": customer, "name": name, "names": names}))
    raise Refused(Reason("command.layout.which", {"customer": customer, "names": names}))


def workbook_of(book: Book, layout: Layout) -> bytes:
    """The blank workbook of a layout that is kept."""
    from storage.book.attached import content_of

    return book.ask(content_of, layout.workbook.digest)


def fill_form(sheet: Sheet, shop: Shop, layout: Layout, workbook: bytes, *, zone: tzinfo | None = None) -> FilledForm:
    """A sheet filled into a customer's form: the same bytes for the same sheet. Raises Refused for what the form cannot
    take; see ``filling`` and ``fill``."""
    from storage.dispatch.customer_form.fill import fill

    laid = laid_out(sheet, shop, layout, zone)
    done = fill(workbook, layout.workbook.name, laid)
    digest = hashlib.sha256(done.content).hexdigest()
    return FilledForm(layout, done.content, digest, done.changed, done.notices, done)


def laid_out(sheet: Sheet, shop: Shop, layout: Layout, zone: tzinfo | None = None) -> Filling:
    """A sheet laid out on a layout."""
    from inspection.layout.filling import filling
    from inspection.sheet.reporting import report

    at = zone or LocalZone()
    return filling(sheet, shop, report(sheet, shop, language=layout.language, zone=at), layout, at)


def send_form(hand: Hand, sheet: str, layout: Layout, path: Path, *, zone: tzinfo | None = None) -> FilledForm:
    """Fill a kept layout with a sheet, write it to ``path`` and keep its digest in the book. Raises Refused, also for
    another ending than the form's own, by which alone it opens, or BookFailure; nothing is written then."""
    from storage.files import write_file

    book, ending = hand.book, Path(layout.workbook.name).suffix
    if path.suffix.casefold() != ending.casefold():
        raise Refused(Reason("form.ending", {"form": layout.workbook.name, "name": path.with_suffix(ending).name}))
    done = fill_form(book.sheet(sheet), book.shop(), layout, workbook_of(book, layout), zone=zone)
    write_file(path, done.content)
    act = acts.RecordSent(
        sheet=sheet,
        form="customer",
        name=path.name.encode("utf-8", "replace").decode(),
        digest=done.digest,
        layout=layout.identity,
        layout_issue=layout.issue,
    )
    book.do(act, person=hand.person)
    return done

"""``tenthwright export`` and ``verify``."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from app.command.outcome import Answer, Exit
from app.command.progress import telling
from app.command.sheets import acting, book_path, opened, sheet_asked
from app.command.world import World, plain_text
from inspection.reasons import Reason, Refused
from inspection.sheet.chain_head import head_typed
from inspection.words.say import say, word

if TYPE_CHECKING:
    from storage.seals.check import Verified


def export(options: Namespace, world: World) -> Answer:
    """Write a sheet to a file."""
    from app.jobs.sending import PAPERS, send

    if options.form == "customer":
        return _customer_form(options, world)
    path = Path(options.to).absolute()
    with opened(options, world) as hand:
        acting(options, hand)
        sheet = sheet_asked(options, hand)
        digest = send(hand, sheet, options.form, path, paper=PAPERS[options.paper])
    data = {"done": True, "file": str(path), "form": options.form, "digest": digest, "sheet": sheet}
    return Answer((word("command.export.done", file=str(path), digest=digest),), data)


def _customer_form(options: Namespace, world: World) -> Answer:
    """Fill the customer's own workbook with a sheet."""
    from app.jobs.customer_form import layout_for, send_form

    path = Path(options.to).absolute()
    with opened(options, world) as hand:
        acting(options, hand)
        sheet = sheet_asked(options, hand)
        layout = layout_for(hand.book.shop(), hand.book.sheet(sheet), plain_text(options.layout))
        done = send_form(hand, sheet, layout, path)
    lines = [word("command.export.done", file=str(path), digest=done.digest), *map(say, done.notices)]
    data = {
        "done": True,
        "file": str(path),
        "form": "customer",
        "digest": done.digest,
        "sheet": sheet,
        "layout": layout.name,
        "issue": layout.issue,
        "changed": list(done.changed),
        "notices": [{"code": one.code, "text": say(one)} for one in done.notices],
    }
    return Answer((*lines, word("form.changed", n=len(done.changed))), data)


def verify(options: Namespace, world: World) -> Answer:
    """Check a book, a sheet, or a file; nothing is written to any of them."""
    found = _with_heads(options, _checked(options, world))
    lines = [*map(say, found.faults), *map(say, found.statements)]
    data = {
        "done": True,
        "verified": found.whole,
        "statements": [{"code": one.code, "text": say(one)} for one in found.statements],
        "faults": [{"code": one.code, "text": say(one)} for one in found.faults],
    }
    return Answer(tuple(lines), data, Exit.DONE if found.whole else Exit.NOT_CONFORMING)


def _with_heads(options: Namespace, found: Verified) -> Verified:
    """What was found of a book, with what the heads say that were carried outside it."""
    from app.jobs.station_head import go_by
    from storage.book.carried import Carried, check_heads
    from storage.dispatch.carried_head import head_in
    from storage.seals.check import Verified

    book = _book_checked(options)
    if book is None:
        if options.head or options.against or options.go_by:
            raise Refused(Reason("head.of_a_book_only", {"name": Path(options.file).name}))
        return found
    given = [Carried(head_typed(plain_text(text)), word("head.typed")) for text in options.head]
    given += [Carried(head_in(Path(file)), Path(file).name) for file in options.against]
    heads = check_heads(book, given)
    statements, faults = (*found.statements, *heads.statements), (*found.faults, *heads.faults)
    if options.go_by:
        go_by(book)
        statements = (*statements, Reason("head.gone_by", {"name": book.name}))
    return Verified(statements, faults)


def _book_checked(options: Namespace) -> Path | None:
    """The book that is checked as a book; None where a file that went out is."""
    if options.sheet is not None or options.file is None:
        return book_path(options)
    path = Path(options.file)
    return path if not path.is_dir() and _is_book(path) else None


def _checked(options: Namespace, world: World) -> Verified:
    from storage.book.verify import verify_book, verify_file, verify_sheet

    book = book_path(options)
    if options.file is not None and not Path(options.file).exists() and book.exists():
        opened(options, world, only_read=True).book.close()  # tells a sheet that is named where a file is
    whole = _book_checked(options)
    entries = telling(world.err, "command.verify.entries")
    if options.sheet is not None:
        with opened(options, world, only_read=True) as hand:
            sheet = sheet_asked(options, hand)
        return _with_documents(options, world, book, verify_sheet(book, sheet, entries), sheet)
    if whole is not None:
        return _with_documents(options, world, whole, verify_book(whole, entries))
    path = Path(options.file)
    return verify_file(path, book if options.book or book.exists() else None)


def _with_documents(options: Namespace, world: World, book: Path, found: Verified, sheet: str = "") -> Verified:
    """What was found of a book or a sheet, with what the signatures in the signed PDFs say that it keeps."""
    from storage.book.documents import verify_documents
    from storage.seals.check import Verified

    if options.leave_pdfs:
        return found
    pdfs = verify_documents(book, sheet, telling(world.err, "command.verify.pdfs"))
    whole = () if pdfs.faults else ("verify.book_whole", "verify.sheet_whole")
    told = (each for each in found.statements if not each.code.endswith("_whole") or each.code in whole)
    return Verified((*told, *pdfs.statements), (*found.faults, *pdfs.faults))


def _is_book(path: Path) -> bool:
    """Whether a file is a database, and so to be checked as a book."""
    from storage.files import read_file

    return read_file(path).startswith(b"SQLite format 3\x00")

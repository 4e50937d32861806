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
    from app.jobs.verifying import lines

    found = _found(options, world)
    data = {
        "done": True,
        "verified": found.whole,
        "statements": [{"code": one.code, "text": say(one)} for one in found.statements],
        "faults": [{"code": one.code, "text": say(one)} for one in found.faults],
    }
    return Answer(tuple(map(say, lines(found))), data, Exit.DONE if found.whole else Exit.NOT_CONFORMING)


def _found(options: Namespace, world: World) -> Verified:
    """What was found of what is named: a book, a sheet of it, or a file."""
    at_hand = book_path(options)
    if options.file is not None and not Path(options.file).exists() and at_hand.exists():
        opened(options, world, only_read=True).book.close()  # tells a sheet that is named where a file is
    book = _book_checked(options)
    if book is not None:
        return _of_book(options, world, book)
    if options.head or options.against or options.go_by:
        raise Refused(Reason("head.of_a_book_only", {"name": Path(options.file).name}))
    from storage.book.verify import verify_file

    return verify_file(Path(options.file), at_hand if options.book or at_hand.exists() else None)


def _of_book(options: Namespace, world: World, book: Path) -> Verified:
    """What was found of a book, or of one sheet: in itself, in its signed PDFs, and by what was carried outside it."""
    from app.jobs.station_head import go_by
    from app.jobs.verifying import joined
    from storage.book.carried import Carried, check_heads
    from storage.book.documents import verify_documents
    from storage.book.verify import verify_book, verify_sheet
    from storage.dispatch.carried_head import head_in
    from storage.seals.check import Verified

    entries, sheet = telling(world.err, "command.verify.entries"), ""
    if options.sheet is not None:
        with opened(options, world, only_read=True) as hand:
            sheet = sheet_asked(options, hand)
    itself = verify_sheet(book, sheet, entries) if sheet else verify_book(book, entries)
    pdfs = Verified()
    if not options.leave_pdfs:
        pdfs = verify_documents(book, sheet, telling(world.err, "command.verify.pdfs"))
    given = [Carried(head_typed(plain_text(text)), word("head.typed")) for text in options.head]
    given += [Carried(head_in(Path(file)), Path(file).name) for file in options.against]
    outside = check_heads(book, given, telling(world.err, "command.verify.copies"))
    if options.go_by:
        go_by(book)
        told = Reason("head.gone_by", {"name": book.name})
        outside = Verified((*outside.statements, told), outside.faults)
    return joined(itself, pdfs, outside)


def _book_checked(options: Namespace) -> Path | None:
    """The book that is checked as a book; None where a file that went out is."""
    if options.sheet is not None or options.file is None:
        return book_path(options)
    path = Path(options.file)
    return path if not path.is_dir() and _is_book(path) else None


def _is_book(path: Path) -> bool:
    """Whether a file is a database, and so to be checked as a book."""
    from storage.files import read_file

    return read_file(path).startswith(b"SQLite format 3\x00")

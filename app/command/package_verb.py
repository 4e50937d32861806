"""``tenthwright package``: everything of a sheet in one file or folder; past packages listed and sent again."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from app.command.outcome import Answer
from app.command.sheets import acting, opened, sheet_asked
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.hand import Hand
from app.jobs.local_time import moment
from app.jobs.packing import packages_of, send_again, send_package
from app.jobs.sending import PAPERS
from inspection.words.say import say, word

if TYPE_CHECKING:
    from inspection.layout.layout import Layout


def package(options: Namespace, world: World) -> Answer:
    """Make a package, list those that were made, or write one of them again."""
    with opened(options, world, only_read=options.to is None) as hand:
        sheet = sheet_asked(options, hand)
        if options.to is None:
            return _past(hand, sheet)
        path = Path(options.to).absolute()
        as_folder = path.suffix.casefold() != ".zip"
        if options.again is not None:
            sent = send_again(hand, sheet, options.again, path, as_folder=as_folder)
            said = word("command.package.again", name=sent.name, when=moment(sent.at), to=str(path))
            return Answer((said,), {"done": True, "file": str(path), "digest": sent.digest})
        acting(options, hand)
        beside = tuple((Path(each).name, _read(Path(each))) for each in options.beside)
        layout = None if options.no_form else _layout(options, hand, sheet)
        packed = send_package(
            hand, sheet, path, layout=layout, beside=beside, as_folder=as_folder, paper=PAPERS[options.paper]
        )
    done = word("command.package.done", file=str(path), n=len(packed.files) - 1, digest=packed.digest)
    data = {
        "done": True,
        "file": str(path),
        "digest": packed.digest,
        "files": list(packed.files),
        "notices": [{"code": one.code, "text": say(one)} for one in packed.notices],
    }
    return Answer((done, *map(say, packed.notices), *(f"  {name}" for name in packed.files)), data)


def _layout(options: Namespace, hand: Hand, sheet: str) -> Layout | None:
    """The customer's layout, where there is one; which, where there are several."""
    from app.jobs.customer_form import layout_for
    from inspection.layout.layout import of_customer

    shop, held = hand.book.shop(), hand.book.sheet(sheet)
    customer = held.head.customer or held.plan.part.customer
    if not options.layout and not of_customer(shop.layouts.values(), customer):
        return None
    return layout_for(shop, held, plain_text(options.layout))


def _read(path: Path) -> bytes:
    from storage.files import read_file

    return read_file(path)


def _past(hand: Hand, sheet: str) -> Answer:
    made, people = packages_of(hand.book.sheet(sheet)), hand.book.shop().people
    heads = [word(f"command.package.head.{head}") for head in ("when", "name", "person", "files", "digest")]
    names = {one.by: people[one.by].name if one.by in people else one.by for one in made}
    rows = [[moment(one.at), one.name, names[one.by], str(len(one.files)), one.digest[:16]] for one in made]
    lines = table(heads, rows) if rows else [word("command.package.none")]
    told = [{"name": one.name, "digest": one.digest, "files": [file.name for file in one.files]} for one in made]
    return Answer(tuple(lines), {"done": True, "packages": told})

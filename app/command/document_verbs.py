"""``tenthwright sign-pdf`` and ``stamp``: the signed PDF of a sheet, and how the verbs that sign make it."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.command.outcome import Answer
from app.command.sheets import acting, opened, sheet_asked
from app.command.world import World, passphrase
from app.jobs.document import Making
from inspection.sheet.report_number import SHORT
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.jobs.signing import Signed


def making_asked(options: Namespace) -> Making:
    """How the signed PDF is asked to be made."""
    from app.jobs.sending import PAPERS

    return Making(PAPERS[options.paper], room_for_stamp=options.stamp_room)


def pdf_lines(signed: Signed) -> Iterator[str]:
    """What is said of the PDF once something was signed."""
    if signed.notices:
        yield from map(say, signed.notices)
    else:
        yield word("command.sign.pdf")


def pdf_data(signed: Signed) -> dict[str, Any]:
    """The same for other programs."""
    said = [{"code": one.code, "text": say(one)} for one in signed.notices]
    return {"pdf_signed": not said, "notices": said}


def sign_pdf(options: Namespace, world: World) -> Answer:
    """Sign the PDF of a sheet for what the person signed in the book before."""
    from app.jobs.signing import may_sign, require_unsigned
    from app.jobs.signing import sign_pdf as signing

    making = making_asked(options)
    with opened(options, world) as hand:
        acting(options, hand)
        sheet = sheet_asked(options, hand)
        require_unsigned(hand, sheet)
        name = may_sign(hand).name
        secret = passphrase(world, options.passphrase_file, name)
        after = signing(hand, sheet, secret, making)
    n = len(after.documents[after.round].signed)
    done = word("command.sign_pdf.done", sheet=sheet[:SHORT], person=name, n=n)
    return Answer((done,), {"done": True, "sheet": sheet, "person": name, "signatures": n})


def stamp(options: Namespace, world: World) -> Answer:
    """Write the request for a time stamp on the last signature, or put the answer in."""
    from app.jobs.document import put_stamp, stamp_request
    from storage.files import read_file, write_file

    answer = read_file(Path(options.answer)) if options.answer else b""
    with opened(options, world, only_read=not answer) as hand:
        if answer:
            acting(options, hand)
        sheet = sheet_asked(options, hand)
        if answer:
            put_stamp(hand, sheet, answer)
            return Answer((word("command.stamp.done", sheet=sheet[:SHORT]),), {"done": True, "sheet": sheet})
        path = Path(options.request).absolute()
        write_file(path, stamp_request(hand, sheet))
    said = word("command.stamp.request", file=str(path), name=path.name)
    return Answer((said,), {"done": True, "sheet": sheet, "file": str(path)})

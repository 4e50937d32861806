"""``tenthwright read``, ``verdicts`` and ``sign``."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from app.command.document_verbs import making_asked, pdf_data, pdf_lines
from app.command.outcome import Answer
from app.command.previews import readings_answer, unproven_data, unproven_lines
from app.command.sheets import acting, opened, sheet_asked, verdict_data, verdict_exit, verdict_lines
from app.command.standing import standing_data, standing_lines
from app.command.statement_verbs import stopping
from app.command.world import World, passphrase, plain_text
from inspection.reasons import Reason, Refused
from inspection.sheet.report_number import SHORT
from inspection.words.say import say, word


def read(options: Namespace, world: World) -> Answer:
    """Carry out a reading file; slip questions that it leaves standing are shown."""
    from app.jobs.reading_in import preview_readings, read_in, read_whole
    from storage.intake.grid import read_bytes

    path = Path(options.file)
    with opened(options, world, only_read=options.preview) as hand:
        data, name = read_bytes(path), plain_text(path.name)
        acting(options, hand)
        sheet = sheet_asked(options, hand)
        if options.preview:
            return readings_answer(preview_readings(hand, sheet, data, name))
        file = read_whole(hand, sheet, data, name)
        done = read_in(hand, sheet, file)
    serials = {piece.identity: piece.serial for piece in done.sheet.pieces}
    told = [
        {
            "number": done.sheet.characteristic(one.characteristic).number,
            "serial": serials[one.piece],
            "question": say(one.reason),
        }
        for one in done.questions
    ]
    count = word("command.read.done", n=done.readings) if done.readings else word("command.read.none")
    others = len(file.rows) - done.readings
    count += f" {word('command.read.others', n=others)}" if others else ""
    lines = [count, *map(say, done.notices), *(word("command.read.question", **one) for one in told)]
    lines += unproven_lines(done.unproven)
    lacking = unproven_data(done.unproven)
    return Answer(tuple(lines), {"done": True, "readings": done.readings, "questions": told, "unproven": lacking})


def verdicts(options: Namespace, world: World) -> Answer:
    """Show the verdict of every row on every piece, and where the sheet stands."""
    from app.jobs.sending import report_of

    with opened(options, world, only_read=True) as hand:
        shop, sheet = hand.book.shop(), hand.book.sheet(sheet_asked(options, hand))
        report = report_of(hand, sheet)
    lines = [*verdict_lines(report), "", *standing_lines(shop, sheet)]
    return Answer(tuple(lines), {**verdict_data(report), "standing": standing_data(shop, sheet)}, verdict_exit(report))


def sign(options: Namespace, world: World) -> Answer:
    """Sign a sheet; the passphrase is asked for once it is plain that book, person, key and sheet are there."""
    from app.jobs.signing import may_sign
    from app.jobs.signing import sign as signing

    with opened(options, world) as hand:
        acting(options, hand)
        sheet = sheet_asked(options, hand)
        name = may_sign(hand).name
        secret = passphrase(world, options.passphrase_file, name)
        try:
            signed = signing(
                hand, sheet, secret, incomplete=plain_text(options.incomplete), making=making_asked(options)
            )
        except Refused as refused:
            raise _and_how_to_go_on(refused) from None
        stops = tuple(stopping(hand, sheet, "command.sign.stops"))
    seal = signed.sheet.seals[-1]
    done = word("command.sign.done", sheet=sheet[:SHORT], person=name, round=seal.round, digest=seal.digest)
    data = {"done": True, "sheet": sheet, "person": name, "round": seal.round, "digest": seal.digest}
    return Answer((done, *pdf_lines(signed), *stops), {**data, **pdf_data(signed)})


def _and_how_to_go_on(refused: Refused) -> Refused:
    """What stands open is told row by row; then once what can be done about it."""
    waits = {"sign.question_open", "sign.row_open"}.intersection(reason.code for reason in refused.reasons)
    return Refused(*refused.reasons, Reason("command.sign.not_yet")) if waits else refused

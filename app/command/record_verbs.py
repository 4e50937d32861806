"""``tenthwright head``, ``evidence`` and ``missing``."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from pathlib import Path

from msgspec import to_builtins

from app.command.outcome import Answer, Exit
from app.command.sheets import acting, opened, sheet_asked
from app.command.table import table
from app.command.world import World, plain_text
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.causes import cause_text
from inspection.sheet.head import Head
from inspection.sheet.report_evidence import evidence_lines
from inspection.sheet.state import Sheet
from inspection.words.say import say, word

LISTED = ("number", "kind", "name", "result", "verdict", "specification", "certificate", "approved", "files")


def head(options: Namespace, world: World) -> Answer:
    """Show a sheet's head, or write fields of it anew."""
    from app.jobs.record import head_with

    items = [plain_text(each) for each in options.sub_item] if options.sub_item is not None else None
    with opened(options, world, only_read=not options.field and items is None) as hand:
        told = dict(map(_field, options.field))
        sheet = hand.book.sheet(sheet_asked(options, hand))
        if told or items is not None:
            acting(options, hand)
            act = acts.WriteHead(sheet=sheet.identity, head=head_with(sheet.head, told, items))
            sheet = hand.book.do(act, person=hand.person).sheet or sheet
    return Answer(tuple(_head_lines(sheet.head)), {"done": True, "head": to_builtins(sheet.head)})


def _field(text: str) -> tuple[str, str]:
    name, sign, value = plain_text(text).partition("=")
    if not sign or not name.strip():
        raise Refused(Reason("record.no_field", {"text": text[:60]}))
    return name.strip(), value


def _head_lines(shown: Head) -> list[str]:
    texts = {name: getattr(shown, name) for name in Head.__struct_fields__ if name != "sub_items"}
    texts["cause"] = cause_text(shown.cause)
    rows = [[word(f"report.head.{name}"), text] for name, text in texts.items() if text]
    items = [[getattr(item, name) for name in item.__struct_fields__] for item in shown.sub_items]
    heads = [word("record.head"), ""]
    lines = table(heads, rows)
    if items:
        lines += ["", *table([word(f"record.sub_item.{name}") for name in shown.sub_items[0].__struct_fields__], items)]
    return lines


def evidence(options: Namespace, world: World) -> Answer:
    """List a sheet's materials, processes and tests, after entering those of a file if one is named."""
    from app.jobs.record import enter_record, keep_drawing
    from storage.intake.evidence import read_evidence
    from storage.intake.grid import read_bytes

    path = Path(options.file) if options.file else None
    said: list[str] = []
    with opened(options, world, only_read=path is None and options.drawing is None) as hand:
        rows = read_evidence(read_bytes(path), plain_text(path.name)) if path else ()
        sheet = hand.book.sheet(sheet_asked(options, hand))
        if options.drawing is not None:
            acting(options, hand)
            kept = keep_drawing(hand, sheet.identity, Path(options.drawing) if options.drawing else None)
            said = [word("record.drawing_kept", file=kept.files[-1].name, name=kept.name), ""]
            sheet = hand.book.sheet(sheet.identity)
        if path:
            acting(options, hand)
            entered = enter_record(hand, sheet.identity, rows, path.absolute().parent)
            sheet = entered.sheet
            said += [word("record.entered", new=entered.new, anew=entered.anew), ""]
    told = [to_builtins(line) for line in evidence_lines(sheet)]
    return Answer((*said, *_evidence_lines(sheet)), {"done": True, "evidence": told})


def _evidence_lines(sheet: Sheet) -> list[str]:
    lines = evidence_lines(sheet)
    if not lines:
        return [word("command.nothing_listed")]
    rows = [
        [
            line.number,
            line.kind,
            line.name,
            line.result,
            line.verdict,
            " ".join(filter(None, (line.specification, line.revision))),
            line.certificate,
            line.approved,
            ", ".join(name for name, _ in line.files),
        ]
        for line in lines
    ]
    return table([word(f"record.column.{name}") for name in LISTED], rows)


def missing(options: Namespace, world: World) -> Answer:
    """Say what a sheet lacks before it may go; the exit code is 1 if anything stops it."""
    from inspection.sheet.missing import missing as lacking
    from storage.book.queries.linked_sheets import completions

    with opened(options, world, only_read=True) as hand:
        book, sheet = hand.book, sheet_asked(options, hand)
        found = lacking(book.shop(), book.sheet(sheet), book.ask(completions, sheet))
    stops = [say(each.reason) for each in found if each.stops]
    minds = [say(each.reason) for each in found if not each.stops]
    lines = [*_under("record.missing.stops", stops), *_under("record.missing.minds", minds)]
    exit_code = Exit.NOT_CONFORMING if stops else Exit.DONE
    return Answer(
        tuple(lines or [word("record.missing.none")]), {"done": True, "stops": stops, "minds": minds}, exit_code
    )


def _under(code: str, sentences: Sequence[str]) -> list[str]:
    return [word(code), *(f"  {each}" for each in sentences)] if sentences else []

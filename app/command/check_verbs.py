"""``tenthwright check`` and ``checks``: an instrument looked over before use, and what is on record of that."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from typing import Any

from msgspec import to_builtins

from app.command.asked import NOTHING_CHANGED, instrument_asked, name_of
from app.command.outcome import Answer, Exit
from app.command.sheets import acting, opened, sheet_asked
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.checking import Checked, alive, begun, record
from app.jobs.hand import Hand
from app.jobs.local_time import moment
from inspection.instruments.record import Instrument
from inspection.measuring.checks import CheckLine, amount, checklist
from inspection.measuring.checks_cautions import cautions
from inspection.measuring.checks_outcome import Repeated
from inspection.measuring.checks_told import Told, answered
from inspection.measuring.checks_under_way import CheckUnderWay, asks, lacks
from inspection.measuring.proofs import CheckRecord, Proof, UpsetRecord, WithdrawalRecord
from inspection.measuring.uncertainty_stated import about
from inspection.quantity.reader import unit_symbol
from inspection.quantity.speaker import sign_of
from inspection.reasons import Part, Reason, Refused
from inspection.sheet.alive import Alive
from inspection.sheet.reopening import ReopenedRow
from inspection.sheet.report_number import SHORT
from inspection.words.say import part_text, say, word


def check(options: Namespace, world: World) -> Answer:
    """Record a check of an instrument; without answers show what it asks. The exit code is 1 if it failed."""
    told = Told(
        seen=dict(map(_line, options.line)),
        all_seen=options.all_seen,
        zeros=plain_text(options.zeros),
        block=plain_text(options.block),
        standard=plain_text(options.standard),
        readings=plain_text(options.readings),
    )
    with opened(options, world, only_read=told.is_empty) as hand:
        if options.person or not told.is_empty:
            acting(options, hand)
        instrument = instrument_asked(hand, options.tag)
        sheet = sheet_asked(options, hand) if options.sheet is not None else ""
        under_way = _begun(options, hand, instrument, sheet)
        if told.is_empty:
            return _asked(under_way)
        done = record(hand, _answered(under_way, told), sheet)
        return _recorded(hand, instrument, done)


def _line(text: str) -> tuple[str, str]:
    code, sign, said = plain_text(text).partition("=")
    if not sign or not code.strip():
        raise Refused(Reason("command.check.no_answer", {"text": text[:60]}))
    return code.strip(), said


def _begun(options: Namespace, hand: Hand, instrument: Instrument, sheet: str) -> CheckUnderWay:
    unit = plain_text(options.unit)
    fitted = plain_text(options.fitted) if options.fitted is not None else None
    unit = (unit_symbol(unit, instrument.quantity) or unit) if unit else ""
    return begun(hand, instrument, unit=unit, fitted=fitted, closing=options.closing, sheet=sheet)


def _answered(check: CheckUnderWay, told: Told) -> CheckUnderWay:
    """The check with what is told, if every line then has its answer. Raises Refused, naming each line that has none
    and how it is given."""
    try:
        check = answered(check, told)
    except Refused as refused:
        raise Refused(*refused.reasons, NOTHING_CHANGED) from None
    lacking = [_lacking(check, line, n) for line in check.lines if (n := lacks(check, line))]
    if lacking:
        raise Refused(*lacking, Reason("command.check.not_yet", {"tag": check.instrument.tag}))
    return check


def _lacking(check: CheckUnderWay, line: CheckLine, n: int) -> Reason:
    parts: dict[str, Part] = {"line": line.code, "how": _give(line)}
    if not line.asked.is_read:
        return Reason("command.check.unanswered", parts)
    return Reason("command.check.few", {**parts, "n": line.least, "got": line.least - n})


# --- what is asked --------------------------------------------------------------------------------------------


def _asked(check: CheckUnderWay) -> Answer:
    heads = [word(f"command.check.head.{head}") for head in ("line", "do", "give")]
    rows = [[line.code, say(asks(check, line)), _give(line)] for line in check.lines]
    take = [say(check.standard.take)] if check.standard is not None and check.standard.take is not None else []
    minds = [say(each) for each in check.standard.minds] if check.standard is not None else []
    careful = [say(each) for each in cautions(check.instrument.kind)]
    lines = [_title(check), "", *table(heads, rows), *([""] if take or careful else []), *take, *minds, *careful]
    told = [
        {"line": line.code, "asked": line.asked.value, "least": line.least, "text": say(asks(check, line))}
        for line in check.lines
    ]
    data = {
        "done": True,
        "recorded": False,
        "tag": check.instrument.tag,
        "configuration": to_builtins(check.configuration),
        "lines": told,
        "block": check.standard.size if check.standard is not None else None,
        "take": take,
        "cautions": careful,
    }
    return Answer(tuple(lines), data)


def _give(line: CheckLine) -> str:
    return word(f"command.check.give.{line.asked.value}", line=line.code, n=line.least)


def _title(check: CheckUnderWay) -> str:
    code = "command.check.title.closing" if check.closing else "command.check.title"
    said = word(code, tag=check.instrument.tag, name=check.instrument.name, unit=check.configuration.unit)
    fitted = check.configuration.fitted
    return f"{said} {word('command.check.fitted', fitted=fitted)}" if fitted else said


# --- what it came to ------------------------------------------------------------------------------------------


def _recorded(hand: Hand, instrument: Instrument, done: Checked) -> Answer:
    made = done.check.made
    code = "command.check.passed" if made.passed else "command.check.failed"
    lines = [word(code, tag=instrument.tag), *(f"  {say(each.reason)}" for each in done.check.findings)]
    lines += [f"  {each}" for each in _figures(instrument, done)]
    lines += _serving(hand, instrument) if made.passed else _reopened(done.reopened)
    for each in done.rechosen:
        told = {"number": each.number, "was": each.was or "–", "now": each.now or "–"}
        lines.append(say(Reason("command.check.rechosen", dict(told))))
    return Answer(tuple(lines), _data(instrument, done), Exit.DONE if made.passed else Exit.NOT_CONFORMING)


def _figures(instrument: Instrument, done: Checked) -> Iterator[str]:
    """What was read, as figures: the scatter of zero, the error on the block and the scatter there."""
    unit = done.check.made.configuration.unit
    if done.zeros is not None:
        yield _spread("command.check.zero", instrument, unit, done.zeros)
    if done.block is not None:
        bias = done.block.bias
        error = about(bias**2, unit)
        size = amount(instrument, done.block.size, unit)
        yield word("command.check.error", size=size, e=sign_of(bias) + part_text(error), n=done.block.n)
        yield _spread("command.check.scatter", instrument, unit, done.block)


def _spread(code: str, instrument: Instrument, unit: str, read: Repeated) -> str:
    spread = read.spread
    if spread is None:
        return word(f"{code}.equal", n=read.n, step=amount(instrument, instrument.resolution, unit))
    return word(code, n=read.n, s=about(spread.square, unit), freedom=spread.freedom or 0)


def _serving(hand: Hand, instrument: Instrument) -> list[str]:
    found = alive(hand, instrument)
    if not found.serves or not hand.book.shop().rules.check_minutes:
        return []
    return [word("command.check.serves", person=name_of(hand, hand.person), until=moment(found.until))]


def _reopened(cells: tuple[ReopenedRow, ...]) -> list[str]:
    if not cells:
        return [word("command.check.nothing_reopened")]
    lines = [word("command.check.reopened", n=sum(len(cell.readings) for cell in cells))]
    return [*lines, *(f"  {_cell(cell)}" for cell in cells)]


def _cell(cell: ReopenedRow) -> str:
    parts: dict[str, Part] = {
        "sheet": cell.sheet[:SHORT],
        "part": cell.part,
        "number": cell.number,
        "serial": cell.serial,
        "readings": ", ".join(f"{each.written} {each.unit}".strip() for each in cell.readings),
    }
    return say(Reason("command.check.marked" if cell.sealed else "command.check.cell", parts))


def _data(instrument: Instrument, done: Checked) -> dict[str, Any]:
    cells = [
        {
            "sheet": cell.sheet,
            "part": cell.part,
            "number": cell.number,
            "serial": cell.serial,
            "readings": [each.written for each in cell.readings],
            "sealed": cell.sealed,
        }
        for cell in done.reopened
    ]
    return {
        "done": True,
        "recorded": True,
        "tag": instrument.tag,
        "passed": done.check.made.passed,
        "check": to_builtins(done.check),
        "findings": [{"line": f.line, "holds": f.holds, "text": say(f.reason)} for f in done.check.findings],
        "reopened": cells,
        "rechosen": to_builtins(done.rechosen),
    }


# --- what is on record ----------------------------------------------------------------------------------------


def checks(options: Namespace, world: World) -> Answer:
    """List where every instrument's check stands for a person; of one instrument also what is on record."""
    with opened(options, world, only_read=True) as hand:
        acting(options, hand)
        shop = hand.book.shop()
        held = [instrument_asked(hand, options.tag)] if options.tag else sorted(shop.crib.values(), key=lambda e: e.tag)
        found = [alive(hand, one) for one in held if options.tag or checklist(one)]
        lines = _standing(hand, found)
        records = [each for each in shop.proofs if options.tag and each.instrument == held[0].identity]
        if options.tag:
            lines += ["", *_history(hand, records)]
    data = {"done": True, "person": hand.person, "instruments": [_standing_data(each) for each in found]}
    return Answer(tuple(lines), data | ({"records": to_builtins(records)} if options.tag else {}))


def _standing(hand: Hand, found: list[Alive]) -> list[str]:
    heads = [word(f"command.checks.head.{head}") for head in ("tag", "name", "last", "by", "now")]
    asked = bool(hand.book.shop().rules.check_minutes)
    rows = [
        [
            each.instrument.tag,
            each.instrument.name,
            moment(each.last.at) if each.last is not None else "",
            name_of(hand, each.last.made.by) if each.last is not None else "",
            _now(each) if asked else word("command.checks.not_asked"),
        ]
        for each in found
    ]
    return table(heads, rows) if rows else [word("command.nothing_listed")]


def _now(each: Alive) -> str:
    return say(each.why) if each.why is not None else word("command.checks.serves", until=moment(each.until))


def _standing_data(each: Alive) -> dict[str, Any]:
    return {
        "tag": each.instrument.tag,
        "last": each.last.made.identity if each.last is not None else None,
        "serves": each.serves,
        "until": each.until if each.serves else None,
        "why": {"code": each.why.code, "text": say(each.why)} if each.why is not None else None,
    }


def _history(hand: Hand, records: list[Proof]) -> list[str]:
    if not records:
        return [word("command.checks.none")]
    heads = [word(f"command.checks.head.{head}") for head in ("when", "by", "what", "set_up", "came_to", "sheet")]
    return table(heads, [_record(hand, each) for each in records])


def _record(hand: Hand, each: Proof) -> list[str]:
    if isinstance(each, UpsetRecord):
        what = word("command.checks.upset", what=each.happened.what.value)
        return [moment(each.at), name_of(hand, each.by), what, "", each.note, ""]
    if isinstance(each, WithdrawalRecord):
        return [moment(each.at), name_of(hand, each.by), word("behaviour.what.withdrawn"), "", each.reason, ""]
    if isinstance(each, CheckRecord):
        made = each.made
        what = word("command.checks.closing" if made.closing else "command.checks.check")
        came = "command.checks.passed" if made.passed else "command.checks.failed"
        against = [say(finding.reason) for finding in each.findings if not finding.holds]
        set_up = " ".join(filter(None, (made.configuration.unit, made.configuration.fitted)))
        said = " ".join([word(came), *against])
        return [moment(each.at), name_of(hand, made.by), what, set_up, said, each.sheet[:SHORT]]
    n = sum(len(group) for group in each.groups)
    set_up = " ".join(filter(None, (each.configuration.unit, each.configuration.fitted)))
    came = word("command.checks.study_of", n=n, groups=len(each.groups))
    came = f"{each.title}: {came}" if each.title else came
    return [moment(each.at), name_of(hand, each.by), word("command.checks.study"), set_up, came, ""]

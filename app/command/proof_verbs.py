"""``tenthwright upset``, ``study``, ``temperature``, ``rule`` and ``repeats``."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Iterator

from msgspec import to_builtins
from msgspec.structs import replace

from app.command.asked import NOTHING_CHANGED, instrument_asked, piece_asked, read_options, row_asked
from app.command.outcome import Answer
from app.command.sheets import acting, opened, sheet_asked
from app.command.world import World, plain_text
from app.jobs.local_time import moment
from inspection.instruments.known_within import read_kelvin
from inspection.instruments.record import Instrument
from inspection.instruments.spelling import Piece
from inspection.measuring.checks import Configuration, configured
from inspection.measuring.checks_life import MICROSECONDS_PER_MINUTE, Upset
from inspection.measuring.checks_told import read_groups
from inspection.measuring.guard import rule_reason
from inspection.measuring.guard_as_written import read_decision
from inspection.measuring.spread import Seen, pooled
from inspection.measuring.temperature_as_written import read_temperature
from inspection.measuring.temperature_log import celsius
from inspection.measuring.uncertainty_stated import about
from inspection.quantity.reader import unit_symbol
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.cells import waiting_slots
from inspection.sheet.state import Sheet
from inspection.words.say import say, word


def upset(options: Namespace, world: World) -> Answer:
    """Report that an instrument was dropped, repaired or changed: its checks end."""
    what = Upset[options.what.upper()]
    with opened(options, world) as hand:
        acting(options, hand)
        instrument = instrument_asked(hand, options.tag)
        act = acts.ReportUpset(instrument=instrument.identity, what=what, note=plain_text(options.note))
        hand.book.do(act, person=hand.person)
    said = word("command.upset.done", tag=instrument.tag, what=what.value)
    return Answer((said,), {"done": True, "tag": instrument.tag, "what": what.value})


def study(options: Namespace, world: World) -> Answer:
    """Record parts read again and again with an instrument, as its repeatability."""
    with opened(options, world) as hand:
        acting(options, hand)
        instrument = instrument_asked(hand, options.tag)
        unit = plain_text(options.unit)
        unit = (unit_symbol(unit, instrument.quantity) or unit) if unit else ""
        as_set = configured(instrument, unit, plain_text(options.fitted))
        groups = _groups(options, instrument, as_set)
        act = acts.RecordStudy(
            instrument=instrument.identity, configuration=as_set, groups=groups, note=plain_text(options.note)
        )
        hand.book.do(act, person=hand.person)
    spread = pooled(groups, Seen.STUDY)
    assert spread is not None  # one without scatter is refused
    s = about(spread.square, as_set.unit)
    n = sum(map(len, groups))
    said = word("command.study.done", tag=instrument.tag, n=n, s=s, freedom=spread.freedom or 0)
    told = {"done": True, "tag": instrument.tag, "groups": to_builtins(groups), "freedom": spread.freedom}
    return Answer((said, word("command.study.from_now")), told)


def _groups(options: Namespace, instrument: Instrument, as_set: Configuration) -> tuple[tuple[int, ...], ...]:
    try:
        return read_groups(instrument, as_set, [plain_text(group) for group in options.group])
    except Refused as refused:
        raise Refused(*refused.reasons, NOTHING_CHANGED) from None


# --- on a sheet -----------------------------------------------------------------------------------------------


def temperature(options: Namespace, world: World) -> Answer:
    """Log the temperatures of part and instrument on a sheet."""
    part, instrument, within = read_options(
        ("--part", options.part, read_temperature),
        ("--instrument", options.instrument, read_temperature),
        ("--within", options.within, _within),
    )
    with opened(options, world) as hand:
        acting(options, hand)
        act = acts.LogTemperature(
            sheet=sheet_asked(options, hand),
            part=part,
            instrument=instrument,
            thermometer=plain_text(options.thermometer),
            within=within,
            soak_minutes=options.soak,
            written=(plain_text(options.part), plain_text(options.instrument)),
            note=plain_text(options.note),
        )
        outcome = hand.book.do(act, person=hand.person)
    log = next(event.log for event in outcome.events if isinstance(event, ev.TemperatureLogged))
    assert outcome.sheet is not None
    rules = outcome.sheet.rules
    until = moment(log.at + rules.temperature_minutes * MICROSECONDS_PER_MINUTE)
    figures = {name: celsius(getattr(log, name)) for name in ("part", "instrument", "within")}
    said = say(Reason("command.temperature.done", {"thermometer": log.thermometer, "until": until, **figures}))
    used = word("command.temperature.corrected" if rules.temperature_corrected else "command.temperature.left")
    return Answer((said, used), {"done": True, "log": to_builtins(log)})


def _within(piece: Piece) -> int:
    """The ± of a thermometer; 0 where nothing is told, and its record says it."""
    return read_kelvin(piece) if piece.text.strip() else 0


def rule(options: Namespace, world: World) -> Answer:
    """Judge a sheet by another decision rule; every verdict that changes is told."""
    (decision,) = read_options(("RULE", options.decision, read_decision))
    decision = replace(decision, printed=decision.printed or options.printed)
    with opened(options, world) as hand:
        acting(options, hand)
        before = hand.book.sheet(sheet_asked(options, hand))
        act = acts.ChooseDecisionRule(sheet=before.identity, decision=decision, reason=plain_text(options.reason))
        outcome = hand.book.do(act, person=hand.person)
    changed = list(_changed(before, outcome.events))
    said = word("command.rule.done", rule=say(rule_reason(decision)))
    lines = [said, *(word("command.rule.changed", **each) for each in changed)]
    return Answer(tuple(lines), {"done": True, "decision": to_builtins(decision), "changed": changed})


def _changed(before: Sheet, events: Iterable[ev.Event]) -> Iterator[dict[str, str]]:
    """The cells whose verdict is another one now."""
    serials = {piece.identity: piece.serial for piece in before.pieces}
    for event in events:
        if isinstance(event, ev.CellJudged):
            was = before.judgement(event.characteristic, event.piece).verdict
            now = event.judgement.verdict
            if was is not now:
                number = before.characteristic(event.characteristic).number
                yield {"number": number, "serial": serials[event.piece], "was": was.value, "now": now.value}


def repeats(options: Namespace, world: World) -> Answer:
    """Set, before they are taken, how many readings the mean of a cell in doubt is to have."""
    with opened(options, world) as hand:
        acting(options, hand)
        sheet = hand.book.sheet(sheet_asked(options, hand))
        row, piece = row_asked(sheet, options.number), piece_asked(sheet, options.piece)
        act = acts.DeclareRepeats(
            sheet=sheet.identity, characteristic=row.identity, piece=piece.identity, repeats=options.repeats
        )
        after = hand.book.do(act, person=hand.person).sheet or sheet
        waits = len(waiting_slots(hand.book.shop(), after, (row.identity, piece.identity)))
    said = word("command.repeats.done", number=row.number, serial=piece.serial, m=options.repeats, n=waits)
    data = {"done": True, "number": row.number, "serial": piece.serial, "repeats": options.repeats, "waiting": waits}
    return Answer((said,), data)

"""Acts on readings, and what follows: kept as typed, judged, questioned, corrected."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime
from typing import NamedTuple

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.assess import assessed
from inspection.instruments.method import Assessment, Fitness, InstrumentIssue, Method
from inspection.instruments.reckoning import Reckoning
from inspection.instruments.record import Instrument
from inspection.instruments.ways import way_of
from inspection.measuring.judge import judge
from inspection.measuring.reading import Observed, Reading, Role
from inspection.measuring.repeats import MOST
from inspection.measuring.slips import question as slip_question
from inspection.measuring.slots import slots_of
from inspection.measuring.verdict import IN_DOUBT, Judgement, Question, Verdict
from inspection.reasons import Part, Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.cells import instrument_of
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.identities import derived
from inspection.sheet.proving import Elsewhere, known_for, rests_of
from inspection.sheet.state import Sheet, Shop, family

_REPEATED = IN_DOUBT | {Verdict.MARGINAL}
_GAUGED = frozenset({Observed.ENTERS, Observed.DOES_NOT_ENTER})
_FOUND = frozenset({Observed.AS_REQUIRED, Observed.NOT_AS_REQUIRED})
_ANSWERS: dict[Role, frozenset[Observed]] = {Role.GO: _GAUGED, Role.NOT_GO: _GAUGED, Role.FINDING: _FOUND}


class Assessed(NamedTuple):
    """A reading's method on the reading's own day, and what takes known errors off its result, if it comes to a U."""

    assessment: Assessment
    reckoning: Reckoning | None


# --- taking and correcting ------------------------------------------------------------------------------------


def take(
    shop: Shop, sheet: Sheet, act: acts.TakeReading, entry: ev.Entry, elsewhere: Elsewhere | None = None
) -> tuple[ev.Event, ...]:
    """Keep a reading as typed, judge its cell, and ask if it looks like a slip (after it is kept, never before)."""
    _row(sheet, act.characteristic)
    _piece(sheet, act.piece)
    row = sheet.row_at(act.characteristic, act.piece)
    method = method_for(shop, sheet, row, act)
    instrument = shop.crib[method.parts[0].identity]
    replaced, answered = _replaced(sheet, act, entry)
    _check_slot(sheet, act, row, instrument, replaced, entry)
    _check_answer(act, row)
    reading = _reading(sheet, act, entry, method, replaced)
    rests = rests_of(shop, sheet, method, entry.person, reading.taken, act.configuration, elsewhere)
    reading = replace(
        reading,
        configuration=rests.configuration,
        checks=tuple(check.made.identity for check in rests.checks),
        unproven=rests.unproven,
        log=rests.log,
    )
    made = _assessed(shop, sheet, reading)
    reading = replace(reading, indication=made.assessment.fitness is Fitness.UNSUITABLE)
    new = tuple(check for check in rests.checks if check.made.identity not in sheet.checks)
    taken: list[ev.Event] = [ev.ReadingTaken(reading=reading, answers=answered, checks=new)]
    taken += answered_by(sheet, reading)
    after = fold_sheet(sheet, [(event, entry) for event in taken], {})
    events = [*taken, judged(shop, after, row, act.piece, {reading.identity: made})]
    slip = slip_of(shop, after, reading)
    if slip is not None:
        asked = Question(derived(entry, "question"), reading.identity, row.identity, act.piece, slip)
        events.append(ev.QuestionAsked(question=asked))
    return tuple(events)


def _row(sheet: Sheet, identity: str) -> Characteristic:
    row = sheet.rows.by_identity.get(identity)
    if row is None:
        raise Refused(Reason("sheet.no_such_row", {"row": identity}))
    return row


def _piece(sheet: Sheet, identity: str) -> None:
    if all(piece.identity != identity for piece in sheet.pieces):
        raise Refused(Reason("sheet.no_such_piece", {"piece": identity}))


def method_for(shop: Shop, sheet: Sheet, row: Characteristic, act: acts.TakeReading) -> Method:
    """The method a reading is taken with, at the newest issues of its instruments.

    Another one than the row's needs a reason. Raises Refused where nothing answers the row.
    """
    assignment = sheet.assignments.get(row.identity)
    assigned = assignment.assessment.method if assignment and assignment.assessment else None
    method = act.method or assigned
    if method is None:
        raise Refused(Reason("reading.no_instrument", {"number": row.number}))
    if (assigned is None or method.key != assigned.key) and not act.reason.strip():
        raise Refused(Reason("reading.other_instrument", {"number": row.number}))
    return newest(shop, method)


def newest(shop: Shop, method: Method) -> Method:
    """The method with the newest issue of each of its instruments; Refused for one that the crib does not hold."""
    unknown = [part.identity for part in method.parts if part.identity not in shop.crib]
    if unknown or not method.parts:
        raise Refused(*(Reason("instrument.unknown", {"instrument": name}) for name in unknown or [""]))
    parts = (shop.crib[part.identity] for part in method.parts)
    return Method(method.use, tuple(InstrumentIssue(part.identity, part.issue) for part in parts))


def _replaced(sheet: Sheet, act: acts.TakeReading, entry: ev.Entry) -> tuple[Reading | None, str]:
    """The reading that this one replaces and the question it answers.

    Where somebody withdrew that reading or answered that question since the person last saw the sheet, it replaces
    and answers nothing: both are kept.
    """
    name, answered, unseen = act.replaces, act.answers, _unseen(sheet, entry)
    if answered:
        if answered not in sheet.questions or not (unseen or sheet.waits(answered)):
            raise Refused(Reason("question.not_open"))
        name = sheet.questions[answered].reading
    if not name:
        return None, ""
    reading = sheet.readings.get(name)
    if reading is None or (reading.characteristic, reading.piece) != (act.characteristic, act.piece):
        raise Refused(Reason("reading.unknown"))
    if unseen and (name in sheet.withdrawn or (answered and not sheet.waits(answered))):
        return None, ""
    if name in sheet.withdrawn:
        raise Refused(about("reading.withdrawn_already", reading))
    if not answered and not act.reason.strip():
        raise Refused(about("reading.correction_without_reason", reading))
    return reading, answered


def about(code: str, reading: Reading, **parts: Part) -> Reason:
    """A reason that names a reading as it was written, or (code ending in ``_seen``) by what was seen."""
    if reading.observed is None:
        return Reason(code, {**parts, "written": reading.written})
    return Reason(f"{code}_seen", {**parts, "seen": f"observed.{reading.observed.name.lower()}"})


def _check_slot(
    sheet: Sheet,
    act: acts.TakeReading,
    row: Characteristic,
    instrument: Instrument,
    replaced: Reading | None,
    entry: ev.Entry,
) -> None:
    """A slot must be one that was declared, and free.

    A slot that somebody filled since the person last saw the sheet keeps both readings; the judgement counts both.
    """
    if act.slot not in slots_of(row, instrument):
        raise Refused(Reason("reading.no_such_slot", {"number": row.number, "role": _role_code(act)}))
    if replaced is not None:
        if replaced.slot != act.slot:
            raise Refused(Reason("reading.other_slot", {"number": row.number}))
        return
    held = [r for r in sheet.counting(act.characteristic, act.piece) if r.slot == act.slot and not r.indication]
    if held and not _unseen(sheet, entry):
        raise Refused(about("reading.slot_taken", held[0], number=row.number))


def _unseen(sheet: Sheet, entry: ev.Entry) -> bool:
    """Whether the sheet has moved on since the person last saw it."""
    return entry.based_on not in ("", sheet.last_entry)


def _role_code(act: acts.TakeReading) -> str:
    return f"role.{act.slot.role.name.lower()}"


def _check_answer(act: acts.TakeReading, row: Characteristic) -> None:
    allowed = _ANSWERS.get(act.slot.role)
    if allowed is not None:
        if act.observed not in allowed or act.quantity is not None:
            raise Refused(Reason("reading.not_observed", {"number": row.number, "role": _role_code(act)}))
        return
    if act.quantity is None or act.observed is not None:
        raise Refused(Reason("reading.not_a_number", {"number": row.number}))
    if act.quantity.kind is not row.requirement.kind:
        raise Refused(
            Reason(
                "reading.wrong_kind",
                {"number": row.number, "written": act.quantity.written, "unit": row.requirement.unit},
            )
        )


def _reading(sheet: Sheet, act: acts.TakeReading, entry: ev.Entry, method: Method, replaced: Reading | None) -> Reading:
    quantity = act.quantity
    taken, day = _moment(act, entry)
    return Reading(
        identity=derived(entry, "reading"),
        characteristic=act.characteristic,
        piece=act.piece,
        slot=act.slot,
        method=method,
        plan=sheet.plan.identity,
        by=entry.person,
        taken=taken,
        day=day,
        count=quantity.count if quantity else None,
        kind=quantity.kind if quantity else sheet.characteristic(act.characteristic).requirement.kind,
        unit=quantity.unit if quantity else "",
        written=quantity.written if quantity else "",
        decimals=quantity.decimals if quantity else None,
        observed=act.observed,
        replaces=replaced.identity if replaced else "",
        reason=act.reason.strip(),
    )


def _moment(act: acts.TakeReading, entry: ev.Entry) -> tuple[int, str]:
    """When a reading was taken and the shop's day then; a day told with it may be off that of UTC by one."""
    taken = entry.at if act.taken is None else act.taken
    if taken > entry.at:
        raise Refused(Reason("reading.from_the_future"))
    if not act.day:
        return taken, entry.day if act.taken is None else day_of(taken)
    try:
        apart = date.fromisoformat(act.day) - date.fromisoformat(day_of(taken))
    except ValueError:
        raise Refused(Reason("reading.no_such_day", {"day": act.day})) from None
    if abs(apart.days) > 1:
        raise Refused(Reason("reading.day_apart", {"day": act.day, "taken": day_of(taken)}))
    return taken, act.day


def day_of(at: int) -> str:
    """The UTC calendar day of a moment in microseconds, where nothing tells the shop's own day."""
    return datetime.fromtimestamp(at / 1_000_000, UTC).date().isoformat()


def answered_by(sheet: Sheet, reading: Reading) -> list[ev.Event]:
    """A new reading in place of a questioned one answers its question, however it was entered."""
    if not reading.replaces:
        return []
    return [
        ev.QuestionAnswered(question=question.identity, answer="new reading", reading=reading.identity)
        for question in sheet.open_questions()
        if question.reading == reading.replaces
    ]


def answer(sheet: Sheet, question: str, how: str) -> tuple[ev.Event, ...]:
    """Answer an open slip question without a new reading: "kept" or "left open"."""
    if not sheet.waits(question):
        raise Refused(Reason("question.not_open"))
    return (ev.QuestionAnswered(question=question, answer=how),)


def read_at_review(shop: Shop, sheet: Sheet, act: acts.ReadRowAgain, entry: ev.Entry) -> Reading:
    """A reading of a row at review, with the row's instrument or another one, in a slot that the row has."""
    _row(sheet, act.characteristic)
    _piece(sheet, act.piece)
    row = sheet.row_at(act.characteristic, act.piece)
    taking = acts.TakeReading(
        sheet=act.sheet,
        characteristic=act.characteristic,
        piece=act.piece,
        slot=act.slot,
        quantity=act.quantity,
        observed=act.observed,
        method=act.method,
        reason="read again at review",
    )
    method = method_for(shop, sheet, row, taking)
    if act.slot not in slots_of(row, shop.crib[method.parts[0].identity]):
        raise Refused(Reason("reading.no_such_slot", {"number": row.number, "role": _role_code(taking)}))
    _check_answer(taking, row)
    return replace(_reading(sheet, taking, entry, method, None), reason="")


# --- repeats after a doubt ------------------------------------------------------------------------------------------


def repeats_now(sheet: Sheet, characteristic: str, piece: str) -> int:
    """How many readings the mean of a cell has that more may be set for. Raises Refused for any other cell: only one in
    doubt, or marginal, is repeated, for a result that nobody doubts is not read again until it is better."""
    row = _row(sheet, characteristic)
    _piece(sheet, piece)
    if sheet.judgement(row.identity, piece).verdict not in _REPEATED:
        raise Refused(Reason("repeats.not_in_doubt", {"number": row.number}))
    if any(reading.slot.role is not Role.VALUE for reading in sheet.counting(row.identity, piece)):
        raise Refused(Reason("repeats.no_numbers", {"number": row.number}))
    return sheet.row_at(row.identity, piece).repeats


def declare_repeats(shop: Shop, sheet: Sheet, act: acts.DeclareRepeats, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """m is set before the further readings are taken; all of them, the first included, enter the mean."""
    row, now = _row(sheet, act.characteristic), repeats_now(sheet, act.characteristic, act.piece)
    if not now < act.repeats <= MOST:
        raise Refused(Reason("repeats.number", {"number": row.number, "now": now, "most": MOST}))
    declared = ev.RepeatsDeclared(characteristic=row.identity, piece=act.piece, repeats=act.repeats)
    after = fold_sheet(sheet, [(declared, entry)], {})
    return declared, judged(shop, after, row, act.piece)


# --- judging --------------------------------------------------------------------------------------------------


def _assessed(shop: Shop, sheet: Sheet, reading: Reading) -> Assessed:
    """The assessment of a reading's method on its own day, with known errors and budget if it has them."""
    row = sheet.row_at(reading.characteristic, reading.piece)
    known, material = known_for(shop, sheet, reading), sheet.plan.part.material
    found, by = assessed(row, reading.method, shop.issues, sheet.rules, reading.day, material, known)
    return Assessed(found, by if reading.count is not None else None)


def judgement_of(
    shop: Shop, sheet: Sheet, row: Characteristic, piece: str, made: Mapping[str, Assessed] = {}
) -> Judgement:
    """The cell's judgement from the readings that count, each with its instrument as it stood on its own day.

    ``made`` are assessments that were made a moment ago, by reading.
    """
    row = sheet.row_at(row.identity, piece)
    readings = sheet.counting(row.identity, piece)
    found = {each.identity: made.get(each.identity) or _assessed(shop, sheet, each) for each in readings}
    assessments = {reading: each.assessment for reading, each in found.items()}
    reckonings = {reading: each.reckoning for reading, each in found.items() if each.reckoning is not None}
    slots = slots_of(row, _in_hand(shop, sheet, row, readings))
    told = tuple(_told_beside(shop, sheet, row, piece))
    return judge(row, readings, assessments, slots, reckonings, sheet.rules.decision, told)


def _told_beside(shop: Shop, sheet: Sheet, row: Characteristic, piece: str) -> Iterator[Reason]:
    """What is said beside a verdict: a mean set after a doubt, readings that a failed check re-opened."""
    if (row.identity, piece) in sheet.repeats:
        yield Reason("judge.repeated", {"m": row.repeats})
    by_check = Counter(sheet.reopened[reading.identity] for reading in sheet.reopened_at(row.identity, piece))
    for check, n in by_check.items():
        yield Reason("judge.reopened", {"n": n, "tag": _tag(shop, sheet.checks[check].instrument)})


def _tag(shop: Shop, instrument: str) -> str:
    return shop.crib[instrument].tag if instrument in shop.crib else instrument


def _in_hand(shop: Shop, sheet: Sheet, row: Characteristic, readings: Iterable[Reading]) -> Instrument | None:
    """The instrument that decides which slots a cell has: the last one used on it, else the one assigned."""
    used = [reading.method.parts[0] for reading in readings if not reading.indication]
    if used:
        return shop.issues[used[-1].identity, used[-1].issue]
    return instrument_of(shop, sheet, row.identity)


def judged(
    shop: Shop, sheet: Sheet, row: Characteristic, piece: str, made: Mapping[str, Assessed] = {}
) -> ev.CellJudged:
    """The event of judging a cell as it stands."""
    judgement = judgement_of(shop, sheet, row, piece, made)
    return ev.CellJudged(characteristic=row.identity, piece=piece, judgement=judgement)


# --- slips ----------------------------------------------------------------------------------------------------


def slip_of(shop: Shop, sheet: Sheet, reading: Reading) -> Reason | None:
    """The slip question that a kept reading raises, if any."""
    if reading.count is None or reading.slot.role is not Role.VALUE:
        return None
    row = sheet.characteristic(reading.characteristic)
    return slip_question(
        reading.count,
        row,
        shop.crib.get(reading.method.parts[0].identity),
        siblings=_siblings(sheet, row, reading),
        neighbours=_neighbours(sheet, row),
        unit=reading.unit,
        decimals=reading.decimals,
        over=set_on_of(shop, reading),
    )


def set_on_of(shop: Shop, reading: Reading) -> Instrument | None:
    """The blocks that the instrument was set on for a reading, if it compared."""
    way, last = way_of(reading.method, shop.issues), reading.method.parts[-1]
    return shop.issues[last.identity, last.issue] if way is not None and way.set_on is not None else None


def _siblings(sheet: Sheet, row: Characteristic, reading: Reading) -> list[int]:
    """Counting values of the same place: on other pieces, of the other holes of one count, earlier repeats. One that
    may be a slip itself says nothing of the others."""
    asked = {each.reading for each in sheet.open_questions()}
    cells = [(row.identity, piece.identity) for piece in sheet.pieces]
    cells += [(name, reading.piece) for name in sheet.rows.families.get(family(row), ()) if name != row.identity]
    return [
        other.count
        for cell in cells
        for other in sheet.counting(*cell)
        if other.count is not None
        and other.identity != reading.identity
        and other.identity not in asked
        and other.slot.role is Role.VALUE
        and other.slot.place == reading.slot.place
    ]


def _neighbours(sheet: Sheet, row: Characteristic) -> list[int]:
    place = sheet.rows.position[row.identity]
    rows = sheet.plan.characteristics
    beside = [rows[i] for i in (place - 1, place + 1) if 0 <= i < len(rows)]
    return [
        other.requirement.nominal
        for other in beside
        if other.requirement.nominal is not None
        and other.requirement.kind is row.requirement.kind
        and family(other) != family(row)
    ]

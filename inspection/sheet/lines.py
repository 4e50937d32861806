"""One row of a report: its limits, every reading that was ever taken, its results, questions and notes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, tzinfo

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Form
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument, Standing
from inspection.measuring.reading import Reading, Role
from inspection.measuring.slots import needed
from inspection.measuring.verdict import Judgement, Question, Verdict
from inspection.quantity.speaker import as_fine
from inspection.sheet import figures
from inspection.sheet.head import Piece
from inspection.sheet.report import Line, Result, Value
from inspection.sheet.state import Cell, Sheet, Shop, Withdrawal
from inspection.sheet.why import why_withdrawn
from inspection.words.say import say, word

#: The worst first: a row says the worst of its pieces.
WORST_FIRST = (
    Verdict.NOT_CONFORMING, Verdict.DOUBT_OUTSIDE, Verdict.DOUBT_INSIDE, Verdict.OPEN, Verdict.MARGINAL,
    Verdict.CONFORMING, Verdict.NOT_JUDGED,
)  # fmt: skip


class Teller(Struct, frozen=True):
    """Tells a sheet's people, times, instruments and words, in one language and one time zone. ``taken`` holds every
    reading of a cell, withdrawn ones too, in the order taken."""

    shop: Shop
    sheet: Sheet
    taken: Mapping[Cell, tuple[Reading, ...]]
    language: str = "en"
    zone: tzinfo = UTC

    def word(self, code: str, **parts: str | int) -> str:
        """Words of the catalogue."""
        return word(code, self.language, **parts)

    def person(self, identity: str) -> str:
        """A person's name; the identity of one whom the book does not hold."""
        person = self.shop.people.get(identity)
        return person.name if person else identity

    def when(self, at: int) -> str:
        """UTC microseconds as local day and time, to the minute."""
        return datetime.fromtimestamp(at // 1_000_000, self.zone).strftime("%Y-%m-%d %H:%M")

    def instruments(self, method: Method) -> list[Instrument]:
        """The issues that a method names, as far as the book holds them."""
        found = (self.shop.issues.get((part.identity, part.issue)) for part in method.parts)
        return [instrument for instrument in found if instrument is not None]

    def method(self, method: Method) -> str:
        """Tag and name of the instrument that is read, then of those it needs."""
        return " + ".join(f"{one.tag} {one.name}".strip() for one in self.instruments(method))

    def calibration(self, method: Method, day: str) -> str:
        """The calibration state of a method's instruments on an ISO day, each with its tag where there are several."""
        instruments = self.instruments(method)
        states = [self._state(one, day) for one in instruments]
        if len(set(states)) == 1:
            return states[0]
        return "; ".join(f"{one.tag} {state}" for one, state in zip(instruments, states, strict=True))

    def _state(self, instrument: Instrument, day: str) -> str:
        if instrument.standing is not Standing.IN_SERVICE:
            return self.word(f"report.standing.{instrument.standing.name.lower()}")
        if not instrument.due:
            return self.word("report.calibration.none")
        state = "due" if day <= instrument.due else "overdue"
        said = self.word(f"report.calibration.{state}", due=instrument.due)
        certificate = instrument.certificate
        return f"{said}, {self.word('report.certificate', certificate=certificate)}" if certificate else said


def line_of(teller: Teller, row: Characteristic) -> Line:
    """One row of the sheet as it goes out."""
    requirement = row.requirement
    low, high = figures.limits(requirement) if requirement.judged else ("", "")
    results = tuple(_results(teller, row))
    worst = min((Verdict(result.state) for result in results), key=WORST_FIRST.index, default=Verdict.OPEN)
    return Line(
        number=row.number,
        requirement=requirement.written,
        name=row.name,
        place=row.place,
        kind=str(row.kind),
        sheet=row.sheet,
        zone=row.zone,
        key=row.key,
        condition=str(row.condition),
        lower=low,
        upper=high,
        lower_number=low,
        upper_number=high,
        unit="" if requirement.form in (Form.NOTE, Form.THREAD) else requirement.unit,
        decimals=requirement.decimals,
        explained=tuple(say(reason, language=teller.language) for reason in requirement.explained),
        instruments=_assigned(teller, row),
        values=tuple(_values(teller, row)),
        results=results,
        state=str(worst),
        verdict=_line_verdict(teller, row, worst, results),
        notes=tuple(_notes(teller, row)),
    )


def _assigned(teller: Teller, row: Characteristic) -> tuple[str, ...]:
    assignment = teller.sheet.assignments.get(row.identity)
    if assignment is None or assignment.assessment is None:
        return ()
    return (teller.method(assignment.assessment.method),)


def _line_verdict(teller: Teller, row: Characteristic, worst: Verdict, results: Sequence[Result]) -> str:
    """What the worst pieces came to; with how many of how many where the pieces differ."""
    said = [result.verdict for result in results if result.state == worst]
    if len(said) == len(results) and len(set(said)) == 1:
        return said[0]
    plain = _verdict_word(teller, row, worst)
    return teller.word("report.of_pieces", verdict=plain, n=len(said), of=len(results)) if results else plain


def _verdict_word(teller: Teller, row: Characteristic, verdict: Verdict) -> str:
    """The words of a verdict; of what is not judged, which kind of dimension it is."""
    if verdict is Verdict.NOT_JUDGED and not row.requirement.judged:
        return teller.word(f"report.not_judged.{row.requirement.form.name.lower()}")
    return teller.word(f"verdict.{verdict.name.lower()}")


# --- readings -------------------------------------------------------------------------------------------------


def _values(teller: Teller, row: Characteristic) -> Iterator[Value]:
    """Every reading of the row in the order of pieces and of taking, those withdrawn among them."""
    for piece in teller.sheet.pieces:
        for reading in teller.taken.get((row.identity, piece.identity), ()):
            yield _value(teller, row, piece, reading)


def _value(teller: Teller, row: Characteristic, piece: Piece, reading: Reading) -> Value:
    why = teller.sheet.withdrawn.get(reading.identity)
    value = Value(
        serial=piece.serial,
        text=observed(teller, reading),
        place=reading.slot.place,
        role=_role(teller, row, reading),
        instrument=teller.method(reading.method),
        calibration=teller.calibration(reading.method, reading.day),
        by=teller.person(reading.by),
        taken=teller.when(reading.taken),
        withdrawn=_withdrawn(teller, reading, why) if why else "",
    )
    if reading.count is None:
        return value
    requirement, decimals = row.requirement, own_decimals(row, reading)
    plain = figures.number(reading.count, requirement, decimals)
    return replace(
        value,
        text=figures.text(reading.count, requirement, decimals),
        number=plain,
        decimals=len(plain.partition(".")[2]),
        unit=requirement.unit,
        written=_written(row, reading),
        converted=reading.unit != requirement.unit,
    )


def observed(teller: Teller, reading: Reading) -> str:
    """What was seen, in words."""
    return teller.word(f"observed.{reading.observed.name.lower()}") if reading.observed else ""


def own_decimals(row: Characteristic, reading: Reading) -> int:
    """The decimals that show a reading as finely in the row's unit as it was written: of .01 mm in inches 4."""
    if reading.decimals is None:
        return 0
    return as_fine(reading.decimals, reading.unit, row.requirement.unit)


def _written(row: Characteristic, reading: Reading) -> str:
    """What was written, where it was in another unit or no decimal: "12.7 mm", "1 5/32"."""
    if reading.unit == row.requirement.unit:
        return reading.written if reading.decimals is None else ""
    return f"{reading.written} {reading.unit}" if reading.written[-1:].isdigit() else reading.written


def _role(teller: Teller, row: Characteristic, reading: Reading) -> str:
    """What a reading answers, where it is not simply the value; and that it is an indication only."""
    told = []
    if reading.slot.role is not Role.VALUE:
        told.append(teller.word(f"role.{reading.slot.role.name.lower()}"))
    elif row.repeats > 1:
        told.append(teller.word("report.repeat", n=reading.slot.repeat, of=row.repeats))
    if reading.indication:
        told.append(teller.word("report.indication"))
    return ", ".join(told)


def _withdrawn(teller: Teller, reading: Reading, why: Withdrawal) -> str:
    """Who withdrew a reading, when and why."""
    code = "report.replaced" if why.replaced_by else "report.taken_back"
    said = teller.word(code, person=teller.person(why.by), when=teller.when(why.at))
    known = why_withdrawn(teller.sheet, reading.identity)
    reason = teller.word(known) if known else why.reason
    return f"{said}: {reason}" if reason else said


# --- results --------------------------------------------------------------------------------------------------


def _results(teller: Teller, row: Characteristic) -> Iterator[Result]:
    """One result for each piece that the row's sampling asks for, or that was read all the same."""
    pieces = teller.sheet.pieces
    for index, piece in enumerate(pieces):
        counting = teller.sheet.counting(row.identity, piece.identity)
        if counting or needed(row, index, len(pieces)):
            yield _result(teller, row, piece, counting, teller.sheet.judgement(row.identity, piece.identity))


def _result(
    teller: Teller, row: Characteristic, piece: Piece, counting: Sequence[Reading], judgement: Judgement
) -> Result:
    verdict = _verdict_word(teller, row, judgement.verdict)
    if judgement.out_by:
        verdict = f"{verdict}, {figures.out_text(judgement.out_by, row.requirement, teller.language)}"
    return Result(
        serial=piece.serial,
        text=_result_text(teller, row, counting, judgement),
        state=str(judgement.verdict),
        verdict=verdict,
        reasons=tuple(say(reason, language=teller.language) for reason in judgement.reasons),
    )


def _result_text(teller: Teller, row: Characteristic, counting: Sequence[Reading], judgement: Judgement) -> str:
    """The reported result, from the exact results as judged."""
    accepted = [reading for reading in counting if not reading.indication]
    roles = {reading.slot.role for reading in accepted}
    if judgement.results and Role.VALUE in roles:
        return _value_text(teller, row, accepted, judgement)
    if judgement.results and roles >= {Role.ENTERS, Role.STOPS}:
        decimals = _decimals(row, accepted)
        entered, stopped = (figures.text(result, row.requirement, decimals) for result in judgement.results)
        return teller.word("report.pins", entered=entered, stopped=stopped)
    seen = [reading for reading in accepted if reading.observed]
    return ", ".join(
        " ".join(filter(None, (reading.slot.place, _gauge(teller, reading), observed(teller, reading))))
        for reading in seen
    )


def _gauge(teller: Teller, reading: Reading) -> str:
    return "" if reading.slot.role is Role.FINDING else teller.word(f"role.{reading.slot.role.name.lower()}")


def _decimals(row: Characteristic, readings: Sequence[Reading]) -> int:
    return max((own_decimals(row, reading) for reading in readings), default=0)


def _value_text(teller: Teller, row: Characteristic, counting: Sequence[Reading], judgement: Judgement) -> str:
    values = [reading for reading in counting if reading.slot.role is Role.VALUE]
    requirement, averaged = row.requirement, row.repeats > 1
    if averaged:
        texts = [figures.mean(total, requirement, judgement.expanded, judgement.of) for total in judgement.results]
    else:
        texts = [figures.text(count, requirement, _decimals(row, values)) for count in judgement.results]
    n = max(Counter(reading.slot.place for reading in values).values()) if averaged else len(values)
    if averaged:
        return teller.word("report.mean", text=" … ".join(texts), n=n)
    return texts[0] if len(texts) == 1 else teller.word("report.spread", low=texts[0], high=texts[1], n=n)


# --- notes and questions --------------------------------------------------------------------------------------


def _notes(teller: Teller, row: Characteristic) -> Iterator[str]:
    """The row's notes, the reason of an instrument chosen by hand, and what became of each slip question."""
    serials = {piece.identity: piece.serial for piece in teller.sheet.pieces}
    assignment = teller.sheet.assignments.get(row.identity)
    if assignment is not None and assignment.chosen_by_hand:
        yield teller.word("report.chosen_by_hand", reason=assignment.chosen_by_hand)
    for reading in _with_reason(teller, row):
        yield teller.word(
            "report.reading_reason",
            serial=serials[reading.piece],
            reading=_told(teller, row, reading),
            reason=reading.reason,
        )
    for note in teller.sheet.notes:
        if note.characteristic == row.identity:
            where = f"{serials[note.piece]}: " if note.piece else ""
            yield f"{where}{note.text} ({teller.person(note.by)}, {teller.when(note.at)})"
    for question in teller.sheet.questions.values():
        if question.characteristic == row.identity:
            yield _questioned(teller, row, question, serials[question.piece])


def _with_reason(teller: Teller, row: Characteristic) -> Iterator[Reading]:
    """Readings that carry a reason of their own: another instrument than the row's was taken."""
    for piece in teller.sheet.pieces:
        for reading in teller.taken.get((row.identity, piece.identity), ()):
            if reading.reason and not reading.replaces:
                yield reading


def _questioned(teller: Teller, row: Characteristic, question: Question, serial: str) -> str:
    answer = teller.sheet.answers.get(question.identity)
    became = (answer.answer if answer else "left open").replace(" ", "_")
    return teller.word(
        "report.question",
        serial=serial,
        reading=_told(teller, row, teller.sheet.readings[question.reading]),
        pattern=teller.word(pattern_code(question)),
        answer=teller.word(f"report.question.{became}"),
    )


def pattern_code(question: Question) -> str:
    """The catalogue's short name for the pattern of a slip question."""
    return f"report.{question.reason.code.removesuffix('_beside')}"


def _told(teller: Teller, row: Characteristic, reading: Reading) -> str:
    if reading.count is None:
        return observed(teller, reading)
    return figures.text(reading.count, row.requirement, own_decimals(row, reading))

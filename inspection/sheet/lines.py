"""One row of a report: its limits, every reading that was ever taken, its results, questions and notes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Form
from inspection.measuring.reading import Reading, Role
from inspection.measuring.slots import needed
from inspection.measuring.verdict import Judgement, Question, Verdict
from inspection.quantity.speaker import as_fine
from inspection.sheet import figures
from inspection.sheet.complete_rows import no_piece_left
from inspection.sheet.head import Piece
from inspection.sheet.nonconformance_told import named_on, put_aside
from inspection.sheet.report import Line, Result, Value
from inspection.sheet.report_doubt import (
    acceptance_of,
    corrections_of,
    is_computed,
    reasons_of,
    result_texts,
    with_doubt,
)
from inspection.sheet.report_proofs import checked, reopened, suspect, temperature_of
from inspection.sheet.state import Withdrawal
from inspection.sheet.teller import Teller
from inspection.sheet.why import why_withdrawn

#: The worst first: a row says the worst of its pieces.
WORST_FIRST = (
    Verdict.NOT_CONFORMING, Verdict.DOUBT_OUTSIDE, Verdict.DOUBT_INSIDE, Verdict.OPEN, Verdict.MARGINAL,
    Verdict.CONFORMING, Verdict.NOT_JUDGED,
)  # fmt: skip


def line_of(teller: Teller, row: Characteristic) -> Line:
    """One row of the sheet as it goes out."""
    requirement = row.requirement
    low, high = figures.limits(requirement) if requirement.judged else ("", "")
    judged = tuple(_results(teller, row))
    results = tuple(result for result, _ in judged)
    elsewhere = _elsewhere(teller, row) if not results else ""
    worst = min((Verdict(result.state) for result in results), key=WORST_FIRST.index, default=Verdict.OPEN)
    worst = Verdict.NOT_JUDGED if elsewhere else worst
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
        explained=tuple(map(teller.say, requirement.explained)),
        instruments=_assigned(teller, row),
        values=tuple(_values(teller, row)),
        results=results,
        state=str(worst),
        verdict=elsewhere or _line_verdict(teller, row, worst, results),
        notes=tuple(_notes(teller, row)),
        corrections=tuple(corrections_of(teller, requirement, judged)),
    )


def _assigned(teller: Teller, row: Characteristic) -> tuple[str, ...]:
    assignment = teller.sheet.assignments.get(row.identity)
    if assignment is None or assignment.assessment is None:
        return ()
    return (teller.method(assignment.assessment.method),)


def _elsewhere(teller: Teller, row: Characteristic) -> str:
    """Why nothing is asked of a row here: it is shown on the baseline of a partial first article, or no piece is left;
    empty where it is asked for."""
    sheet = teller.sheet
    if sheet.only and row.identity not in sheet.only:
        return teller.word("report.on_baseline")
    return teller.word("report.no_piece_left") if no_piece_left(sheet) else ""


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
        check=checked(teller, reading),
        temperature=temperature_of(teller, reading),
        reopened="" if why else reopened(teller, reading),
        suspect=suspect(teller, reading),
        aside="" if why else put_aside(teller, reading),
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
    elif (repeats := teller.sheet.row_at(row.identity, reading.piece).repeats) > 1:
        told.append(teller.word("report.repeat", n=reading.slot.repeat, of=repeats))
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


def _results(teller: Teller, row: Characteristic) -> Iterator[tuple[Result, Judgement]]:
    """One result, with its verdict, for each piece that the sheet asks the row of, or that was read all the same."""
    sheet, pieces = teller.sheet, teller.sheet.pieces
    about = not sheet.only or row.identity in sheet.only
    for index, piece in enumerate(pieces):
        counting = sheet.counting(row.identity, piece.identity)
        if counting or (about and piece.identity not in sheet.left and needed(row, index, len(pieces))):
            judgement = teller.sheet.judgement(row.identity, piece.identity)
            at = teller.sheet.row_at(row.identity, piece.identity)
            yield result_of(teller, at, piece, counting, judgement), judgement


def result_of(
    teller: Teller, row: Characteristic, piece: Piece, counting: Sequence[Reading], judgement: Judgement
) -> Result:
    """What a judgement says of a row on a piece, from the readings that it rests on."""
    verdict = _verdict_word(teller, row, judgement.verdict)
    if judgement.out_by:
        verdict = f"{verdict}, {figures.out_text(judgement.out_by, row.requirement, teller.language)}"
    accepted = acceptance_of(row.requirement, judgement)
    values = [reading for reading in counting if not reading.indication and reading.slot.role is Role.VALUE]
    numbers = result_texts(row.requirement, judgement, accepted) if is_computed(judgement, row.repeats) else ()
    result = Result(
        serial=piece.serial,
        text=_result_text(teller, row, counting, judgement, numbers),
        state=str(judgement.verdict),
        verdict=verdict,
        reasons=reasons_of(teller, judgement),
        number=numbers[0] if len(numbers) == 1 else "",
        numbers=numbers if judgement.budget is not None else (),
        nonconformance=named_on(teller, row.identity, piece.identity),
    )
    budget = teller.budgets.get((row.identity, piece.identity), "")
    read = _as_read(row, values, judgement)
    return with_doubt(teller, result, row.requirement, judgement, accepted, read, budget)


def _as_read(row: Characteristic, values: Sequence[Reading], judgement: Judgement) -> tuple[str, ...]:
    """The results before known errors were taken off: as read, or for a mean to the place of its uncertainty."""
    requirement = row.requirement
    if row.repeats > 1:
        return tuple(figures.computed(each, requirement, judgement.expanded, judgement.of) for each in judgement.raw)
    return tuple(figures.text(each, requirement, _decimals(row, values)) for each in judgement.raw)


def _result_text(
    teller: Teller, row: Characteristic, counting: Sequence[Reading], judgement: Judgement, numbers: Sequence[str]
) -> str:
    """The reported result, from the exact results as judged; ``numbers`` where they were computed."""
    accepted = [reading for reading in counting if not reading.indication]
    roles = {reading.slot.role for reading in accepted}
    if judgement.results and Role.VALUE in roles:
        return _value_text(teller, row, accepted, judgement, numbers)
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


def _value_text(
    teller: Teller, row: Characteristic, counting: Sequence[Reading], judgement: Judgement, numbers: Sequence[str]
) -> str:
    values = [reading for reading in counting if reading.slot.role is Role.VALUE]
    decimals = _decimals(row, values)
    texts = numbers or [figures.text(count, row.requirement, decimals) for count in judgement.results]
    if row.repeats > 1:
        n = max(Counter(reading.slot.place for reading in values).values())
        return teller.word("report.mean", text=" … ".join(texts), n=n)
    return texts[0] if len(texts) == 1 else teller.word("report.spread", low=texts[0], high=texts[1], n=len(values))


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

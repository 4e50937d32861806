"""One row of the sheet as the Bench shows it, made from the sheet when it is looked at."""

from __future__ import annotations

from typing import NamedTuple

from app.bench import told
from app.bench.seen import Seen
from app.bench.words_at import words_at
from app.parts.marks import Mark, mark_of
from app.parts.zone import Zone
from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.method import Fitness
from inspection.measuring.slots import slots_of
from inspection.measuring.verdict import Verdict
from inspection.sheet.state import Cell
from inspection.words.say import word


class Taken(NamedTuple):
    """One reading as shown: its text, and whether it was withdrawn, is an indication only, or was re-opened by a check
    that its instrument failed."""

    text: str
    withdrawn: bool = False
    indication: bool = False
    reopened: bool = False

    @property
    def struck(self) -> bool:
        """Whether it counts no longer."""
        return self.withdrawn or self.reopened

    @property
    def spoken(self) -> str:
        """As it is read out."""
        if not self.struck:
            return self.text
        return f"{self.text} {word('bench.withdrawn' if self.withdrawn else 'bench.reopened')}"


class Line(NamedTuple):
    """One row as shown. ``blind`` rows hide what would tell the next reading; ``follows`` is a further place of the
    requirement above; ``instruments`` is the instrument ever shorter, for a narrow column; ``look`` is the colour
    of the verdict's word where it is not its mark's."""

    row: str
    number: str
    name: str
    requirement: str
    place: str
    follows: bool
    limits: str
    instrument: str
    instruments: tuple[str, ...]
    fitness: Fitness | None
    readings: tuple[Taken, ...]
    zone: Zone
    mark: Mark
    verdict: str
    note: str
    blind: bool
    look: str = ""

    @property
    def spoken(self) -> str:
        """The whole row in one line, for a screen reader."""
        parts = (self.number, self.name, self.requirement, self.place, self.limits, self.instrument)
        read = (each.spoken for each in self.readings)
        return ", ".join(filter(None, (*parts, *read, self.verdict, self.note)))


def line_of(seen: Seen, cell: Cell, *, writing: tuple[str, ...] = (), units: str = "", home: str = "in") -> Line:
    """The row of a cell. ``writing`` are the texts of readings handed over and not yet on disk; ``units`` is what
    lengths are shown in ("" for each row's own) and ``home`` the unit that heads the table."""
    row = seen.row(cell[0])
    asked = slots_of(seen.row_at(cell), seen.instrument(cell[0]))
    missing = seen.waiting(cell)
    blind = is_blind(seen, cell)
    mark = _mark(seen, cell, bool(writing), blind)
    requirement, place, follows = _requirement(seen, row, blind)
    names = told.instrument_names(seen.parts(cell[0]))
    said = word("bench.mark.writing") if writing else _said(seen, cell, mark, len(missing), len(asked), units, blind)
    return Line(
        row=row.identity,
        number=row.number,
        name="" if blind else row.name,
        requirement=requirement,
        place=place,
        follows=follows,
        limits=word("bench.blind.limits") if blind else told.limits(row.requirement, units, home=home),
        instrument=names[0],
        instruments=names,
        fitness=_fitness(seen, cell[0]),
        readings=_readings(seen, cell, writing, units, blind),
        zone=Zone() if blind else zone_of(seen, cell, mark),
        mark=mark,
        verdict=said,
        note=" · ".join((*words_at(seen.sheet, cell), *(note.text for note in seen.notes(cell)))) or row.note,
        blind=blind,
        look="doubt" if not writing and mark is not Mark.QUESTION and _in_question(seen, cell) else "",
    )


def _in_question(seen: Seen, cell: Cell) -> bool:
    """Whether a failed check re-opened readings of a cell that was not read again, or questions them under a seal; or
    a mark for review waits that names them."""
    sheet = seen.sheet
    if sheet.marks and sheet.judgement(*cell).verdict is not Verdict.OPEN and sheet.marks_at(*cell):
        return True
    if sheet.suspect and any(each.identity in sheet.suspect for each in sheet.counting(*cell)):
        return True
    return bool(sheet.reopened) and sheet.judgement(*cell).verdict is Verdict.OPEN and bool(sheet.reopened_at(*cell))


def is_blind(seen: Seen, cell: Cell) -> bool:
    """Whether limits, nominal and earlier readings of a cell are hidden: read blind, and not read through yet."""
    return seen.row(cell[0]).blind and bool(seen.waiting(cell))


def mark_at(seen: Seen, cell: Cell) -> Mark:
    """The mark of a cell that is not being written."""
    return _mark(seen, cell, False, is_blind(seen, cell))


def _mark(seen: Seen, cell: Cell, writing: bool, blind: bool) -> Mark:
    if writing:
        return Mark.WRITING
    if cell in seen.questions:
        return Mark.QUESTION
    return Mark.OPEN if blind else mark_of(seen.sheet.judgement(*cell).verdict)


def _requirement(seen: Seen, row: Characteristic, blind: bool) -> tuple[str, str, bool]:
    """What is asked, its place, and whether it follows the row above of the same requirement."""
    if blind:
        return word("bench.blind.requirement", what=row.name or row.kind), row.place, False
    at = seen.sheet.rows.position[row.identity]
    before = seen.sheet.plan.characteristics[at - 1] if at else None
    follows = bool(
        row.count > 1 and row.place and before is not None and before.requirement.written == row.requirement.written
    )
    return row.requirement.written, row.place, follows


def _fitness(seen: Seen, row: str) -> Fitness | None:
    assignment = seen.sheet.assignments.get(row)
    return assignment.assessment.fitness if assignment is not None and assignment.assessment is not None else None


def _readings(seen: Seen, cell: Cell, writing: tuple[str, ...], units: str, blind: bool) -> tuple[Taken, ...]:
    requirement = seen.row(cell[0]).requirement
    kept = list(seen.taken(cell))
    if blind:
        hidden = (Taken(word("bench.blind.readings", n=len(kept))),) if kept else ()
        return (*hidden, *(Taken(text) for text in writing))
    shown = tuple(
        Taken(
            told.reading(each, requirement, units),
            each.identity in seen.sheet.withdrawn,
            each.indication,
            each.identity in seen.sheet.reopened,
        )
        for each in kept
    )
    return (*shown, *(Taken(text) for text in writing))


def zone_of(seen: Seen, cell: Cell, mark: Mark) -> Zone:
    """The strip of a cell: its limits, the readings that count, and once it is judged the result and the guard bands.
    Notes and threads have none."""
    row = seen.row(cell[0])
    requirement = row.requirement
    if requirement.form in (Form.NOTE, Form.THREAD) or not requirement.judged:
        return Zone()
    judgement = seen.sheet.judgement(*cell)
    counts = tuple(each.count for each in seen.sheet.counting(*cell) if each.count is not None)
    bounds = _bounds(requirement)._replace(readings=counts, of=judgement.of, mark=mark)
    if judgement.verdict is Verdict.OPEN:
        return bounds
    guard = requirement.band or 0 if judgement.shows_nothing else judgement.guard or 0
    return bounds._replace(results=judgement.results, raw=judgement.raw, guard=guard)


def _bounds(requirement: Requirement) -> Zone:
    """Limits and nominal alone; an error-type limit begins at nothing, which is no limit but an end."""
    if requirement.natural_zero and requirement.lower is None:
        return Zone(0, requirement.upper, None, requirement.band, zero=True)
    bounds = Zone(requirement.lower, requirement.upper, requirement.nominal, requirement.band)
    return bounds._replace(zero=requirement.natural_zero)


def _said(seen: Seen, cell: Cell, mark: Mark, missing: int, asked: int, units: str, blind: bool) -> str:
    if mark is Mark.QUESTION:
        return word("bench.mark.question")
    if mark is Mark.OPEN and not seen.needs(cell):
        return word("bench.mark.not_needed") if seen.row(cell[0]).requirement.judged else ""
    if blind:
        return word("bench.mark.open") if missing == asked else word("bench.mark.missing", n=missing, of=asked)
    if _in_question(seen, cell):
        return word("bench.mark.reopened" if mark is Mark.OPEN else "bench.mark.suspect")
    return told.verdict(seen.row(cell[0]), seen.sheet.judgement(*cell), missing, asked, units)

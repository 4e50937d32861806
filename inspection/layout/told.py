"""What a sheet has to say to a customer's form, field by field: texts, numbers and days, each as such."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import tzinfo
from functools import cached_property
from itertools import permutations

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import natural_key
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import Instrument
from inspection.layout.layout import ANSWERS, MARKS, RESULT_WORDS, TEMPERATURES, Layout
from inspection.layout.measures import (
    Wish,
    between,
    limits_wanted,
    nominal_wanted,
    result_wanted,
    unit_wanted,
)
from inspection.measuring.reading import Reading
from inspection.measuring.temperature_as_written import on_scale
from inspection.measuring.verdict import IN_DOUBT, Verdict
from inspection.sheet import figures
from inspection.sheet.canonical.form_4 import read_statement
from inspection.sheet.causes import cause_text
from inspection.sheet.evidence import EvidenceKind
from inspection.sheet.head import Piece
from inspection.sheet.lines import WORST_FIRST
from inspection.sheet.open_sheet import result_numbers
from inspection.sheet.report import EvidenceLine, Line, Report, Result
from inspection.sheet.report_number import report_number
from inspection.sheet.review import FIRST_ARTICLE, StatementKind
from inspection.sheet.state import Sheet, Shop, family
from inspection.sheet.teller import Teller

NUMBER = re.compile(r"-?\d+(\.\d+)?")
#: What a mark in a box says, whatever the language, where the customer wants no other.
MARK = "X"
#: What a box comes to.
TICKED, UNTICKED = "ticked", "unticked"

#: The customer's word that stands for each verdict.
WORD_OF = {
    Verdict.CONFORMING: "conforming",
    Verdict.MARGINAL: "conforming",
    Verdict.NOT_CONFORMING: "not conforming",
    Verdict.NOT_JUDGED: "not judged",
    Verdict.OPEN: "open",
    **dict.fromkeys(IN_DOUBT, "in doubt"),
}


#: Who made each statement and when, by the statements that it may be.
STATED = {
    ("approver", "approved_on"): (StatementKind.APPROVED,),
    ("article_by", "article_on"): FIRST_ARTICLE,
    ("released_by", "released_on"): (StatementKind.RELEASED,),
}


class Said(Struct, frozen=True):
    """What one cell is to say: ``text``; ``number`` where it is one (a plain decimal string), ``day`` where it is a
    day (ISO). ``number`` and ``day`` are told as ``text`` where a cell cannot hold them. ``means`` is what is told, by
    a word of a layout or as ``TICKED`` or ``UNTICKED``: a cell with a list or a box of its own tells it in its own way;
    an unticked box has no text."""

    text: str
    number: str = ""
    day: str = ""
    means: str = ""


NOTHING = Said("")


class Item(Struct, frozen=True):
    """One line of the form: a characteristic, or several places of one requirement told together under ``number``."""

    number: str
    rows: tuple[Characteristic, ...]
    lines: tuple[Line, ...]


class Telling:
    """Tells the values of one sheet in the words and units of a layout."""

    def __init__(self, sheet: Sheet, shop: Shop, report: Report, layout: Layout, zone: tzinfo) -> None:
        self.sheet, self.shop, self.report, self.layout = sheet, shop, report, layout
        self.teller = Teller(shop, sheet, {}, layout.language, zone)
        self._lines = {line.number: line for line in report.lines}

    # --- what stands in a line ----------------------------------------------------------------------------------

    def items(self) -> list[Item]:
        """The lines of the form in the natural order of their numbers."""
        rows = sorted(self.sheet.plan.characteristics, key=lambda row: natural_key(row.number))
        if self.sheet.only:
            rows = [row for row in rows if row.identity in self.sheet.only]
        together: dict[str, list[Characteristic]] = {}
        for row in rows:
            together.setdefault(family(row) if self.layout.pattern else row.number, []).append(row)
        return [
            Item(number, tuple(each), tuple(self._lines[row.number] for row in each))
            for number, each in together.items()
        ]

    @cached_property
    def plain_numbers(self) -> bool:
        """Whether every number is a whole one: then a cell may hold it as such; 7.10 may not become 7.1."""
        return all(row.number.isdecimal() and row.number.isascii() for row in self.sheet.plan.characteristics)

    def of_row(self, item: Item, field: str, pieces: Sequence[Piece], unit: str = "") -> Said:
        """What a column says of an item on these pieces."""
        tell = _OF_ROW.get(field)
        if tell is not None:
            return tell(self, item, self.wish(unit))
        return _OF_RESULT[field](self, _Part(item, pieces), self.wish(unit))

    def wish(self, unit: str) -> Wish:
        """What is wanted of numbers, in the unit of a column where it has its own."""
        return Wish(unit or self.layout.unit, self.layout.decimals, self.layout.outward)

    # --- the head -----------------------------------------------------------------------------------------------

    def of_head(self, field: str, piece: Piece | None) -> Said:
        """What the head says; ``serial`` of one piece."""
        if field == "serial":
            return Said(piece.serial) if piece else NOTHING
        return self.head.get(field, NOTHING)

    def of_paper(self, field: str, place: int) -> Said:
        """What the head says of the material, process or test at this place, from 0."""
        if place >= len(self.papers):
            return NOTHING
        line = self.papers[place]
        test = line.kind == EvidenceKind.TEST
        specification = " ".join(filter(None, (line.specification, line.revision)))
        said = {
            "paper": line.name,
            "paper_specification": "" if test else specification,
            "paper_code": line.code,
            "paper_supplier": line.supplier,
            "paper_approved": line.approved,
            "paper_certificate": "" if test else line.certificate,
            "paper_procedure": specification if test else "",
            "paper_acceptance": ", ".join(filter(None, (line.certificate, line.result))) if test else "",
        }
        return Said(said[field])

    @cached_property
    def papers(self) -> tuple[EvidenceLine, ...]:
        """Materials, special processes and functional tests, in the order in which they go out."""
        return tuple(line for line in self.report.evidence if line.kind != EvidenceKind.DRAWING)

    @cached_property
    def head(self) -> Mapping[str, Said]:
        """Every value of the head by its field, those of single pages apart."""
        sheet, part, head = self.sheet, self.sheet.plan.part, self.sheet.head
        cause = cause_text(head.cause, self.layout.language)
        texts = {
            "shop": self.shop.name, "customer": head.customer or part.customer, "supplier_code": head.supplier_code,
            "order": head.order, "order_line": head.order_line, "part": part.number, "part_revision": part.revision,
            "part_name": part.name, "drawing": part.drawing, "drawing_revision": part.drawing_revision,
            "changes": part.changes, "standard": part.standard, "material": part.material, "lot": head.lot,
            "serials": ", ".join(piece.serial for piece in sheet.pieces), "process": head.process,
            "machine": head.machine, "baseline": head.baseline,
            "cause": cause, "partial_cause": cause if head.extent == "partial" else "", "temperature": head.temperature,
            "unit": self.layout.unit or sheet.plan.title_block.unit,
            "report": report_number(part.number, sheet.identity),
            "nonconformances": ", ".join(each.number for each in sheet.nonconformances.values()),
        }  # fmt: skip
        return {
            **{field: Said(text) for field, text in texts.items()},
            "quantity": Said(str(len(sheet.pieces)), number=str(len(sheet.pieces))),
            "verdict": self.word(min(self._verdicts(), key=WORST_FIRST.index, default=Verdict.OPEN)),
            **{field: self._temperature(scale) for field, scale in TEMPERATURES.items()},
            **self._signed(),
            **self._answered(),
        }

    def _temperature(self, scale: str) -> Said:
        """The temperature on a scale that stands beside its cell; as written where it does not say its own."""
        told = on_scale(self.sheet.head.temperature, scale)
        return Said(self.sheet.head.temperature) if told is None else _number(told)

    def _verdicts(self) -> Iterable[Verdict]:
        return (Verdict(line.state) for line in self.report.lines if line.state != Verdict.NOT_JUDGED)

    def _signed(self) -> Mapping[str, Said]:
        found: dict[str, Said] = {}
        if self.sheet.sealed:
            seal = self.sheet.seals[-1]
            found |= {"inspector": Said(self.teller.person(seal.by)), "inspected_on": self._day(seal.at)}
        for (by, on), kinds in STATED.items():
            made = self.sheet.stated(*kinds)
            if made is not None:
                found |= {by: Said(self.teller.person(made.by)), on: self._day(made.at)}
                if made.kind is StatementKind.RELEASED:
                    found["released_within"] = Said(read_statement(made.content).words)
        return found

    def _answered(self) -> Mapping[str, Said]:
        """What has two answers, in a word and as a mark for each; nothing of what is not decided yet."""
        found: dict[str, Said] = {}
        held = {"extent": self.sheet.head.extent, "detail": self.sheet.head.detail, "article": self._article()}
        for field, answers in ANSWERS.items():
            if not held[field]:
                continue
            own = self.teller.word(f"layout.answer.{held[field].replace(' ', '_')}")
            found[field] = Said(self.layout.words.get(held[field], own), means=held[field])
            for mark, answer in MARKS.items():
                if answer in answers:
                    found[mark] = self.mark if answer == held[field] else Said("", means=UNTICKED)
        return found

    def _article(self) -> str:
        made = self.sheet.first_article
        if made is None:
            return ""
        return "complete" if made.kind is StatementKind.COMPLETE else "not complete"

    @property
    def mark(self) -> Said:
        """What stands in a box that is ticked."""
        return Said(self.layout.words.get("mark", MARK), means=TICKED)

    def _day(self, at: int) -> Said:
        return self.day(self.teller.day(at))

    def day(self, iso: str) -> Said:
        """A day, written as the customer writes days where a cell holds it as text."""
        from datetime import date

        if not iso:
            return NOTHING
        return Said(date.fromisoformat(iso).strftime(self.layout.day) if self.layout.day else iso, day=iso)

    def word(self, verdict: Verdict) -> Said:
        """What a verdict is in the customer's words; ours where none was agreed."""
        own = self.teller.word(f"verdict.{verdict.name.lower()}")
        return Said(self.layout.words.get(WORD_OF[verdict], own), means=WORD_OF[verdict])

    # --- readings -----------------------------------------------------------------------------------------------

    def readings(self, part: _Part) -> list[Reading]:
        """The readings that count, in the order of rows and pieces."""
        return [
            reading
            for row in part.item.rows
            for piece in part.pieces
            for reading in self.sheet.counting(row.identity, piece.identity)
        ]

    def instruments(self, part: _Part) -> list[Instrument]:
        """The instruments that were read, each once."""
        return self._read_by(self.readings(part))

    def uncertified(self) -> list[str]:
        """The tags of instruments that were read and whose calibration falls due, without the day that it was of."""
        counting = (reading for readings in self.sheet.standing for reading in self.sheet.counting(*readings))
        return sorted({one.tag for one in self._read_by(counting) if one.due and not one.certified})

    def _read_by(self, readings: Iterable[Reading]) -> list[Instrument]:
        found = (one for reading in readings for one in self.teller.instruments(reading.method))
        return list({(one.identity, one.issue): one for one in found}.values())


class _Part(Struct, frozen=True):
    """An item on some of the pieces."""

    item: Item
    pieces: Sequence[Piece]

    def results(self) -> list[tuple[Characteristic, Line, Result]]:
        """The results, in the order of rows and pieces."""
        serials = {piece.serial for piece in self.pieces}
        return [
            (row, line, result)
            for row, line in zip(self.item.rows, self.item.lines, strict=True)
            for result in line.results
            if result.serial in serials
        ]


# --- values of a characteristic -------------------------------------------------------------------------------


def _requirement(item: Item) -> Requirement:
    return item.rows[0].requirement


def _nominal(_telling: Telling, item: Item, wish: Wish) -> Said:
    asked = _requirement(item)
    if asked.nominal is None or asked.natural_zero or asked.form is Form.THREAD:
        return NOTHING
    return _number(nominal_wanted(asked, wish))


def _nominal_asked(telling: Telling, item: Item, wish: Wish) -> Said:
    """The nominal, else what is asked as it is written: notes and threads would be lost on a form whose only column for
    requirements stands beside deviations."""
    nominal = _nominal(telling, item, wish)
    return nominal if nominal != NOTHING else Said(_requirement(item).written)


def _limit(upper: bool) -> Callable[[Telling, Item, Wish], Said]:
    def tell(_telling: Telling, item: Item, wish: Wish) -> Said:
        asked = _requirement(item)
        if not asked.judged or (asked.natural_zero and not upper):
            return NOTHING
        return _number(limits_wanted(asked, wish)[upper])

    return tell


def _off_nominal(upper: bool, *, below: bool = False) -> Callable[[Telling, Item, Wish], Said]:
    def tell(telling: Telling, item: Item, wish: Wish) -> Said:
        """How far the limit lies above the nominal (``below``: below it, as ``minus`` is taken off it). Above it is
        what a limit deviation says, with its sign: for a shaft h7 the lower one is under zero (ISO 286-1:2010, 3.2)."""
        nominal = _nominal(telling, item, wish).number
        limit = _limit(upper)(telling, item, wish).number
        if not nominal or not limit:
            return NOTHING
        return _number(between(nominal, limit) if below else between(limit, nominal))

    return tell


def _tolerance(telling: Telling, item: Item, wish: Wish) -> Said:
    plus, minus = (
        _off_nominal(True)(telling, item, wish).number,
        _off_nominal(False, below=True)(telling, item, wish).number,
    )
    if plus and plus == minus:
        return Said(f"±{plus}")
    if plus and minus:
        return Said(f"{_signed(plus, '+')}/{_signed(minus, '-')}")
    low, high = _limit(False)(telling, item, wish).number, _limit(True)(telling, item, wish).number
    return Said(figures.between(low, high))


def _signed(amount: str, sign: str) -> str:
    if amount.startswith("-"):
        return ("-" if sign == "+" else "+") + amount[1:]
    return sign + amount


def _unit(_telling: Telling, item: Item, wish: Wish) -> Said:
    asked = _requirement(item)
    return NOTHING if asked.form in (Form.NOTE, Form.THREAD) else Said(unit_wanted(asked, wish))


def _number(text: str) -> Said:
    return Said(text, number=text) if NUMBER.fullmatch(text) else Said(text)


def _name_asked(telling: Telling, item: Item, wish: Wish) -> Said:
    """The name, with what is asked behind it where no number says it: notes and threads would be lost on a form that
    has no column for requirements."""
    if _nominal(telling, item, wish) != NOTHING:
        return _name(telling, item, wish)
    return Said(": ".join(filter(None, (item.rows[0].name, _requirement(item).written))))


def _name(_telling: Telling, item: Item, _wish: Wish) -> Said:
    """The name; of a characteristic without one what kind of feature it is of."""
    return Said(item.rows[0].name or str(item.rows[0].kind))


def _plain(name: str) -> Callable[[Telling, Item, Wish], Said]:
    return lambda _telling, item, _wish: Said(str(getattr(item.rows[0], name)))


_OF_ROW: Mapping[str, Callable[[Telling, Item, Wish], Said]] = {
    "number": lambda telling, item, _wish: Said(item.number, number=item.number if telling.plain_numbers else ""),
    "requirement": lambda _telling, item, _wish: Said(_requirement(item).written),
    "name_asked": _name_asked,
    "count": lambda _telling, item, _wish: _number(str(item.rows[0].count)),
    "place": lambda _telling, item, _wish: Said(", ".join(filter(None, (row.place for row in item.rows)))),
    "name": _name,
    **{name: _plain(name) for name in ("kind", "sheet", "zone", "key", "condition", "tooling")},
    "unit": _unit,
    "nominal": _nominal,
    "nominal_asked": _nominal_asked,
    "plus": _off_nominal(True),
    "minus": _off_nominal(False, below=True),
    "lower_deviation": _off_nominal(False),
    "tolerance": _tolerance,
    "lower": _limit(False),
    "upper": _limit(True),
}


# --- values of results ----------------------------------------------------------------------------------------


def _wanted(part: _Part, wish: Wish) -> list[str]:
    """All numbers of a part as wanted, in ascending order."""
    return sorted((each for one in part.results() for each in _wanted_of(*one, wish)), key=float)


def _wanted_of(row: Characteristic, line: Line, result: Result, wish: Wish) -> list[str]:
    """The numbers of one result as wanted, in ascending order."""
    return [result_wanted(number, row.requirement, wish) for number in result_numbers(line, result)]


def _result(telling: Telling, part: _Part, wish: Wish) -> Said:
    results, numbers = part.results(), _wanted(part, wish)
    told = (_in_words(telling, row, line, result, wish) for row, line, result in results if result.text)
    texts = list(dict.fromkeys(told))
    if len(numbers) == 1 and len(texts) <= 1:
        return _number(numbers[0])
    if not numbers or any(not result_numbers(line, result) for _, line, result in results if result.text):
        return Said("; ".join(texts))
    if len(results) == 1:
        return Said(f"{numbers[0]} … {numbers[-1]}")
    spread = telling.teller.word("report.spread", low=numbers[0], high=numbers[-1], n=len(results))
    out = [
        f"{row.number}: {' … '.join(_wanted_of(row, line, result, wish)) or result.text}"
        for row, line, result in results
        if result.state == Verdict.NOT_CONFORMING
    ]
    return Said("; ".join((spread, *out)))


def _in_words(telling: Telling, row: Characteristic, line: Line, result: Result, wish: Wish) -> str:
    """A result that is told in words, the two sizes of gauge pins in the unit that is wanted."""
    unit = unit_wanted(row.requirement, wish)
    if unit == row.requirement.unit or result_numbers(line, result):
        return result.text
    sizes = [each.number for each in line.values if each.serial == result.serial and each.counts and each.number]
    for entered, stopped in permutations(sizes, 2):
        if telling.teller.word("report.pins", entered=entered, stopped=stopped) == result.text:
            wanted = (result_wanted(each, row.requirement, wish) for each in (entered, stopped))
            return telling.teller.word("report.pins", **dict(zip(("entered", "stopped"), wanted, strict=True)))
    return result.text


def _end(last: bool) -> Callable[[Telling, _Part, Wish], Said]:
    def tell(_telling: Telling, part: _Part, wish: Wish) -> Said:
        numbers = _wanted(part, wish)
        return _number(numbers[-1 if last else 0]) if numbers else NOTHING

    return tell


def _deviation(telling: Telling, part: _Part, wish: Wish) -> Said:
    nominal, numbers = _nominal(telling, part.item, wish).number, _wanted(part, wish)
    if not nominal or not numbers:
        return NOTHING
    farthest = max(numbers, key=lambda number: abs(float(between(number, nominal))))
    return _number(between(farthest, nominal))


def _uncertainty(_telling: Telling, part: _Part, wish: Wish) -> Said:
    found = [(row, result.expanded) for row, _, result in part.results() if result.expanded]
    if not found:
        return NOTHING
    row, expanded = max(found, key=lambda each: float(each[1]))
    free = Requirement("", Form.REFERENCE, row.requirement.kind, row.requirement.unit, row.requirement.decimals)
    return _number(result_wanted(expanded, free, Wish(wish.unit)))


def _worst(part: _Part) -> Verdict | None:
    states = [Verdict(result.state) for _, _, result in part.results()]
    return min(states, key=WORST_FIRST.index) if states else None


def _verdict(telling: Telling, part: _Part, _wish: Wish) -> Said:
    """The customer's word for the worst of it; nothing for what is not judged where the customer has no word for it."""
    worst, agreed = _worst(part), [each for each in RESULT_WORDS if each in telling.layout.words]
    if worst is None or (worst is Verdict.NOT_JUDGED and agreed and WORD_OF[worst] not in agreed):
        return NOTHING
    return telling.word(worst)


def _mark(word: str) -> Callable[[Telling, _Part, Wish], Said]:
    def tell(telling: Telling, part: _Part, _wish: Wish) -> Said:
        worst = _worst(part)
        return telling.mark if worst is not None and WORD_OF[worst] == word else NOTHING

    return tell


def _of_instruments(tell: Callable[[Instrument], str]) -> Callable[[Telling, _Part, Wish], Said]:
    def joined(telling: Telling, part: _Part, _wish: Wish) -> Said:
        return Said(" + ".join(dict.fromkeys(filter(None, map(tell, telling.instruments(part))))))

    return joined


def _day_of_instruments(tell: Callable[[Instrument], str]) -> Callable[[Telling, _Part, Wish], Said]:
    """A day of the instruments' calibration: as a day where all have the same, else each with its tag."""

    def joined(telling: Telling, part: _Part, _wish: Wish) -> Said:
        days = {one.tag: day for one in telling.instruments(part) if (day := tell(one))}
        if len(set(days.values())) == 1:
            return telling.day(next(iter(days.values())))
        return Said("; ".join(f"{tag} {telling.day(day).text}" for tag, day in days.items()))

    return joined


def _who(telling: Telling, part: _Part, _wish: Wish) -> Said:
    return Said(", ".join(dict.fromkeys(telling.teller.person(each.by) for each in telling.readings(part))))


def _when(telling: Telling, part: _Part, _wish: Wish) -> Said:
    """The day of the last reading."""
    days = [reading.day or telling.teller.day(reading.taken) for reading in telling.readings(part)]
    return telling.day(max(days)) if days else NOTHING


def _nonconformance(telling: Telling, part: _Part, _wish: Wish) -> Said:
    rows, pieces = {row.identity for row in part.item.rows}, {piece.identity for piece in part.pieces}
    held = telling.sheet.nonconformances.values()
    return Said(", ".join(each.number for each in held if each.piece in pieces and rows.intersection(each.rows)))


def _note(telling: Telling, part: _Part, _wish: Wish) -> Said:
    rows, pieces = {row.identity for row in part.item.rows}, {piece.identity for piece in part.pieces} | {""}
    mine = (note for note in telling.sheet.notes if note.characteristic in rows and note.piece in pieces)
    return Said("; ".join(note.text for note in mine))


_OF_RESULT: Mapping[str, Callable[[Telling, _Part, Wish], Said]] = {
    "result": _result,
    "smallest": _end(last=False),
    "largest": _end(last=True),
    "deviation": _deviation,
    "uncertainty": _uncertainty,
    "verdict": _verdict,
    "accept": _mark("conforming"),
    "reject": _mark("not conforming"),
    "instrument": _of_instruments(lambda one: f"{one.tag} {one.name}".strip()),
    "instrument_tag": _of_instruments(lambda one: one.tag),
    "calibrated_on": _day_of_instruments(lambda one: one.certified),
    "calibration_due": _day_of_instruments(lambda one: one.due),
    "certificate": _of_instruments(lambda one: one.certificate),
    "measured_by": _who,
    "measured_on": _when,
    "nonconformance": _nonconformance,
    "note": _note,
}

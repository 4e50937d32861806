"""What a sheet lacks in its rows, readings and instruments, and in its signature."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.complete import counted, open_points
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.measuring.reading import Reading, Role
from inspection.measuring.verdict import IN_DOUBT, Judgement, Verdict
from inspection.quantity.units import UNITS
from inspection.sheet.cells import open_cells
from inspection.sheet.missing_table import Missing, lack, lack_rows, severities
from inspection.sheet.nonconformance_life import named_by
from inspection.sheet.state import Cell, Sheet, Shop

#: Kinds that no calibration is asked of: what is seen, and what only carries a size to another instrument.
_WITHOUT_DUE = frozenset({InstrumentKind.EYE, InstrumentKind.SMALL_HOLE_GAUGE, InstrumentKind.TELESCOPING_GAUGE})
_ATTRIBUTES = frozenset({Role.GO, Role.NOT_GO, Role.FINDING})
_PINS = frozenset({Role.ENTERS, Role.STOPS})  # two sizes, and the result lies between


def of_rows(shop: Shop, sheet: Sheet) -> Iterator[Missing]:
    """Signature, open rows, questions, verdicts to be named, and how the rows were read."""
    if not sheet.sealed:
        yield lack("unsigned")
    yield from lack_rows("rows_open", (sheet.characteristic(row).number for row, _ in open_cells(sheet)))
    questions = sheet.open_questions()
    yield from lack_rows("questions", (sheet.characteristic(each.characteristic).number for each in questions))
    judged = tuple(_judged(sheet))
    yield from lack_rows("not_conforming", (row for row, _, at in judged if at.verdict is Verdict.NOT_CONFORMING))
    yield from lack_rows(
        "in_doubt", (row for row, cell, at in judged if at.verdict in IN_DOUBT and not _decided(sheet, cell))
    )
    yield from lack_rows("marginal", (row for row, _, at in judged if _by_instrument(at)))
    counting = [(sheet.characteristic(each.characteristic), each) for each in _counting(sheet)]
    yield from lack_rows("suspect", (row.number for row, each in counting if each.identity in sheet.suspect))
    yield from lack_rows("unproven", (row.number for row, each in counting if each.unproven))
    yield from lack_rows("attribute", (row.number for row, each in counting if _answered(row, each, _ATTRIBUTES)))
    yield from lack_rows("pins", (row.number for row, each in counting if _answered(row, each, _PINS)))
    yield from lack_rows("few_decimals", (row.number for row, each in counting if _coarse(row.requirement, each)))
    yield from _instruments(shop, counting)
    for reason in open_points(counted(sheet.plan)):
        yield Missing(reason, severities()["plan"])


def _counting(sheet: Sheet) -> Iterator[Reading]:
    for row in sheet.plan.characteristics:
        for piece in sheet.pieces:
            yield from sheet.counting(row.identity, piece.identity)


def _judged(sheet: Sheet) -> Iterator[tuple[str, Cell, Judgement]]:
    """Every verdict with its cell and the number of its row."""
    for row in sheet.plan.characteristics:
        for piece in sheet.pieces:
            yield row.number, (row.identity, piece.identity), sheet.judgement(row.identity, piece.identity)


def _decided(sheet: Sheet, cell: Cell) -> bool:
    """Whether somebody has decided what is done about what a cell came to."""
    held = named_by(sheet, cell)
    return held is not None and held.disposition is not None


def _by_instrument(judgement: Judgement) -> bool:
    """Whether the instrument makes a verdict marginal, and not the missing check alone, which is named by itself."""
    return judgement.verdict is Verdict.MARGINAL and not judgement.only_unproven


def _numeric(requirement: Requirement) -> bool:
    has_limit = requirement.lower is not None or requirement.upper is not None
    return has_limit and requirement.form not in (Form.NOTE, Form.THREAD)


def _answered(row: Characteristic, reading: Reading, roles: frozenset[Role]) -> bool:
    """Whether a numeric limit was answered so, and the plan does not give leave."""
    return _numeric(row.requirement) and not row.attribute_allowed and reading.slot.role in roles


def _coarse(requirement: Requirement, reading: Reading) -> bool:
    """Whether a number was written with a coarser last place than the limits have, in whatever unit."""
    if reading.count is None or reading.decimals is None or not _numeric(requirement):
        return False
    own, asked = UNITS[reading.unit].count, UNITS[requirement.unit].count
    coarser: bool = own * 10**requirement.decimals > asked * 10**reading.decimals
    same_system = reading.unit == requirement.unit
    # An inch place is 2.54 of a metric one: of two systems only a whole place less is coarser.
    return coarser if same_system else own * 10**requirement.decimals > 10 * asked * 10**reading.decimals


def _instruments(shop: Shop, counting: list[tuple[Characteristic, Reading]]) -> Iterator[Missing]:
    unnamed: list[str] = []
    without: dict[str, list[str]] = {}
    overdue: dict[tuple[str, str], list[str]] = {}
    for row, reading in counting:
        parts = [shop.issues.get((part.identity, part.issue)) for part in reading.method.parts]
        found = [part for part in parts if part is not None]
        if len(found) < len(parts) or not found or not all(part.tag for part in found):
            unnamed.append(row.number)
        for instrument in found:
            if not instrument.due and instrument.kind not in _WITHOUT_DUE:
                without.setdefault(_named(instrument), []).append(row.number)
            elif instrument.due and reading.day > instrument.due:
                overdue.setdefault((_named(instrument), instrument.due), []).append(row.number)
    yield from lack_rows("gauge_unnamed", unnamed)
    for name, numbers in without.items():
        yield from lack_rows("gauge_without_due", numbers, name=name)
    for (name, due), numbers in overdue.items():
        yield from lack_rows("gauge_overdue", numbers, name=name, due=due)


def _named(instrument: Instrument) -> str:
    return f"{instrument.tag} {instrument.name}".strip()

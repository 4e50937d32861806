"""What a sheet lacks in its rows, readings and instruments, and in its signature; not what its rows came to."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.complete import counted, open_points
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.measuring.reading import Reading, Role
from inspection.quantity.units import UNITS
from inspection.sheet.cells import open_cells
from inspection.sheet.missing_table import Missing, lack, lack_rows, severities
from inspection.sheet.missing_verdicts import asked_of, of_verdicts
from inspection.sheet.nonconformance_told import works_on
from inspection.sheet.points_marks import cells_of, found_out
from inspection.sheet.state import Sheet, Shop

#: Kinds that no calibration is asked of: what is seen, and what only carries a size to another instrument.
_WITHOUT_DUE = frozenset({InstrumentKind.EYE, InstrumentKind.SMALL_HOLE_GAUGE, InstrumentKind.TELESCOPING_GAUGE})
_ATTRIBUTES = frozenset({Role.GO, Role.NOT_GO, Role.FINDING})
_PINS = frozenset({Role.ENTERS, Role.STOPS})  # two sizes, and the result lies between


def of_rows(shop: Shop, sheet: Sheet) -> Iterator[Missing]:
    """Signature, open rows, questions, what the rows came to, and how the rows were read."""
    if not sheet.sealed:
        yield lack("unsigned")
    yield from _unsaid(sheet)
    yield from _open(sheet)
    questions = (each for each in sheet.open_questions() if asked_of(sheet, each.characteristic, each.piece))
    yield from lack_rows("questions", (sheet.characteristic(each.characteristic).number for each in questions))
    yield from of_verdicts(sheet)
    counting = [(sheet.characteristic(each.characteristic), each) for each in _counting(sheet)]
    yield from lack_rows("suspect", (row.number for row, each in counting if each.identity in sheet.suspect))
    for mark in sheet.marks.values():
        if mark.waits:
            numbers = (sheet.characteristic(row).number for row, _ in cells_of(sheet, mark))
            yield from lack_rows("marked", numbers, words=mark.words, tag=found_out(shop, mark).parts["tag"])
    yield from lack_rows("unproven", (row.number for row, each in counting if each.unproven))
    yield from lack_rows("attribute", (row.number for row, each in counting if _answered(row, each, _ATTRIBUTES)))
    yield from lack_rows("pins", (row.number for row, each in counting if _answered(row, each, _PINS)))
    yield from lack_rows("few_decimals", (row.number for row, each in counting if _coarse(row.requirement, each)))
    yield from _instruments(shop, counting)
    if sheet.only:
        return  # whether the plan answers its drawing is asked of the baseline
    for reason in open_points(counted(sheet.plan)):
        yield Missing(reason, severities()["plan"])


def _unsaid(sheet: Sheet) -> Iterator[Missing]:
    """What holds of the first article and does not stand in the sheet's signed PDF, which states something else."""
    held, said = sheet.documents.get(sheet.round), sheet.first_article
    if held is not None and said is not None and said.digest not in held.signed:
        yield lack("unsaid_in_pdf", statement=f"statement.{said.kind.name.lower()}")


def _open(sheet: Sheet) -> Iterator[Missing]:
    """Rows without a result: never measured, or worked on since for a nonconformance and not measured again."""
    worked: dict[str, list[str]] = {}
    never: list[str] = []
    for cell in open_cells(sheet):
        before, number = sheet.before.get(cell), sheet.characteristic(cell[0]).number
        if before and cell not in sheet.standing:
            worked.setdefault(works_on(sheet, cell[1])[before[-1].round - 1].number, []).append(number)
        else:
            never.append(number)
    yield from lack_rows("rows_open", never)
    for no, numbers in worked.items():
        yield from lack_rows("rows_open_again", numbers, no=no)


def _counting(sheet: Sheet) -> Iterator[Reading]:
    for row in sheet.plan.characteristics:
        for piece in sheet.pieces:
            if asked_of(sheet, row.identity, piece.identity):
                yield from sheet.counting(row.identity, piece.identity)


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

"""A customer's layout: which cell of the customer's blank workbook takes which value of a sheet, one issue at a time.

It is a rule agreed with the customer, and kept like one: each change is a further issue, journaled.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from inspection.attached import Attached
from inspection.instruments.rules import plain_customer
from inspection.layout.cell_names import address
from inspection.quantity.speaker import FINEST
from inspection.reasons import Reason, Refused

#: Values of one material, special process or functional test, in the order in which the sheet tells them; a place says
#: of which, from 0, in its ``piece``.
PAPER_FIELDS = (
    "paper", "paper_specification", "paper_code", "paper_supplier", "paper_approved", "paper_certificate",
    "paper_procedure", "paper_acceptance",
)  # fmt: skip
#: Values of the head of which one of two answers holds; each is told in a word, or ticked in a box that stands for it.
#: Boxes of several may stand in the text of one cell.
ANSWERS = {
    "extent": ("full", "partial"),
    "article": ("complete", "not complete"),
    "detail": ("detail", "assembly"),
}
#: Boxes to tick, each with the answer that ticks it.
MARKS = {f"{answer.replace(' ', '_')}_mark": answer for pair in ANSWERS.values() for answer in pair}
#: The temperature in degrees of the scale that the form's own label names.
TEMPERATURES = {"temperature_celsius": "C", "temperature_fahrenheit": "F"}
#: Values of the head, as a sheet has them once. ``serial`` is of one piece, which its place names; ``partial_cause`` is
#: the cause of a partial first article and empty on a full one.
HEAD_FIELDS = (
    "shop", "customer", "supplier_code", "order", "order_line", "part", "part_revision", "part_name", "drawing",
    "drawing_revision", "changes", "standard", "material", "lot", "serials", "serial", "process", "machine", "detail",
    "extent", "baseline", "cause", "partial_cause", "temperature", *TEMPERATURES, "quantity", "unit", "verdict",
    "inspector", "inspected_on", "approver", "approved_on", "article", "article_by", "article_on", "released_by",
    "released_on", "released_within", *MARKS, "report", "nonconformances", "page", "pages", *PAPER_FIELDS,
)  # fmt: skip
#: Fields of the head that there are several of.
COUNTED = ("serial", *PAPER_FIELDS)
#: Values of a characteristic.
ROW_FIELDS = (
    "number", "requirement", "name", "kind", "sheet", "zone", "key", "condition", "count", "place", "tooling", "unit",
    "nominal", "nominal_asked", "plus", "minus", "lower_deviation", "tolerance", "lower", "upper",
)  # fmt: skip
#: Values of a characteristic on one piece, or on all of them together where a column names no piece.
RESULT_FIELDS = (
    "result", "smallest", "largest", "deviation", "uncertainty", "verdict", "accept", "reject", "instrument",
    "instrument_tag", "calibrated_on", "calibration_due", "certificate", "measured_by", "measured_on",
    "nonconformance", "note",
)  # fmt: skip
#: Values that have a unit, and that a layout may want in another.
MEASURES = frozenset(
    {"nominal", "nominal_asked", "plus", "minus", "lower_deviation", "tolerance", "lower", "upper", "result",
     "smallest", "largest", "deviation", "uncertainty"}
)  # fmt: skip
#: What a result can come to in a customer's words.
RESULT_WORDS = ("conforming", "not conforming", "in doubt", "open", "not judged")
#: All that a customer may have a word for; ``mark`` is what stands in a box that is ticked.
WORDS = (*RESULT_WORDS, *(answer for pair in ANSWERS.values() for answer in pair), "mark")
UNITS_WANTED = ("", "in", "mm")


class Grow(StrEnum):
    """What happens where a sheet has more rows than a table: rows are put in before its last one, and what stands
    below moves down; the worksheet is repeated, a page each; or it is refused."""

    ROWS = "rows"
    SHEETS = "sheets"
    NO = "no"


class HeadPlace(Struct, frozen=True):
    """Where a value of the head goes. ``prefix`` is a label that stands in the same cell and stays in front of it;
    ``piece`` counts from 0 and is meant where ``field`` is of one piece, or of one paper."""

    field: str
    sheet: str
    row: int
    column: int
    prefix: str = ""
    piece: int = 0


class Column(Struct, frozen=True):
    """A column of the table: its ``field``; ``piece`` (from 0) of results, -1 for all pieces; ``offset`` counts rows
    inside a block of several; ``unit`` is wanted whatever the layout's own (dual dimensions)."""

    field: str
    column: int
    piece: int = -1
    offset: int = 0
    unit: str = ""


class Table(Struct, frozen=True):
    """Where the characteristics go: from row ``first`` of a worksheet, ``rows`` of them, each ``height`` rows high.
    ``numbered`` names the row of each characteristic that the customer has written in beforehand."""

    sheet: str
    first: int
    rows: int
    columns: tuple[Column, ...]
    height: int = 1
    grow: Grow = Grow.ROWS
    numbered: tuple[tuple[str, int], ...] = ()

    @property
    def pieces(self) -> int:
        """How many pieces stand side by side; 0 where results of all pieces share a column."""
        return max((column.piece for column in self.columns), default=-1) + 1

    def blocks(self) -> int:
        """How many characteristics there is room for."""
        return len(self.numbered) or self.rows


class Layout(Struct, frozen=True, kw_only=True):
    """One issue of a customer's layout.

    ``identity`` and ``issue`` are given by the book. ``workbook`` is the customer's blank workbook, kept with it.
    ``words`` are the customer's, by those of ``WORDS``; ``unit`` is the system wanted (empty: as drawn);
    ``decimals`` are those wanted (None: the limits'), and only with ``outward`` is anything rounded to them, away from
    the middle of the band. ``pattern`` writes the places of one counted requirement as one row. ``day`` is how a day is
    written in a cell of text (strftime; empty: ISO). ``into_protected`` says that the customer allows it.
    """

    identity: str = ""
    issue: int = 0
    customer: str
    name: str
    workbook: Attached
    heads: tuple[HeadPlace, ...] = ()
    tables: tuple[Table, ...] = ()
    words: Mapping[str, str] = {}
    unit: str = ""
    decimals: int | None = None
    outward: bool = False
    pattern: bool = False
    day: str = ""
    into_protected: bool = False
    language: str = "en"


def check_layout(layout: Layout) -> None:
    """Raises Refused with every fault: no customer or name, nowhere to put a result, an unknown field, unit or word,
    a cell that is to take two values, a place outside any worksheet."""
    faults = list(_faults(layout))
    if faults:
        raise Refused(*faults)


def unplaced(layout: Layout) -> Iterator[Reason]:
    """What a reader of the filled form would miss: without numbers nobody finds a line's requirement on the drawing."""
    if not any(column.field == "number" for table in layout.tables for column in table.columns):
        yield Reason("layout.no_number")


def _faults(layout: Layout) -> Iterator[Reason]:
    if not layout.customer.strip():
        yield Reason("layout.no_customer")
    if not layout.name.strip():
        yield Reason("layout.no_name")
    if not any(column.field in RESULT_FIELDS for table in layout.tables for column in table.columns):
        yield Reason("layout.no_result")
    columns = [column for table in layout.tables for column in table.columns]
    known = {*ROW_FIELDS, *RESULT_FIELDS}
    for field in sorted({column.field for column in columns} - known):
        yield Reason("layout.field_unknown", {"field": field, "known": ", ".join((*ROW_FIELDS, *RESULT_FIELDS))})
    for field in sorted({place.field for place in layout.heads} - {*HEAD_FIELDS}):
        yield Reason("layout.field_unknown", {"field": field, "known": ", ".join(HEAD_FIELDS)})
    for unit in sorted({layout.unit, *(column.unit for column in columns)} - {*UNITS_WANTED}):
        yield Reason("layout.unit_unknown", {"unit": unit})
    for word in sorted({*layout.words} - {*WORDS}):
        yield Reason("layout.word_unknown", {"word": word, "known": ", ".join(WORDS)})
    if layout.decimals is not None and not 0 <= layout.decimals < FINEST:
        yield Reason("layout.decimals", {"most": FINEST - 1})
    yield from _places(layout)


def _places(layout: Layout) -> Iterator[Reason]:
    for table in layout.tables:
        if table.first < 1 or table.rows < 1 or table.height < 1:
            yield Reason("layout.table_nowhere", {"sheet": table.sheet})
        at = [(column.offset, column.column) for column in table.columns]
        for offset, column in sorted({place for place in at if at.count(place) > 1}):
            yield Reason("layout.twice", {"cell": address(table.first + offset, column), "sheet": table.sheet})
        if any(column.offset >= table.height or column.column < 1 for column in table.columns):
            yield Reason("layout.table_nowhere", {"sheet": table.sheet})
    cells = [(place.sheet, place.row, place.column) for place in layout.heads if place.field not in ANSWERS]
    cells += {(place.sheet, place.row, place.column) for place in layout.heads if place.field in ANSWERS}
    for sheet, row, column in sorted({cell for cell in cells if cells.count(cell) > 1}):
        yield Reason("layout.twice", {"cell": address(row, column), "sheet": sheet})


def issued(layout: Layout, held: Mapping[str, Layout], identity: str) -> Layout:
    """The layout as it is kept: with its identity and the next issue number. Raises Refused for an unknown one, or a
    name that another layout of the customer has."""
    check_layout(layout)
    if layout.identity and layout.identity not in held:
        raise Refused(Reason("layout.unknown"))
    name, customer = layout.name.strip(), layout.customer.strip()
    for other in of_customer(held.values(), customer):
        if other.identity != layout.identity and other.name.casefold() == name.casefold():
            raise Refused(Reason("layout.name_known", {"name": name, "customer": customer}))
    before = held.get(layout.identity)
    return replace(
        layout,
        identity=layout.identity or identity,
        issue=before.issue + 1 if before else 1,
        name=name,
        customer=customer,
    )


def of_customer(layouts: Iterable[Layout], customer: str) -> list[Layout]:
    """The layouts kept for a customer, whatever the name's capitals and spaces; the newest name last."""
    asked = plain_customer(customer)
    return [each for each in layouts if plain_customer(each.customer) == asked]

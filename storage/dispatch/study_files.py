"""A gauge study as files: its readings as a table, its result as pages with charts; the same bytes each time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

from inspection.reasons import Reason, Refused
from inspection.sheet.state import Shop
from inspection.sheet.study_page import StudyPage, StudySection, people_named
from inspection.studies.conducted import Conducted
from inspection.words.say import word
from storage.dispatch.blocks import Band, Cell, Row
from storage.dispatch.graph import Graph
from storage.dispatch.listing import Listing, write_listing
from storage.dispatch.pages import Pages
from storage.dispatch.pdf import paper_size
from storage.dispatch.plain_pages import across, body_of, check_glyphs, drawn
from storage.dispatch.setting import Run, set_text
from storage.files import write_file

TITLE, SECTION, TEXT = Run("", 16, bold=True), Run("", 10.5, bold=True), Run("", 8.5)
QUIET = Run("", 7.5, colour="quiet")
GAP = 8.0
#: The first column of a table is so much wider than another.
FIRST = 1.8
#: Height of a chart.
HIGH = 150.0
#: Columns of the table of readings.
COLUMNS = ("person", "part", "trial", "reading", "order", "taken", "reason")
#: So many facts stand side by side.
ABREAST = 4


def study_readings(shop: Shop, held: Conducted) -> Listing:
    """Every reading that counts, in the order in which they were to be taken; what was typed wrong stands in the book.
    The columns are those that a study is read from a file by. Raises Refused while anybody reads blind."""
    plan, names = held.plan, people_named(shop, held)
    if not held.is_told:
        raise Refused(Reason("gauge.refused.blind", {"title": plan.title}))
    rows = []
    for place, run in enumerate(plan.runs):
        reading = held.read(place)
        if reading is None:
            continue
        unit = reading.quantity.unit if reading.quantity is not None else ""
        told = reading.written if unit in reading.written else f"{reading.written} {unit}"
        at = datetime.fromtimestamp(reading.at / 1_000_000, UTC).isoformat(timespec="seconds")
        label = plan.specimens[run.specimen].label
        rows.append((names[run.person], label, str(run.trial + 1), told, str(place + 1), at, reading.reason))
    heads = tuple(word(f"gauge.column.{each}") for each in COLUMNS)
    return Listing(plan.title, heads, tuple(rows), shop=shop.name)


def write_study_csv(shop: Shop, held: Conducted, path: Path) -> str:
    """Write the readings to ``path`` (.csv, .xlsx) and return its SHA-256 in hex; raises as ``write_listing``."""
    return write_listing(study_readings(shop, held), path)


def write_study_pdf(page: StudyPage, path: Path, *, paper: str = "Letter") -> str:
    """Write the result to ``path`` and return the file's SHA-256 in hex. Raises Refused for a character that the
    typeface has no glyph for or an unknown paper, BookFailure where the disk does not take the file."""
    return write_file(path, study_bytes(page, paper=paper))


def study_bytes(page: StudyPage, *, paper: str = "Letter") -> bytes:
    """The result as PDF bytes; see ``write_study_pdf``."""
    size = paper_size(paper)
    check_glyphs(_texts(page), "listing.glyph")
    width, height = body_of(size)
    pages = Pages(height, Band(()), lambda number: number)
    pages.take([across(set_text(page.title, width, TITLE), width), *_facts(page.facts, width)])
    for section in page.sections:
        pages.take(_section(section, width))
    graphs = [Graph(HIGH, chart, page.unit, page.language) for chart in page.charts]
    pages.take(Row((Band((Cell(0, width, (graph,)),), pad=5),)) for graph in graphs)
    return drawn(page.title, page.shop, page.language, pages.pages, size)


def _facts(facts: Sequence[tuple[str, str]], width: float) -> Iterator[Row]:
    """Names and what they say, some side by side."""
    share = width / ABREAST
    for place in range(0, len(facts), ABREAST):
        cells = (
            Cell(at * share, share - GAP, (*set_text(name, share - GAP, QUIET), *set_text(text, share - GAP, TEXT)))
            for at, (name, text) in enumerate(facts[place : place + ABREAST])
        )
        yield Row((Band(tuple(cells)),))


def _section(section: StudySection, width: float) -> Iterator[Row]:
    head = across(set_text(section.head, width, SECTION), width)
    yield Row(head.bands, follows=True)
    if section.rows:
        yield Row((_cells(section.heads, width, QUIET),), ruled=True, follows=True)
    yield from (Row((_cells(row, width, TEXT),), ruled=True) for row in section.rows)
    yield from (across(set_text(text, width * 0.9, TEXT), width) for text in section.said)


def _cells(texts: Sequence[str], width: float, run: Run) -> Band:
    share = width / (len(texts) - 1 + FIRST)
    made, left = [], 0.0
    for place, text in enumerate(texts):
        room = share * (FIRST if place == 0 else 1)
        made.append(Cell(left, room - GAP, tuple(set_text(text, room - GAP, run))))
        left += room
    return Band(tuple(cell for cell in made if cell.items), pad=2)


def _texts(page: StudyPage) -> Iterator[str]:
    yield from (page.title, page.shop)
    yield from (text for pair in page.facts for text in pair)
    for section in page.sections:
        yield from (section.head, *section.heads, *section.said)
        yield from (text for row in section.rows for text in row)
    for chart in page.charts:
        yield word(f"gauge.chart.{chart.code}", page.language)
        yield from (text for _, text in (*chart.ticks, *chart.parted, *chart.ups))
        yield from (line.name for line in chart.lines)

"""The page that goes with the set-up sheet: what to fetch from the crib, and the route; the same bytes for the same
list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from inspection.sheet.pull_page import LegLine, PullLine, PullPage, TakeLine
from storage.dispatch.blocks import PAD, Band, Cell, Row
from storage.dispatch.pages import Page, Pages
from storage.dispatch.pdf import paper_size
from storage.dispatch.plain_pages import across, body_of, check_glyphs, drawn
from storage.dispatch.setting import Run, set_text
from storage.files import write_file

TITLE = Run("", 17, bold=True)
SECTION = Run("", 10.5, bold=True)
HEADS = Run("", 7, colour="quiet")
TEXT = Run("", 8.5)
STRONG = Run("", 9, bold=True)
SMALL = Run("", 7.5, colour="quiet")
MIND = Run("", 7.5, bold=True, colour="out")
GAP = 10.0
#: Columns of both tables: the heading's code and the share of the width.
FETCH = (
    ("label.order", 0.06), ("label.tag", 0.05), ("label.instrument", 0.17), ("label.place", 0.11),
    ("label.due", 0.085), ("label.sizes", 0.115), ("label.rows", 0.08), ("label.checks", 0.33),
)  # fmt: skip
#: What to take out of a set stands below its row, under the columns from the instrument's on.
TAKE = (("label.take", 0.17), ("label.made", 0.195), ("label.used", 0.195), ("label.doubt", 0.33))
INDENT = 0.11
ROUTE = (("label.order", 0.07), ("label.set_up", 0.16), ("label.instrument", 0.45), ("label.rows", 0.32))


def write_set_up_page(page: PullPage, path: Path, *, paper: str = "Letter") -> str:
    """Write the page to ``path`` and return the file's SHA-256 in hex.

    Raises Refused for a character that the typeface has no glyph for or an unknown paper, BookFailure where the disk
    does not take the file.
    """
    return write_file(path, set_up_bytes(page, paper=paper))


def set_up_bytes(page: PullPage, *, paper: str = "Letter") -> bytes:
    """The page as PDF bytes; see ``write_set_up_page``."""
    size = paper_size(paper)
    check_glyphs(_texts(page), "pull.glyph")
    return drawn(page.title, page.shop, page.language, _pages(page, *body_of(size)), size)


def _pages(page: PullPage, width: float, height: float) -> list[Page]:
    fetch = Pages(height, _heads(page, FETCH, width), lambda number: number)
    fetch.take([_title(page, width), _head(page, width), _section(page, "section.fetch", page.counts[0], width)])
    fetch.take(_pull(line, width) for line in page.pulls)
    fetch.take(across(set_text(lack, width * 0.8, MIND), width) for lack in page.lacks)
    route = Pages(height, _heads(page, ROUTE, width), lambda number: number)
    route.take([_section(page, "section.route", page.counts[1], width)])
    route.take(_row(_leg_cells(line), ROUTE, width) for line in page.legs)
    route.take(across(set_text(caution, width * 0.8, TEXT), width) for caution in page.cautions)
    return [*fetch.pages, *route.pages]


# --- rows -----------------------------------------------------------------------------------------------------

Texts = Sequence[tuple[str, Run]]


def _pull_cells(line: PullLine) -> tuple[Texts, ...]:
    return (
        ((line.stops, STRONG),),
        ((line.tag, STRONG),),
        ((line.instrument, TEXT), *((mind, MIND) for mind in line.minds)),
        ((line.place, TEXT),),
        ((line.due, TEXT),),
        tuple((size, TEXT) for size in line.sizes),
        ((line.rows, TEXT),),
        (("   ".join(f"☐\u00a0{check}" for check in line.checks), SMALL),),
    )


def _pull(line: PullLine, width: float) -> Row:
    """An instrument, and below it what to take out of it."""
    row = _row(_pull_cells(line), FETCH, width)
    taken = tuple(_band(_take_cells(take), TAKE, width, 1, INDENT * width) for take in line.takes)
    return Row((*row.bands, *taken), tabular=True, ruled=True)


def _take_cells(take: TakeLine) -> tuple[Texts, ...]:
    return ((take.size, STRONG),), ((take.made, TEXT),), ((take.used, TEXT),), ((take.doubt, SMALL),)


def _leg_cells(line: LegLine) -> tuple[Texts, ...]:
    return ((line.order, STRONG),), ((line.set_up, TEXT),), ((line.instrument, TEXT),), ((line.rows, TEXT),)


def _row(cells: Iterable[Texts], columns: Sequence[tuple[str, float]], width: float) -> Row:
    return Row((_band(cells, columns, width, pad=2),), tabular=True, ruled=True)


def _heads(page: PullPage, columns: Sequence[tuple[str, float]], width: float) -> Band:
    return _band([((page.labels[code], HEADS),) for code, _ in columns], columns, width)


def _band(
    cells: Iterable[Texts], columns: Sequence[tuple[str, float]], width: float, pad: float = PAD, left: float = 0.0
) -> Band:
    made = []
    for texts, (_, share) in zip(cells, columns, strict=True):
        room = share * width - GAP
        lines = tuple(line for text, run in texts for line in set_text(text, room, run))
        made.append(Cell(left, room, lines))
        left += share * width
    return Band(tuple(cell for cell in made if cell.items), pad)


def _title(page: PullPage, width: float) -> Row:
    return across(set_text(page.title, width, TITLE), width)


def _head(page: PullPage, width: float) -> Row:
    share = width / len(page.head)
    cells = tuple(
        Cell(place * share, share - GAP, (*set_text(name, share - GAP, HEADS), *set_text(text, share - GAP, TEXT)))
        for place, (name, text) in enumerate(page.head)
    )
    return Row((Band(cells),))


def _section(page: PullPage, code: str, count: str, width: float) -> Row:
    lines = [*set_text(page.labels[code], width, SECTION), *set_text(count, width, SMALL)]
    return Row(across(lines, width).bands, follows=True)


def _texts(page: PullPage) -> Iterator[str]:
    yield from (page.title, page.shop, *page.counts, *page.cautions, *page.labels.values())
    yield from (text for pair in page.head for text in pair)
    for line in page.pulls:
        yield from (line.stops, line.tag, line.instrument, line.place, line.due, line.rows)
        yield from (*line.sizes, *line.checks, *line.minds)
        yield from (text for take in line.takes for text in (take.size, take.made, take.used, take.doubt))
    yield from page.lacks
    for leg in page.legs:
        yield from (leg.order, leg.set_up, leg.instrument, leg.rows)

"""A reverse trace as a letter: pages to be signed by a person and sent, the same bytes for the same letter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from storage.dispatch.blocks import Band, Cell, Item, Row
from storage.dispatch.pages import Pages
from storage.dispatch.pdf import paper_size
from storage.dispatch.plain_pages import across, body_of, check_glyphs, drawn
from storage.dispatch.setting import Run, measure, set_text
from storage.files import write_file

TITLE = Run("", 16, bold=True)
SHOP = Run("", 9, colour="quiet")
LABEL = Run("", 7, colour="quiet")
FIELD = Run("", 9)
SECTION = Run("", 10, bold=True)
TEXT = Run("", 9)
SMALL = Run("", 8)
CELL = Run("", 8.5)
GRAVE = Run("", 8.5, bold=True)
GAP = 9.0
#: As wide as a line of running text may be to read well.
MEASURE = 620.0
FACTS = 4
#: Shares of the columns of a group's table, in the order of its cells.
SHARES = (0.06, 0.15, 0.15, 0.1, 0.15, 0.08, 0.08, 0.23)
#: Room for a hand to sign in.
LINE = 34.0


class Group(Struct, frozen=True):
    """Readings of one customer's part on one order: a ``head``, which ``sheets``, the cells of each reading that is to
    be looked at with what it came to (``states``, as ``Outcome``), and sentences on the ``others``."""

    head: str
    sheets: str
    rows: tuple[tuple[str, ...], ...]
    states: tuple[str, ...]
    others: tuple[str, ...]


class Letter(Struct, frozen=True):
    """The document: ``facts`` are label and value, ``said`` and ``cautions`` sentences, ``signature`` the labels of the
    lines that a person fills in by hand."""

    title: str
    shop: str
    facts: tuple[tuple[str, str], ...]
    said: tuple[str, ...]
    groups: tuple[Group, ...]
    cautions: tuple[str, ...]
    signature: tuple[str, ...]
    labels: Mapping[str, str]
    continued: str
    caution_head: str
    language: str = "en"


def write_letter(letter: Letter, path: Path, *, paper: str = "Letter") -> str:
    """Write the letter to ``path`` and return the file's SHA-256 in hex.

    Raises Refused for a character that the typeface has no glyph for or an unknown paper, BookFailure where the disk
    does not take the file.
    """
    return write_file(path, letter_bytes(letter, paper=paper))


def letter_bytes(letter: Letter, *, paper: str = "Letter") -> bytes:
    """The letter as PDF bytes; see ``write_letter``."""
    size = paper_size(paper)
    check_glyphs(_texts(letter), "trace.glyph")
    width, height = body_of(size)
    heads = Band(tuple(_cells(tuple(letter.labels.values()), [LABEL] * len(letter.labels), width)), pad=3)
    pages = Pages(height, heads, lambda _number: letter.continued)
    pages.take(_opening(letter, width))
    for group in letter.groups:
        pages.take(_group(letter, group, heads, width))
    pages.take(_closing(letter, width))
    return drawn(letter.title, letter.shop, letter.language, pages.pages, size)


def _texts(letter: Letter) -> Iterator[str]:
    yield from (letter.title, letter.shop, *letter.said, *letter.cautions, *letter.signature, *letter.labels.values())
    yield from (text for pair in letter.facts for text in pair)
    for group in letter.groups:
        yield from (group.head, group.sheets, *group.others, *(cell for row in group.rows for cell in row))


def _opening(letter: Letter, width: float) -> Iterator[Row]:
    """Title, facts side by side, and what is said of the whole."""
    yield across(set_text(letter.title, width, TITLE), width)
    room = (width - GAP * (FACTS - 1)) / FACTS
    for start in range(0, len(letter.facts), FACTS):
        cells = [
            Cell(place * (room + GAP), room, (*set_text(label, room, LABEL), *set_text(text, room, FIELD)))
            for place, (label, text) in enumerate(letter.facts[start : start + FACTS])
        ]
        yield Row((Band(tuple(cells), pad=3),))
    for text in letter.said:
        yield across(set_text(text, min(width, MEASURE), TEXT), width)


def _group(letter: Letter, group: Group, heads: Band, width: float) -> Iterator[Row]:
    """A heading, the readings to be looked at as a table, and what is said of the others below it."""
    head = (*set_text(group.head, width, SECTION), *set_text(group.sheets, width, SMALL))
    yield Row((Band((Cell(0, width, head),), pad=7),), follows=True)
    for row, state in zip(group.rows, group.states, strict=True):
        last = GRAVE if state == "taken_out" else CELL
        runs = [CELL] * (len(row) - 1) + [last]
        yield Row((Band(tuple(_cells(row, runs, width)), pad=2.5),), heads=heads, ruled=True)
    below: list[Item] = [line for text in group.others for line in set_text(text, min(width, MEASURE), SMALL)]
    yield Row((Band((Cell(0, width, tuple(below)),), pad=4),))


def _closing(letter: Letter, width: float) -> Iterator[Row]:
    """Cautions, and lines for a person to sign on, all of it together."""
    yield Row((Band((Cell(0, width, tuple(set_text(letter.caution_head, width, SECTION))),), pad=7),), follows=True)
    for text in letter.cautions:
        yield Row((Band((Cell(0, width, tuple(set_text(text, min(width, MEASURE), SMALL))),), pad=2),), follows=True)
    room = (width - GAP * (len(letter.signature) - 1)) / len(letter.signature)
    ruled = [
        Cell(place * (room + GAP), room, tuple(_signed_on(label, room))) for place, label in enumerate(letter.signature)
    ]
    yield Row((Band(tuple(ruled), pad=LINE / 2),))


def _signed_on(label: str, room: float) -> list[Item]:
    """A line to write on as wide as its column, and what is written there below it."""
    dashes = "_" * int(room / measure("_", SMALL.size))
    return [*set_text(dashes, room + 1, SMALL), *set_text(label, room, LABEL)]


def _cells(texts: Sequence[str], runs: Sequence[Run], width: float) -> Iterator[Cell]:
    free, left = width - GAP * (len(SHARES) - 1), 0.0
    for text, run, share in zip(texts, runs, SHARES, strict=True):
        lines = set_text(text, share * free, run)
        if lines:
            yield Cell(left, share * free, tuple(lines))
        left += share * free + GAP

"""A block of cells as the text that spreadsheets put on the clipboard: tabs between cells, a line a row."""

from __future__ import annotations

import re

Block = tuple[tuple[str, ...], ...]
"""Rows of cells."""

#: A cell in quotes (its own doubled) up to a tab, a line break or the end; else what stands up to the next of them.
_CELL = re.compile(r'"(?P<quoted>(?:[^"]|"")*)"(?=[\t\r\n]|\Z)|(?P<plain>[^\t\r\n]*)')
_BREAK = re.compile(r"\r\n|\r|\n")


def block_of(text: str) -> Block:
    """The cells of a text from the clipboard. A break at its very end begins no further row; a quoted cell may hold
    tabs and breaks; quotes that enclose no whole cell are signs like any other (``1/2" PIPE``).

    >>> block_of('7\\t"BREAK\\nEDGES"\\r\\n8\\t.500\\r\\n')
    (('7', 'BREAK\\nEDGES'), ('8', '.500'))
    """
    rows: list[tuple[str, ...]] = []
    cells: list[str] = []
    at, end = 0, len(text)
    while at < end or cells:
        found = _CELL.match(text, at)
        assert found is not None  # the plain part may be empty
        quoted = found["quoted"]
        cells.append(found["plain"] if quoted is None else _one_break(quoted.replace('""', '"')))
        at = found.end()
        if text[at : at + 1] == "\t":
            at += 1
            continue
        rows.append(tuple(cells))
        cells = []
        broken = _BREAK.match(text, at)
        at = broken.end() if broken else end
    return tuple(rows)


def _one_break(text: str) -> str:
    return _BREAK.sub("\n", text)


def text_of(block: Block) -> str:
    """A block as the text that a spreadsheet takes; ``block_of`` gives the block again (breaks in cells as ``\\n``).

    >>> text_of((("7", 'a "b"'), ("8", "c\\td")))
    '7\\ta "b"\\n8\\t"c\\td"\\n'
    """
    return "".join("\t".join(map(_cell, row)) + "\n" for row in block)


def _cell(text: str) -> str:
    if text.startswith('"') or any(sign in text for sign in "\t\r\n"):
        return '"' + text.replace('"', '""') + '"'
    return text

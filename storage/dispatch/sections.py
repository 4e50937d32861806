"""What stands before and after the table of a printed sheet: title, head, count; signatures, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from msgspec.structs import replace

from inspection.sheet.chain_head import ChainHead
from inspection.sheet.report import Report, Signed, Stated
from storage.dispatch.blocks import Band, Cell, Row
from storage.dispatch.columns import Columns
from storage.dispatch.labels import label, phrase
from storage.dispatch.setting import Run, TextLine, set_text

TITLE = Run("", 17, bold=True)
SHOP = Run("", 9, colour="quiet")
STANDING = Run("", 9, bold=True)
LABEL = Run("", 6.8, colour="quiet")
FIELD = Run("", 9)
COUNT = Run("", 10, bold=True)
SECTION = Run("", 10, bold=True)
TEXT = Run("", 8)
HEAD_COLUMNS = 5
CARDS = 3
GUTTER = 14.0
T = TypeVar("T")
#: As wide as a line of running text may be to read well.
MEASURE = 560.0


def opening(report: Report, width: float) -> list[Row]:
    """Title, head and count."""
    rows = [_title(report, width), *_head(report, width)]
    if report.totals:
        first, *more = report.totals
        lines = set_text(first, width, COUNT) + set_text("  ".join(more), width, TEXT)
        rows.append(_across(lines, width, pad=5))
    return rows


def table_heads(report: Report, columns: Columns) -> Band:
    """The headings of the table, repeated on every page that holds rows."""
    named = [
        (columns.number, label(report, "number")),
        (columns.zone, label(report, "zone")),
        (columns.requirement, label(report, "requirement")),
        (columns.limits, label(report, "limits")),
        (columns.instrument, label(report, "instrument")),
        (columns.strip, label(report, "strip")),
        (columns.verdict, label(report, "verdict")),
    ]
    if columns.grid or not report.serials:
        named.append((columns.pieces[0], label(report, "readings")))
    else:
        named += [(column, f"{label(report, 'serial')} {serial}") for column, serial in zip(
            columns.pieces, report.serials, strict=True)]  # fmt: skip
    return Band(tuple(Cell(c.left, c.width, tuple(set_text(text, c.width, LABEL))) for c, text in named), pad=3)


def closing(report: Report, width: float) -> list[Row]:
    """Signatures with what they cover, then the cautions."""
    rows = [section(label(report, "signatures"), width)]
    if not report.signatures:
        rows.append(_across(set_text(label(report, "unsigned"), MEASURE, TEXT), width))
    for group in _groups(report.signatures, CARDS):
        rows.append(_side_by_side([_card(report, signed, _share(width, CARDS)) for signed in group], width, CARDS))
    if report.statements:
        rows.append(section(label(report, "statements"), width))
    for made in _groups(report.statements, CARDS):
        rows.append(_side_by_side([_statement(report, each, _share(width, CARDS)) for each in made], width, CARDS))
    if report.chain is not None:
        rows.append(_across(set_text(chain_told(report, report.chain), MEASURE, TEXT), width, pad=5))
    if report.cautions:
        rows.append(section(label(report, "cautions"), width))
        cautions = [_across(set_text(caution, MEASURE, TEXT), width, pad=1) for caution in report.cautions]
        rows += [*(replace(row, follows=True) for row in cautions[:-1]), cautions[-1]]  # all on one page
    return rows


def chain_told(report: Report, chain: ChainHead) -> str:
    """The head of the book's chain, to be typed by whoever checks the book against this file."""
    return phrase(report, "chain", head=chain.told)


def _title(report: Report, width: float) -> Row:
    standing = label(report, "sealed" if report.sealed else "unsealed")
    right = _share(width, HEAD_COLUMNS)
    told = set_text(report.shop, right, SHOP) + set_text(standing, right, STANDING)
    cells = (
        Cell(0, width - right - GUTTER, tuple(set_text(report.title, width - right - GUTTER, TITLE))),
        Cell(width - right, right, tuple(told)),
    )
    return Row((Band(cells, pad=2),))


def _head(report: Report, width: float) -> list[Row]:
    share = _share(width, HEAD_COLUMNS)
    fields = [[*set_text(name, share, LABEL), *set_text(text or "–", share, FIELD)] for name, text in report.head]
    return [_side_by_side(group, width, HEAD_COLUMNS) for group in _groups(fields, HEAD_COLUMNS)]


def _card(report: Report, signed: Signed, width: float) -> list[TextLine]:
    found = set_text(signed.statement, width, STANDING)
    found += set_text(signed.person, width, FIELD) + set_text(signed.when, width, TEXT)
    for code, text in (("digest", signed.digest), ("certificate", signed.certificate)):
        if text:
            found += set_text(label(report, code), width, LABEL) + set_text(text, width, LABEL)
    return found


def _statement(report: Report, made: Stated, width: float) -> list[TextLine]:
    """What was stated in whose words, and the seal that it speaks of."""
    found = set_text(made.statement, width, STANDING)
    found += set_text(made.person, width, FIELD) + set_text(made.when, width, TEXT)
    found += set_text(made.replaced, width, FIELD) + set_text(made.replaces, width, TEXT)
    found += set_text(f"“{made.words}”" if made.words else "", width, FIELD) + set_text(made.own, width, TEXT)
    for reason in made.reasons:
        found += set_text(reason, width, TEXT)
    for code in ("seal", "baseline_seal", "digest", "certificate"):
        text = made.baseline if code == "baseline_seal" else getattr(made, code)
        if text:
            found += set_text(label(report, code), width, LABEL) + set_text(text, width, LABEL)
    return found


def section(text: str, width: float) -> Row:
    """The heading of a part of the sheet, which stays with what follows."""
    return Row(_across(set_text(text, width, SECTION), width, pad=6).bands, follows=True)


def _across(lines: list[TextLine], width: float, pad: float = 2) -> Row:
    return Row((Band((Cell(0, width, tuple(lines)),), pad=pad),))


def _side_by_side(stacks: Sequence[list[TextLine]], width: float, columns: int) -> Row:
    share = _share(width, columns)
    cells = tuple(Cell(place * (share + GUTTER), share, tuple(stack)) for place, stack in enumerate(stacks))
    return Row((Band(cells, pad=3),))


def _share(width: float, columns: int) -> float:
    return (width - GUTTER * (columns - 1)) / columns


def _groups(things: Sequence[T], size: int) -> list[Sequence[T]]:
    return [things[start : start + size] for start in range(0, len(things), size)]

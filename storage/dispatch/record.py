"""The rest of the record on the printed sheet: sub-items, materials, special processes and functional tests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inspection.quantity.speaker import ABOUT
from inspection.sheet.evidence import EvidenceKind
from inspection.sheet.report import EvidenceLine, Report
from storage.dispatch.blocks import Row
from storage.dispatch.labels import label, phrase
from storage.dispatch.ruled_table import Column, left, room, table
from storage.dispatch.sections import FIELD, TEXT
from storage.dispatch.setting import Run, TextLine, set_text
from storage.dispatch.style import mark_of

SMALL = Run("", 7, colour="quiet")
NOTE = Run("", 7.5)
#: Sections in print order, and the heading of each.
SECTIONS = {
    EvidenceKind.MATERIAL: "materials",
    EvidenceKind.PROCESS: "processes",
    EvidenceKind.TEST: "tests",
    EvidenceKind.DRAWING: "drawings",
}

_PAPERS: tuple[Column, ...] = (
    ("number", 5),
    ("evidence_name", 19),
    ("specification", 16),
    ("specification_revision", 8),
    ("code", 11),
    ("supplier", 17),
    ("approved", 9),
    ("evidence_certificate", 15),
)
_TESTS: tuple[Column, ...] = (
    ("number", 5),
    ("evidence_name", 17),
    ("specification", 17),
    ("required", 12),
    ("test_limits", 14),
    ("test_result", 12),
    ("test_verdict", 11),
    ("supplier", 12),
)
_DRAWINGS: tuple[Column, ...] = (("number", 5), ("evidence_name", 55), ("specification_revision", 40))
_SUB_ITEMS: tuple[Column, ...] = (
    ("part_number", 20),
    ("part_revision", 8),
    ("evidence_name", 30),
    ("item_serial", 16),
    ("proof", 26),
)


def record(report: Report, width: float) -> Iterator[Row]:
    """Every table that has something to show, each under a heading and its own heads."""
    if report.sub_items:
        cells = [(i.number, i.revision, i.name, i.serial, i.sheet) for i in report.sub_items]
        rows = [[[*set_text(text, room(width, _SUB_ITEMS, at), FIELD)] for at, text in enumerate(r)] for r in cells]
        yield from table(report, "sub_items", _SUB_ITEMS, rows, [[] for _ in rows], width)
    for kind, code in SECTIONS.items():
        lines = [line for line in report.evidence if line.kind == kind]
        if lines:
            columns, told = _OF_KIND.get(kind, (_PAPERS, _paper))
            rows = [told(report, line, columns, width) for line in lines]
            yield from table(report, code, columns, rows, [_below(report, line, width) for line in lines], width)


# --- one line -----------------------------------------------------------------------------------------------------


def _paper(report: Report, line: EvidenceLine, columns: Sequence[Column], width: float) -> list[list[TextLine]]:
    texts = (line.number, line.name, line.specification, line.revision, line.code, line.supplier, line.approved)
    found = [set_text(text, room(width, columns, at), FIELD) for at, text in enumerate(texts)]
    last = room(width, columns, len(texts))
    return [*found, [*set_text(line.certificate, last, FIELD), *set_text(line.certified, last, SMALL)]]


def _test(report: Report, line: EvidenceLine, columns: Sequence[Column], width: float) -> list[list[TextLine]]:
    specification = " ".join(filter(None, (line.specification, line.revision)))
    texts = (line.number, line.name, specification, line.required, _limits(line), line.result)
    found = [set_text(text, room(width, columns, at), FIELD) for at, text in enumerate(texts)]
    source = room(width, columns, len(texts) + 1)
    supplier = set_text(line.supplier, source, FIELD)
    approved = f"{label(report, 'approved')}: {line.approved}" if line.supplier else ""
    verdict = _verdict(line, room(width, columns, len(texts)))
    return [*found, verdict, [*supplier, *set_text(approved, source, SMALL)]]


def _drawing(report: Report, line: EvidenceLine, columns: Sequence[Column], width: float) -> list[list[TextLine]]:
    texts = (line.number, line.name, line.revision)
    return [set_text(text, room(width, columns, at), FIELD) for at, text in enumerate(texts)]


_OF_KIND = {EvidenceKind.TEST: (_TESTS, _test), EvidenceKind.DRAWING: (_DRAWINGS, _drawing)}


def _limits(line: EvidenceLine) -> str:
    """Both limits with their unit behind the second, or the one there is with its sign."""
    if line.lower and line.upper:
        unit = line.upper.removeprefix(f"{ABOUT} ").partition(" ")[2]
        return f"{line.lower.removesuffix(f' {unit}')} … {line.upper}"
    if line.upper:
        return f"≤ {line.upper}"
    return f"≥ {line.lower}" if line.lower else ""


def _verdict(line: EvidenceLine, width: float) -> list[TextLine]:
    mark = mark_of(line.state)
    loud = line.state == "not conforming"
    style = Run("", TEXT.size, loud, mark.colour if loud else "ink")
    return set_text(f"{mark.mark} {line.verdict}", width, style)


def _below(report: Report, line: EvidenceLine, width: float) -> list[TextLine]:
    """What stands below a line: a test's papers, the attached files with their digests, the note."""
    wide = width - left(width, _PAPERS, 1)
    found: list[TextLine] = []
    if line.kind == EvidenceKind.TEST:
        papers = [
            f"{label(report, code)} {text}"
            for code, text in (
                ("code", line.code),
                ("evidence_certificate", line.certificate),
                ("certified", line.certified),
            )
            if text
        ]
        found += set_text(", ".join(papers), wide, SMALL)
    for name, digest in line.files:
        found += set_text(phrase(report, "attached", name=name, digest=digest), wide, SMALL)
    if line.note:
        found += set_text(f"{label(report, 'note')}  {line.note}", wide, NOTE)
    return found

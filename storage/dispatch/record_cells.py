"""The rest of the record as tables of a workbook."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inspection.sheet.evidence import EvidenceKind
from inspection.sheet.report import EvidenceLine, Report
from storage.dispatch.cells import Entry
from storage.dispatch.labels import label
from storage.dispatch.style import mark_of

Table = tuple[str, list[str], list[list[Entry]]]
"""The code of a table's name, its heads and its rows."""

_PAPERS = (
    "evidence_name", "number", "specification", "specification_revision", "code", "supplier", "approved",
    "evidence_certificate", "certified", "files", "file_digest", "note",
)  # fmt: skip
_TESTS = (*_PAPERS[:5], "required", "lower", "upper", "test_result", "test_verdict", *_PAPERS[5:])
_DRAWINGS = ("evidence_name", "specification_revision", "files", "file_digest", "note")
_OF_KIND: dict[EvidenceKind, tuple[str, ...]] = {EvidenceKind.TEST: _TESTS, EvidenceKind.DRAWING: _DRAWINGS}
_SUB_ITEMS = ("part_number", "part_revision", "evidence_name", "item_serial", "proof")


def record_tables(report: Report) -> Iterator[Table]:
    """Every table that has something to show. A limit or result keeps its unit and is a text, for units differ from
    row to row."""
    for kind, code in (
        (EvidenceKind.MATERIAL, "materials"),
        (EvidenceKind.PROCESS, "processes"),
        (EvidenceKind.TEST, "tests"),
        (EvidenceKind.DRAWING, "drawings"),
    ):
        lines = [line for line in report.evidence if line.kind == kind]
        if lines:
            heads = _OF_KIND.get(kind, _PAPERS)
            yield code, _labels(report, heads), [_row(report, line, heads) for line in lines]
    if report.sub_items:
        rows = [
            [_entry(report, "sub_items", each.number, getattr(each, field)) for field in each.__struct_fields__]
            for each in report.sub_items
        ]
        yield "sub_items", _labels(report, _SUB_ITEMS), rows


def _labels(report: Report, codes: Sequence[str]) -> list[str]:
    return [label(report, code) for code in codes]


def _row(report: Report, line: EvidenceLine, heads: Sequence[str]) -> list[Entry]:
    texts = {
        "evidence_name": line.name,
        "number": line.number,
        "specification": line.specification,
        "specification_revision": line.revision,
        "code": line.code,
        "required": line.required,
        "lower": line.lower,
        "upper": line.upper,
        "test_result": line.result,
        "supplier": line.supplier,
        "approved": line.approved,
        "evidence_certificate": line.certificate,
        "certified": line.certified,
        "files": "\n".join(name for name, _ in line.files),
        "file_digest": "\n".join(digest for _, digest in line.files),
        "note": line.note,
    }
    verdict = Entry(f"{mark_of(line.state).mark} {line.verdict}" if line.verdict else "", state=line.state)
    return [verdict if head == "test_verdict" else _entry(report, head, line.name, texts[head]) for head in heads]


def _entry(report: Report, head: str, name: str, text: str) -> Entry:
    return Entry(text, where=(name, label(report, head)))

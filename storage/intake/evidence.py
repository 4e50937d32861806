"""A file of materials, special processes and functional tests as values: one row each, with the files it names."""

from __future__ import annotations

from datetime import date
from typing import Any

from msgspec import Struct

from inspection.quantity.other_limits import OtherLimits, read_limits, read_result
from inspection.reasons import Part, Reason, Refused
from inspection.sheet.evidence import Approval, Evidence, EvidenceKind, Measurement
from inspection.sheet.measured import measurement
from storage.intake.faults import Faults
from storage.intake.grid import Row, names, plain, read_grid

MOST_ENTRIES = 2_000
REQUIRED = ("kind", "name")
#: Fields of an entry that are plain texts.
_TEXTS = ("number", "specification", "specification_revision", "code", "supplier", "certificate", "note")


class EvidenceRow(Struct, frozen=True):
    """One row: its number in the file, the entry, and the attached files that it names, as written."""

    row: int
    evidence: Evidence
    files: tuple[str, ...] = ()


def read_evidence(data: bytes, name: str) -> tuple[EvidenceRow, ...]:
    """The rows of a file, csv or workbook. Raises ``FileRefused`` with every fault by its cell."""
    grid, faults = read_grid(data, name, names("evidence"), REQUIRED, MOST_ENTRIES)
    cells = _Cells(grid.heads, faults)
    rows = tuple(cells.row(row) for row in grid.rows)
    if not rows and not faults.found:
        faults.note(0, "", Reason("intake.no_rows"))
    faults.settle()
    return rows


class _Cells:
    """Reads the cells of one file's rows, noting what is wrong with each."""

    def __init__(self, heads: dict[str, str], faults: Faults) -> None:
        self.heads = heads
        self.faults = faults

    def row(self, row: Row) -> EvidenceRow:
        cells = row.cells
        for field in REQUIRED:
            if field not in cells and field not in row.flawed:
                self._fault(row, field, Reason("intake.cell_empty", {"head": self.heads.get(field, field)}))
        kind = self._word(row, "kind", "evidence_kind")
        approved = self._word(row, "approved", "approved")
        measured = self._measured(row)
        texts: dict[str, Any] = {field: cells.get(field, "") for field in _TEXTS}
        evidence = Evidence(
            "",
            EvidenceKind[kind.upper()] if kind else EvidenceKind.TEST,
            cells.get("name", ""),
            **texts,
            approved=Approval[approved.upper()] if approved else Approval.UNDECIDED,
            certified=self._day(row),
            measurement=measured,
            passed=self._word(row, "passed", "yes_or_no"),
        )
        self._sense(row, evidence)
        files = tuple(filter(None, (file.strip() for file in cells.get("files", "").split(";"))))
        return EvidenceRow(row.number, evidence, files)

    def _sense(self, row: Row, evidence: Evidence) -> None:
        """What a rule of the sheet would refuse is told of its cell."""
        name: dict[str, Part] = {"name": evidence.name}
        if evidence.kind is not EvidenceKind.TEST and "kind" in row.cells:
            for field in ("required", "result", "passed"):
                if field in row.cells:
                    self._fault(row, field, Reason("evidence.measured_no_test", name))
        elif evidence.passed and evidence.measurement is not None:
            self._fault(row, "passed", Reason("evidence.passed_is_derived", name))

    def _measured(self, row: Row) -> Measurement | None:
        required, result = row.cells.get("required", ""), row.cells.get("result", "")
        if not required:
            if result and "required" not in row.flawed:
                self._fault(row, "result", Reason("quantity.nothing"))
            return None
        limits = self._limits(row, required)
        if limits is None or (result and not self._result(row, result, limits)):
            return None
        return measurement(required, result)

    def _limits(self, row: Row, required: str) -> OtherLimits | None:
        try:
            return read_limits(required)
        except Refused as refused:
            self._fault(row, "required", *refused.reasons)
            return None

    def _result(self, row: Row, result: str, limits: OtherLimits) -> bool:
        try:
            read_result(result, limits)
        except Refused as refused:
            self._fault(row, "result", *refused.reasons)
            return False
        return True

    def _day(self, row: Row) -> str:
        text = row.cells.get("certified", "")
        try:
            if not text or date.fromisoformat(text).isoformat() == text:
                return text
        except ValueError:
            pass
        self._fault(row, "certified", Reason("evidence.no_day", {"name": row.cells.get("name", ""), "text": text[:60]}))
        return ""

    def _word(self, row: Row, field: str, kind: str) -> str:
        """What a word of a cell stands for, empty for an empty cell or a word that is none."""
        text = row.cells.get(field, "")
        words = names(kind)
        found = next((key for key, known in words.items() if plain(text) in map(plain, known)), "") if text else ""
        if text and not found:
            known = ", ".join(each[0] for each in words.values())
            self._fault(row, field, Reason("intake.word_unknown", {"written": text[:60], "known": known}))
        return found

    def _fault(self, row: Row, field: str, *reasons: Reason) -> None:
        self.faults.note(row.number, self.heads.get(field, field), *reasons)

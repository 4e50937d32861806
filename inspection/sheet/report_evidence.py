"""Materials, special processes and functional tests as they go out."""

from __future__ import annotations

from inspection.measuring.verdict import Verdict
from inspection.sheet.evidence import Approval, Evidence, EvidenceKind
from inspection.sheet.measured import limit_texts, result_text, verdict
from inspection.sheet.report import EvidenceLine
from inspection.sheet.state import Sheet
from inspection.words.say import word


def evidence_lines(sheet: Sheet, language: str = "en") -> tuple[EvidenceLine, ...]:
    """Everything that stands on the sheet, kind after kind and in the order entered."""
    return tuple(
        evidence_line(each, language) for kind in EvidenceKind for each in sheet.evidence.values() if each.kind is kind
    )


def evidence_line(evidence: Evidence, language: str = "en") -> EvidenceLine:
    """One material, process or test as it goes out."""
    found, measured = verdict(evidence), evidence.measurement
    judged = found is not Verdict.NOT_JUDGED
    low, high = limit_texts(measured) if measured else ("", "")
    return EvidenceLine(
        kind=str(evidence.kind),
        name=evidence.name,
        number=evidence.number,
        specification=evidence.specification,
        revision=evidence.specification_revision,
        code=evidence.code,
        supplier=evidence.supplier,
        approved=_approved(evidence, language),
        certificate=evidence.certificate,
        certified=evidence.certified,
        required=measured.required if measured else "",
        lower=low,
        upper=high,
        result=result_text(measured) if measured else _passed(evidence, language),
        state=str(found) if judged else "",
        verdict=word(f"verdict.{found.name.lower()}", language) if judged else "",
        files=tuple((file.name, file.digest) for file in evidence.files),
        note=evidence.note,
    )


def _approved(evidence: Evidence, language: str) -> str:
    """Whether the customer approved the source; a test done in the house has none to approve."""
    inside = evidence.kind is EvidenceKind.TEST and not evidence.supplier.strip()
    if evidence.kind is EvidenceKind.DRAWING or (inside and evidence.approved is Approval.UNDECIDED):
        return ""
    return word(f"report.approved.{evidence.approved.name.lower()}", language)


def _passed(evidence: Evidence, language: str) -> str:
    return word(f"report.passed.{evidence.passed}", language) if evidence.passed else ""

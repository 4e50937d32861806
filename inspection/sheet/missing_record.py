"""What a sheet lacks in its head, and in its materials, special processes and functional tests."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime

from inspection.measuring.verdict import Verdict
from inspection.sheet.evidence import Approval, Evidence, EvidenceKind
from inspection.sheet.measured import limits_of, verdict
from inspection.sheet.missing_table import Missing, lack
from inspection.sheet.state import Sheet

_REVISION = re.compile(r"[\s,;:(]*\bREV(?:ISION)?\b\.?\s*:?\s*([A-Z0-9][A-Z0-9-]*)", re.IGNORECASE)


def of_head(sheet: Sheet) -> Iterator[Missing]:
    """What the head does not say."""
    head, part = sheet.head, sheet.plan.part
    told = {
        "customer": head.customer or part.customer,
        "order": head.order,
        "supplier_code": head.supplier_code,
        "part_revision": part.revision,
        "drawing_revision": part.drawing_revision,
        "process": head.process,
        "detail": head.detail,
        "cause": head.cause,
    }
    for name, text in told.items():
        if not text.strip():
            yield lack(name, field=name)
    if head.extent == "partial" and not head.baseline.strip():
        yield lack("baseline", field="baseline")
    yield from _sub_items(sheet)


def _sub_items(sheet: Sheet) -> Iterator[Missing]:
    items = sheet.head.sub_items
    if sheet.head.detail == "assembly" and not items:
        yield lack("sub_items", field="sub_items")
    for item in items:
        if not item.sheet.strip():
            yield lack("sub_item_unproven", field="sub_items", number=item.number)
    marked = Counter((item.number, item.serial) for item in items if item.serial.strip())
    for (number, serial), times in marked.items():
        if times > 1:
            yield lack("sub_item_twice", field="sub_items", number=number, serial=serial)


def of_evidence(sheet: Sheet) -> Iterator[Missing]:
    """What the papers of materials, processes and tests do not show."""
    kinds = {each.kind for each in sheet.evidence.values()}
    if sheet.plan.part.material.strip() and EvidenceKind.MATERIAL not in kinds and not sheet.only:
        yield lack("no_material", material=sheet.plan.part.material)
    for evidence in sheet.evidence.values():
        for missing in _of_one(sheet, evidence):
            yield Missing(missing.reason, missing.stops, missing.numbers, evidence.identity, missing.field)


def _of_one(sheet: Sheet, evidence: Evidence) -> Iterator[Missing]:
    name = evidence.name
    rows = {row.number: row for row in sheet.plan.characteristics}
    if evidence.number and evidence.number not in rows:
        yield lack("evidence_row", name=name, number=evidence.number)
    if evidence.kind is EvidenceKind.DRAWING:
        yield from _drawing(sheet, evidence)
        return
    if evidence.kind is EvidenceKind.TEST:
        yield from _test(sheet, evidence)
    else:
        yield from _papers(evidence)
    yield from _revision(sheet, evidence)
    yield from _source(evidence)
    yield from _late(sheet, evidence)


def _drawing(sheet: Sheet, evidence: Evidence) -> Iterator[Missing]:
    """Whether the drawing's file is there, and is of the revision that was measured by."""
    own, asked = evidence.specification_revision.strip(), sheet.plan.part.drawing_revision.strip()
    if not evidence.files:
        yield lack("drawing_file", name=evidence.name)
    if own and asked and own.casefold() != asked.casefold():
        yield lack("drawing_other", name=evidence.name, own=own, asked=asked)


def _papers(evidence: Evidence) -> Iterator[Missing]:
    name = evidence.name
    if not evidence.specification.strip():
        yield lack("specification", name=name)
    elif not evidence.specification_revision.strip():
        yield lack("specification_revision", name=name, specification=evidence.specification)
    if not evidence.certificate.strip():
        yield lack("certificate", name=name)
        return
    if not evidence.files:
        yield lack("certificate_file", name=name, certificate=evidence.certificate)
    if not evidence.certified:
        yield lack("certificate_day", name=name, certificate=evidence.certificate)


def _source(evidence: Evidence) -> Iterator[Missing]:
    """Who it came from, and whether the customer approved them. A test done in the house has no source to name."""
    inside = evidence.kind is EvidenceKind.TEST and not evidence.supplier.strip()
    if not inside and not evidence.supplier.strip():
        yield lack("supplier", name=evidence.name)
    if evidence.approved is Approval.NO:
        yield lack("not_approved", name=evidence.name, supplier=evidence.supplier or "–")
    elif evidence.approved is Approval.UNDECIDED and not inside:
        yield lack("undecided", name=evidence.name)


def _test(sheet: Sheet, evidence: Evidence) -> Iterator[Missing]:
    found, measured = verdict(evidence), evidence.measurement
    if found is Verdict.OPEN:
        yield lack("test_open", name=evidence.name)
    elif found is Verdict.NOT_CONFORMING:
        yield _not_conforming(sheet, evidence)
    if measured is not None and measured.decimals is not None:
        asked = limits_of(measured)
        if measured.decimals < asked.decimals:
            yield lack("test_few_decimals", name=evidence.name, written=measured.written, required=measured.required)


def _not_conforming(sheet: Sheet, test: Evidence) -> Missing:
    """What is to be borne in mind of a test that does not conform. A test has no nonconformance of its own: the row
    that asks for it may have one, and else its note speaks of the customer's decision."""
    asks = {row.identity for row in sheet.plan.characteristics if row.number == test.number}
    named = [each.number for each in sheet.nonconformances.values() if asks.intersection(each.rows)]
    if test.number and named:
        return lack("test_not_conforming_named", name=test.name, no=", ".join(named), number=test.number)
    if note := test.note.strip():
        return lack("test_not_conforming_noted", name=test.name, note=note)
    return lack("test_not_conforming", name=test.name)


def _revision(sheet: Sheet, evidence: Evidence) -> Iterator[Missing]:
    """The revision that the drawing names behind the specification, against the one on the papers."""
    asked = _asked_revision(sheet, evidence)
    own = evidence.specification_revision.strip()
    if asked and own and asked.casefold() != _bare(own).casefold():
        told = {"specification": evidence.specification, "asked": asked, "own": own}
        yield lack("other_revision", name=evidence.name, **told)


def _asked_revision(sheet: Sheet, evidence: Evidence) -> str:
    specification = evidence.specification.strip()
    if not specification:
        return ""
    return next(filter(None, (revision_after(text, specification) for text in _texts(sheet, evidence))), "")


def revision_after(text: str, name: str) -> str:
    """The revision that a text writes behind a name; empty where it does not name it, or writes none.

    >>> revision_after("BLACK ANODIZE PER QS-77 REV C", "QS-77")
    'C'
    """
    at = text.casefold().find(name.casefold())
    found = _REVISION.match(text, at + len(name)) if name and at >= 0 else None
    return found[1] if found else ""


def revision_in(text: str) -> str:
    """The first revision that a text writes, behind whatever; empty where it writes none.

    >>> revision_in("3 each, rev. C")
    'C'
    """
    found = _REVISION.search(text)
    return found[1] if found else ""


def _texts(sheet: Sheet, evidence: Evidence) -> Iterator[str]:
    """Where the drawing may name the revision: the row that asks for it, else every note, and the material."""
    for row in sheet.plan.characteristics:
        if not evidence.number or row.number == evidence.number:
            yield row.requirement.written
    if evidence.kind is EvidenceKind.MATERIAL:
        yield sheet.plan.part.material


def _bare(revision: str) -> str:
    """A revision without the word in front."""
    found = _REVISION.match(revision)
    return found[1] if found else revision


def _late(sheet: Sheet, evidence: Evidence) -> Iterator[Missing]:
    """A certificate of a day after its use: a material's after the first reading, any other's after the last reading
    and the signature."""
    days = sorted(reading.day for reading in sheet.readings.values())
    signed = [datetime.fromtimestamp(seal.at // 1_000_000, UTC).date().isoformat() for seal in sheet.seals[-1:]]
    first = days[:1] or signed
    last = [max(days[-1:] + signed)] if days or signed else []
    used = first if evidence.kind is EvidenceKind.MATERIAL else last
    if evidence.certified and used and evidence.certified > used[0]:
        yield lack("certificate_late", name=evidence.name, certified=evidence.certified, used=used[0])

"""Acts on what a sheet accounts for beside its characteristics: its head, materials, processes, functional tests."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from msgspec.structs import replace

from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.evidence import Evidence, EvidenceKind, Measurement
from inspection.sheet.head import Head
from inspection.sheet.identities import derived
from inspection.sheet.measured import measurement
from inspection.sheet.state import Sheet

EXTENTS = ("full", "partial")
DETAILS = ("", "detail", "assembly")


def write_head(sheet: Sheet, act: acts.WriteHead) -> tuple[ev.Event, ...]:
    """The head anew. What a customer asks for may still be missing; what contradicts itself is refused."""
    faults = tuple(_head_faults(act.head))
    if faults:
        raise Refused(*faults)
    if act.head == sheet.head:
        raise Refused(Reason("head.same"))
    return (ev.HeadWritten(head=act.head),)


def _head_faults(head: Head) -> Iterator[Reason]:
    if head.extent not in EXTENTS:
        yield Reason("head.extent", {"text": head.extent})
    if head.detail not in DETAILS:
        yield Reason("head.detail", {"text": head.detail})
    if head.sub_items and head.detail != "assembly":
        yield Reason("head.sub_items_of_detail")
    if any(not item.number.strip() for item in head.sub_items):
        yield Reason("head.sub_item_unnumbered")


def enter_evidence(sheet: Sheet, act: acts.EnterEvidence, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A material, process or test is entered, or written anew under its identity."""
    evidence = act.evidence
    faults = tuple(_evidence_faults(sheet, evidence))
    if faults:
        raise Refused(*faults)
    name = evidence.name.strip()
    return (
        ev.EvidenceEntered(
            evidence=replace(evidence, identity=evidence.identity or derived(entry, "evidence"), name=name)
        ),
    )


def _evidence_faults(sheet: Sheet, evidence: Evidence) -> Iterator[Reason]:
    if evidence.identity and evidence.identity not in sheet.evidence:
        yield Reason("evidence.unknown")
    if not evidence.name.strip():
        yield Reason("evidence.unnamed")
    if evidence.certified and not _is_day(evidence.certified):
        yield Reason("evidence.no_day", {"name": evidence.name, "text": evidence.certified})
    if evidence.measurement is not None and evidence.kind is not EvidenceKind.TEST:
        yield Reason("evidence.measured_no_test", {"name": evidence.name})
    if evidence.passed not in ("", "yes", "no"):
        yield Reason("evidence.passed", {"name": evidence.name, "text": evidence.passed})
    if evidence.measurement is not None:
        if evidence.passed:
            yield Reason("evidence.passed_is_derived", {"name": evidence.name})
        yield from _measured_faults(evidence.name, evidence.measurement)


def _measured_faults(name: str, given: Measurement) -> Iterator[Reason]:
    """Limits and result follow from what is written; nobody hands in others."""
    try:
        if measurement(given.required, given.written) == given:
            return
    except Refused as refused:
        yield from refused.reasons
        return
    yield Reason("evidence.measured_otherwise", {"name": name})


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def strike_evidence(sheet: Sheet, act: acts.StrikeEvidence) -> tuple[ev.Event, ...]:
    """A material, process or test no longer belongs to the sheet; the journal keeps it."""
    if act.evidence not in sheet.evidence:
        raise Refused(Reason("evidence.unknown"))
    if not act.reason.strip():
        raise Refused(Reason("evidence.struck_without_reason", {"name": sheet.evidence[act.evidence].name}))
    return (ev.EvidenceStruck(evidence=act.evidence, reason=act.reason.strip()),)

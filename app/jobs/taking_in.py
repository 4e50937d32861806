"""A feature file looked at before it is taken, and carried out: the part's plan issued, and a sheet made on it for the
pieces named."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from app.jobs.hand import Hand
from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import in_short
from inspection.drawing.plan import Plan
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.figures import between, limits
from inspection.sheet.life import decide
from inspection.sheet.state import Sheet
from storage.book.queries.parts import part_of_number
from storage.intake.faults import Fault, FileRefused
from storage.intake.features import FeatureFile, look_at_features

#: Numbers that a notice lists.
_MOST_LISTED = 20


class TakenIn(Struct, frozen=True):
    """What a feature file came to: the plan as issued, and the sheet, None if no piece was named."""

    plan: Plan
    sheet: Sheet | None


class PreviewRow(Struct, frozen=True):
    """One row as it would be taken: the characteristic, and its limits as one text in the row's unit, empty where it
    has none."""

    characteristic: Characteristic
    limits: str


class Preview(Struct, frozen=True):
    """What a feature file would come to: ``file`` as far as it can be read (None if not at all), its rows, every fault
    by its place (the first of ``count``), and what is to be said that is no fault. Nothing is taken by looking."""

    name: str
    file: FeatureFile | None
    rows: tuple[PreviewRow, ...] = ()
    faults: tuple[Fault, ...] = ()
    count: int = 0
    notices: tuple[Reason, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether the file may be taken as it is."""
        return self.file is not None and not self.count


def preview(data: bytes, name: str, hand: Hand | None = None, serials: tuple[str, ...] = ()) -> Preview:
    """Look at a feature file, csv or workbook, without taking it; ``name`` is the file's.

    With the ``hand`` that would take it, what the book would refuse is a fault too, and what the issue would change is
    said. Raises nothing that the file is to blame for.
    """
    try:
        file, found = look_at_features(data, name)
    except FileRefused as refused:
        return Preview(name, None, faults=refused.faults, count=refused.count)
    faults, count, notices = found.in_order(), found.count, file.notices
    if hand is not None and not count:
        notices += _changes(hand, file)
        refusals = _refusals(hand.apart(), file, serials)
        faults, count = tuple(Fault(0, "", 0, reason) for reason in refusals), len(refusals)
    return Preview(name, file, tuple(map(_preview_row, file.characteristics)), faults, count, notices)


def _preview_row(row: Characteristic) -> PreviewRow:
    text = between(*limits(row.requirement)) if row.requirement.judged else ""
    return PreviewRow(row, f"{text} {row.requirement.unit}" if text else "")


def _changes(hand: Hand, file: FeatureFile) -> tuple[Reason, ...]:
    """What a further issue of a part that the book knows would change."""
    part = hand.book.ask(part_of_number, file.part.number)
    if not part:
        return (Reason("preview.new_part", {"part": file.part.number}),)
    newest = _newest(hand, part)
    known = {row.number: row.requirement.written for row in newest.characteristics}
    coming = {row.number: row.requirement.written for row in file.characteristics}
    told = [Reason("preview.further_issue", {"part": file.part.number, "issue": newest.issue + 1})]
    for code, numbers in (
        ("preview.rows_new", [number for number in coming if number not in known]),
        ("preview.rows_changed", [number for number in coming if coming[number] != known.get(number, coming[number])]),
        ("preview.rows_gone", [number for number in known if number not in coming]),
    ):
        if numbers:
            told.append(Reason(code, {"n": len(numbers), "numbers": in_short(numbers, _MOST_LISTED)}))
    return tuple(told)


def _refusals(hand: Hand, file: FeatureFile, serials: tuple[str, ...]) -> tuple[Reason, ...]:
    try:
        _decided(hand, file, serials)
    except Refused as refused:
        return refused.reasons
    return ()


def take_in(hand: Hand, file: FeatureFile, serials: tuple[str, ...] = ()) -> TakenIn:
    """Issue the plan of a feature file and, if the file or ``serials`` name pieces, make a sheet on it.

    A part that the book knows by its number gets a further issue, in which a row keeps its identity by its balloon
    number. Both acts are decided before the first is done: raises Refused, and then nothing was changed.
    """
    issue, make, plan = _decided(hand, file, serials)
    hand.book.do(issue, person=hand.person)
    return TakenIn(plan, hand.book.do(make, person=hand.person).sheet if make.serials else None)


def _decided(hand: Hand, file: FeatureFile, serials: tuple[str, ...]) -> tuple[acts.IssuePlan, acts.MakeSheet, Plan]:
    """Both acts, decided and not done, and the plan as it will be issued. Raises Refused."""
    part = hand.book.ask(part_of_number, file.part.number)
    rows = _known_rows(hand, part, file.characteristics) if part else file.characteristics
    issue = acts.IssuePlan(plan=Plan("", part, 0, file.part, file.title_block, rows))
    plan = _issued(hand, issue)
    make = acts.MakeSheet(plan=plan.identity, serials=serials or file.serials, head=file.head)
    if make.serials:
        decide(hand.book.shop(), None, {plan.identity: plan}, make, hand.entry_ahead(1))
    return issue, make, plan


def _issued(hand: Hand, act: acts.IssuePlan) -> Plan:
    """The plan as the act will issue it; raises Refused."""
    part = act.plan.part_identity
    plans = hand.book.plans_of(part) if part else {}
    events = decide(hand.book.shop(), None, plans, act, hand.entry_ahead(0))
    return next(event.plan for event in events if isinstance(event, ev.PlanIssued))


def _known_rows(hand: Hand, part: str, rows: tuple[Characteristic, ...]) -> tuple[Characteristic, ...]:
    """Rows of a further issue with the identities that their numbers have in the newest one."""
    newest = _newest(hand, part)
    known = {row.number: row.identity for row in newest.characteristics}
    return tuple(replace(row, identity=known.get(row.number, "")) for row in rows)


def _newest(hand: Hand, part: str) -> Plan:
    return max(hand.book.plans_of(part).values(), key=lambda plan: plan.issue)

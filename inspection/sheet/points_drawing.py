"""Points of the drawing: revisions of order, plan and sheet that differ, and what the plan leaves open against it."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.drawing.complete import counted, open_points
from inspection.drawing.plan import Plan
from inspection.sheet.missing_record import revision_after, revision_in
from inspection.sheet.points_look import Look
from inspection.sheet.points_table import Point, grades

#: Under which code of the table each reason of an incomplete plan goes.
_INCOMPLETE = {
    "plan.gaps": "numbers",
    "plan.beyond": "numbers",
    "plan.unused_used": "numbers",
    "plan.doubled": "numbers",
    "plan.notes_short": "notes",
    "plan.notes_over": "notes",
    "plan.last_unknown": "uncounted",
    "plan.last_unclear": "uncounted",
    "plan.notes_unknown": "uncounted",
}


def of_drawing(look: Look, newest: Plan | None) -> Iterator[Point]:
    """Points of the drawing; ``newest`` is the newest issue of the part's plan, None if nobody looked."""
    yield from _ordered(look)
    yield from _older(look, newest)
    if look.sheet.only:
        return  # whether the plan answers its drawing is asked of the baseline
    for reason in open_points(counted(look.sheet.plan)):
        code = _INCOMPLETE[reason.code]
        grade = grades()[code]
        yield Point(code, reason, (), (), grade.weight, grade.must_answer, reason.code)


def _ordered(look: Look) -> Iterator[Point]:
    """The revision that the order writes behind the part's or the drawing's number, or alone on its line, against those
    of the plan. An order's own number carries a revision of its own, which is none of the drawing's."""
    part, head = look.sheet.plan.part, look.sheet.head
    own = [revision for revision in (part.drawing_revision.strip(), part.revision.strip()) if revision]
    asked = {(name, found): _own(look, name) for name, found in _named(look)}
    if not asked and (found := revision_in(head.order_line)):
        asked = {(part.drawing or part.number, found): own}
    for (name, revision), known in asked.items():
        if known and revision.casefold() not in {each.casefold() for each in known}:
            own_text = " / ".join(dict.fromkeys(known))
            yield look.point("order_revision", about=f"{name} {revision}", name=name, asked=revision, own=own_text)


def _named(look: Look) -> Iterator[tuple[str, str]]:
    """The revisions that the order writes behind a number, each with that number."""
    part, head = look.sheet.plan.part, look.sheet.head
    for name in dict.fromkeys((part.drawing.strip(), part.number.strip())):
        for text in (head.order, head.order_line):
            if found := revision_after(text, name):
                yield name, found


def _own(look: Look, name: str) -> list[str]:
    """The revisions of what bears this number: part and drawing often share one."""
    part = look.sheet.plan.part
    borne = ((part.drawing, part.drawing_revision), (part.number, part.revision))
    return [revision.strip() for number, revision in borne if number.strip() == name and revision.strip()]


def _older(look: Look, newest: Plan | None) -> Iterator[Point]:
    """The sheet stands on an older issue of its part's plan than there is."""
    plan = look.sheet.plan
    if newest is None or newest.part_identity != plan.part_identity or newest.issue <= plan.issue:
        return
    yield look.point(
        "newer_plan",
        about=newest.identity,
        now=newest.issue,
        was=plan.issue,
        revision=_revisions(newest),
        own=_revisions(plan),
    )


def _revisions(plan: Plan) -> str:
    return " / ".join((plan.part.revision.strip() or "–", plan.part.drawing_revision.strip() or "–"))

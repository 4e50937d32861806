"""``tenthwright template``, ``take-in`` and ``choose``."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.command.asked import instrument_asked, row_asked
from app.command.outcome import Answer, Exit
from app.command.previews import preview_answer
from app.command.sheets import acting, opened, sheet_asked
from app.command.table import table
from app.command.world import World, plain_text
from inspection.drawing.characteristic import Characteristic
from inspection.instruments.method import Assessment, Fitness, Method
from inspection.reasons import Reason, Refused
from inspection.sheet.figures import between, limits
from inspection.sheet.reading_life import newest
from inspection.sheet.report_number import SHORT
from inspection.sheet.state import Sheet, Shop
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.jobs.hand import Hand
    from inspection.sheet.helping import Given


def template(options: Namespace, world: World) -> Answer:
    """Write a file to fill in: empty, or for a sheet's readings with every row that waits."""
    from app.jobs.reading_template import rows_to_fill
    from storage.intake.templates import write_template

    filled: tuple[dict[str, str], ...] = ()
    if options.sheet is not None:
        if options.kind != "readings":
            raise Refused(Reason("command.template.no_sheet"))
        with opened(options, world, only_read=True) as hand:
            filled = rows_to_fill(hand.book.shop(), hand.book.sheet(sheet_asked(options, hand)))
    write_template(options.kind, Path(options.file), filled)
    lines = [word("command.template.done", file=options.file)]
    lines += [word("command.template.filled", n=len(filled))] if options.sheet is not None else []
    return Answer(tuple(lines), {"done": True, "file": options.file, "rows": len(filled)})


def take_in(options: Namespace, world: World) -> Answer:
    """Take in a feature file; the exit code is 0 though a row may have no instrument, which is said."""
    from app.jobs.taking_in import preview
    from app.jobs.taking_in import take_in as taking_in
    from storage.intake.features import read_features
    from storage.intake.grid import read_bytes

    path, serials = Path(options.file), tuple(map(plain_text, options.serial))
    data, name = read_bytes(path), plain_text(path.name)
    if options.preview:
        with opened(options, world, only_read=True) as hand:
            acting(options, hand)
            return preview_answer(preview(data, name, hand, serials), serials)
    file = read_features(data, name)
    with opened(options, world) as hand:
        acting(options, hand)
        taken = taking_in(hand, file, serials)
    plan, sheet = taken.plan, taken.sheet
    part, rows = plan.part, len(plan.characteristics)
    lines = [word("command.take_in.plan", part=part.number, revision=part.revision, issue=plan.issue, rows=rows)]
    lines += [*map(say, file.notices), *(_of_sheet(sheet) if sheet else [word("command.take_in.no_sheet")])]
    return Answer(
        tuple(lines),
        {
            "done": True,
            "part": part.number,
            "revision": part.revision,
            "issue": plan.issue,
            "rows": rows,
            "sheet": sheet.identity if sheet else None,
            "serials": [piece.serial for piece in sheet.pieces] if sheet else [],
            "without_instrument": _unanswered(sheet) if sheet else [],
        },
    )


def _of_sheet(sheet: Sheet) -> list[str]:
    serials = ", ".join(piece.serial for piece in sheet.pieces)
    lines = [word("command.take_in.sheet", sheet=sheet.identity[:SHORT], serials=serials)]
    if missing := _unanswered(sheet):
        lines.append(word("command.take_in.unanswered", n=len(missing), numbers=", ".join(missing)))
    return lines


def _unanswered(sheet: Sheet) -> list[str]:
    """The numbers of judged rows that nothing in the crib answers."""
    assigned = {name for name, one in sheet.assignments.items() if one.assessment is not None}
    return [row.number for row in sheet.plan.characteristics if row.requirement.judged and row.identity not in assigned]


# --- choose ---------------------------------------------------------------------------------------------------


def choose(options: Namespace, world: World) -> Answer:
    """Show every row's instrument with its reasons, with ``--all`` what stands against the others, and with
    ``--budget`` how far one of them can be trusted on one row."""
    from inspection.sheet.helping import given_on

    if (options.budget or options.using) and options.number is None:
        raise Refused(Reason("command.choose.of_which"))
    with opened(options, world, only_read=True) as hand:
        sheet = hand.book.sheet(sheet_asked(options, hand))
        shop, moment = hand.book.shop(), hand.foreseen.moment_ahead()
        given = given_on(shop, sheet, moment.day, moment.at)
        rows = _rows_asked(options, sheet)
        if options.budget or options.using:
            return _budget(given, sheet, rows[0], _using(options, hand, given, sheet, rows[0]))
    shown = [_chosen(shop, sheet, row) for row in rows]
    others = _others(given, sheet, rows) if options.all else {}
    heads = [word(f"command.head.{head}") for head in ("number", "requirement", "instrument", "fitness", "why")]
    lines = table(heads, [[one["number"], one["requirement"], *_told(one)] for one in shown])
    for number, against in others.items():
        lines += ["", word("command.choose.others", number=number), *(f"  {_line(one)}" for one in against)]
    for one in shown:
        if options.all:
            one["others"] = others[str(one["number"])]
    missing = any(one["fitness"] is None for one in shown)
    return Answer(tuple(lines), {"done": True, "rows": shown}, Exit.NOT_CONFORMING if missing else Exit.DONE)


def _using(options: Namespace, hand: Hand, given: Given, sheet: Sheet, row: Characteristic) -> Method:
    """The method of the row: the chosen one, or the best with the instrument that is named. Raises Refused."""
    if options.using is None:
        assignment = sheet.assignments.get(row.identity)
        if assignment is None or assignment.assessment is None:
            raise Refused(Reason("command.choose.none", {"number": row.number}))
        return newest(given.shop, assignment.assessment.method)
    from inspection.sheet.helping import method_with

    named = instrument_asked(hand, options.using)
    method = method_with(given, row, [named])
    if method is None:
        raise Refused(Reason("command.choose.cannot", {"tag": named.tag, "name": named.name, "number": row.number}))
    return method


def _budget(given: Given, sheet: Sheet, row: Characteristic, method: Method) -> Answer:
    from app.command.budgets import budget_lines

    instrument = _tags(given.shop, method)
    lines, data = budget_lines(given, sheet, row, method)
    limited = between(*limits(row.requirement)) if row.requirement.judged else ""
    title = word("help.title", number=row.number, requirement=row.requirement.written, instrument=instrument)
    head = [title, *([f"{limited} {row.requirement.unit}"] if limited else []), ""]
    told = {"number": row.number, "requirement": row.requirement.written, "instrument": instrument, **data}
    return Answer((*head, *lines), {"done": True, **told})


def _rows_asked(options: Namespace, sheet: Sheet) -> list[Characteristic]:
    return list(sheet.plan.characteristics) if options.number is None else [row_asked(sheet, options.number)]


def _chosen(shop: Shop, sheet: Sheet, row: Characteristic) -> dict[str, Any]:
    found: dict[str, Any] = {"number": row.number, "requirement": row.requirement.written}
    assignment = sheet.assignments.get(row.identity)
    if assignment is None or assignment.assessment is None:
        return {**found, "instrument": None, "fitness": None, "why": []}
    by_hand = [word("command.choose.by_hand", reason=assignment.chosen_by_hand)] if assignment.chosen_by_hand else []
    return {**found, **_assessed(shop, assignment.assessment, by_hand)}


def _assessed(shop: Shop, assessment: Assessment, first: list[str]) -> dict[str, Any]:
    ratios = [
        word("command.choose.ratio", ratio=ratio.name, got=ratio.got, needed=ratio.needed)
        for ratio in assessment.ratios
    ]
    against = [say(reason) for reason in assessment.against]
    instrument = _tags(shop, assessment.method)
    return {"instrument": instrument, "fitness": str(assessment.fitness), "why": [*first, *ratios], "against": against}


def _tags(shop: Shop, method: Method) -> str:
    issues = (shop.issues[(part.identity, part.issue)] for part in method.parts)
    return " + ".join(f"{one.tag} {one.name}" for one in issues)


def _told(one: dict[str, Any]) -> list[str]:
    if one["fitness"] is None:
        return [word("command.none"), "", ""]
    return [one["instrument"], one["fitness"], "; ".join(one["why"])]


def _others(given: Given, sheet: Sheet, rows: list[Characteristic]) -> dict[str, list[dict[str, Any]]]:
    """By number, every other method whose way answers the row, with what stands against it, the better first."""
    from inspection.instruments.crib import offers

    found: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        assignment = sheet.assignments.get(row.identity)
        chosen = assignment.assessment.method.key if assignment and assignment.assessment else ""
        assessed = [
            given.assessed(row, offer.method)
            for offer in offers(given.shop.crib, given.day)
            if offer.way.answers(row) and offer.method.key != chosen
        ]
        assessed.sort(key=lambda one: list(Fitness).index(one.fitness))
        found[row.number] = [_assessed(given.shop, one, []) for one in assessed]
    return found


def _line(one: dict[str, Any]) -> str:
    against = "; ".join(one["against"]) or word("command.choose.fit_too")
    return word("command.choose.other", instrument=one["instrument"], fitness=one["fitness"], against=against)

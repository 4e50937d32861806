"""``tenthwright review``, ``answer``, ``again`` and ``return``: a signed sheet as its lead goes through it."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Iterator
from typing import Any

from msgspec import to_builtins

from app.command.asked import name_of, piece_asked, row_asked
from app.command.outcome import Answer, Exit
from app.command.sheets import acting, opened, sheet_asked
from app.command.standing import serial_of, standing_data, standing_lines
from app.command.world import World, plain_text
from app.jobs.hand import Hand, person_named
from app.jobs.linked_told import linked_text
from app.jobs.local_time import moment
from app.jobs.reviewing import Again, Reviewed, read_again, reviewed
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.points_table import Point
from inspection.sheet.review import PointAnswer, Return, Returned, StatementKind
from inspection.sheet.state import Sheet, Stage
from inspection.words.say import say, word
from storage.intake.readings import observed_in

#: So many letters of what follows the code of a point's key are shown, or more where that does not tell them apart.
SHORT_KEY = 4
#: What a comparison comes to that is not as it should be.
_DIFFERS = ("again_differs", "again_outside")


def review(options: Namespace, world: World) -> Answer:
    """Show the lead's list; the exit code is 1 while a point that must be answered waits."""
    with opened(options, world, only_read=True) as hand:
        people = hand.book.shop().people
        if options.person or len(people) == 1:
            hand.person = person_named(hand.book.shop(), plain_text(options.person or ""))
        found = reviewed(hand.book, sheet_asked(options, hand), hand.person, hand.foreseen.now())
        lines = list(_review_lines(hand, found))
    sheet = found.sheet
    must = any(point.must_answer and point.key not in sheet.point_answers for point in found.points)
    data = {"done": True, "sheet": sheet.identity, **_review_data(found)}
    return Answer(tuple(lines), data, Exit.NOT_CONFORMING if must else Exit.DONE)


def _review_lines(hand: Hand, found: Reviewed) -> Iterator[str]:
    sheet, part = found.sheet, found.sheet.plan.part
    serials = ", ".join(piece.serial for piece in sheet.pieces)
    yield word("command.review.title", part=part.number, revision=part.revision, serials=serials)
    yield from standing_lines(found.shop, sheet)
    yield from (*linked_text(found.linked, follows=False), *linked_text(found.linked, follows=True))
    yield from _returns(hand, sheet)
    yield ""
    yield _count(found)
    names = short_keys(found.points)
    for point in found.points:
        yield from _point(hand, point, names[point.key], sheet.point_answers.get(point.key))
    yield from _answered_before(hand, found)
    if sheet.stage is Stage.SIGNED:
        yield ""
        yield word(
            "command.review.against" if found.against[StatementKind.APPROVED] else "command.review.nothing_against"
        )
        yield from (f"  {say(reason)}" for reason in found.against[StatementKind.APPROVED])


def _count(found: Reviewed) -> str:
    waits = [point for point in found.points if point.key not in found.sheet.point_answers]
    if not found.points:
        return word("command.review.no_points")
    if not waits:
        return word("command.review.all_answered", n=len(found.points))
    must = sum(point.must_answer for point in waits)
    return word("command.review.points", n=len(found.points), waits=len(waits), must=must)


def _point(hand: Hand, point: Point, name: str, answer: PointAnswer | None) -> Iterator[str]:
    wants = "answered" if answer is not None else "must" if point.must_answer else "may"
    yield f"{name}  {word(f'command.review.{wants}')}"
    yield from (f"    {say(reason)}" for reason in (point.reason, *point.why))
    if answer is not None:
        yield f"    {_answer(hand, answer)}"


def _answer(hand: Hand, answer: PointAnswer) -> str:
    return word("command.review.answer", person=name_of(hand, answer.by), when=moment(answer.at), words=answer.words)


def _answered_before(hand: Hand, found: Reviewed) -> Iterator[str]:
    """Answers whose point stands no longer as it was answered."""
    now = {point.key for point in found.points}
    before = [answer for key, answer in found.sheet.point_answers.items() if key not in now]
    if before:
        yield ""
        yield word("command.review.answered_before")
        yield from (f"  {answer.point.partition(':')[0]}: {_answer(hand, answer)}" for answer in before)


def _returns(hand: Hand, sheet: Sheet) -> Iterator[str]:
    for each in sheet.returns:
        yield ""
        yield word("command.review.returned", round=each.round, person=name_of(hand, each.by), when=moment(each.at))
        yield from (f"    {_words(sheet, row)}" for row in each.rows)


def _words(sheet: Sheet, row: Returned) -> str:
    if not row.characteristic:
        return row.words
    number = sheet.characteristic(row.characteristic).number
    where = f"{number} ({serial_of(sheet, row.piece)})" if row.piece else number
    return f"{where}: {row.words}"


def short_keys(points: Iterable[Point]) -> dict[str, str]:
    """The keys of points, each as short as tells it apart."""
    keys = [point.key for point in points]
    found = {}
    for key in keys:
        code, _, rest = key.partition(":")
        size = SHORT_KEY
        while size < len(rest) and sum(other.startswith(f"{code}:{rest[:size]}") for other in keys) > 1:
            size += 1
        found[key] = f"{code}:{rest[:size]}"
    return found


def _review_data(found: Reviewed) -> dict[str, Any]:
    answers = found.sheet.point_answers
    return {
        "standing": standing_data(found.shop, found.sheet),
        "points": [
            {
                "point": point.key,
                "code": point.code,
                "text": say(point.reason),
                "why": [say(reason) for reason in point.why],
                "weight": point.weight,
                "must_answer": point.must_answer,
                "answer": to_builtins(answers[point.key]) if point.key in answers else None,
            }
            for point in found.points
        ],
        "returns": [to_builtins(each) for each in found.sheet.returns],
        "against": [{"code": reason.code, "text": say(reason)} for reason in found.against[StatementKind.APPROVED]],
    }


# --- what a lead does -------------------------------------------------------------------------------------------------


def answer(options: Namespace, world: World) -> Answer:
    """Answer one point of the list."""
    with opened(options, world) as hand:
        acting(options, hand)
        found = reviewed(hand.book, sheet_asked(options, hand), hand.person, hand.foreseen.now())
        point = _point_asked(found, plain_text(options.point))
        act = acts.AnswerPoint(sheet=found.sheet.identity, point=point.key, words=plain_text(options.words))
        hand.book.do(act, person=hand.person)
    name = short_keys(found.points)[point.key]
    return Answer((word("command.answer.done", point=name),), {"done": True, "point": point.key})


def _point_asked(found: Reviewed, wanted: str) -> Point:
    """The point whose key begins so. Raises Refused."""
    meant = [point for point in found.points if point.key.startswith(wanted.strip().casefold())]
    if len(meant) == 1:
        return meant[0]
    names = short_keys(found.points)
    if len(meant) > 1 and wanted.strip():
        listed = ", ".join(names[point.key] for point in meant)
        raise Refused(Reason("command.answer.several", {"point": wanted[:60], "points": listed}))
    raise Refused(Reason("command.answer.unknown", {"point": wanted[:60]}))


def again(options: Namespace, world: World) -> Answer:
    """Read a row again; the exit code is 1 where it does not agree with what was read before."""
    text = plain_text(options.reading).strip()
    with opened(options, world) as hand:
        acting(options, hand)
        sheet = hand.book.sheet(sheet_asked(options, hand))
        row, piece = row_asked(sheet, options.number), piece_asked(sheet, options.piece)
        place, role, tag = (plain_text(each).strip() for each in (options.place, options.role, options.using))
        done = read_again(hand, sheet.identity, Again(row, piece, place, role, tag), text, observed_in(text))
    kept = word("command.again.done", number=row.number, serial=piece.serial)
    told = say(done.point.reason) if done.point is not None else word("command.again.alone")
    data = {
        "done": True,
        "number": row.number,
        "serial": piece.serial,
        "reading": to_builtins(done.reading),
        "compared": done.point.code if done.point is not None else "",
        "text": told,
    }
    differs = done.point is not None and done.point.code in _DIFFERS
    return Answer((kept, told), data, Exit.NOT_CONFORMING if differs else Exit.DONE)


def return_sheet(options: Namespace, world: World) -> Answer:
    """Return a sheet to the bench with words to its rows."""
    with opened(options, world) as hand:
        acting(options, hand)
        sheet = hand.book.sheet(sheet_asked(options, hand))
        act = acts.ReturnSheet(sheet=sheet.identity, rows=tuple(_rows(options, sheet)))
        after = hand.book.do(act, person=hand.person).sheet
    assert after is not None
    last: Return = after.returns[-1]
    lines = [word("command.return.done", round=after.round), *(f"  {_words(after, row)}" for row in last.rows)]
    return Answer(tuple(lines), {"done": True, "round": after.round, "returned": to_builtins(last)})


def _rows(options: Namespace, sheet: Sheet) -> Iterator[Returned]:
    for number, words in options.row:
        yield Returned(row_asked(sheet, number).identity, "", plain_text(words))
    for number, serial, words in options.cell:
        yield Returned(row_asked(sheet, number).identity, piece_asked(sheet, serial).identity, plain_text(words))
    if options.words:
        yield Returned("", "", plain_text(options.words))

"""``tenthwright study-start``, ``study-read``, ``studies``, ``study-use``, ``study-withdraw`` and ``study-give-up``."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from msgspec import to_builtins

from app.command.asked import instrument_asked, read_options, row_asked
from app.command.outcome import Answer, Exit
from app.command.sheets import acting, opened, sheet_asked
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs import studying
from app.jobs.hand import Hand
from app.jobs.local_time import moment
from inspection.instruments.ratios import effective_band
from inspection.instruments.record import Instrument
from inspection.instruments.spelling import Piece
from inspection.measuring.checks import configured
from inspection.quantity.reader import read, unit_symbol
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.gauge_life import in_use
from inspection.sheet.study_entry import (
    asked_of,
    check_all,
    correction_act,
    label_of,
    own_readings,
    reading_act,
    specimens_in,
)
from inspection.sheet.study_page import StudyPage
from inspection.studies.conducted import Conducted, StudyKind
from inspection.words.say import say, word
from storage.book.clock import wall_clock
from storage.book.queries.gauge_studies import ListedStudy


def study_start(options: Namespace, world: World) -> Answer:
    """Plan a gauge study; the order of its readings is drawn beforehand."""
    with opened(options, world) as hand:
        acting(options, hand)
        instrument = instrument_asked(hand, options.tag)
        unit = plain_text(options.unit)
        unit = (unit_symbol(unit, instrument.quantity) or unit) if unit else instrument.unit
        kind = StudyKind(options.kind)
        (band,) = read_options(("--band", options.band, lambda piece: _band(piece, instrument, unit)))
        part, row, number = "", "", ""
        if options.number:
            sheet = hand.book.sheet(sheet_asked(options, hand))
            found = row_asked(sheet, options.number)
            part, row, number = sheet.plan.part_identity, found.identity, found.number
            band = band or effective_band(found) or 0
        labels = [plain_text(each) for each in options.part] or [str(options.parts)]
        act = acts.StartGaugeStudy(
            kind=kind,
            title=plain_text(options.title),
            instrument=instrument.identity,
            configuration=configured(instrument, unit, plain_text(options.fitted)),
            people=tuple(studying.reader_named(hand.book.shop(), plain_text(name)) for name in options.reader),
            specimens=specimens_in(kind, labels, instrument, unit),
            trials=options.trials,
            band=band,
            part=part,
            characteristic=row,
            number=number,
        )
        held = hand.book.study(hand.book.do(act, person=hand.person).stream)
        said = word("command.studies.started", title=held.plan.title, n=len(held.plan.runs))
        return Answer((said, *_lines(_page(hand, held))), _data(hand, held))


def _band(piece: Piece, instrument: Instrument, unit: str) -> int:
    return read(piece.text, unit=unit, kind=instrument.quantity).count if piece.text.strip() else 0


def study_read(options: Namespace, world: World) -> Answer:
    """Take the readings that are a person's next, in the order drawn; without any, say which part comes next."""
    with opened(options, world, only_read=not (options.readings or options.keep or options.correct)) as hand:
        acting(options, hand)
        held = studying.study_to_read(hand, plain_text(options.title), correcting=bool(options.correct))
        readings = [plain_text(text) for text in options.readings]
        if readings:
            check_all(hand.book.shop(), held, hand.person, readings, keeping=options.keep)
        if options.correct:
            held = _correct(options, hand, held)
        waits = held.waiting(hand.person)
        if options.keep and waits is not None:
            hand.book.do(acts.KeepStudyReading(study=held.plan.identity, reading=waits.identity), person=hand.person)
            held = hand.book.study(held.plan.identity)
        taken = 0
        for text in readings:
            asked = asked_of(held, hand.person)
            if taken and asked is not None and asked.question is not None:
                break  # what follows was read of other parts
            hand.book.do(reading_act(hand.book.shop(), held, hand.person, text), person=hand.person)
            held, taken = hand.book.study(held.plan.identity), taken + 1
        return _next(hand, held, taken, len(readings) - taken)


def _correct(options: Namespace, hand: Hand, held: Conducted) -> Conducted:
    """Correct the newest of a person's readings of a part."""
    part, text = (plain_text(each) for each in options.correct)
    mine = own_readings(held, hand.person)
    found = next((each for each in mine if label_of(held, each.run).casefold() == part.strip().casefold()), None)
    if found is None:
        raise Refused(Reason("gauge.refused.not_standing"))
    act = correction_act(hand.book.shop(), held, found, text, plain_text(options.reason))
    hand.book.do(act, person=hand.person)
    return hand.book.study(held.plan.identity)


def _next(hand: Hand, held: Conducted, taken: int, left: int) -> Answer:
    asked = asked_of(held, hand.person)
    lines = [word("command.studies.taken", n=taken)] if taken else []
    if asked is None:
        lines.append(word("gauge.enter.done" if held.is_complete else "gauge.enter.turn_done"))
    elif asked.question is not None and asked.question.question is not None:
        lines += [word("gauge.enter.part", label=asked.label, n=asked.n, of=asked.of), say(asked.question.question)]
        lines += [word("command.studies.not_taken", n=left)] if left else []
    else:
        lines.append(word("gauge.enter.part", label=asked.label, n=asked.n, of=asked.of))
    told = {"part": asked.label, "n": asked.n, "of": asked.of} if asked is not None else None
    questioned = asked is not None and asked.question is not None
    data = {"done": True, "taken": taken, "next": told, "questioned": questioned, "complete": held.is_complete}
    return Answer(tuple(lines), data, Exit.NOT_CONFORMING if questioned else Exit.DONE)


def studies(options: Namespace, world: World) -> Answer:
    """List the gauge studies, or tell what one came to; --csv and --pdf write it."""
    with opened(options, world, only_read=True) as hand:
        if not options.title:
            return _listed(hand)
        held = studying.study_named(hand, plain_text(options.title))
        page, lines = _page(hand, held), []
        for path, what in ((options.csv, "csv"), (options.pdf, "pdf")):
            if path:
                lines.append(
                    word("command.studies.wrote", path=path, digest=_write(hand, held, page, Path(path), what))
                )
        return Answer((*_lines(page), *lines), _data(hand, held))


def _write(hand: Hand, held: Conducted, page: StudyPage, path: Path, what: str) -> str:
    from storage.dispatch.study_files import write_study_csv, write_study_pdf

    if what == "csv":
        return write_study_csv(hand.book.shop(), held, path)
    return write_study_pdf(page, path)


def _listed(hand: Hand) -> Answer:
    shop = hand.book.shop()
    found = studying.listed_studies(hand)
    heads = [word(f"command.studies.head.{head}") for head in ("title", "instrument", "started", "read", "state")]
    rows = [
        [
            one.title,
            shop.crib[one.instrument].tag,
            moment(one.at),
            word("gauge.of", n=one.read, of=one.runs),
            _state(hand, one),
        ]
        for one in found
    ]
    lines = table(heads, rows) if rows else [word("command.nothing_listed")]
    return Answer(tuple(lines), {"done": True, "studies": to_builtins(found)})


def _state(hand: Hand, one: ListedStudy) -> str:
    if one.given_up:
        return word("command.studies.given_up")
    if in_use(hand.book.shop(), one.study) is not None:
        return word("gauge.state.in_use")
    if one.read < one.runs:
        return word("gauge.state.open")
    return word("gauge.state.complete" if one.kind == StudyKind.CROSSED else "gauge.state.whole")


def study_use(options: Namespace, world: World) -> Answer:
    """Take a study into use: readings of the instrument are reckoned with it from then on."""
    with opened(options, world) as hand:
        acting(options, hand)
        held = studying.study_named(hand, plain_text(options.title))
        act = acts.TakeStudyIntoUse(study=held.plan.identity, people=options.people)
        changes = _changes(options, hand, held, act)
        hand.book.do(act, person=hand.person)
        said = word("command.studies.in_use", title=held.plan.title)
        return Answer((said, *map(say, changes)), _data(hand, held) | {"changes": _told(changes)})


def study_withdraw(options: Namespace, world: World) -> Answer:
    """Reckon no longer with a study."""
    with opened(options, world) as hand:
        acting(options, hand)
        held = studying.study_named(hand, plain_text(options.title))
        record = in_use(hand.book.shop(), held.plan.identity)
        if record is None:
            raise Refused(Reason("gauge.refused.not_in_use"))
        act = acts.WithdrawStudy(study=record.identity, reason=plain_text(options.reason))
        changes = _changes(options, hand, held, act)
        hand.book.do(act, person=hand.person)
        said = word("command.studies.withdrawn", title=held.plan.title)
        return Answer((said, *map(say, changes)), _data(hand, held) | {"changes": _told(changes)})


def _changes(
    options: Namespace, hand: Hand, held: Conducted, act: acts.TakeStudyIntoUse | acts.WithdrawStudy
) -> tuple[Reason, ...]:
    """What changes in the suggestions of the sheet named, if one is."""
    if options.sheet is None:
        return ()
    sheet = hand.book.sheet(sheet_asked(options, hand))
    found = studying.would_change(hand.book.shop(), held, sheet, act, hand.person, wall_clock())
    return found or (Reason("gauge.changes.none"),)


def _told(changes: tuple[Reason, ...]) -> list[dict[str, str]]:
    return [{"code": each.code, "text": say(each)} for each in changes]


def study_give_up(options: Namespace, world: World) -> Answer:
    """Give up a study that is not complete."""
    with opened(options, world) as hand:
        acting(options, hand)
        held = studying.study_named(hand, plain_text(options.title))
        hand.book.do(acts.GiveUpStudy(study=held.plan.identity, reason=plain_text(options.reason)), person=hand.person)
        return Answer((word("command.studies.gave_up", title=held.plan.title),), {"done": True})


def _page(hand: Hand, held: Conducted) -> StudyPage:
    return studying.page_of(hand.book.shop(), held)


def _lines(page: StudyPage) -> list[str]:
    lines = table(["", ""], [list(pair) for pair in page.facts])[2:]
    for section in page.sections:
        lines += ["", section.head, "", *table(list(section.heads), [list(row) for row in section.rows])]
        lines += ["", *section.said] if section.said else []
    return lines


def _data(hand: Hand, held: Conducted) -> dict[str, Any]:
    page = _page(hand, held)
    told = {"study": held.plan.identity, "title": page.title, "complete": held.is_complete}
    return {"done": True, **told, "facts": dict(page.facts), "sections": to_builtins(page.sections)}

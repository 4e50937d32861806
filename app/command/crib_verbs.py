"""``tenthwright crib``, ``crib-export``, ``crib-take-in`` and ``crib-file``."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from msgspec import to_builtins
from msgspec.structs import replace

from app.command.asked import instrument_asked
from app.command.outcome import Answer
from app.command.sheets import acting, opened
from app.command.table import table
from app.command.world import World
from app.jobs.crib import Looked, issue_of, look_at_crib_file, write_crib_file
from app.jobs.hand import Hand
from inspection.instruments.as_written import written_cells
from inspection.instruments.keeping import LAPSED, Keeping, days_left, keeping_of
from inspection.instruments.record import Instrument
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.words.say import say, word

LISTED = ("tag", "kind", "name", "range", "resolution", "due")


def crib(options: Namespace, world: World) -> Answer:
    """List the crib with where each instrument stands on the day; options leave only what asks for something."""
    with opened(options, world, only_read=True) as hand:
        held = sorted(hand.book.shop().crib.values(), key=lambda one: one.tag)
        day, shop = hand.foreseen.moment_ahead().day, hand.book.shop()
    wanted = [keeping for keeping in Keeping if getattr(options, keeping.name.lower(), False)]
    wanted += LAPSED if Keeping.OVERDUE in wanted else ()
    ahead, used_up = shop.rules.remind_days, shop.used_up
    found = [(one, keeping_of(one, day, ahead, used=one.identity in used_up)) for one in held]
    found = [pair for pair in found if not wanted or pair[1] in wanted]
    heads = [*(word(f"crib.field.{field}") for field in LISTED), word("crib.column.state"), word("crib.field.place")]
    lines = table(heads, [_row(one, keeping, day) for one, keeping in found])
    data = [{"state": keeping.value, **to_builtins(one), "as_written": written_cells(one)} for one, keeping in found]
    return Answer(tuple(lines) if found else (word("command.nothing_listed"),), {"done": True, "instruments": data})


def _row(one: Instrument, keeping: Keeping, day: str) -> list[str]:
    cells = written_cells(one)
    left = days_left(one, day)
    told = word(f"crib.state.{keeping.name.lower()}", n=abs(left) if left is not None else 0)
    return [*(cells[field] for field in LISTED), told, cells["holder"] or cells["place"]]


def crib_export(options: Namespace, world: World) -> Answer:
    """Write the crib to a csv file or a workbook."""
    path = Path(options.to).absolute()
    with opened(options, world, only_read=True) as hand:
        n = write_crib_file(hand.book, path)
    return Answer((word("crib.export.done", file=str(path), n=n),), {"done": True, "file": str(path), "instruments": n})


def crib_take_in(options: Namespace, world: World) -> Answer:
    """Take a crib file in, or with ``--preview`` only say what it would change."""
    path = Path(options.file)
    with opened(options, world, only_read=options.preview) as hand:
        looked = look_at_crib_file(hand.book, path)
        act = None if options.preview else issue_of(looked)
        if act is not None:
            acting(options, hand)
            hand.book.do(act, person=hand.person)
    return Answer(tuple(_told(looked, taken=act is not None)), _data(looked, taken=act is not None))


def crib_file(options: Namespace, world: World) -> Answer:
    """List the files kept with an instrument; attach one, or write one out."""
    with opened(options, world, only_read=not options.attach) as hand:
        held = instrument_asked(hand, options.tag)
        if options.attach:
            said, held = _attach(options, hand, held)
        elif options.save_out:
            said = _save_out(hand, held, options.name, Path(options.save_out))
        else:
            lines = [word("crib.files.one", file=one.name, size=one.size) for one in held.files]
            said = "\n".join(lines) or word("crib.files.none", tag=held.tag)
    return Answer((said,), {"done": True, "tag": held.tag, "files": to_builtins(held.files)})


def _attach(options: Namespace, hand: Hand, held: Instrument) -> tuple[str, Instrument]:
    """What is said of it, and the instrument as it stands then."""
    from storage.book.attached import read_attached

    one, content = read_attached(Path(options.attach))
    if one in held.files:
        return word("crib.attach.there", tag=held.tag, file=one.name), held
    acting(options, hand)
    record = replace(held, files=(*held.files, one))
    hand.book.do(acts.IssueInstrument(instrument=record), person=hand.person, files={one.digest: content})
    return word("crib.attach.done", tag=held.tag, file=one.name), record


def _save_out(hand: Hand, held: Instrument, name: str, to: Path) -> str:
    from storage.book.attached import content_of
    from storage.files import write_file

    found = [one for one in held.files if name in ("", one.name)]
    if not found:
        names = ", ".join(one.name for one in held.files) or "–"
        raise Refused(Reason("crib.files.unknown", {"tag": held.tag, "file": name, "held": names}))
    write_file(to, hand.book.ask(content_of, found[-1].digest))
    return word("crib.save_out.done", file=to.name)


def _told(looked: Looked, *, taken: bool) -> list[str]:
    found = looked.taking
    lines = [say(notice) for notice in looked.notices]
    lines += [word("crib.taking.new", tag=one.tag, name=one.name) for one in found.new]
    for one in found.changed:
        what = "; ".join(say(reason) for reason in one.what)
        lines.append(word("crib.taking.changed", tag=one.before.tag, what=what))
    code = "crib.taking.done" if taken else "crib.taking.nothing_taken"
    return [*lines, word(code, new=len(found.new), changed=len(found.changed), same=found.same)]


def _data(looked: Looked, *, taken: bool) -> dict[str, Any]:
    found = looked.taking
    changed = [{"tag": one.before.tag, "what": [say(reason) for reason in one.what]} for one in found.changed]
    new = [one.tag for one in found.new]
    return {"done": True, "taken": taken, "new": new, "changed": changed, "same": found.same}

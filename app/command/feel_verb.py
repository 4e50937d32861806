"""``tenthwright feel``: one hand's readings of a block, for the person who took them and for nobody else."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from msgspec import to_builtins

from app.command.asked import instrument_asked
from app.command.outcome import Answer
from app.command.sheets import acting, opened
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.hand import Hand
from inspection.instruments.record import Instrument
from inspection.reasons import Amount, Part, Reason, Refused
from inspection.studies.feel import Feel, Trial, begun, feel_of, read_takes, slip_of, with_take
from inspection.studies.feel_told import StatedFeel, findings, rows, stated
from inspection.words.say import part_text, say, word
from storage.feel import KeptFeel, feel_place, forget_feel, keep_trial, kept_feel, want_feel

COLUMNS = ("day", "tag", "block", "n", "bias", "spread", "drift", "unit")


def feel(options: Namespace, world: World) -> Answer:
    """Tell what readings of a block show, and keep them if the person wants that; list or forget what is kept."""
    _understood(options)
    with opened(options, world, only_read=True) as hand:  # the book itself is not written to
        acting(options, hand)
        if options.forget:
            return _forgotten(hand)
        if options.block is None:
            return _listed(options, world, hand)
        return _tried(options, world, hand)


def _understood(options: Namespace) -> None:
    """Raises Refused with everything that is missing or does not go together."""
    given = options.block is not None or options.readings is not None
    faults = []
    if given and not options.tag:
        faults.append(Reason("feel.refused.no_tag"))
    if options.block is None and options.readings is not None:
        faults.append(Reason("feel.refused.no_block"))
    if options.readings is None and options.block is not None:
        faults.append(Reason("feel.refused.no_readings"))
    if options.forget and (given or options.keep):
        faults.append(Reason("feel.refused.both"))
    if faults:
        raise Refused(*faults)


def _tried(options: Namespace, world: World, hand: Hand) -> Answer:
    instrument, moment = instrument_asked(hand, options.tag), world.clock()
    trial = begun(instrument, plain_text(options.block), world.identities(), moment.day)
    slips: list[str] = []
    for take in read_takes(trial, plain_text(options.readings), moment.at):
        trial = with_take(trial, take)
        slips += _slip(trial, instrument)
    shown = feel_of(trial, instrument)
    assert shown is not None  # a trial without readings was refused
    book = hand.book.path
    kept = options.keep or kept_feel(book, hand.person).wanted
    if kept:
        want_feel(book, hand.person)
        _say(kept_feel(book, hand.person), world)
        keep_trial(book, hand.person, trial)
    file = feel_place(book, hand.person)
    told = _kept(hand, file) if kept else word("feel.not_kept")
    data = {"done": True, "kept": kept, "file": str(file) if kept else "", "trial": _data(trial, shown)}
    return Answer((*_lines(trial, shown), *slips, "", told), {**data, "slips": slips})


def _slip(trial: Trial, instrument: Instrument) -> list[str]:
    """What the last reading looks like, if it has the mark of a slip."""
    slip = slip_of(trial, instrument)
    if slip is None:
        return []
    parts: dict[str, Part] = {"n": len(trial.takes), "written": trial.takes[-1].quantity.written}
    return [f"{say(Reason('feel.reading', parts))} {say(slip)}"]


def _kept(hand: Hand, file: Path) -> str:
    return word("feel.kept", person=hand.book.shop().people[hand.person].name, file=str(file))


def _say(kept: KeptFeel, world: World) -> None:
    """What is to be said of the person's file goes to the error stream."""
    for reason in kept.said:
        world.err.write(say(reason) + "\n")


def _lines(trial: Trial, shown: Feel) -> list[str]:
    size = Amount(trial.size, trial.takes[0].quantity.kind, trial.unit)
    heads = [word(f"feel.head.{head}") for head in ("figure", "shown", "should")]
    figures = [
        [word(f"feel.row.{row.name}"), *(say(each) if each else "" for each in (row.shown, row.should))]
        for row in rows(shown)
    ]
    title = word("feel.title", tag=trial.tag, size=part_text(size), n=shown.read.n)
    return [title, "", *table(heads, figures), "", *(say(one.reason) for one in findings(shown))]


def _data(trial: Trial, shown: Feel | None) -> dict[str, Any]:
    numbers = to_builtins(stated(shown)) if shown is not None else {}
    said = [say(one.reason) for one in findings(shown)] if shown is not None else []
    return {**to_builtins(trial), **numbers, "findings": said}


# --- what is kept -------------------------------------------------------------------------------------------------


def _listed(options: Namespace, world: World, hand: Hand) -> Answer:
    kept, issues = kept_feel(hand.book.path, hand.person), hand.book.shop().issues
    _say(kept, world)
    tag = plain_text(options.tag) if options.tag else ""
    trials = [trial for trial in kept.trials if not tag or trial.tag == tag]
    shown = [feel_of(trial, issues.get((trial.instrument, trial.issue))) for trial in trials]
    data = [_data(trial, one) for trial, one in zip(trials, shown, strict=True)]
    told = {"done": True, "wanted": kept.wanted, "trials": data}
    if not trials:
        return Answer((word("feel.none_kept"),), told)
    heads = [word(f"feel.column.{column}") for column in COLUMNS]
    lines = table(heads, [_row(trial, stated(one)) for trial, one in zip(trials, shown, strict=True) if one])
    return Answer((*lines, "", _kept(hand, feel_place(hand.book.path, hand.person))), told)


def _row(trial: Trial, numbers: StatedFeel) -> list[str]:
    drift = numbers.drift if numbers.drift_told else word("feel.drift.not_told") if numbers.drift else ""
    spread = numbers.deviation or (word("feel.spread.equal") if numbers.n > 1 else "")
    return [trial.day, trial.tag, trial.written, str(numbers.n), numbers.bias, spread, drift, numbers.unit]


def _forgotten(hand: Hand) -> Answer:
    found = forget_feel(hand.book.path, hand.person)
    return Answer((word("feel.forgotten" if found else "feel.none_kept"),), {"done": True, "forgotten": found})

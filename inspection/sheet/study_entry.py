"""What whoever reads in a gauge study is asked, and the act that what they typed comes to. It shows the part and the
turn; no earlier reading, of nobody."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from inspection.instruments.record import Instrument
from inspection.measuring.study_under_way import check_shown
from inspection.quantity.reader import read
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.state import Shop
from inspection.studies.conducted import MOST_RUNS, Conducted, Specimen, StudyKind, StudyReading, observed_in


class Asked(Struct, frozen=True):
    """What a person reads next: the ``run``, of which part (``label``), their how manieth reading ``n`` of ``of``, and
    the ``question`` about what they just read, if one waits: the run is then that one again."""

    run: int
    label: str
    n: int
    of: int
    question: StudyReading | None = None


def asked_of(held: Conducted, person: str) -> Asked | None:
    """What this person is asked; None where nothing is left for them."""
    waits = held.waiting(person)
    run = waits.run if waits is not None else held.next_run(person)
    if run is None or held.ended is not None:
        return None
    runs = held.runs_of(person)
    return Asked(run, label_of(held, run), runs.index(run) + 1, len(runs), waits)


def label_of(held: Conducted, run: int) -> str:
    """The label of what a run reads."""
    return held.plan.specimens[held.plan.runs[run].specimen].label


def specimens_in(kind: StudyKind, labels: Sequence[str], instrument: Instrument, unit: str) -> tuple[Specimen, ...]:
    """What is read, as written: labels of parts, one number alone for so many parts; of standards "label=size" or
    "label=size±U"; of parts for GO and NO-GO "label", "label=good" or "label=bad". Raises Refused."""
    if len(labels) == 1 and labels[0].isdecimal() and kind is not StudyKind.STANDARDS:
        labels = [str(n) for n in range(1, min(int(labels[0]), MOST_RUNS) + 1)]
    return tuple(_specimen(kind, label, instrument, unit) for label in labels)


def _specimen(kind: StudyKind, label: str, instrument: Instrument, unit: str) -> Specimen:
    name, sign, said = (each.strip() for each in label.partition("="))
    if kind is StudyKind.CROSSED:
        return Specimen(label.strip())
    if kind is StudyKind.ATTRIBUTE:
        if sign and said not in ("good", "bad"):
            raise Refused(Reason("gauge.refused.start.good_or_bad", {"text": label[:60]}))
        return Specimen(name, good={"good": True, "bad": False}.get(said))
    if not sign:
        raise Refused(Reason("gauge.refused.start.no_size"))
    size, _, within = said.partition("±")
    counts = [read(text, unit=unit, kind=instrument.quantity).count if text.strip() else 0 for text in (size, within)]
    return Specimen(name, counts[0], counts[1])


def reading_act(shop: Shop, held: Conducted, person: str, text: str) -> acts.TakeStudyReading:
    """The act that keeps what was typed as the person's next reading, or as the answer to the question that waits.
    Raises Refused as the reader of numbers does, and where nothing is left for this person."""
    asked = asked_of(held, person)
    if asked is None:
        raise Refused(Reason("gauge.refused.nothing_left"))
    made = _typed(shop, held, asked.run, text)
    answers = asked.question.identity if asked.question is not None else ""
    return acts.TakeStudyReading(
        study=made.study, run=made.run, quantity=made.quantity, observed=made.observed, answers=answers
    )


def check_all(shop: Shop, held: Conducted, person: str, texts: Sequence[str], *, keeping: bool = False) -> None:
    """Whether readings typed together can all be taken, before the first of them is; ``keeping`` is whether a question
    that waits is answered by keeping. Raises Refused where one cannot be read, or nobody asks for so many."""
    asked = asked_of(held, person)
    if asked is None:
        raise Refused(Reason("gauge.refused.nothing_left"))
    left = sum(run not in held.standing for run in held.runs_of(person))
    left += asked.question is not None and not keeping
    faults = [] if len(texts) <= left else [Reason("gauge.refused.too_many", {"n": left, "given": len(texts)})]
    for text in texts:
        try:
            _typed(shop, held, asked.run, text)
        except Refused as refused:
            faults += refused.reasons
    if faults:
        raise Refused(*faults)


def correction_act(shop: Shop, held: Conducted, reading: StudyReading, text: str, reason: str) -> acts.TakeStudyReading:
    """The act that puts what was typed in the place of an earlier reading."""
    made = _typed(shop, held, reading.run, text)
    return acts.TakeStudyReading(
        study=made.study,
        run=made.run,
        quantity=made.quantity,
        observed=made.observed,
        replaces=reading.identity,
        reason=reason,
    )


def _typed(shop: Shop, held: Conducted, run: int, text: str) -> acts.TakeStudyReading:
    plan = held.plan
    if plan.kind is StudyKind.ATTRIBUTE:
        observed = observed_in(text)
        if not observed:
            raise Refused(Reason("gauge.refused.observed"))
        return acts.TakeStudyReading(study=plan.identity, run=run, observed=observed)
    instrument: Instrument = shop.issues[plan.instrument, plan.issue]
    quantity = read(text, unit=plan.configuration.unit, kind=instrument.quantity, signed=True)
    check_shown(instrument, plan.configuration, quantity)
    return acts.TakeStudyReading(study=plan.identity, run=run, quantity=quantity)


def own_readings(held: Conducted, person: str) -> tuple[StudyReading, ...]:
    """What a person read and counts, the newest first: to be corrected, each told by its part and turn."""
    mine = [held.readings[name] for name in held.standing.values() if held.readings[name].by == person]
    return tuple(sorted(mine, key=lambda each: -each.at))

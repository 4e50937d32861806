"""What a reading rests on: the check of each instrument that it was taken with, what is known of how they behaved then,
and the temperatures that it inherits."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from typing import cast

from msgspec import Struct
from msgspec.structs import replace

from inspection.instruments.blocks_grades import grade_limit
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument
from inspection.instruments.ways import way_of
from inspection.measuring.bias import Checked
from inspection.measuring.checks import Asked, Configuration, checklist, configured
from inspection.measuring.checks_life import CheckRules, Happened, Used, measuring_issue, standing
from inspection.measuring.checks_outcome import Repeated
from inspection.measuring.known import Evidence, Known
from inspection.measuring.proofs import CheckRecord, Proof, StudyRecord, UpsetRecord, checks_of, studies_in_use
from inspection.measuring.reading import Reading
from inspection.measuring.spread import Seen, Spread, pooled, pooled_spreads, spread_of, taken_as_known
from inspection.measuring.temperature_log import log_at
from inspection.reasons import Reason
from inspection.sheet.state import Sheet, Shop

Elsewhere = Callable[[str, int, str], Sequence[Used]]
"""Uses of an instrument (by identity) since a moment by others than a person, on any sheet, as the book knows them."""


class Rests(Struct, frozen=True):
    """What a reading rests on: the ``configuration`` of the instrument read, the ``checks``, why there is none, and the
    line of the temperature ``log``."""

    configuration: Configuration | None
    checks: tuple[CheckRecord, ...] = ()
    unproven: tuple[Reason, ...] = ()
    log: str = ""


def rests_of(
    shop: Shop,
    sheet: Sheet,
    method: Method,
    by: str,
    at: int,
    stated: Configuration | None = None,
    elsewhere: Elsewhere | None = None,
) -> Rests:
    """What a reading with ``method`` by a person at a moment (UTC microseconds) rests on.

    A check is asked for of the instrument that is read and of the transfer gauge that touches the part. Without
    ``elsewhere`` only uses on this sheet are known. Raises Refused for a configuration that the instrument has not.
    """
    parts = tuple(shop.issues[part.identity, part.issue] for part in method.parts)
    read = parts[0]
    if stated is not None:
        configured(read, stated.unit, stated.fitted, stated.low, stated.high)
    checks: list[CheckRecord] = []
    unproven: list[Reason] = []
    for part in asked_of(shop, method):
        as_set = (stated if part is read else None) or configuration_of(shop, part, by, at)
        found = resting(shop, sheet, part, as_set, by, at, elsewhere)
        if isinstance(found, CheckRecord):
            checks.append(found)
        elif found is not None:
            unproven.append(found)
    log = log_at(sheet.temperatures, at, sheet.rules.temperature_minutes)
    return Rests(
        stated or configuration_of(shop, read, by, at), tuple(checks), tuple(unproven), log.identity if log else ""
    )


def asked_of(shop: Shop, method: Method) -> tuple[Instrument, ...]:
    """The instruments of a method of which a check before use is asked: the one that is read and the transfer gauge,
    as far as their kind has a checklist."""
    parts = tuple(shop.issues[part.identity, part.issue] for part in method.parts)
    way = way_of(method, shop.issues)
    meeting = parts[:2] if way is not None and way.transfer is not None else parts[:1]
    return tuple(part for part in meeting if checklist(part))


def configuration_of(shop: Shop, instrument: Instrument, by: str, at: int) -> Configuration:
    """How an instrument is set up as far as anybody said: as this person last checked it, else as its record has it."""
    mine = [each for each in checks_of(shop.proofs, instrument.identity, at) if each.made.by == by]
    return mine[-1].made.configuration if mine else configured(instrument)


def resting(
    shop: Shop,
    sheet: Sheet,
    instrument: Instrument,
    as_set: Configuration,
    by: str,
    at: int,
    elsewhere: Elsewhere | None = None,
) -> CheckRecord | Reason | None:
    """The check that a use of the instrument rests on, or why there is none; None where the shop asks for none."""
    if not sheet.rules.check_minutes:
        return None
    checks = checks_of(shop.proofs, instrument.identity, at)
    if not checks:
        return _unproven(Reason("check.dead.never"), instrument)
    last = checks[-1]  # it ended every one before it
    uses = list(_otherwise(sheet, instrument.identity, last, as_set, by))
    others = elsewhere(instrument.identity, last.at, by) if elsewhere else ()
    uses += [replace(use, configuration=as_set) for use in others]  # the hand alone is known of them
    rest = standing(
        Used("", instrument.identity, _measuring(shop, instrument.identity, instrument.issue), as_set, by, at),
        [replace(last.made, issue=_measuring(shop, instrument.identity, last.made.issue))],
        [replace(use, issue=_measuring(shop, use.instrument, use.issue)) for use in uses],
        upsets_of(shop.proofs, instrument.identity),
        CheckRules(sheet.rules.check_minutes, sheet.rules.closing_band),
    )
    if rest.why is not None:
        return _unproven(rest.why, instrument)
    return last


def configuration_at(shop: Shop, reading: Reading, instrument: str) -> Configuration:
    """How an instrument was set up for a reading: as the reading says of the one that is read, else as its record."""
    read = reading.method.parts[0]
    if read.identity == instrument and reading.configuration is not None:
        return reading.configuration
    issue = next(part.issue for part in reading.method.parts if part.identity == instrument)
    return configured(shop.issues[instrument, issue])


def _unproven(why: Reason, instrument: Instrument) -> Reason:
    return Reason(f"unproven.{why.code.rpartition('.')[2]}", {**why.parts, "tag": instrument.tag})


def _measuring(shop: Shop, instrument: str, issue: int) -> int:
    return measuring_issue(shop.issues, instrument, issue)


def upsets_of(proofs: Iterable[Proof], instrument: str) -> tuple[Happened, ...]:
    """What happened to an instrument."""
    return tuple(each.happened for each in proofs if isinstance(each, UpsetRecord) and each.instrument == instrument)


def _otherwise(sheet: Sheet, instrument: str, check: CheckRecord, as_set: Configuration, by: str) -> Iterator[Used]:
    """Uses of an instrument on the sheet since a check by another hand or set up otherwise: what may end it.

    Readings lie in the order they were entered. The first that was taken before the check ends the search, and so does
    one of the same kind that rested on it: nothing before that had ended it. Plain, for it runs with every entry.
    """
    for reading in reversed(cast("dict[str, Reading]", sheet.readings).values()):
        if reading.taken <= check.at:
            return
        parts = reading.method.parts
        if parts[0].identity == instrument:
            part, set_up = parts[0], reading.configuration
        elif len(parts) > 1 and parts[1].identity == instrument:
            part, set_up = parts[1], None
        else:
            continue
        if reading.by != by or (set_up is not None and set_up != as_set):
            yield Used(reading.identity, instrument, part.issue, set_up or as_set, reading.by, reading.taken)
        elif check.made.identity in reading.checks:
            return


# --- what is known --------------------------------------------------------------------------------------------------

#: So many of an instrument's newest good checks are pooled: further back it was another hand, another oil, other faces.
POOLED = 10


def known_for(shop: Shop, sheet: Sheet, reading: Reading) -> Known:
    """What was known when a reading was taken: of its instruments as they were set up, and of temperature."""
    read = reading.method.parts[0].identity
    evidence = {}
    for part in reading.method.parts:
        fitted = reading.configuration.fitted if reading.configuration and part.identity == read else ""
        held = evidence_of(shop, shop.issues[part.identity, part.issue], fitted, reading.taken)
        if held is not None:
            evidence[part.identity] = held
    log = next((each for each in sheet.temperatures if each.identity == reading.log), None)
    used_up = {} if reading.identity in sheet.readings else shop.used_up  # later use changes nothing
    return Known(evidence, log.measured if log else None, used_up)


def known_now(shop: Shop, at: int | None = None, sheet: Sheet | None = None) -> Known:
    """What is known of every instrument of the crib as it was last set up, and of temperature on a sheet at a moment
    (UTC microseconds)."""
    last: dict[str, CheckRecord] = {}
    for each in shop.proofs:
        if isinstance(each, CheckRecord) and (at is None or each.at <= at):
            last[each.instrument] = each
    proven = {*last, *(each.instrument for each in shop.proofs if isinstance(each, StudyRecord))}
    evidence = {}
    for identity in proven:
        if identity in shop.crib:
            fitted = last[identity].made.configuration.fitted if identity in last else ""
            held = evidence_of(shop, shop.crib[identity], fitted, at)
            if held is not None:
                evidence[identity] = held
    log = log_at(sheet.temperatures, at, sheet.rules.temperature_minutes) if sheet and at is not None else None
    return Known(evidence, log.measured if log else None, shop.used_up)


def evidence_of(shop: Shop, instrument: Instrument, fitted: str, until: int | None = None) -> Evidence | None:
    """What checks and studies up to a moment say of an instrument with the same things fitted; None where nothing."""
    good = [each for each in checks_of(shop.proofs, instrument.identity, until) if _is_good(each, fitted)][-POOLED:]
    studies = [each for each in studies_in_use(shop.proofs, until) if _is_of(each, instrument, fitted)]
    if not good and not studies:
        return None
    found = [read_in(instrument, each) for each in good]
    block = _scatter([each for _, each in found if each is not None], instrument.resolution, Seen.BLOCK)
    last_zero = next((each for each, _ in reversed(found[-1:]) if each is not None), None)
    return Evidence(
        block=block,
        zeros=_scatter([each for each, _ in found if each is not None], instrument.resolution, Seen.ZERO),
        study=_named(pooled((group for each in studies for group in each.groups), Seen.STUDY), studies),
        people=_between_people(studies),
        checked=_checked(shop, instrument, good[-1], found[-1][1], block) if good else None,
        zero_total=sum(last_zero.readings) - last_zero.n * last_zero.size if last_zero else 0,
        zero_of=last_zero.n if last_zero else 0,
    )


def _scatter(read: Sequence[Repeated], step: int, seen: Seen) -> Spread | None:
    """The pooled deviation of groups of readings, if any group differs by more than the smallest step.

    Readings that differ by one step, or not at all, show the step and not the hand: the budget has it as r/√12, and
    three such readings would weigh as two degrees of freedom against the figure that the shop takes as known.
    """
    told = any(each.width > step for each in read)
    return pooled((each.readings for each in read), seen) if told else None


def _is_good(check: CheckRecord, fitted: str) -> bool:
    return check.made.passed and check.made.configuration.fitted == fitted


def _is_of(study: StudyRecord, instrument: Instrument, fitted: str) -> bool:
    return study.instrument == instrument.identity and study.configuration.fitted == fitted


def _named(spread: Spread | None, studies: Iterable[StudyRecord]) -> Spread | None:
    """A spread with the titles of the gauge studies that it is from."""
    titles = ", ".join(dict.fromkeys(each.title for each in studies if each.title))
    return replace(spread, of=titles) if spread is not None and titles else spread


def _between_people(studies: Iterable[StudyRecord]) -> Spread | None:
    """What differs between people, pooled over the gauge studies in which a lead took it; None where none did."""
    taken = [each for each in studies if each.people]
    held = (Spread(Fraction(each.people**2), each.people_freedom, Seen.STUDY) for each in taken)
    return _named(pooled_spreads(held), taken)


def read_in(instrument: Instrument, check: CheckRecord) -> tuple[Repeated | None, Repeated | None]:
    """What was read in a check: the zero repeats, and the block or setting standard."""
    asked = {line.code: line for line in checklist(instrument, check.made.configuration)}
    zeros = block = None
    for answer in check.answers:
        line = asked.get(answer.line)
        if line is None or not answer.readings:
            continue
        if line.asked is Asked.ZEROS:
            zeros = Repeated(answer.readings, line.at, Seen.ZERO)
        elif line.asked.has_size and answer.size:
            block = Repeated(answer.readings, answer.size, Seen.BLOCK)
    return zeros, block


def _checked(
    shop: Shop, instrument: Instrument, check: CheckRecord, read: Repeated | None, block: Spread | None
) -> Checked | None:
    """The block readings of a check as a known error: the block by its grade, the scatter by what was seen."""
    if read is None:
        return None
    spread = spread_of(taken_as_known(instrument.repeatability), block)
    return Checked(sum(read.readings), read.n, read.size, _block_square(shop, check, read.size), spread)


def _block_square(shop: Shop, check: CheckRecord, size: int) -> Fraction:
    """The squared standard uncertainty of the block that was read: its grade's limit as a rectangle (ISO 3650); 0 where
    nobody said which set it came from, for the permissible error of the instrument covers it."""
    answer = next((each for each in check.answers if each.size == size), None)
    held = shop.by_tag(answer.standard.split(" ")[0]) if answer is not None and answer.standard else None
    limit = grade_limit(held.gauge_class, size, held.unit) if held is not None else None
    return Fraction(limit * limit, 3) if limit is not None else Fraction(0)

"""A check told in one go: what was seen, by line, and what was read, as texts; the same entries as one by one.

Studies on parts are told the same way, group by group.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from inspection.instruments.record import Instrument
from inspection.instruments.spelling import readings_of
from inspection.measuring.checks import Asked, CheckLine, Configuration, checklist
from inspection.measuring.checks_under_way import CheckUnderWay, enter, measure_on, see
from inspection.quantity.reader import read
from inspection.reasons import Part, Reason, Refused

_SEEN = {"yes": True, "y": True, "no": False, "n": False}


class Told(Struct, frozen=True):
    """What a person tells of a check: ``seen`` by the line's code (yes, no, or the unit that it shows), and with
    ``all_seen`` everything else to look at as it should be; readings of ``zeros``, and ``readings`` of the ``block``
    (its size, or those of a stack, with + between) or setting ``standard`` (its mark, or that of a set), or of the one
    spot."""

    seen: Mapping[str, str] = {}
    all_seen: bool = False
    zeros: str = ""
    block: str = ""
    standard: str = ""
    readings: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all is told."""
        return self == Told()


def answered(check: CheckUnderWay, told: Told) -> CheckUnderWay:
    """The check with everything entered that is told. Lines that nothing is told of stay without an answer.

    Raises Refused with every fault: a line that is not on the list, an answer that is none, readings of something that
    is not read here or of a size that nobody says, each reading with what is wrong with it.
    """
    faults = list(_astray(check, told))
    for line in check.lines:
        try:
            check = _line(check, line, told)
        except Refused as refused:
            faults += refused.reasons
    if faults:
        raise Refused(*faults)
    return check


def _astray(check: CheckUnderWay, told: Told) -> Iterator[Reason]:
    """What is told and not asked."""
    looks = [line.code for line in check.lines if not line.asked.is_read]
    tag = {"tag": check.instrument.tag}
    for code in told.seen:
        if code not in looks:
            yield Reason("check.told.no_line", {**tag, "line": code[:60], "lines": ", ".join(looks) or "–"})
    asked = {line.asked for line in check.lines}
    if told.zeros and Asked.ZEROS not in asked:
        yield Reason("check.told.no_zeros", dict(tag))
    if (told.block or told.standard) and not any(each.has_size for each in asked):
        yield Reason("check.told.no_block", dict(tag))
    if told.readings and not any(each.has_size or each is Asked.SPREAD for each in asked):
        yield Reason("check.told.no_readings", dict(tag))


def _line(check: CheckUnderWay, line: CheckLine, told: Told) -> CheckUnderWay:
    at = replace(check, at=line.code)
    if not line.asked.is_read:
        said = told.seen.get(line.code, "yes" if told.all_seen else "").strip()
        return _seen(at, line, said) if said else check
    texts = readings_of(told.zeros if line.asked is Asked.ZEROS else told.readings)
    if line.asked.has_size and (texts or told.block or told.standard):
        return _entered(_measured_on(at, told), line, texts)
    return _entered(at, line, texts)


def _seen(check: CheckUnderWay, line: CheckLine, said: str) -> CheckUnderWay:
    yes = _SEEN.get(said.casefold())
    if yes is None and line.asked is Asked.UNIT:
        return enter(check, said)
    if yes is None:
        raise Refused(Reason("check.told.yes_or_no", {"line": line.code, "text": said[:60]}))
    return see(check, as_it_should_be=yes)


def _measured_on(check: CheckUnderWay, told: Told) -> CheckUnderWay:
    """On the block or standard that is told; a suggestion counts only where somebody says that it was taken."""
    said = " ".join(filter(None, (told.standard.strip(), told.block.strip())))
    return measure_on(check, said)


def _entered(check: CheckUnderWay, line: CheckLine, texts: Sequence[str]) -> CheckUnderWay:
    faults: list[Reason] = []
    for n, text in enumerate(texts, 1):
        try:
            check = enter(replace(check, at=line.code), text)
        except Refused as refused:
            faults += [Reason("check.in_reading", {"line": line.code, "n": n, "written": text[:60]}), *refused.reasons]
    if faults:
        raise Refused(*faults)
    return check


# --- studies on parts -----------------------------------------------------------------------------------------


def read_groups(
    instrument: Instrument, configuration: Configuration, texts: Sequence[str]
) -> tuple[tuple[int, ...], ...]:
    """Groups of readings of parts (counts), each text one group of one place, read in the unit that is shown.

    Raises Refused with every fault by group and reading, or where a group holds none.
    """
    signed = any(line.asked is Asked.SPREAD for line in checklist(instrument, configuration))
    faults: list[Reason] = []

    def one(text: str) -> int:
        return read(text, unit=configuration.unit, kind=instrument.quantity, signed=signed).count

    groups = tuple(tuple(_group(n, text, one, faults)) for n, text in enumerate(texts, 1))
    if faults:
        raise Refused(*faults)
    return groups


def _group(number: int, text: str, one: Callable[[str], int], faults: list[Reason]) -> Iterator[int]:
    parts = readings_of(text)
    if not parts:
        faults.append(Reason("study.group_empty", {"group": number}))
    for n, part in enumerate(parts, 1):
        try:
            yield one(part)
        except Refused as refused:
            said: dict[str, Part] = {"group": number, "n": n, "written": part[:60]}
            faults += [Reason("study.in_group", said), *refused.reasons]

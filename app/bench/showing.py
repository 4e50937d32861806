"""What the card and the line of the route show of the row at hand, made from the sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import islice

from app.bench import told, weighing
from app.bench.card import Asked
from app.bench.line import is_blind, mark_at, zone_of
from app.bench.others import Group
from app.bench.seen import Seen
from app.bench.under_way import At
from app.bench.weighing import Weighed, against, weigh
from app.bench.why import Chosen
from app.bench.words_at import rows_to_read_anew, words_at
from app.gauging.opening import AtHand
from app.parts.bars import Bar
from app.parts.zone import Zone
from inspection.drawing.characteristic import FeatureKind
from inspection.instruments.method import Assessment, Fitness, Ratio
from inspection.instruments.ratios import effective_band
from inspection.instruments.record import Instrument
from inspection.measuring.howto import how_to_take
from inspection.measuring.reading import Role
from inspection.measuring.verdict import Verdict
from inspection.quantity.units import Kind
from inspection.reasons import Reason
from inspection.words.say import say, word

#: How far ahead the route is told: so many stops, so many rows of each, so many slots looked at.
STOPS_AHEAD, ROWS_AHEAD, SLOTS_AHEAD = 3, 5, 60
_NUMBERS = (Role.VALUE, Role.ENTERS, Role.STOPS)


def asked_of(seen: Seen, at: At, units: str) -> Asked:
    """The row at hand, as the card shows it."""
    row = seen.row(at.row)
    requirement = row.requirement
    blind = is_blind(seen, at.cell)
    instrument = seen.instrument(at.row)
    unit = told.unit_shown(requirement, units)
    low, high = ("", "") if blind else told.limit_pair(requirement, unit)
    numeric = at.slot.role in _NUMBERS if at.slot else all(each.observed is None for each in seen.taken(at.cell))
    return Asked(
        number=row.number,
        requirement=word("bench.blind.requirement", what=row.name or row.kind) if blind else requirement.written,
        lines=tuple(filter(None, _lines(seen, at, units, blind))),
        prompt=_prompt(seen, at),
        badge=told.entry_unit(row, instrument) if numeric else "",
        zone=Zone() if blind else zone_of(seen, at.cell, mark_at(seen, at.cell)),
        low=low,
        high=high,
        kept_note=_beneath(seen, at, blind),
    )


def _beneath(seen: Seen, at: At, blind: bool) -> str:
    """What stands below the strip: the verdict once there is one, else when it is given."""
    if seen.sheet.sealed:
        return word("bench.sealed_note", round=seen.sheet.round)
    verdict = seen.sheet.judgement(*at.cell).verdict
    if blind or verdict in (Verdict.OPEN, Verdict.NOT_JUDGED):
        return word("bench.judged_when_kept")
    return word(f"verdict.{verdict.name.lower()}")


def _lines(seen: Seen, at: At, units: str, blind: bool) -> Iterator[str]:
    row = seen.row(at.row)
    if not blind:
        yield row.name or row.kind
    yield from words_at(seen.sheet, at.cell)
    yield row.place
    if blind:
        yield word("bench.blind.limits")
    elif row.requirement.kind is Kind.LENGTH:
        limits = [told.limits(row.requirement, system) for system in ("in", "mm")]
        own = row.requirement.unit in ("mm", "cm", "m", "µm")
        yield from dict.fromkeys(reversed(limits) if own else limits)
    else:
        yield told.limits(row.requirement, units)


def _prompt(seen: Seen, at: At) -> str:
    """What is to be entered, beyond a number for the row: place, repeat, what was seen; the piece where there are
    several."""
    piece = word("bench.piece", serial=seen.serial(at.piece)) if len(seen.pieces) > 1 else ""
    if at.slot is None or seen.sheet.sealed:
        told_so = word("bench.prompt.sealed" if seen.sheet.sealed else "bench.prompt.read")
        return " · ".join(filter(None, (piece, told_so)))
    what = told.slot_words(seen.row_at(at.cell), at.slot)
    if at.slot.role is Role.FINDING:
        what = ", ".join(filter(None, (what, word("bench.prompt.finding"))))
    elif at.slot.role in (Role.GO, Role.NOT_GO):
        what = word("bench.prompt.gauge", what=what)
    return " · ".join(filter(None, (piece, what)))


def how_of(seen: Seen, at: At, units: str) -> tuple[str, ...]:
    """How to take the reading, a line each."""
    assignment = seen.sheet.assignments.get(at.row)
    found = assignment.assessment if assignment is not None else None
    use = found.method.use if found is not None else None
    return tuple(say(reason, units) for reason in how_to_take(seen.row(at.row), seen.instrument(at.row), use))


# --- the instrument -------------------------------------------------------------------------------------------


def chosen_of(seen: Seen, at: At, units: str) -> Chosen:
    """Why the row's instrument was chosen."""
    assignment = seen.sheet.assignments.get(at.row)
    found = assignment.assessment if assignment is not None else None
    if found is None or assignment is None:
        return Chosen(word("bench.instrument.none"), sentence=word("bench.why.none"), look="out")
    parts = seen.parts(at.row)
    blind = is_blind(seen, at.cell)  # ratios and reasons would tell the band
    sentence, look = ("", "") if blind else _verdict_on(found, units)
    by_hand = assignment.chosen_by_hand
    return Chosen(
        name=" + ".join(part.name for part in parts),
        facts="   ".join(filter(None, _facts(parts))),
        bars=() if blind else tuple(map(_bar, found.ratios)),
        sentence=sentence,
        look=look,
        more=word("bench.why.by_hand", reason=by_hand) if by_hand else "",
    )


def _facts(parts: tuple[Instrument, ...]) -> Iterator[str]:
    yield ", ".join(part.tag for part in parts)
    yield parts[0].place if parts else ""
    dues = [part.due for part in parts if part.due]
    yield word("bench.due", due=min(dues)) if dues else ""


def _bar(ratio: Ratio) -> Bar:
    got, needed = word("bench.ratio.got", got=ratio.got), word("bench.ratio.needed", needed=ratio.needed)
    return Bar(ratio.name, float(ratio.got), float(ratio.needed), got, needed, ratio.holds)


def _verdict_on(found: Assessment, units: str) -> tuple[str, str]:
    if found.fitness is Fitness.FIT:
        return word("bench.why.fit" if found.ratios else "bench.why.plain"), "good" if found.ratios else ""
    reasons = "; ".join(say(reason, units) for reason in found.against)
    return word("bench.why.marginal", reasons=reasons), "doubt"


def others_of(seen: Seen, at: At, units: str) -> tuple[tuple[str, str], ...]:
    """Every method not chosen for the row, with what stands against it; the nearest first."""
    blind = is_blind(seen, at.cell)
    return tuple((each.name, "" if blind else _against(each, units)) for each in _others(seen, at))


def others_in_short(seen: Seen, at: At) -> tuple[Group, ...]:
    """The same for the card: what would do as well, what is marginal with the ratios it lacks, what is not to be used
    today and why, and how many do not reach, by what they lack."""
    others = _others(seen, at)
    standing = {each.method.key: _standing(each) for each in others}
    fit = tuple(_by_name([each for each in others if standing[each.method.key] == "fit"]))
    marginal, now = (
        tuple(tell(each) for each in others if standing[each.method.key] == wanted)
        for wanted, tell in (("marginal", _short_of), ("not_now", _not_now))
    )
    lacking = Counter(weighing.lacks(each) for each in others if standing[each.method.key] == "no_reach")
    reach = tuple(word(f"bench.lacks.{name}", n=n) for name, n in lacking.most_common())
    groups = {"fit": fit, "marginal": marginal, "not_now": now, "no_reach": reach}
    return tuple(Group(word(f"bench.others.{name}"), items) for name, items in groups.items() if items)


def _by_name(methods: list[Weighed]) -> Iterator[str]:
    """Methods of one name together: "P-10, P-21 gauge pins .061–.250 in"."""
    named: dict[str, list[str]] = {}
    for each in methods:
        first, *aids = each.parts
        named.setdefault(" + ".join((told.short_name(first), *(aid.tag for aid in aids))), []).append(first.tag)
    for name, tags in named.items():
        yield f"{', '.join(tags)} {name}"


def _standing(weighed: Weighed) -> str:
    if weighed.assessment.fitness is not Fitness.UNSUITABLE:
        return "fit" if weighed.assessment.fitness is Fitness.FIT else "marginal"
    return "no_reach" if weighing.lacks(weighed) else "not_now"


def _short_of(weighed: Weighed) -> str:
    """A marginal method with the ratio that falls shortest of what is needed."""
    lacking = [ratio for ratio in weighed.assessment.ratios if not ratio.holds]
    if not lacking:
        return weighing.short(weighed)
    worst = min(lacking, key=lambda ratio: float(ratio.got) / max(float(ratio.needed), 0.01))
    said = word("bench.others.ratio", ratio=worst.name, got=worst.got, needed=worst.needed)
    return f"{weighing.short(weighed)} ({said})"


def _not_now(weighed: Weighed) -> str:
    reasons = (say(Reason(f"bench.{each.reason.code}", each.reason.parts)) for each in weighing.barring(weighed))
    return f"{weighing.short(weighed)} ({', '.join(reasons)})"


def _others(seen: Seen, at: At) -> list[Weighed]:
    assignment = seen.sheet.assignments.get(at.row)
    found = assignment.assessment if assignment is not None else None
    mine = found.method.key if found is not None else ""
    return [each for each in weigh(seen, at.row) if each.method.key != mine]


def barred_of(seen: Seen, at: At, units: str) -> tuple[tuple[str, str], ...]:
    """The methods that nobody can choose for the row, each with why; of a row read blind only their names."""
    blind = is_blind(seen, at.cell)
    barred = (each for each in weigh(seen, at.row) if not each.choosable)
    return tuple((each.name, "" if blind else against(each, units)) for each in barred)


def _against(weighed: Weighed, units: str) -> str:
    return against(weighed, units) or word("bench.others.as_well")


# --- the route ------------------------------------------------------------------------------------------------


def route_ahead(seen: Seen, at: At) -> str:
    """The rows that wait next on the route, by instrument."""
    groups: dict[str, list[str]] = {}
    ahead = seen.walk.waiting(seen.shop, seen.sheet, after=at.cell, beyond=True)
    for row, piece, _slot in islice(ahead, SLOTS_AHEAD):
        if row == at.row and piece == at.piece:
            continue
        instrument = seen.instrument(row)
        name = instrument.name if instrument is not None else word("bench.instrument.none")
        if name not in groups and len(groups) == STOPS_AHEAD:
            break
        numbers = groups.setdefault(name, [])
        number = seen.row(row).number
        if number not in numbers:
            numbers.append(number)
    mine = seen.instrument(at.row)
    said = [
        _group(name, numbers, "this" if mine is not None and name == mine.name else "first" if not place else "then")
        for place, (name, numbers) in enumerate(groups.items())
    ]
    return "     ".join(said) if said else _nothing_waits(seen, at)


def _nothing_waits(seen: Seen, at: At) -> str:
    """What comes next where the route has come to its end."""
    if rows := rows_to_read_anew(seen.sheet):
        shown = ", ".join(rows[:ROWS_AHEAD]) + (" …" if len(rows) > ROWS_AHEAD else "")
        return word("bench.next.returned", rows=shown)
    waits = any(count.needed - count.measured + count.asked for count in map(seen.count, seen.pieces))
    if not seen.sheet.sealed and not waits:
        return word("bench.next.sign")
    if at.slot is not None and seen.needs(at.cell):
        return word("bench.next.last")
    return word("bench.next.none")


def _group(name: str, numbers: list[str], how: str) -> str:
    shown = ", ".join(numbers[:ROWS_AHEAD]) + (" …" if len(numbers) > ROWS_AHEAD else "")
    return word(f"bench.next.{how}", instrument=name, numbers=shown)


def studied(seen: Seen, at: At) -> AtHand:
    """What a gauge study is proposed for: the row at hand, its band and its instrument; of one read blind no band, and
    nothing of a note, which nobody gauges."""
    if not at.row or seen.row(at.row).kind is FeatureKind.NOTE:
        return AtHand()
    row, instrument = seen.row(at.row), seen.instrument(at.row)
    tag, part = instrument.tag if instrument is not None else "", seen.sheet.plan.part_identity
    if is_blind(seen, at.cell):
        return AtHand(tag, part, row.identity, row.number)
    return AtHand(tag, part, row.identity, row.number, row.requirement.written, effective_band(row) or 0)

"""The shop's rules as people write and read them: a name and a short text each, for the command line and for a form.

What is written is read again as the very same rules. Names, and where each number comes from, stand in
``resources/tables/rules.csv``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from typing import Any, NamedTuple

from msgspec import Struct
from msgspec.structs import asdict, replace

from inspection.instruments.cells import Cells, plainly
from inspection.instruments.known_within import kelvin_text, read_kelvin
from inspection.instruments.rules import CustomerRule, Rules, check_rules, plain_customer
from inspection.instruments.spelling import Piece, amount_text, read_amount, read_decimal
from inspection.measuring.guard import rule_reason
from inspection.measuring.guard_as_written import decision_text, read_decision
from inspection.quantity.units import UNITS
from inspection.reasons import Reason, Refused
from inspection.standards.tables import rows

#: A rule that does not hold at all is written so.
NONE = "none"
CUSTOMERS = "customers"

_NOTHING = frozenset({NONE, "0", "no", "off", "never"})
_YES = {"yes": True, "y": True, "no": False, "n": False}
_TO_ONE = re.compile(r"(?:(?::|/|to)\s*1)?", re.IGNORECASE)
_UNIT = re.compile(r"[^\W\d_]|[\"″”]")
_CUSTOMER = re.compile(r"customer\b", re.IGNORECASE)
_QUOTES = "\"'“”„‘’ "
_MINUTES = {"min": 1, "minute": 1, "minutes": 1, "h": 60, "hour": 60, "hours": 60, "d": 1440, "day": 1440, "days": 1440}
_DAYS = {"d": 1, "day": 1, "days": 1, "week": 7, "weeks": 7}
_SECONDS = {"s": 1, "sec": 1, "second": 1, "seconds": 1, "min": 60, "minute": 60, "minutes": 60}

#: No shop asks for more: beyond these something else was meant.
MOST_RATIO, MOST_MINUTES, MOST_SECONDS, MOST_DAYS = 100, 31 * 1_440, 3_600, 366


class _Named(Struct, frozen=True):
    names: tuple[str, ...]
    manner: str
    source: str
    how: str


class RuleLine(Struct, frozen=True):
    """One rule as it is told: its ``field`` in ``Rules``, its name and text as they are written, what it says, and the
    source of the number with how that was obtained."""

    field: str
    name: str
    text: str
    says: Reason
    source: str
    how_obtained: str


@cache
def _table() -> Mapping[str, _Named]:
    return {
        row["field"]: _Named(tuple(row["names"].split(";")), row["manner"], row["source"], row["how_obtained"])
        for row in rows("rules")
    }


# --- read -----------------------------------------------------------------------------------------------------


def field_named(name: str) -> str:
    """The field of ``Rules`` that a name means, whatever its capitals and hyphens. Raises Refused for another name."""
    known = {plainly(each): field for field, named in _table().items() for each in named.names}
    wanted = plainly(name)
    if wanted in known:
        return known[wanted]
    near = get_close_matches(wanted, known, n=1)
    if near:
        raise Refused(Reason("rules.name_near", {"name": name[:60], "near": _table()[known[near[0]]].names[0]}))
    names = ", ".join(named.names[0] for named in _table().values())
    raise Refused(Reason("rules.name_unknown", {"name": name[:60], "names": names}))


def read_rules(cells: Mapping[str, str], base: Rules) -> Rules:
    """The rules that texts by field make of ``base``; fields that are left out stay.

    Raises Refused with every fault, each with its ``field`` and the character ``at``, and as ``check_rules`` does.
    """
    read = Cells(cells)
    values: dict[str, Any] = {}
    for field in cells:
        with read.faults_of(field):
            values[field] = _MANNERS[_table()[field].manner].read(read.whole(field))
    if read.faults:
        raise Refused(*read.faults)
    found = replace(base, **values)
    check_rules(found)
    return found


def set_rule(text: str, rules: Rules) -> Rules:
    """The rules with one of them set by a text ``NAME=VALUE``; ``customer NAME=RULE`` agrees a rule with a customer,
    and strikes it where nothing stands behind the sign.

    Raises Refused as ``read_rules`` does, with ``at`` counted from the text's first character.
    """
    customer = _CUSTOMER.match(text.lstrip())
    name, sign, _ = text.rpartition("=") if customer else text.partition("=")
    if not sign:
        raise Refused(Reason("rules.no_sign", {"text": text[:60]}))
    value = Piece(text).cut(len(name) + 1)
    if customer:
        return _agreed(name.strip()[customer.end() :].strip(_QUOTES), value, rules)
    field = field_named(name)
    read = Cells({field: value.text})
    with read.faults_of(field):
        return replace(rules, **{field: _MANNERS[_table()[field].manner].read(value)})
    raise Refused(*read.faults)


def _agreed(name: str, value: Piece, rules: Rules) -> Rules:
    """With one customer's rule agreed anew, or struck."""
    if not name:
        raise value.refused("rules.customer_unnamed", field=CUSTOMERS)
    others = tuple(each for each in rules.customers if plain_customer(each.customer) != plain_customer(name))
    if value.text:
        return replace(rules, customers=(*others, CustomerRule(name, read_decision(value))))
    if len(others) == len(rules.customers):
        raise value.refused("rules.customer_unknown", field=CUSTOMERS, customer=name)
    return replace(rules, customers=others)


def _ratio(piece: Piece) -> int:
    """Hundredths, from ``4``, ``4:1`` or ``4 to 1``."""
    number, behind = _number(piece, "rules.cell.ratio")
    if not _TO_ONE.fullmatch(behind.text):
        raise behind.refused("rules.cell.ratio")
    if not 0 < number <= MOST_RATIO:
        raise piece.refused("rules.cell.ratio_beyond", most=MOST_RATIO)
    return _whole(number * 100, piece, "rules.cell.ratio_fine")


def _number(piece: Piece, code: str) -> tuple[Fraction, Piece]:
    try:
        return read_decimal(piece)
    except Refused as refused:
        raise piece.refused(code, at=refused.reasons[0].parts.get("at", piece.at)) from None


def _whole(number: Fraction, piece: Piece, code: str) -> int:
    if number.denominator != 1:
        raise piece.refused(code)
    return number.numerator


def _degrees(piece: Piece) -> int:
    """Thousandths of a degree Celsius."""
    try:
        return read_kelvin(piece)
    except Refused as refused:
        at = refused.reasons[0].parts.get("at", piece.at)
        raise piece.refused("rules.cell.degrees", at=at) from None


def _length(piece: Piece) -> int:
    """A length (pm) with its unit: without one an inch and a millimetre would be taken for each other."""
    found = read_amount(piece, "in")
    if not _UNIT.search(piece.text):
        raise piece.refused("rules.cell.length")
    return found.count


def _minutes(piece: Piece) -> int:
    return _time(piece, _MINUTES, range(1, MOST_MINUTES + 1), "rules.cell.minutes")


def _seconds(piece: Piece) -> int:
    return _time(piece, _SECONDS, range(MOST_SECONDS + 1), "rules.cell.seconds")


def _days(piece: Piece) -> int:
    return _time(piece, _DAYS, range(MOST_DAYS + 1), "rules.cell.days")


def _time(piece: Piece, units: Mapping[str, int], allowed: range, code: str) -> int:
    number, behind = _number(piece, code)
    per = units.get(behind.text.casefold())
    if per is None:
        raise behind.refused(code)
    found = _whole(number * per, piece, code)
    if found not in allowed:
        raise piece.refused(f"{code}_beyond")
    return found


def _or_none(read: Callable[[Piece], int]) -> Callable[[Piece], int]:
    return lambda piece: 0 if piece.text.casefold() in _NOTHING else read(piece)


def _yes(piece: Piece) -> bool:
    found = _YES.get(piece.text.casefold())
    if found is None:
        raise piece.refused("crib.cell.yes_or_no")
    return found


def _customers(piece: Piece) -> tuple[CustomerRule, ...]:
    """One customer a line, ``NAME = RULE``; none: nothing."""
    found: list[CustomerRule] = []
    start = 0
    for line in [] if piece.text.casefold() == NONE else piece.text.splitlines(keepends=True):
        whole, start = piece.cut(start, start + len(line)), start + len(line)
        if not whole.text:
            continue
        name, sign, _ = whole.text.rpartition("=")
        if not sign or not name.strip(_QUOTES):
            raise whole.refused("rules.customer_unnamed")
        found.append(CustomerRule(name.strip(_QUOTES), read_decision(whole.cut(len(name) + 1))))
    return tuple(found)


# --- written --------------------------------------------------------------------------------------------------


def _ratio_text(hundredths: int) -> str:
    whole, rest = divmod(hundredths, 100)
    return (f"{whole}.{rest:02d}".rstrip("0") if rest else str(whole)) + " : 1"


def _length_text(count: int) -> str:
    return amount_text(count, "mm" if count % UNITS["µin"].count else "in")


def _minutes_text(minutes: int) -> str:
    return f"{minutes} min" if minutes % 60 else f"{minutes // 60} h"


def _none_or(text: Callable[[int], str]) -> Callable[[int], str]:
    return lambda value: text(value) if value else NONE


def _customers_text(customers: Iterable[CustomerRule]) -> str:
    return "\n".join(f"{each.customer} = {decision_text(each.decision)}" for each in customers) or NONE


class _Manner(NamedTuple):
    """How a rule's value is read and written."""

    read: Callable[[Piece], Any]
    text: Callable[[Any], str]


_MANNERS = {
    "ratio": _Manner(_ratio, _ratio_text),
    "degrees": _Manner(_degrees, kelvin_text),
    "degrees or none": _Manner(_or_none(_degrees), _none_or(kelvin_text)),
    "minutes": _Manner(_minutes, _minutes_text),
    "minutes or none": _Manner(_or_none(_minutes), _none_or(_minutes_text)),
    "seconds": _Manner(_or_none(_seconds), lambda seconds: f"{seconds} s"),
    "days": _Manner(_or_none(_days), lambda days: f"{days} days"),
    "length or none": _Manner(_or_none(_length), _none_or(_length_text)),
    "yes or no": _Manner(_yes, lambda value: "yes" if value else "no"),
    "decision": _Manner(read_decision, decision_text),
    "customers": _Manner(_customers, _customers_text),
}


def written_rules(rules: Rules) -> dict[str, str]:
    """Every rule as a text by field, as ``read_rules`` takes them."""
    values = {field: getattr(rules, field) for field in _table()}
    return {field: _MANNERS[_table()[field].manner].text(value) for field, value in values.items()}


def rule_lines(rules: Rules) -> tuple[RuleLine, ...]:
    """Every rule as it is told, in the order of the table."""
    texts = written_rules(rules)
    return tuple(
        RuleLine(field, named.names[0], texts[field], Reason(f"rules.says.{field}"), named.source, named.how)
        for field, named in _table().items()
    )


def changed(before: Rules, after: Rules) -> tuple[RuleLine, ...]:
    """The rules that differ, as they are told after."""
    was, now = asdict(before), asdict(after)
    return tuple(line for line in rule_lines(after) if was[line.field] != now[line.field])


# --- a change told --------------------------------------------------------------------------------------------

#: What decides a verdict, which a sheet can be given otherwise.
_JUDGING = frozenset({"decision", CUSTOMERS})


def changes_said(before: Rules, after: Rules) -> tuple[Reason, ...]:
    """Each rule that differs, with what it was and what it is."""
    was = written_rules(before)
    return tuple(
        Reason("rules.change", {"name": line.name, "was": _in_line(was[line.field]), "now": _in_line(line.text)})
        for line in changed(before, after)
    )


def _in_line(text: str) -> str:
    return "; ".join(text.splitlines())


def follows(before: Rules, after: Rules) -> tuple[Reason, ...]:
    """What issuing rules will do, told before it is done: to sheets, and to what is only looked up."""
    found = [Reason("rules.follows.sheets"), Reason("rules.follows.shown")]
    if any(line.field in _JUDGING for line in changed(before, after)):
        found.append(Reason("rules.follows.judging"))
    return tuple(found)


def meant(field: str, text: str) -> tuple[tuple[str, Reason], ...]:
    """What a decision rule means, in words, under ""; those of customers each under the customer's name. Nothing for
    other rules, and for a text that cannot be read."""
    if field not in _JUDGING:
        return ()
    try:
        found = _MANNERS[_table()[field].manner].read(Piece(text).cut(0))
    except Refused:
        return ()
    if field == CUSTOMERS:
        return tuple((each.customer, rule_reason(each.decision)) for each in found)
    return (("", rule_reason(found)),)

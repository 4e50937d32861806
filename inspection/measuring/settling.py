"""Whether readings taken again would settle a doubt: how many the mean would need, if it stays where the result is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from inspection.drawing.characteristic import Characteristic
from inspection.measuring.guard import DecisionRule, Finding, RuleKind, decide
from inspection.measuring.judge import Reckoned, limits_of, made_of, results_of
from inspection.measuring.reading import Reading
from inspection.measuring.repeats import MOST, Repeats, repeats_needed, rule_settles

_DOUBTED = frozenset({Finding.DOUBT_INSIDE, Finding.DOUBT_OUTSIDE})


def settling(
    characteristic: Characteristic,
    readings: Sequence[Reading],
    reckonings: Mapping[str, Reckoned],
    rule: DecisionRule,
    most: int = MOST,
) -> Repeats | None:
    """How many readings in the mean would settle every doubtful result of a cell, the readings at hand among them; or
    why no number up to ``most`` does. None where nothing is in doubt.

    ``characteristic`` is the row as it is measured on the piece, ``readings`` those that count and ``reckonings`` what
    is known of their methods, by reading.
    """
    found = list(_each(characteristic, readings, reckonings, rule, most))
    stays = next((each for each in found if each.needed is None), None)
    return stays or max(found, key=lambda each: each.needed or 0, default=None)


def _each(
    characteristic: Characteristic,
    readings: Sequence[Reading],
    reckonings: Mapping[str, Reckoned],
    rule: DecisionRule,
    most: int,
) -> Iterator[Repeats]:
    limits = limits_of(characteristic.requirement)
    if rule.kind is RuleKind.SIMPLE or limits is None:
        return
    for group in results_of(characteristic, readings):
        made = made_of(characteristic.requirement, group, reckonings)
        if made is None:
            continue
        total, of = made.result.corrected, made.result.of
        if decide(rule, total, limits, made.by.budget(of), of).finding in _DOUBTED:
            yield repeats_needed(made.by.budget, rule_settles(rule, total, limits, of), most, of)

"""A decision rule as people write it: ``simple``, ``guarded:95``, ``guarded-U``, ``probability:99, printed``."""

from __future__ import annotations

import re

from inspection.instruments.spelling import Piece, read_decimal
from inspection.measuring.guard import DecisionRule, RuleKind, check_rule, cut, per_cent
from inspection.reasons import Refused

#: Behind a rule: the customer agreed to be shown the probability of conformity.
PRINTED = "printed"

_WORD = re.compile(r"[^\W\d_]+")
_PARTED = re.compile(r"\s*[:=\s-]\s*")
_PRINTED = re.compile(rf"[\s,;]*\b{PRINTED}\s*$", re.IGNORECASE)


def read_decision(piece: Piece) -> DecisionRule:
    """The rule that a piece of text names; a guarded or probability rule without a number asks for 95 %.

    Raises Refused, with ``at`` in the cell's text, for another rule, a probability that is no number, is finer than a
    hundredth of a per cent, or proves nothing (a half or less) or everything.

    >>> read_decision(Piece("guarded:97.5, printed"))
    DecisionRule(kind=<RuleKind.GUARDED: 'guarded'>, probability=9750, by_expanded=False, printed=True)
    """
    shown = _PRINTED.search(piece.text)
    said = piece.cut(0, shown.start()) if shown else piece
    word = _WORD.match(said.text)
    kinds = {kind.value: kind for kind in RuleKind}
    kind = kinds.get(word[0].casefold()) if word else None
    if word is None or kind is None:
        raise said.refused("rule.written.unknown", rules=", ".join(kinds))
    parted = _PARTED.match(said.text, word.end())
    behind = said.cut(parted.end() if parted else word.end())
    return _of_kind(kind, behind, printed=shown is not None)


def _of_kind(kind: RuleKind, behind: Piece, *, printed: bool) -> DecisionRule:
    if kind is RuleKind.SIMPLE and behind.text:
        raise behind.refused("rule.written.simple")
    if not behind.text:
        return DecisionRule(kind, printed=printed)
    if kind is RuleKind.GUARDED and behind.text.casefold() == "u":
        return DecisionRule(kind, by_expanded=True, printed=printed)
    rule = DecisionRule(kind, _probability(behind), printed=printed)
    try:
        check_rule(rule)
    except Refused:
        raise behind.refused("rule.written.proves_nothing") from None
    return rule


def _probability(piece: Piece) -> int:
    """p in ten-thousandths, from per cent."""
    try:
        number, sign = read_decimal(piece)
    except Refused as refused:
        at = refused.reasons[0].parts.get("at", piece.at)
        raise piece.refused("rule.written.probability", at=at) from None
    if sign.text not in ("", "%"):
        raise sign.refused("rule.written.probability")
    found = number * 100
    if found.denominator != 1:
        raise piece.refused("rule.written.fine")
    return found.numerator


def decision_text(rule: DecisionRule) -> str:
    """The rule as ``read_decision`` takes it.

    >>> decision_text(DecisionRule(RuleKind.GUARDED)), decision_text(DecisionRule(RuleKind.GUARDED, by_expanded=True))
    ('guarded:95', 'guarded-U')
    """
    said = rule.kind.value
    if rule.kind is RuleKind.GUARDED and rule.by_expanded:
        said += "-U"
    elif rule.kind is not RuleKind.SIMPLE:
        said += f":{per_cent(cut(float(rule.asked)))}"
    return f"{said}, {PRINTED}" if rule.printed else said

"""``tenthwright rules``: the shop's rules told, or issued anew."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator

from msgspec import to_builtins

from app.command.outcome import Answer
from app.command.sheets import acting, opened
from app.command.table import table
from app.command.world import World, plain_text
from inspection.instruments.rules import Rules, check_rules
from inspection.instruments.rules_as_written import RuleLine, changed, rule_lines, set_rule
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.words.say import say, word


def rules(options: Namespace, world: World) -> Answer:
    """Tell the shop's rules with their numbers and sources; with ``--set`` issue them anew."""
    texts = [plain_text(each) for each in options.set]
    with opened(options, world, only_read=not texts) as hand:
        before = hand.book.shop().rules
        if not texts:
            return _told(before)
        acting(options, hand)
        after = _set(texts, before)
        issued = hand.book.do(acts.IssueRules(rules=after), person=hand.person).shop.rules
    lines = [word("command.rules.issued", issue=issued.issue), *_changes(before, issued), word("command.rules.sheets")]
    return Answer(tuple(lines), {"done": True, "rules": to_builtins(issued)})


def _told(shown: Rules) -> Answer:
    lines = rule_lines(shown)
    heads = [word(f"command.rules.head.{head}") for head in ("name", "value", "says", "source")]
    cells = [[line.name, "; ".join(line.text.splitlines()), say(line.says), _source(line)] for line in lines]
    told = [
        {"name": line.name, "value": line.text, "says": say(line.says), "source": line.source, "how": line.how_obtained}
        for line in lines
    ]
    said = word("command.rules.issue", issue=shown.issue) if shown.issue else word("command.rules.first")
    return Answer((said, "", *table(heads, cells)), {"done": True, "rules": to_builtins(shown), "told": told})


def _source(line: RuleLine) -> str:
    return word("command.rules.source", source=line.source, how=line.how_obtained)


def _changes(before: Rules, after: Rules) -> Iterator[str]:
    was = {line.field: line.text for line in rule_lines(before)}
    for line in changed(before, after):
        yield "  " + word("command.rules.changed", name=line.name, was=was[line.field], now=line.text)


def _set(texts: list[str], before: Rules) -> Rules:
    """The rules as they are to be; every fault stands behind its place. Raises Refused."""
    faults: list[Reason] = []
    after = before
    for text in texts:
        try:
            after = set_rule(text, after)
        except Refused as refused:
            for reason in refused.reasons:
                at = reason.parts.get("at")
                place = [Reason("command.in_text", {"text": text[:60], "at": at + 1})] if isinstance(at, int) else []
                faults += [*place, reason]
    if faults:
        raise Refused(*faults, Reason("command.rules.kept"))
    check_rules(after)
    if after == before:
        raise Refused(Reason("command.rules.same"))
    return after

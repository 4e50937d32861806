"""The shape of the command line: what may be asked, and the words that ``--help`` gives for it."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from app.command.arguments import crib, looking_back, proving, review, sending, sheets, shop
from app.command.arguments.options import help_of
from app.command.parsing import Parser
from inspection.words.say import word

Adds = Callable[[argparse.ArgumentParser], None]

VERBS: dict[str, Adds] = {
    "demo": shop.demo,
    "new": shop.new,
    "template": shop.template,
    "take-in": sheets.take_in,
    "choose": sheets.choose,
    "pull-list": crib.pull_list,
    "blocks": crib.blocks,
    "pins": crib.pins,
    "read": sheets.read,
    "verdicts": sheets.verdicts,
    "head": sheets.head,
    "evidence": sheets.evidence,
    "missing": sheets.missing,
    "sign": sheets.sign,
    "sign-pdf": sheets.sign_pdf,
    "stamp": sheets.stamp,
    "review": review.review,
    "answer": review.answer,
    "again": review.again,
    "return": review.give_back,
    "nonconformance": review.nonconformance,
    "dispose": review.dispose,
    "nonconformances": review.nonconformances,
    "approve": review.approve,
    "state": review.state,
    "release": review.release,
    "partial": review.partial,
    "amend": review.amend,
    "export": sending.export,
    "layout": sending.layout,
    "package": sending.package,
    "verify": shop.verify,
    "list": shop.listed,
    "crib": crib.crib,
    "crib-export": crib.crib_export,
    "crib-take-in": crib.crib_take_in,
    "crib-file": crib.crib_file,
    "check": proving.check,
    "checks": proving.checks,
    "upset": proving.upset,
    "study": proving.study,
    "temperature": sheets.temperature,
    "rules": shop.rules,
    "rule": sheets.rule,
    "repeats": sheets.repeats,
    "feel": crib.feel,
    "find": looking_back.find,
    "history": looking_back.history,
    "compare": looking_back.compare,
    "trace": looking_back.trace,
    "due": crib.due,
    "marks": looking_back.marks,
    "answer-mark": looking_back.answer_mark,
    "gauge-study": proving.gauge_study,
    "study-start": proving.study_start,
    "study-read": proving.study_read,
    "studies": proving.studies,
    "study-use": proving.study_use,
    "study-withdraw": proving.study_withdraw,
    "study-give-up": proving.study_give_up,
    "person": shop.person,
}


def parser(width: int) -> Parser:
    """The whole command line, its help laid out for ``width`` columns."""

    def layout(prog: str) -> argparse.HelpFormatter:
        return argparse.HelpFormatter(prog, max_help_position=28, width=width)

    def laid_out(prog: str) -> argparse.HelpFormatter:
        return argparse.RawDescriptionHelpFormatter(prog, max_help_position=28, width=width)

    whole = Parser(
        prog="tenthwright",
        description=word("command.about"),
        epilog=word("command.epilog"),
        formatter_class=laid_out,
        allow_abbrev=False,
    )
    whole.add_argument("--version", action="store_true", help=help_of("version"))
    verbs = whole.add_subparsers(dest="verb", metavar="COMMAND", title=word("command.commands"), parser_class=Parser)
    for name, add in VERBS.items():
        summary = help_of(f"verb.{name}")
        verb = verbs.add_parser(
            name, help=summary, description=word(f"command.about.{name}"), formatter_class=layout, allow_abbrev=False
        )
        add(verb)
    whole.verbs = verbs.choices
    return whole

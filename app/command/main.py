"""The command line: one function that understands, carries out, prints and leaves with a documented code."""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
from argparse import Namespace
from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from app.command.arguments import parser
from app.command.outcome import Answer, Exit, failed, tell, tell_failure
from app.command.parsing import Parser, UsageWrong
from app.command.world import World, prompt
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.clock import Clock, Identities

#: Where each command is carried out; imported when it is asked for.
VERBS = {
    "demo": "app.command.demo_verb:demo",
    "new": "app.command.book_verbs:new",
    "list": "app.command.book_verbs:list_things",
    "crib": "app.command.crib_verbs:crib",
    "crib-export": "app.command.crib_verbs:crib_export",
    "crib-take-in": "app.command.crib_verbs:crib_take_in",
    "crib-file": "app.command.crib_verbs:crib_file",
    "check": "app.command.check_verbs:check",
    "checks": "app.command.check_verbs:checks",
    "upset": "app.command.proof_verbs:upset",
    "study": "app.command.proof_verbs:study",
    "temperature": "app.command.proof_verbs:temperature",
    "rules": "app.command.rules_verb:rules",
    "rule": "app.command.proof_verbs:rule",
    "repeats": "app.command.proof_verbs:repeats",
    "feel": "app.command.feel_verb:feel",
    "find": "app.command.find_verb:find",
    "history": "app.command.history_verb:history",
    "compare": "app.command.compare_verb:compare_sheets",
    "trace": "app.command.trace_verb:trace_instrument",
    "due": "app.command.due_verb:due",
    "marks": "app.command.trace_verb:marks",
    "answer-mark": "app.command.trace_verb:answer_mark",
    "gauge-study": "app.command.gauge_verb:gauge_study",
    "study-start": "app.command.study_verbs:study_start",
    "study-read": "app.command.study_verbs:study_read",
    "studies": "app.command.study_verbs:studies",
    "study-use": "app.command.study_verbs:study_use",
    "study-withdraw": "app.command.study_verbs:study_withdraw",
    "study-give-up": "app.command.study_verbs:study_give_up",
    "person": "app.command.person_verb:person",
    "template": "app.command.plan_verbs:template",
    "take-in": "app.command.plan_verbs:take_in",
    "choose": "app.command.plan_verbs:choose",
    "pull-list": "app.command.pull_verbs:pull_list",
    "blocks": "app.command.set_verbs:blocks",
    "pins": "app.command.set_verbs:pins",
    "read": "app.command.sheet_verbs:read",
    "verdicts": "app.command.sheet_verbs:verdicts",
    "head": "app.command.record_verbs:head",
    "evidence": "app.command.record_verbs:evidence",
    "missing": "app.command.record_verbs:missing",
    "sign": "app.command.sheet_verbs:sign",
    "sign-pdf": "app.command.document_verbs:sign_pdf",
    "stamp": "app.command.document_verbs:stamp",
    "review": "app.command.review_verbs:review",
    "answer": "app.command.review_verbs:answer",
    "again": "app.command.review_verbs:again",
    "return": "app.command.review_verbs:return_sheet",
    "nonconformance": "app.command.nonconformance_verbs:nonconformance",
    "dispose": "app.command.nonconformance_verbs:dispose",
    "nonconformances": "app.command.nonconformance_verbs:nonconformances",
    "approve": "app.command.statement_verbs:approve",
    "state": "app.command.statement_verbs:state",
    "release": "app.command.statement_verbs:release",
    "partial": "app.command.following_verbs:partial",
    "amend": "app.command.following_verbs:amend",
    "export": "app.command.sending_verbs:export",
    "package": "app.command.package_verb:package",
    "layout": "app.command.layout_verb:layout",
    "verify": "app.command.sending_verbs:verify",
}


def run(
    argv: Sequence[str] | None = None,
    *,
    clock: Clock | None = None,
    identities: Identities | None = None,
    environ: Mapping[str, str] | None = None,
    out: TextIO | None = None,
    err: TextIO | None = None,
    ask: Callable[[str], str] | None = None,
) -> int:
    """Carry out one command line and return its exit code (see ``Exit``); nothing is ever raised.

    ``clock`` and ``identities`` make a run repeatable to the byte; ``environ``, ``out``, ``err`` and ``ask`` stand in
    for the process's own.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    environ = os.environ if environ is None else environ
    out, err = out or _stream(sys.stdout), err or _stream(sys.stderr)
    try:
        code = _understood(arguments, out, err, clock, identities, environ, ask or prompt())
        out.flush()
    except BrokenPipeError:
        _let_go(out)
        return int(Exit.DONE)
    except KeyboardInterrupt as stop:  # before a command was understood, or while its answer was written out
        code, reasons = failed(stop, _reports(), arguments)
        tell_failure(code, reasons, out, err, as_json="--json" in arguments)
    return int(code)


def _stream(stream: TextIO | None) -> TextIO:
    """A stream of the process, in UTF-8 whatever the terminal's locale; a letter it cannot take is replaced."""
    if stream is None:
        return Path(os.devnull).open("w", encoding="utf-8")  # a process without a terminal
    with contextlib.suppress(AttributeError, ValueError):
        stream.reconfigure(encoding="utf-8", errors="replace")  # type: ignore[attr-defined]
    return stream


def _let_go(out: TextIO) -> None:
    """The reader of our output has gone: leave quietly, and let nothing be written at the end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), out.fileno())


def _understood(
    arguments: list[str],
    out: TextIO,
    err: TextIO,
    clock: Clock | None,
    identities: Identities | None,
    environ: Mapping[str, str],
    ask: Callable[[str], str] | None,
) -> Exit:
    whole = parser(min(shutil.get_terminal_size().columns - 2, 110))
    try:
        options = _parsed(whole, arguments, out)
    except UsageWrong as wrong:
        err.write(str(wrong))
        return Exit.USAGE
    if options is None:
        return Exit.DONE
    as_json = bool(getattr(options, "json", False))
    try:
        world = World(*_clockwork(clock, identities), environ, out, err, ask)
        answer = _verb(options.verb)(options, world)
        tell(answer, out, as_json=as_json)
        return answer.exit
    except BrokenPipeError:
        raise
    except (Exception, KeyboardInterrupt) as error:
        code, reasons = failed(error, _reports(), arguments)
        tell_failure(code, reasons, out, err, as_json=as_json)
        return code


def _clockwork(clock: Clock | None, identities: Identities | None) -> tuple[Clock, Identities]:
    from storage.book.clock import new_identity, wall_clock

    return clock or wall_clock, identities or new_identity


def _parsed(whole: Parser, arguments: list[str], out: TextIO) -> Namespace | None:
    """The options, or None if help or version was asked for and printed. Raises UsageWrong."""
    try:
        with contextlib.redirect_stdout(out):
            options = whole.parse_args(arguments)
    except SystemExit:  # argparse leaves this way after --help
        return None
    if options.version:
        from inspection.sheet.edition import PROGRAM

        out.write(f"{PROGRAM}\n")
        return None
    if options.verb is None:
        raise UsageWrong(f"{whole.format_help()}\n{word('command.no_verb')}\n")
    return options


def _verb(name: str) -> Callable[[Namespace, World], Answer]:
    module, function = VERBS[name].split(":")
    found: Callable[[Namespace, World], Answer] = getattr(import_module(module), function)
    return found


def _reports() -> Path:
    from platformdirs import user_state_path

    return user_state_path("tenthwright", appauthor=False)

"""How a command ends: exit codes, and the one function that decides what a failure is and how it is told."""

from __future__ import annotations

import json
import traceback
from collections.abc import Mapping
from enum import IntEnum
from pathlib import Path
from time import gmtime, strftime
from typing import Any, TextIO

from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.words.say import say, word


class Exit(IntEnum):
    """What the exit code of the command means; ``--help`` prints the same."""

    DONE = 0
    NOT_CONFORMING = 1  # done, and something is open, in doubt, not conforming or not verified
    USAGE = 2
    REFUSED = 3  # by the rules, or a file with faults: nothing was changed
    WORLD = 4  # book, disk or folder stood in the way
    OURS = 5  # a fault of the program, with a report
    STOPPED = 130  # by the keyboard


class Answer(Struct, frozen=True):
    """What a command found: lines for people, the same for scripts, and how it ends."""

    lines: tuple[str, ...]
    data: Mapping[str, Any]
    exit: Exit = Exit.DONE


#: Reasons that only say where the one behind them was found.
_PLACES = ("intake.in_", "command.in_", "check.in_", "study.in_")


def told(reasons: tuple[Reason, ...]) -> list[str]:
    """Reasons as lines; the place of a fault in a file stands in front of what is wrong there."""
    lines: list[str] = []
    where = ""
    for reason in reasons:
        if reason.code.startswith(_PLACES):
            where = say(reason)
            continue
        why = say(reason)
        lines.append("  " + word("intake.fault", where=where, why=why) if where else why)
        where = ""
    return lines


def failed(error: BaseException, reports: Path, argv: list[str]) -> tuple[Exit, tuple[Reason, ...]]:
    """What an error is, and what is told of it: refused by the rules, the world's, or ours with a report kept."""
    from storage.book.failures import BookFailure, world_failure

    if isinstance(error, Refused):
        return Exit.REFUSED, error.reasons
    if isinstance(error, BookFailure):
        return Exit.WORLD, error.reasons
    if isinstance(error, KeyboardInterrupt):
        return Exit.STOPPED, (Reason("command.stopped"),)
    if isinstance(error, OSError):
        world = world_failure(error, Path(str(error.filename or "")), "file")
        if world is not None and error.filename:
            return Exit.WORLD, (world,)
    return Exit.OURS, (_reported(error, reports, argv),)


def _reported(error: BaseException, reports: Path, argv: list[str]) -> Reason:
    """Keep a fault report and say where it lies; without a place for it the sentence says so."""
    from inspection.sheet.edition import PROGRAM

    text = "\n".join([PROGRAM, " ".join(argv), *traceback.format_exception(error)])
    try:
        reports.mkdir(parents=True, exist_ok=True)
        path = reports / f"fault-{strftime('%Y%m%d-%H%M%S', gmtime())}.txt"
        path.write_text(text, encoding="utf-8", errors="backslashreplace")
    except OSError:
        return Reason("command.our_fault_unreported", {"what": type(error).__name__})
    return Reason("command.our_fault", {"report": str(path)})


def tell(answer: Answer, out: TextIO, *, as_json: bool) -> None:
    """Print an answer: its lines, or one JSON object."""
    if as_json:
        json.dump(answer.data, out, ensure_ascii=False, indent=2)
        out.write("\n")
    else:
        out.writelines(line + "\n" for line in answer.lines)


def tell_failure(exit_code: Exit, reasons: tuple[Reason, ...], out: TextIO, err: TextIO, *, as_json: bool) -> None:
    """Print why a command did not do what was asked; for scripts the reasons also with their codes."""
    lines = told(reasons)
    err.writelines(line + "\n" for line in lines)
    if as_json:
        found = [{"code": reason.code, "text": say(reason)} for reason in reasons]
        json.dump({"done": False, "exit": int(exit_code), "reasons": found}, out, ensure_ascii=False, indent=2)
        out.write("\n")

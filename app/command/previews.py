"""What a file would come to, as the command line shows it with ``--preview``: rows, faults by place, notices."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from app.command.outcome import Answer, Exit
from app.command.table import table
from inspection.reasons import Reason
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.jobs.reading_in import ReadingPreview, Unproven
    from app.jobs.taking_in import Preview
    from storage.intake.faults import Fault


def preview_answer(seen: Preview, serials: tuple[str, ...] = ()) -> Answer:
    """A feature file looked at; the exit code says whether it could be taken."""
    lines: list[str] = []
    rows = [
        [row.characteristic.number, str(row.characteristic.kind), row.characteristic.requirement.written, row.limits]
        for row in seen.rows
    ]
    if seen.file is not None:
        part, pieces = seen.file.part, ", ".join(serials or seen.file.serials)
        lines.append(word("preview.part", part=part.number, revision=part.revision, rows=len(rows)))
        lines += [word("preview.pieces", serials=pieces)] if pieces else []
    heads = [word(f"command.head.{head}") for head in ("number", "kind", "requirement", "limits")]
    lines += ["", *table(heads, rows), ""] if rows else []
    data = {"rows": [dict(zip(("number", "kind", "requirement", "limits"), row, strict=True)) for row in rows]}
    return _answer(seen.name, lines, data, seen.faults, seen.count, seen.notices)


def readings_answer(seen: ReadingPreview) -> Answer:
    """A reading file looked at; the exit code says whether it could be taken."""
    rows = [[one.serial, one.number, one.reading, one.limits, str(one.verdict or "")] for one in seen.rows]
    heads = [word(f"command.head.{head}") for head in ("serial", "number", "reading", "limits", "verdict")]
    lines = [*table(heads, rows), "", word("preview.readings", n=len(rows))] if rows else []
    fields = ("serial", "number", "reading", "limits", "verdict")
    data: dict[str, Any] = {"rows": [dict(zip(fields, row, strict=True)) for row in rows]}
    data["unproven"] = unproven_data(seen.unproven)
    lines += unproven_lines(seen.unproven)
    notices = (*seen.notices, *(question.reason for question in seen.questions))
    return _answer(seen.name, lines, data, seen.faults, seen.count, notices)


def unproven_lines(found: Unproven) -> list[str]:
    """What is marginal for want of a check before use, and why."""
    if not found.cells:
        return []
    return [word("command.read.unproven", n=found.cells), *(f"  {say(reason)}" for reason in found.why)]


def unproven_data(found: Unproven) -> dict[str, Any]:
    """The same for scripts."""
    return {"results": found.cells, "why": [{"code": one.code, "text": say(one)} for one in found.why]}


def _answer(
    name: str,
    lines: list[str],
    data: dict[str, Any],
    faults: Iterable[Fault],
    count: int,
    notices: Iterable[Reason],
) -> Answer:
    told = [("  " + word("intake.fault", where=say(one.place()), why=say(one.reason))) for one in faults]
    end = [word("preview.faults", file=name, n=count), *told] if count else [word("preview.whole", file=name)]
    said = [say(notice) for notice in notices]
    found = [{"place": one.address, "row": one.row, "column": one.column, "code": one.reason.code} for one in faults]
    return Answer(
        (*lines, *said, *end),
        {"done": True, "whole": not count, **data, "faults": found, "count": count, "notices": said},
        Exit.REFUSED if count else Exit.DONE,
    )

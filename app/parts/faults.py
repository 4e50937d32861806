"""What is wrong with a file that was to be taken in, told by its places."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from app.background.worker import Failure
from app.window import words
from app.window.asking import Question, ask
from inspection.reasons import Reason
from inspection.words.say import word


def tell_faults(parent: QWidget, failure: Failure, say: Callable[[Reason], str]) -> bool:
    """Show every fault of a file by its place; False if the failure is none of a file's content."""
    if not failure.reasons or failure.reasons[0].code != "intake.file_refused":
        return False
    head, *rest = failure.reasons
    pairs = list(zip(rest[::2], rest[1::2], strict=False))
    rows = [(say(place), say(fault)) for place, fault in pairs]
    rows += [("", say(more)) for more in rest[2 * len(pairs) :]]
    title = word("intake.faults.title", file=head.parts["file"])
    text = word("intake.faults.text", n=head.parts["n"])
    ask(parent, Question(title, text, yes=words.word("button.close"), rows=tuple(rows)))
    return True

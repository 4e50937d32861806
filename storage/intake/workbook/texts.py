"""Texts of cells: runs of any look joined to plain text, or why what is seen is not what would be taken."""

from __future__ import annotations

import re

from msgspec import Struct

from inspection.reasons import Reason
from storage.intake.workbook.markup import Attributes, Handler
from storage.intake.workbook.styles import FontReader, Look

#: The longest text that a cell holds (a worksheet's own limit); what is beyond is not kept.
LONGEST = 32_768
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
#: Signs of the Symbol font at the places of the letters that show them (common knowledge of the Symbol encoding), and
#: those that stand there for themselves.
_SYMBOLS = {"\u00c6": "⌀", "m": "µ", "\u00b4": "×", "\u00a3": "≤", "\u00b3": "≥", "\u2206": "⌀", "\u2205": "⌀"}
_SAME = set("0123456789 .,+/()=<>%±°⌀µ×≤≥\n\t")
_PRIVATE = 0xF000


class Run(Struct, frozen=True):
    """A stretch of one look."""

    text: str
    look: Look = Look()


class Text(Struct, frozen=True):
    """A cell's text, and why it may not be taken as it is seen."""

    text: str
    problem: Reason | None = None


def joined(runs: list[Run]) -> Text:
    """Runs as one text.

    What is struck out, what a symbol font turns into unknown signs, and digits that only their height keeps apart (a
    fraction set by hand: 1½ would read 11/2) are told and not taken.
    """
    text, problem, crossed = "", None, False
    before: Run | None = None
    for run in runs:
        if not run.text:
            continue
        if run.look.struck and run.text.strip():
            problem = problem or Reason("xlsx.struck")
        if before and before.look.shifted != run.look.shifted and before.text[-1].isdigit() and run.text[0].isdigit():
            crossed = True
        signs = _signs(run)
        if signs is None:
            problem = problem or Reason("xlsx.symbol_font", {"font": run.look.symbols[:40]})
        text += signs or ""
        before = run
    if crossed and problem is None:
        problem = Reason("xlsx.heights", {"text": text[:60]})
    return Text(text[:LONGEST], problem)


def under(text: Text, look: Look) -> Text:
    """A plain text under the look of its cell."""
    return joined([Run(text.text, look)]) if text.problem is None and (look.symbols or look.struck) else text


def _signs(run: Run) -> str | None:
    """What a run shows; None for letters that stand for signs we do not know."""
    if not run.look.symbols:
        return run.text
    font = run.look.symbols.casefold()
    signs = ""
    for letter in run.text:
        plain = chr(ord(letter) - _PRIVATE) if _PRIVATE <= ord(letter) <= _PRIVATE + 0xFF else letter
        sign = _SYMBOLS.get(plain) if font == "symbol" else None
        if sign is None and (plain not in _SAME or font != "symbol"):
            return None
        signs += sign or plain
    return signs


def unescaped(text: str) -> str:
    """Characters that markup cannot hold, written as _x000D_ (ECMA-376 part 1, 22.4.2.4), as they are."""
    if "_x" not in text:
        return text
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text).replace("\r\n", "\n").replace("\r", "\n")


class RunReader:
    """Gathers the runs of one text from its elements; phonetic hints beside it are not part of it."""

    def __init__(self) -> None:
        self.font = FontReader()
        self.clear()

    def clear(self) -> None:
        """Begin a new text."""
        self._runs: list[Run] = []
        self._length = 0
        self._taking = False
        self._in_run = False
        self._phonetic = 0

    def start(self, name: str, attributes: Attributes) -> None:
        """An element inside the text begins."""
        if name == "t":
            self._taking = not self._phonetic
            self._text = ""
        elif name == "r":
            self._in_run = True
            self.font.clear()
        elif name == "rPh":
            self._phonetic += 1
        elif self._in_run:
            self.font.element(name, attributes)

    def end(self, name: str) -> None:
        """An element inside the text ends."""
        if name == "t" and self._taking:
            self._taking = False
            self._runs.append(Run(unescaped(self._text), self.font.look() if self._in_run else Look()))
        elif name == "r":
            self._in_run = False
        elif name == "rPh":
            self._phonetic -= 1

    def text(self, text: str) -> None:
        """Characters."""
        if self._taking and self._length < LONGEST:
            self._text += text
            self._length += len(text)

    def whole(self) -> Text:
        """The text as gathered."""
        if len(self._runs) == 1 and self._runs[0].look == Look():
            return Text(self._runs[0].text)
        return joined(self._runs)


class StringReader(Handler[Text]):
    """Reads sharedStrings.xml into the texts that cells number."""

    def __init__(self) -> None:
        super().__init__()
        self._run = RunReader()

    def start(self, name: str, attributes: Attributes) -> None:
        """A text or something in it begins."""
        if name == "si":
            self._run.clear()
        else:
            self._run.start(name, attributes)

    def end(self, name: str) -> None:
        """A text or something in it ends."""
        if name == "si":
            self.ready.append(self._run.whole())
        else:
            self._run.end(name)

    def text(self, text: str) -> None:
        """Characters."""
        self._run.text(text)

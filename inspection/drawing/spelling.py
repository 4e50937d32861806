"""A callout as a line of characters to be read from left to right, whatever way its signs were typed.

Keyboards have no ⌀, ± or °, and drawings exported from CAD write %%c, %%p and %%d. The line holds one spelling of
each sign and remembers where every character stood in what was typed, so that a fault is shown under the exact one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from inspection.reasons import Part, Reason, Refused

#: Longer texts are no callouts; notes are not read as callouts.
LONGEST_CALLOUT = 200

_SPELLINGS: tuple[tuple[str, str], ...] = (
    (r"%%[cC]|[ØøΦ∅⌀]", "⌀"),
    (r"%%[pP]|\+ ?/ ?-|\+-", "±"),
    (r"%%[dD]|º|˚", "°"),
    (r"[−–—‐‑]", "-"),
    (r"[×✕]", "x"),
    (r"[′’]", "'"),
    (r"[″”]", '"'),
    (r"μ", "µ"),
    (r"[\s\u00a0\u2009\u202f]", " "),
    (r"\.\.\.?|…", "…"),
    (r"≤|<=", "≤"),
    (r"≥|>=", "≥"),
    (r"\([mM]\)", "Ⓜ"),
    (r"\([lL]\)", "Ⓛ"),
)
_SIGN = re.compile("|".join(f"({pattern})" for pattern, _ in _SPELLINGS))


class Line:
    """The characters of one callout and how far they are read.

    ``text`` has one spelling of each sign; ``at`` is the index in it of the next character to read.
    """

    def __init__(self, written: str) -> None:
        self.written = written
        self.at = 0
        self._origin: list[int] = []
        self.text = self._spelled(written)

    def _spelled(self, written: str) -> str:
        """One spelling of every sign; each resulting character remembers its index in ``written``."""
        pieces, done = [], 0
        for sign in _SIGN.finditer(written):
            pieces.append(written[done : sign.start()])
            self._origin.extend(range(done, sign.start()))
            pieces.append(_SPELLINGS[(sign.lastindex or 1) - 1][1])
            self._origin.append(sign.start())
            done = sign.end()
        self._origin.extend(range(done, len(written)))
        return "".join([*pieces, written[done:]])

    def skip(self) -> None:
        """Pass over spaces."""
        while self.at < len(self.text) and self.text[self.at] == " ":
            self.at += 1

    def take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """Pass over spaces, then read what ``pattern`` matches here; None and nothing read if it does not."""
        self.skip()
        found = pattern.match(self.text, self.at)
        if found and found.end() > found.start():
            self.at = found.end()
            return found
        return None

    def sees(self, pattern: re.Pattern[str]) -> bool:
        """Whether ``pattern`` matches at the next character that is no space; nothing is read."""
        self.skip()
        return pattern.match(self.text, self.at) is not None

    @property
    def ended(self) -> bool:
        """Whether only spaces are left."""
        self.skip()
        return self.at >= len(self.text)

    def place(self, at: int | None = None) -> int:
        """The index in what was typed of a character of the line, by default the next one to read."""
        at = self.at if at is None else at
        return self._origin[at] if at < len(self._origin) else len(self.written.rstrip())

    def refused(self, code: str, at: int | None = None, **parts: Part) -> Refused:
        """A refusal at a character of the line, by default the next one."""
        return Refused(Reason(code, {"at": self.place(at), "text": self.written, **parts}))

    def moved(self, refused: Refused, start: int) -> Refused:
        """A refusal of a piece that began at ``start``, with its places counted in the whole of what was typed."""
        return Refused(*(self._moved(reason, start) for reason in refused.reasons))

    def _moved(self, reason: Reason, start: int) -> Reason:
        at = reason.parts.get("at")
        within = at if isinstance(at, int) else 0
        return Reason(reason.code, {"text": self.written, **reason.parts, "at": self.place(start + within)})

    @contextmanager
    def blaming(self, start: int) -> Iterator[None]:
        """Refusals from deeper down, which know no place in the callout, are told at ``start``."""
        try:
            yield
        except Refused as refused:
            raise self.moved(refused, start) from None

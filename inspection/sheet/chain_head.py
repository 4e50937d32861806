"""The head of a book's chain as it is carried outside the book: on what goes out, and on the station that saw it.

The chain links every entry to the one before it, so that its head stands for everything up to it. A book that does not
hold that entry at that place is an older copy, had its end taken off, or went on differently. The form for people has
the digest's first 20 hexadecimal digits (80 bits): enough that nobody makes another chain to fit, and short to type.
"""

from __future__ import annotations

import re

from msgspec import Struct

from inspection.reasons import Reason, Refused

#: Hexadecimal digits of a digest that are printed, in groups of so many; and the fewest that are taken for one.
PRINTED, GROUP, FEWEST = 20, 4, 16
_MACHINE = re.compile(r"tenthwright-chain ([1-9]\d{0,14}):([0-9a-f]{64})")


class ChainHead(Struct, frozen=True):
    """The entry at ``position`` (counted from 1) and its SHA-256 in hex, or the beginning of it as typed."""

    position: int
    digest: str

    @property
    def told(self) -> str:
        """The form for people.

        >>> ChainHead(42, "9f3a2c1b77de0a4155c2aa00").told
        '42:9f3a-2c1b-77de-0a41-55c2'
        """
        shown = self.digest[:PRINTED]
        return f"{self.position}:" + "-".join(shown[at : at + GROUP] for at in range(0, len(shown), GROUP))

    @property
    def written(self) -> str:
        """The form for files, with the whole digest."""
        return f"tenthwright-chain {self.position}:{self.digest}"

    def is_at(self, digest: str) -> bool:
        """Whether the entry at its position, with this whole digest (empty: there is none), is the one meant."""
        return bool(digest) and digest.startswith(self.digest)


def head_written(text: str) -> ChainHead | None:
    """The head in a text that ``written`` stands in; None where there is none."""
    found = _MACHINE.search(text)
    return ChainHead(int(found[1]), found[2]) if found else None


def head_typed(text: str) -> ChainHead:
    """A head as a person typed it: position, colon, at least 16 hexadecimal digits with or without dashes and spaces.
    Raises Refused.

    >>> head_typed("42: 9F3A 2C1B 77DE 0A41").told
    '42:9f3a-2c1b-77de-0a41'
    """
    position, colon, digest = text.partition(":")
    plain = re.sub(r"[\s-]", "", digest).casefold()
    number = position.strip()
    good = colon and number.isascii() and number.isdigit() and 0 < len(number) < 16 and int(number) > 0
    if not good or not re.fullmatch(r"[0-9a-f]{0,64}", plain):
        raise Refused(Reason("head.not_one", {"text": text[:100]}))
    if len(plain) < FEWEST:
        raise Refused(Reason("head.too_short", {"text": text[:100], "fewest": FEWEST}))
    return ChainHead(int(number), plain)

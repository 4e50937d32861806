"""The third form of journal entries and of the sealed content of a sheet: with what its doubt was computed from.

To the second it added checks before use, temperatures, decision rules and budgets. Later forms have so far only added
acts, events, and fields that have a default, which are then what this form leaves unsaid: the types of the newest form
read it.
"""

from __future__ import annotations

import msgspec

from inspection.sheet.canonical.form_4 import Content, Record

FORM = 3

#: Fields of the sealed content that came later: a seal of this form says nothing of them.
UNSAID = frozenset({"marks"})

_record = msgspec.json.Decoder(Record)
_content = msgspec.json.Decoder(Content)


def read_entry(content: bytes) -> Record:
    """The journal entry in these bytes; raises msgspec.ValidationError or DecodeError if they hold none."""
    return _record.decode(content)


def read_content(content: bytes | str) -> Content:
    """The sealed content in these bytes; raises msgspec.ValidationError or DecodeError if they hold none."""
    return _content.decode(content)

"""Readers of every form of journal entries and sealed content, by the form's number; the newest alone writes."""

from __future__ import annotations

from collections.abc import Callable

import msgspec
from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.sheet.canonical import form_1, form_2, form_3, form_4
from inspection.sheet.canonical.form_4 import Content, Record

ENTRY_READERS: dict[int, Callable[[bytes], Record]] = {
    form_1.FORM: form_1.read_entry,
    form_2.FORM: form_2.read_entry,
    form_3.FORM: form_3.read_entry,
    form_4.FORM: form_4.read_entry,
}
CONTENT_READERS: dict[int, Callable[[bytes | str], Content]] = {
    form_1.FORM: form_1.read_content,
    form_2.FORM: form_2.read_content,
    form_3.FORM: form_3.read_content,
    form_4.FORM: form_4.read_content,
}


_UNSAID: dict[int, frozenset[str]] = {
    form_1.FORM: form_1.UNSAID,
    form_2.FORM: form_2.UNSAID,
    form_3.FORM: form_3.UNSAID,
}


class _Numbered(Struct):
    form: int


_numbered = msgspec.json.Decoder(_Numbered)


def read_content(content: bytes | str) -> Content:
    """The sealed content in these bytes, by the reader of the form they name.

    Raises Refused for a form that a later edition wrote, msgspec.ValidationError or DecodeError for anything else
    that is no sealed content.
    """
    form = _numbered.decode(content).form
    if form not in CONTENT_READERS:
        raise Refused(Reason("seal.later_form", {"form": form}))
    return CONTENT_READERS[form](content)


def said_by(content: Content) -> tuple[str, ...]:
    """The fields that sealed content of this form says anything of, its own number apart."""
    unsaid = _UNSAID.get(content.form, frozenset())
    return tuple(name for name in Content.__struct_fields__ if name != "form" and name not in unsaid)

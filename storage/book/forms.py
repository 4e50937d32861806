"""Readers of every released form of journal entries; only the newest writes."""

from __future__ import annotations

from inspection.sheet.canonical import form_1

READERS = {form_1.FORM: form_1.read_entry}

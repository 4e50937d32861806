"""Headings of what goes out: those that the report brings, else those of the catalogue."""

from __future__ import annotations

from inspection.reasons import Part
from inspection.sheet.report import Report
from inspection.words.say import word


def label(report: Report, code: str) -> str:
    """The heading of a column or section, in the language of the sheet."""
    return report.labels.get(code) or word(f"dispatch.label.{code}", report.language)


def phrase(report: Report, code: str, **parts: Part) -> str:
    """A phrase with parts ("page 2 of 7"), in the language of the sheet."""
    return word(f"dispatch.{code}", report.language, **parts)

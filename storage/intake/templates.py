"""Empty feature, reading and record files to fill in, as csv or as a workbook."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path

from storage.files import write_file
from storage.intake.grid import HEAD_MARK, names

#: Head lines that a feature template offers, by field; the others are known as well.
OFFERED = (
    "number",
    "revision",
    "name",
    "drawing",
    "drawing_revision",
    "standard",
    "material",
    "customer",
    "order",
    "serials",
    "unit",
)
DEFAULTS = ("default .xx", "default .xxx", "default fraction", "default angle")
WORKBOOK = ".xlsx"

Filled = Sequence[Mapping[str, str]]
"""Rows that a template is filled with beforehand: texts by field."""


def template(kind: str, filled: Filled = ()) -> bytes:
    """A file of ``kind`` ("features", "readings" or "evidence") to fill in: csv, UTF-8 with the mark that
    spreadsheets look for."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    fields = names(kind)
    if kind == "features":
        lines = [names("head")[field][0] for field in OFFERED]
        writer.writerows([f"{HEAD_MARK} {line}", ""] for line in (*lines, *DEFAULTS))
    writer.writerow([known[0] for known in fields.values()])
    writer.writerows([row.get(field, "") for field in fields] for row in filled)
    return text.getvalue().encode("utf-8-sig")


def write_template(kind: str, path: Path, filled: Filled = ()) -> None:
    """Write a file of ``kind`` to fill in to ``path``, a workbook if its name ends in .xlsx; what stands there already
    is never overwritten.

    Raises BookFailure if a file is there, or the folder or disk will not have it.
    """
    if path.suffix.casefold() == WORKBOOK:
        from storage.intake.template_workbook import workbook_template

        write_file(path, workbook_template(kind, filled), over=False)
    else:
        write_file(path, template(kind, filled), over=False)

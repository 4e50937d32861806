"""Empty feature, reading and record files to fill in, as csv or as a workbook."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from storage.csv_cells import csv_of
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
    """A csv file of ``kind`` ("features", "readings" or "evidence") to fill in; what it is filled with beforehand
    becomes no formula."""
    fields = names(kind)
    heads = (*(names("head")[field][0] for field in OFFERED), *DEFAULTS) if kind == "features" else ()
    front = [[f"{HEAD_MARK} {head}", ""] for head in heads]
    rows = [[row.get(field, "") for field in fields] for row in filled]
    return csv_of([*front, [known[0] for known in fields.values()], *rows])


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

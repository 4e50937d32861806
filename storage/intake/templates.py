"""Empty feature and reading files to fill in."""

from __future__ import annotations

import csv
import io
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


def template(kind: str) -> bytes:
    """An empty file of ``kind`` ("features" or "readings"): csv, UTF-8 with the mark that spreadsheets look for."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    heads = [known[0] for known in names(kind).values()]
    if kind == "features":
        lines = [names("head")[field][0] for field in OFFERED]
        writer.writerows([f"{HEAD_MARK} {line}", ""] for line in (*lines, *DEFAULTS))
    writer.writerow(heads)
    return text.getvalue().encode("utf-8-sig")


def write_template(kind: str, path: Path) -> None:
    """Write an empty file of ``kind`` to ``path``; what stands there already is never overwritten.

    Raises BookFailure if a file is there, or the folder or disk will not have it.
    """
    write_file(path, template(kind), over=False)

"""Characters that a file could not show, named with their place before anything is made."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec import Struct

from inspection.reasons import Part, Reason, Refused
from inspection.sheet.report import EvidenceLine, Line, Report
from storage.dispatch.labels import label
from storage.typeface import missing_glyphs

Place = tuple[str, str, str]
"""A place inside a report: the end of the sentence's code, the row or name it is of, and the code of its heading."""

#: Fields of the report that are told line by line, each under the heading of its name.
_TABLES = ("temperatures", "budgets", "nonconformances", "returns", "statements", "signatures")
#: Named in one sentence at most.
MOST_NAMED = 8


def refuse_unprintable(report: Report) -> None:
    """Raise Refused naming every character that the printed sheet has no glyph for, place by place."""
    _refuse(report, "glyph", missing_glyphs)


def refuse_control_characters(report: Report) -> None:
    """Raise Refused naming every character that neither XML 1.0 (section 2.2, Char) nor UTF-8 can carry."""
    _refuse(report, "control", uncarried)


def uncarried(text: str) -> set[str]:
    """The characters of a text that are not characters of XML 1.0."""
    return {character for character in set(text) if not _carried(ord(character))}


def _carried(point: int) -> bool:
    return point in (9, 10, 13) or 0x20 <= point <= 0xD7FF or 0xE000 <= point <= 0xFFFD or point >= 0x10000


def _refuse(report: Report, fault: str, wanting: Callable[[str], set[str]]) -> None:
    if not wanting("".join(text for _, text in texts(report))):
        return
    found: dict[Place, set[str]] = {}
    for place, text in texts(report):
        if characters := wanting(text):
            found.setdefault(place, set()).update(characters)
    reasons = [
        Reason(f"dispatch.{fault}.{place[0]}", {**_parts(report, place), "characters": _named(characters)})
        for place, characters in found.items()
    ]
    raise Refused(*reasons)


def _parts(report: Report, place: Place) -> dict[str, Part]:
    """What names a place in a sentence. Headings are looked up for what is told alone."""
    where, of, field = place
    if where == "title":
        return {}
    if where == "evidence":
        return {"name": of}
    if where == "head":
        return {"field": of or label(report, field)}
    return {"number": of, "field": label(report, field)} if where == "row" else {"field": label(report, field)}


def _named(characters: set[str]) -> str:
    names = [_name(character) for character in sorted(characters)]
    return ", ".join(names[:MOST_NAMED]) + (" …" if len(names) > MOST_NAMED else "")


def _name(character: str) -> str:
    point = f"U+{ord(character):04X}"
    return f"{character} ({point})" if character.isprintable() else point


def texts(report: Report) -> Iterator[tuple[Place, str]]:
    """Every text that a report shows, with its place."""
    yield ("title", "", ""), report.title + report.shop
    for name, text in report.head:
        yield ("head", name, ""), name + text
    for serial in report.serials:
        yield ("head", "", "serial"), serial
    for line in report.lines:
        for field, text in _line_texts(line):
            yield ("row", line.number, field), text
    for item in report.sub_items:
        text = item.number + item.revision + item.name + item.serial + item.sheet
        yield ("closing", "", "sub_items"), text
    for told in report.evidence:
        yield ("evidence", told.name, ""), _evidence_text(told)
    for code in _TABLES:
        for told_of in getattr(report, code):
            yield ("closing", "", code), _texts_of(told_of)
    for code, section in (("totals", report.totals), ("cautions", report.cautions)):
        for text in section:
            yield ("closing", "", code), text


def _texts_of(told: object) -> str:
    """Every text of a line, of the lines in it too."""
    if isinstance(told, str):
        return told
    if isinstance(told, Struct):
        return "".join(_texts_of(getattr(told, field)) for field in told.__struct_fields__)
    return "".join(map(_texts_of, told)) if isinstance(told, tuple) else ""


def _evidence_text(told: EvidenceLine) -> str:
    texts = (getattr(told, field) for field in told.__struct_fields__ if field != "files")
    return "".join((*texts, *(name for name, _ in told.files)))


#: The fields of a row that are one text each, and the heading that names them.
_FIELDS = ("number", "requirement", "name", "place", "kind", "sheet", "zone", "key", "condition", "unit", "verdict")


def _line_texts(line: Line) -> Iterator[tuple[str, str]]:
    for field in _FIELDS:
        yield field, getattr(line, field)
    yield "limits", line.lower + line.upper
    yield "explained", "".join(line.explained)
    yield "instrument", "".join(line.instruments)
    yield "notes", "".join(line.notes)
    yield "corrections", "".join(line.corrections)
    for value in line.values:
        yield "reading", value.text + value.unit + value.written + value.serial
        yield "place", value.place + value.role
        yield "instrument", value.instrument
        yield "calibration", value.calibration
        yield "by", value.by + value.taken
        yield "withdrawn", value.withdrawn
        yield "check", value.check + value.temperature
        yield "reopened", value.reopened + value.suspect + value.aside
    for result in line.results:
        yield "result", result.text + result.serial
        yield "verdict", result.verdict + result.nonconformance
        yield "reasons", "".join(result.reasons)
        yield "corrections", "".join((*result.corrections, *result.read, result.expanded, result.budget))

"""Characters that a file could not show, named with their place before anything is made."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from inspection.reasons import Part, Reason, Refused
from inspection.sheet.report import EvidenceLine, Line, Report
from storage.dispatch.labels import label
from storage.typeface import missing_glyphs

#: A place inside a report: the end of the sentence's code, and the parts that name the place.
Place = tuple[str, dict[str, Part]]

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
    found: dict[tuple[str, str], tuple[Place, set[str]]] = {}
    for place, text in texts(report):
        if characters := wanting(text):
            found.setdefault((place[0], repr(place[1])), (place, set()))[1].update(characters)
    reasons = [
        Reason(f"dispatch.{fault}.{where}", {**parts, "characters": _named(characters)})
        for (where, parts), characters in found.values()
    ]
    raise Refused(*reasons)


def _named(characters: set[str]) -> str:
    names = [_name(character) for character in sorted(characters)]
    return ", ".join(names[:MOST_NAMED]) + (" …" if len(names) > MOST_NAMED else "")


def _name(character: str) -> str:
    point = f"U+{ord(character):04X}"
    return f"{character} ({point})" if character.isprintable() else point


def texts(report: Report) -> Iterator[tuple[Place, str]]:
    """Every text that a report shows, with its place."""
    yield ("title", {}), report.title + report.shop
    for name, text in report.head:
        yield ("head", {"field": name}), name + text
    for serial in report.serials:
        yield ("head", {"field": label(report, "serial")}), serial
    for line in report.lines:
        for field, text in _line_texts(line):
            yield ("row", {"number": line.number, "field": label(report, field)}), text
    for item in report.sub_items:
        text = item.number + item.revision + item.name + item.serial + item.sheet
        yield ("closing", {"field": label(report, "sub_items")}), text
    for told in report.evidence:
        yield ("evidence", {"name": told.name}), _evidence_text(told)
    for code, section in (("totals", report.totals), ("cautions", report.cautions)):
        for text in section:
            yield ("closing", {"field": label(report, code)}), text
    for signed in report.signatures:
        text = signed.statement + signed.person + signed.when + signed.digest + signed.certificate
        yield ("closing", {"field": label(report, "signatures")}), text


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
    for value in line.values:
        yield "reading", value.text + value.unit + value.written + value.serial
        yield "place", value.place + value.role
        yield "instrument", value.instrument
        yield "calibration", value.calibration
        yield "by", value.by + value.taken
        yield "withdrawn", value.withdrawn
    for result in line.results:
        yield "result", result.text + result.serial
        yield "verdict", result.verdict
        yield "reasons", "".join(result.reasons)

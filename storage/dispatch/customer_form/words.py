"""Words on blank forms and what they stand for, from ``resources/intake/customer_forms.toml``."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import Any

from msgspec import Struct

from storage.intake.heads import plain

_UNIT = re.compile(r"[(\[]\s*([^)\]]*?)\s*[)\]]")
_SIGNS = str.maketrans({"−": "-", "–": "-", "—": "-"})
_SIGN = re.compile(r"(^|\s)[+-]|[+-](\s|$)|#")
#: A dot that shortens a word stands for nothing: "Char. #", "P.O. No."
_SHORTENED = re.compile(r"(?<=[^\W\d_])\.")
#: The number that a form gives its own boxes: "5. Part revision", "13a) Detail".
_BOX_NUMBER = re.compile(r"^\s*\d{1,3}[a-z]?\s*[.)]\s+(?=\D)", re.IGNORECASE)
#: Two words beside each other that may be the customer's for yes and no.
_BESIDE = re.compile(r"\s*[/|]\s*")
#: What is asked for together in one cell, the first of which goes there.
_TOGETHER = frozenset({("order", "order_line"), ("part", "part_revision"), ("drawing", "drawing_revision")})
_OF = frozenset({"de", "di", "du", "del", "dell"})
#: A label that counts.
_COUNTED = re.compile(r"(.*?\D)\s*#?0?([1-9]\d?)")
_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")


class Head(Struct, frozen=True):
    """What a head says: the field, and the system it names in brackets ("in", "mm")."""

    field: str
    unit: str = ""


def signed(text: str) -> str:
    """A head with the signs that matter in one: + and - and #."""
    told = unicodedata.normalize("NFKC", text).translate(_SIGNS).casefold().replace("+/-", "+ -").replace("±", "+ -")
    return " ".join(_SHORTENED.sub(" ", told).strip(" :.;").split())


@cache
def _table() -> dict[str, dict[str, Any]]:
    text = (files("resources") / "intake" / "customer_forms.toml").read_text("utf-8")
    found: dict[str, dict[str, Any]] = tomllib.loads(text)
    return found


@cache
def _by_word(kind: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for field, words in _table()[kind].items():
        for word in words:
            keys = (signed(word),) if _SIGN.search(signed(word)) else (signed(word), plain(word))
            found |= {key: field for key in keys if key and key not in found}
    return found


@cache
def _by_whole_word(kind: str) -> dict[str, str]:
    """The same words with everything written out, for heads that shorten other words than the table does."""
    found: dict[str, str] = {}
    for field, words in _table()[kind].items():
        for word in words:
            found.setdefault(_whole(signed(word)), field)
    return found


@cache
def _shortened() -> dict[str, str]:
    return {short: whole for whole, shorts in _table()["short"].items() for short in (str(each) for each in shorts)}


def _whole(told: str) -> str:
    """A head with its shortened words written out; "number" stands in front or behind, as each language has it."""
    said = [_shortened().get(each, each) for each in told.split()]
    if said[:1] == ["no"] and len(said) > 1:
        said = [*said[2 if said[1] in _OF and len(said) > 2 else 1 :], "no"]
    return " ".join(said)


def field_of(kind: str, text: str) -> str:
    """The field that a text names; empty for none. Of a head in two languages either will do; the number of a box and
    shortened words stand for nothing of their own."""
    known = _by_word(kind)
    text = _BOX_NUMBER.sub("", text)
    bare = _UNIT.sub(" ", text)
    parts = _parts(bare)
    told = (text, bare, *parts)
    for each in told:
        for key in (signed(each), plain(each)):
            if key and key in known:
                return _of_first(kind, known[key], parts)
    whole = _by_whole_word(kind)
    return next((whole[key] for each in told if (key := _whole(signed(each))) and key in whole), "")


def _of_first(kind: str, field: str, parts: Sequence[str]) -> str:
    """What a head asks for: of order and line in one cell ("PO / line") the order, though both words say the line."""
    first = _by_word(kind).get(plain(parts[0]), "") if kind == "head" and parts else ""
    return first if (first, field) in _TOGETHER else field


def head_of(kind: str, text: str) -> Head:
    """The field that a column's head names, and its unit."""
    return Head(field_of(kind, text), unit_in(text))


def unit_in(text: str) -> str:
    """The system that a head names in brackets or as its last word."""
    for each in (text, *_UNIT.findall(text), text.replace(",", " ").split()[-1] if len(text.split()) > 1 else ""):
        unit = _by_word("units").get(plain(each), "")
        if unit:
            return unit
    return ""


def unit_said(text: str) -> str:
    """The system that a sentence names ("All dimensions in mm")."""
    if not re.search(r"dimension|ma(ß|ss)e|cotes|cotas|medidas|quote|units?\b", text, re.IGNORECASE):
        return ""
    found = {_by_word("units").get(plain(each), "") for each in re.split(r"[\s,;()]+", text)} - {""}
    found -= {"in"} if "mm" in found and re.search(r"\bin\s+(mm|milli)", text, re.IGNORECASE) else set()
    return found.pop() if len(found) == 1 else ""


def scale_of(text: str) -> str:
    """The field that a temperature goes out in where a text is the name of a scale and nothing else; else empty."""
    return _by_word("scales").get(" ".join(text.casefold().strip(" ()[],.").replace("° ", "°").split()), "")


def temperature_of(text: str) -> str:
    """The field of a label that asks for the temperature, on the scale that it names if it does: "Temp. [°C]",
    "Room temperature °F", "Temperatur in °C". Empty for any other label."""
    if field_of("head", text) == "temperature":
        return next(filter(None, map(scale_of, _UNIT.findall(text))), "temperature")
    told = text.strip(" :").split()
    for length in (1, 2):
        scale = scale_of(" ".join(told[-length:]))
        rest = told[:-length] if told[-length - 1 : -length] != ["in"] else told[: -length - 1]
        if scale and field_of("head", " ".join(rest).rstrip(" ,")) == "temperature":
            return scale
    return ""


def piece_of(text: str, *, alone: bool) -> int:
    """The piece, from 0, that a head names ("Piece 3", "Pezzo 1 [mm]"); a bare number only where ``alone`` says so. -1
    for none."""
    told = plain(_UNIT.sub(" ", text) if unit_in(text) else text)
    found = re.fullmatch(r"(.*?)\s*(\d{1,3})", told)
    if found is None or int(found[2]) < 1:
        return -1
    word = found[1].strip()
    known = set(map(plain, _table()["piece"]["words"]))
    if (not word and alone) or word in known or any(each in known for each in word.split("  ")):
        return int(found[2]) - 1
    return -1


def serial_of(text: str) -> int:
    """The piece, from 0, whose serial a label asks for ("Serial no. 2", "S/N 1"); -1 for any other label."""
    found = _COUNTED.fullmatch(_BOX_NUMBER.sub("", text).strip(" :"))
    return int(found[2]) - 1 if found and field_of("head", found[1]) == "serial" else -1


def word_of(text: str) -> str:
    """What a customer's word stands for, by the words of a layout; empty for none. In two languages both say it."""
    known = _by_word("words")
    if plain(text) in known:
        return known[plain(text)]
    found = {known.get(plain(part), "") for part in _parts(text)}
    return found.pop() if len(found) == 1 else ""


def answers_in(text: str) -> frozenset[str]:
    """The answers that a text beside a box, or in a drop-down list, may give: "full" and "complete" of one that says
    either; "yes", "no"; of one in two languages what both say, as far as
    they are known."""
    text = _BOX_NUMBER.sub("", text)
    known = _by_answer()
    for each in (text, _UNIT.sub(" ", text)):
        for key in (plain(each), _whole(plain(each))):
            if key in known:
                return known[key]
    parts = [said for part in _parts(text) if (said := answers_in(part))]
    return frozenset.intersection(*parts) if parts else frozenset()


@cache
def _by_answer() -> dict[str, frozenset[str]]:
    found: dict[str, frozenset[str]] = {}
    for answer, words in _table()["answers"].items():
        for word in words:
            for key in {plain(word), _whole(plain(word))}:
                found[key] = found.get(key, frozenset()) | {answer}
    return found


def chosen(allowed: tuple[str, ...], means: str) -> str | None:
    """The value of a drop-down list that says what is meant; None where none does. Whether a first article is complete
    may be answered by yes and no."""
    marks = _table()["ticks"].get(means)
    if marks is not None:
        said = {*marks, *map(plain, marks)} - {""}
        return next((each for each in allowed if {each.strip(), plain(each)} & said), None)
    saying = [each for each in allowed if means in answers_in(each)]
    found = min(saying, key=lambda each: _far(each, means), default=None)
    yes_or_no = {"complete": "yes", "not complete": "no"}.get(means)
    if found is None and yes_or_no:
        found = next((each for each in allowed if yes_or_no in answers_in(each)), None)
    return found or (words_in(allowed).get(means) if means else None)


def _far(text: str, answer: str) -> int:
    """How far down among the words for an answer a text stands: "Partial" says partial rather than "Delta" does."""
    said = list(map(plain, _table()["answers"].get(answer, ())))
    return said.index(plain(text)) if plain(text) in said else len(said)


@cache
def boxes() -> dict[str, str]:
    """The signs of a box to tick, each with the sign of the same one ticked."""
    return {str(empty): str(ticked) for empty, ticked in _table()["boxes"].items()}


@cache
def symbol_boxes() -> dict[str, str]:
    """The same for texts in a font of symbols, whose letters are shown as signs."""
    return {str(empty): str(ticked) for empty, ticked in _table()["symbol_boxes"].items()}


def yes_and_no(text: str) -> tuple[str, str] | None:
    """The customer's words for conforming and not conforming where a head holds both: "Pass/Fail", "Conforme (O/N)",
    "i.O. / n.i.O."."""
    parts = _BESIDE.split(text.strip(" :"))
    for before, behind in pairwise(parts):
        yes = _at_edge(before, "conforming", -1)
        no = _at_edge(behind, "not conforming", 1)
        if yes and no:
            return yes, no
    return None


def _at_edge(text: str, meaning: str, side: int) -> str:
    """The longest word at the end (-1) or the beginning (1) of a text that has this meaning."""
    told = text.replace("(", " ").replace(")", " ").replace("[", " ").replace("]", " ").rstrip("?").split()
    for length in range(min(3, len(told)), 0, -1):
        word = " ".join(told[-length:] if side < 0 else told[:length])
        if word_of(word) == meaning:
            return word
    return ""


def is_unit(text: str) -> bool:
    """Whether a text is the name of a system and nothing else: "mm", "(inch)"."""
    return bool(_by_word("units").get(plain(text)))


def words_in(allowed: tuple[str, ...]) -> dict[str, str]:
    """The customer's words of a drop-down list by what they mean; of two the other is the opposite."""
    found: dict[str, str] = {}
    for each in allowed:
        if meaning := word_of(each):
            found.setdefault(meaning, each)
    if len(allowed) == 2 and len(found) == 1:
        for meaning, other in (("conforming", "not conforming"), ("not conforming", "conforming")):
            if meaning in found:
                rest = next(each for each in allowed if each != found[meaning])
                return {**found, other: rest}
    return found


def name_of(name: str) -> str:
    """The field of the head that a defined name names ("PartNumber", "PO_No")."""
    return field_of("head", _CAMEL.sub(" ", name).replace("_", " ").replace(".", " "))


def _parts(text: str) -> list[str]:
    found = re.split(r"\s*[/|\n]\s*", text)
    return [each for each in found if each] if len(found) > 1 else []

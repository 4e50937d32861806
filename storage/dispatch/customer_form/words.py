"""Words on blank forms and what they stand for, from ``resources/intake/customer_forms.toml``."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from functools import cache
from importlib.resources import files

from msgspec import Struct

from storage.intake.heads import plain

_UNIT = re.compile(r"[(\[]\s*([^)\]]*?)\s*[)\]]")
_SIGNS = str.maketrans({"−": "-", "–": "-", "—": "-"})
_SIGN = re.compile(r"(^|\s)[+-]|[+-](\s|$)|#")
#: A dot that shortens a word stands for nothing: "Char. #", "P.O. No."
_SHORTENED = re.compile(r"(?<=[^\W\d_])\.")
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
def _table() -> dict[str, dict[str, list[str]]]:
    text = (files("resources") / "intake" / "customer_forms.toml").read_text("utf-8")
    found: dict[str, dict[str, list[str]]] = tomllib.loads(text)
    return found


@cache
def _by_word(kind: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for field, words in _table()[kind].items():
        for word in words:
            keys = (signed(word),) if _SIGN.search(signed(word)) else (signed(word), plain(word))
            found |= {key: field for key in keys if key and key not in found}
    return found


def field_of(kind: str, text: str) -> str:
    """The field that a text names; empty for none. Of a head in two languages either will do."""
    known = _by_word(kind)
    bare = _UNIT.sub(" ", text)
    for each in (text, bare, *_parts(bare)):
        for key in (signed(each), plain(each)):
            if key and key in known:
                return known[key]
    return ""


def head_of(kind: str, text: str) -> Head:
    """The field that a column's head names, and its unit."""
    return Head(field_of(kind, text), unit_in(text))


def unit_in(text: str) -> str:
    """The system that a head names in brackets or as its last word."""
    for each in (*_UNIT.findall(text), text.replace(",", " ").split()[-1] if len(text.split()) > 1 else ""):
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


def piece_of(text: str, *, alone: bool) -> int:
    """The piece, from 0, that a head names ("Piece 3"); a bare number only where ``alone`` says so. -1 for none."""
    told = plain(text)
    found = re.fullmatch(r"(.*?)\s*(\d{1,3})", told)
    if found is None or int(found[2]) < 1:
        return -1
    word = found[1].strip()
    known = set(map(plain, _table()["piece"]["words"]))
    if (not word and alone) or word in known or any(each in known for each in word.split("  ")):
        return int(found[2]) - 1
    return -1


def word_of(text: str) -> str:
    """What a customer's word stands for, by the words of a layout; empty for none."""
    return _by_word("words").get(plain(text), "")


def name_of(name: str) -> str:
    """The field of the head that a defined name names ("PartNumber", "PO_No")."""
    return field_of("head", _CAMEL.sub(" ", name).replace("_", " ").replace(".", " "))


def _parts(text: str) -> list[str]:
    found = re.split(r"\s*[/|\n]\s*", text)
    return [each for each in found if each] if len(found) > 1 else []

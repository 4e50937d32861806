"""The catalogue: every sentence and label that a person reads, by code, from ``resources/words/<language>``.

A file holds the words of one subject, as a flat table: ``"code" = "template with {part}"``. A text that depends on a
number is a table with ``one``, ``other`` and ``by``, the part that counts, and with ``none`` where a zero that is met
reads badly as a figure::

    "sheet.rows" = { none = "no row", one = "{n} row", other = "{n} rows", by = "n" }

In a template ``{part}`` stands for a part as it is, ``{part!w}`` for a part that is itself a code, and
``{part!w:feature}`` for a part looked up as ``feature.<part>`` (the values of an enumeration, for instance).
A brace is doubled to stand for itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from string import Formatter
from typing import Any, NamedTuple

#: One piece of a template: literal text, then the part's name (None at the end), its conversion and its prefix.
Piece = tuple[str, str | None, str, str]


class Template(NamedTuple):
    """One entry of the catalogue, taken apart. ``by`` names the part that decides between ``none``, ``one`` and
    ``other``; without ``none`` a zero is told as any other number."""

    other: tuple[Piece, ...]
    one: tuple[Piece, ...] = ()
    by: str = ""
    none: tuple[Piece, ...] = ()

    @property
    def names(self) -> frozenset[str]:
        """The parts that the template asks for."""
        return frozenset(name for _, name, _, _ in (*self.other, *self.one, *self.none) if name) | frozenset(
            filter(None, [self.by])
        )


def take_apart(text: str) -> tuple[Piece, ...]:
    """Take a template apart. Raises ValueError where its braces do not match."""
    return tuple((before, name, how or "", spec or "") for before, name, spec, how in Formatter().parse(text))


def entries(table: dict[str, Any], before: str = "") -> Iterator[tuple[str, Template]]:
    """Yield every code of one file with its template; a code written without quotes is a nested table, and is joined
    again with points. Raises ValueError for a text that is neither a template nor a plural."""
    for key, value in table.items():
        code = f"{before}.{key}" if before else key
        if isinstance(value, str):
            yield code, Template(take_apart(value))
        elif not isinstance(value, dict):
            raise ValueError(f"{code} is neither a text nor a table")
        elif isinstance(value.get("by"), str):
            none = take_apart(value.get("none", ""))
            yield code, Template(take_apart(value["other"]), take_apart(value["one"]), value["by"], none)
        else:
            yield from entries(value, code)


def files(language: str) -> Iterator[tuple[str, str]]:
    """Yield name and text of every file of a language, in order of name."""
    from importlib.resources import files as resource_files

    folder = resource_files("resources") / "words" / language
    for file in sorted(folder.iterdir(), key=lambda each: each.name):
        if file.name.endswith(".toml"):
            yield file.name, file.read_text(encoding="utf-8")


#: A line that begins an entry: its code, quoted in one way or the other, or not.
_BEGINS = re.compile(r"""^(?:"([^"\n\\]+)"|'([^'\n]+)'|([\w.-]+)) *=""", re.MULTILINE)


def codes(text: str) -> Iterator[str]:
    """Every code of a file's text in its order, told by how lines begin, which costs a twentieth of reading them."""
    return (double or single or bare for double, single, bare in _BEGINS.findall(text))


class Words(Mapping[str, Template]):
    """Every entry of a language by its code. A file is read when the first of its codes is asked for: what is shown
    first stands in two or three of them."""

    def __init__(self, language: str) -> None:
        self._texts = dict(files(language))
        self._file = {code: name for name, text in self._texts.items() for code in codes(text)}
        self._read: dict[str, Template] = {}

    def __getitem__(self, code: str) -> Template:
        if code not in self._read:
            import tomllib

            self._read.update(entries(tomllib.loads(self._texts[self._file[code]])))
        return self._read[code]

    def __contains__(self, code: object) -> bool:
        return code in self._file

    def __iter__(self) -> Iterator[str]:
        return iter(self._file)

    def __len__(self) -> int:
        return len(self._file)


@cache
def catalogue(language: str = "en") -> Mapping[str, Template]:
    """All entries of a language. Raises FileNotFoundError for a language without a folder."""
    return Words(language)


def phrase(code: str, language: str = "en", /, **texts: str) -> str:
    """The words of a code with its parts, already texts, filled in.

    An unknown code gives a plain line that names it and its parts, and a missing part its name, for a fault must still
    be told; the tests see to it that neither is met.
    """
    words = catalogue(language)
    if code not in words:
        return unworded(code, texts)
    template = words[code]
    return "".join(_filled(piece, texts, language) for piece in _fitting(template, texts.get(template.by)))


def _fitting(template: Template, count: str | None) -> tuple[Piece, ...]:
    """The words of a template for what it counts."""
    if template.by and count == "1":
        return template.one
    return template.none if template.none and count == "0" else template.other


def unworded(name: str, texts: dict[str, str]) -> str:
    """What stands for a code without words, or for a part that was not given."""
    told = ", ".join(f"{each} = {text}" for each, text in texts.items())
    return f"[{name}] {told}".rstrip()


def _filled(piece: Piece, texts: dict[str, str], language: str) -> str:
    before, name, how, prefix = piece
    if name is None:
        return before
    text = texts[name] if name in texts else unworded(name, {})
    if how == "w":
        text = phrase(f"{prefix}.{text}" if prefix else text, language)
    return before + text

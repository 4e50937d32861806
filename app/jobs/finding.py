"""What sheets are looked for by, as one line that people write: ``heat:55-201 with:M-01 verdict:not-conforming hub``.

A word with a colon names a field; what stands behind it is looked for there, in quotes where it holds spaces. Other
words are looked for everywhere. The names and the values that are chosen from come from the catalogue, so that the
window and the command line read the same line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from inspection.reasons import Part, Reason, Refused
from inspection.sheet.state import Shop
from inspection.words.say import word
from storage.book.queries.found_sheets import Came, Marked, State, Wanted

#: The fields that can be named, as fields of ``Wanted``, in the order in which they are asked for.
FIELDS = (
    "number", "revision", "serial", "lot", "heat", "customer", "order", "person", "instrument", "verdict",
    "nonconformance", "since", "until", "state", "marked",
)  # fmt: skip
#: So many of the things that there are are named where something is none of them.
MOST_NEAR = 6
_TOKEN = re.compile(r'(?:(?P<name>[^\W\d_]+):)?(?:"(?P<quoted>[^"]*)(?:"|$)|(?P<plain>[^\s"]+)|(?<=:))')
_CHOSEN: Mapping[str, type[Came] | type[State] | type[Marked]] = {"verdict": Came, "state": State, "marked": Marked}
#: The fields that are chosen from.
CHOSEN = tuple(_CHOSEN)


class Named(Struct, frozen=True):
    """A field with what was written behind its name, and where that stands in the line."""

    field: str
    text: str
    at: int


def names_of(field: str) -> tuple[str, ...]:
    """What a field is called in the line, the usual name first."""
    return tuple(word(f"find.name.{field}").split())


def values_of(field: str) -> dict[str, str]:
    """The values of a field that is chosen from, each with how it is written in the line."""
    return {value.value: word(f"find.{field}.{value.value}") for value in _CHOSEN[field]}


def parted(line: str) -> tuple[dict[str, Named], str]:
    """The fields named in a line, and the words that name none. A field that is named twice holds what came last."""
    known = {name: field for field in FIELDS for name in names_of(field)}
    named: dict[str, Named] = {}
    words: list[str] = []
    for found in _TOKEN.finditer(line):
        name, group = (found["name"] or "").casefold(), "quoted" if found["quoted"] is not None else "plain"
        text = found[group] or ""
        if name in known:
            at = found.start(group)
            named[known[name]] = Named(known[name], text.strip(), at if at >= 0 else found.end())
        elif found["name"]:
            words.append(f"{found['name']}:{text}")
        else:
            words.append(text)
    return named, " ".join(filter(None, words))


def unknown_field(words: str) -> str:
    """The name before the colon of the first word that names a field which there is none of; empty if none does."""
    return next((found["name"] for found in _TOKEN.finditer(words) if found["name"]), "")


def written(fields: Mapping[str, str], words: str) -> str:
    """A line that names these fields (as written in a line) and holds these words; what is empty is left out."""
    told = []
    for field in FIELDS:
        text = " ".join(fields.get(field, "").replace('"', " ").split())
        if text:
            told.append(f'{names_of(field)[0]}:"{text}"' if " " in text else f"{names_of(field)[0]}:{text}")
    return " ".join(filter(None, (*told, words)))


def wanted_by(line: str, shop: Shop, within: Wanted = Wanted()) -> Wanted:  # noqa: B008 - frozen
    """What a line looks for, in what is looked for already (``within``).

    Raises Refused where a field's text names nothing that there is (a person, an instrument, a day, a verdict); part
    ``at`` is the place in the line. A field without a text is not looked for.
    """
    named, words = parted(line)
    found: dict[str, Any] = {"text": " ".join((within.text, words)).strip()}
    for each in named.values():
        if each.text:
            found[each.field] = _value(each, shop)
    since, until = (found.get(name, getattr(within, name)) for name in ("since", "until"))
    if since and until and since > until:
        raise Refused(Reason("find.backwards", {"since": since, "until": until}))
    return replace(within, **found)


def _value(named: Named, shop: Shop) -> Any:
    match named.field:
        case "person":
            people = {identity: person.name for identity, person in shop.people.items()}
            return _one_of(named, people, "find.no_person", "find.people")
        case "instrument":
            held = shop.by_tag_typed(named.text)
            if held is None:
                tags = [one.tag for one in shop.crib.values()]
                like = [tag for tag in tags if named.text.casefold() in tag.casefold()]
                raise _refused("find.no_instrument", named, like or tags)
            return held.identity
        case "since" | "until":
            try:
                return date.fromisoformat(named.text).isoformat()
            except ValueError:
                raise _refused("find.no_day", named, ()) from None
        case "verdict" | "state" | "marked":
            values = values_of(named.field)
            text = named.text.replace("_", "-")
            return _CHOSEN[named.field](_one_of(replace(named, text=text), values, "find.no_value", "find.no_value"))
    return named.text


def _one_of(named: Named, choices: Mapping[str, str], none: str, several: str) -> str:
    """The key of the one choice that is this text, or else begins with it, or else holds it."""
    text = named.text.casefold()
    found: list[str] = []
    for fits in (str.__eq__, str.startswith, str.__contains__):
        found = [key for key, name in choices.items() if fits(name.casefold(), text)]
        if len(found) == 1:
            return found[0]
        if found:
            break
    raise _refused(several if found else none, named, (choices[key] for key in found or choices))


def _refused(code: str, named: Named, known: Iterable[str]) -> Refused:
    told = sorted(known)
    near = ", ".join([*told[:MOST_NEAR], "…"] if len(told) > MOST_NEAR else told)
    parts: dict[str, Part] = {"name": names_of(named.field)[0], "text": named.text[:60], "near": near, "at": named.at}
    return Refused(Reason(code, parts))


def told(wanted: Wanted, shop: Shop) -> Iterator[str]:
    """What is looked for by name, a piece each, as people read it: "instrument M-01"."""
    for field in FIELDS:
        value = getattr(wanted, field)
        if value in ("", None):
            continue
        if field == "person":
            value = shop.people[value].name if value in shop.people else value
        elif field == "instrument":
            value = shop.crib[value].tag if value in shop.crib else value
        elif field in _CHOSEN:
            value = values_of(field)[value.value]
        yield word(f"find.told.{field}", text=value)

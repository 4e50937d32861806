"""What argparse could not make out of a command line, told in sentences: what, where, and how it is given."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from difflib import get_close_matches
from typing import NamedTuple

from inspection.words.say import word

#: So many letters alike, of all letters, make two names near (``difflib``'s ratio).
NEAR = 0.8
#: The beginning of a name means it from so many letters on.
BEGINNING = 3


def nearest(name: str, known: Iterable[str]) -> str:
    """The one of ``known`` that is really near to ``name``: that begins with it, or is written almost as it; dashes in
    front tell nothing, for all options have them. Empty where none is near."""
    bare = {each.lstrip("-"): each for each in known}
    wanted = name.lstrip("-")
    begins = [each for each in bare if len(wanted) >= BEGINNING and each.startswith(wanted)]
    return bare.get(next(iter(begins or get_close_matches(wanted, bare, n=1, cutoff=NEAR)), ""), "")


def perhaps(near: str) -> str:
    """What may have been meant, to stand behind what is wrong; empty without it."""
    return f"; {word('command.perhaps', near=near)}" if near else ""


class Told(NamedTuple):
    """What was wrong as a clause, a line for each thing that has to be given, and whether a word is none of those that
    may stand there, nor near to one."""

    clause: str
    needed: Sequence[str] = ()
    odd_word: bool = False


def sentence(message: str, verb: str, actions: Sequence[argparse.Action]) -> Told:
    """A message of argparse in our words."""
    for pattern, tell in _TELLERS:
        found = re.fullmatch(pattern, message, re.DOTALL)
        if found:
            return tell(found.groupdict(), verb, actions)
    return Told(message)


Found = Mapping[str, str]


def _lacking(found: Found, verb: str, actions: Sequence[argparse.Action]) -> Told:
    names = found["names"].split(", ")
    return Told(word("command.lacks", verb=verb, names=_and(names)), _lines(names, actions))


def _one_of(found: Found, verb: str, actions: Sequence[argparse.Action]) -> Told:
    names = found["names"].split()
    return Told(word("command.lacks_one_of", verb=verb, names=", ".join(names)), _lines(names, actions))


def _nothing_behind(found: Found, _verb: str, actions: Sequence[argparse.Action]) -> Told:
    what = next((_behind(each) for each in actions if found["name"] in _names(each)), "")
    return Told(word("command.needs_behind", name=found["name"], what=what), _lines([found["name"]], actions))


def _no_choice(found: Found, _verb: str, actions: Sequence[argparse.Action]) -> Told:
    asked = next((each for each in actions if found["name"] in _names(each)), None)
    choices = [str(each) for each in asked.choices or ()] if asked is not None else [found["choices"]]
    near = nearest(found["given"], choices)
    said = word("command.no_choice", given=found["given"], name=found["name"], choices=", ".join(choices))
    return Told(said + perhaps(near), odd_word=not near and not found["name"].startswith("-"))


def _no_number(found: Found, _verb: str, _actions: Sequence[argparse.Action]) -> Told:
    return Told(word("command.no_number", name=found["name"], given=found["given"]))


def _not_together(found: Found, _verb: str, _actions: Sequence[argparse.Action]) -> Told:
    return Told(word("command.not_together", name=found["name"], other=found["other"]))


def _too_much(found: Found, _verb: str, _actions: Sequence[argparse.Action]) -> Told:
    return Told(word("command.nothing_behind", name=found["name"], given=found["given"]))


#: What argparse says (Python 3.11 to 3.13), and who tells it; what is not here is told as it is.
_TELLERS: tuple[tuple[str, Callable[[Found, str, Sequence[argparse.Action]], Told]], ...] = (
    (r"the following arguments are required: (?P<names>.+)", _lacking),
    (r"one of the arguments (?P<names>.+) is required", _one_of),
    (r"argument (?P<name>\S+): expected .*arguments?", _nothing_behind),
    (r"argument (?P<name>\S+): invalid choice: '(?P<given>.*)' \(choose from (?P<choices>.*)\)", _no_choice),
    (r"argument (?P<name>\S+): invalid int value: '(?P<given>.*)'", _no_number),
    (r"argument (?P<name>\S+): not allowed with argument (?P<other>\S+)", _not_together),
    (r"argument (?P<name>\S+): ignored explicit argument '(?P<given>.*)'", _too_much),
)


def _names(action: argparse.Action) -> tuple[str, ...]:
    """What argparse calls an argument in its messages."""
    if action.option_strings:
        return ("/".join(action.option_strings), *action.option_strings)
    return (str(action.metavar or action.dest),)


def _behind(action: argparse.Action) -> str:
    named = action.metavar
    return " ".join(named) if isinstance(named, tuple) else str(named or ", ".join(map(str, action.choices or ())))


def _lines(names: Sequence[str], actions: Sequence[argparse.Action]) -> list[str]:
    return [_line(each) for name in names for each in actions if name in _names(each)]


def _line(action: argparse.Action) -> str:
    name = " ".join(filter(None, (*action.option_strings[:1], _behind(action))))
    return f"  {name}: {(action.help or '').replace('%%', '%')}"


def _and(names: Sequence[str]) -> str:
    *first, last = names
    return word("command.and", first=", ".join(first), last=last) if first else last

"""Taking a command line apart: what is not known is told with what may have been meant."""

from __future__ import annotations

import argparse
import re
from collections.abc import Container, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, NoReturn

from app.command.misread import nearest, perhaps, sentence
from inspection.words.say import word


class UsageWrong(Exception):
    """The command line was not understood; holds the text to print."""


class Parser(argparse.ArgumentParser):
    """A parser that raises where argparse would end the process, so that one place decides how to leave. What it does
    not know is told with its own usage and what may have been meant. ``verbs`` are the parsers of the commands."""

    verbs: Mapping[str, Parser] = MappingProxyType({})

    def error(self, message: str) -> NoReturn:
        """Raise UsageWrong with the usage, what was wrong, how it is given, and where more is told."""
        told = sentence(message, self.verb, self._actions)
        said = told.clause + (self._sheet_apart() if told.odd_word else "")
        lines = [word("command.usage_wrong", message=said), *told.needed, word("command.more_told", line=self.prog)]
        raise UsageWrong("\n".join([self.format_usage().rstrip(), *lines, ""]))

    @property
    def verb(self) -> str:
        """The command that is read here, empty for the whole line."""
        return self.prog.partition(" ")[2]

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As argparse does, but an option that nothing knows is told first: what stands behind it would else be taken
        for something else. What was found has as ``bare_words`` what had no option in front. Raises UsageWrong."""
        self._given = list(own_part(args or (), self.verbs))
        for each in self._given:
            name = each.partition("=")[0]
            if name in self._option_string_actions:
                continue
            if is_option(each):
                self._unknown_option(name)
            elif self.verbs and each not in self.verbs:
                near = nearest(each, self.verbs)
                self.error(word("command.unknown_verb", name=each) + perhaps(near))
        found, over = super().parse_known_args(args, namespace)
        if over:
            self.error(word("command.too_many", what=" ".join(over)) + self._sheet_apart())
        if self.verb:
            found.bare_words = [each for action in self._words() for each in _texts(getattr(found, action.dest))]
        return found, over

    def _words(self) -> list[argparse.Action]:
        """What is named without an option, in its order."""
        return [each for each in self._actions if not each.option_strings and each.dest != "verb"]

    def _sheet_apart(self) -> str:
        """How a sheet is named, where it may stand among the words; empty where it is named, or none is asked for."""
        if "--sheet" not in self._option_string_actions or any(each.startswith("--sheet") for each in self._given):
            return ""
        line = " ".join([f"{self.prog} --sheet SHEET", *(str(each.metavar) for each in self._words())])
        return f"; {word('command.sheet_apart', line=line)}"

    def _unknown_option(self, name: str) -> NoReturn:
        if any(name in verb._option_string_actions for verb in self.verbs.values()):
            self.error(word("command.option_behind", name=name))
        self.error(word("command.unknown_option", name=name) + perhaps(nearest(name, self._option_string_actions)))


def _texts(value: object) -> list[str]:
    """What stood at a place of the line, as text."""
    return [str(each) for each in (value if isinstance(value, list) else [value]) if each is not None]


def own_part(arguments: Sequence[str], verbs: Container[str]) -> Iterator[str]:
    """The arguments that a parser reads itself: up to the command, which reads the others, or up to ``--``."""
    for each in arguments:
        if each == "--":
            return
        yield each
        if verbs and not each.startswith("-"):
            return


def is_option(argument: str) -> bool:
    """Whether argparse takes an argument for an option: not a lone dash, a negative number or a text with spaces."""
    return bool(re.fullmatch(r"-[^\s\d.][^\s]*", argument))

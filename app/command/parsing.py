"""Taking a command line apart: what is not known is told with what may have been meant."""

from __future__ import annotations

import argparse
import re
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any, NoReturn

from inspection.words.say import word


class UsageWrong(Exception):
    """The command line was not understood; holds the text to print."""


class Parser(argparse.ArgumentParser):
    """A parser that raises where argparse would end the process, so that one place decides how to leave. What it does
    not know is told with its own usage and what may have been meant. ``verbs`` are the parsers of the commands."""

    verbs: Mapping[str, Parser] = MappingProxyType({})

    def error(self, message: str) -> NoReturn:
        """Raise UsageWrong with the usage and what was wrong."""
        raise UsageWrong(f"{self.format_usage()}{word('command.usage_wrong', message=message)}\n")

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As argparse does, but an option that nothing knows is told first: what stands behind it would else be taken
        for something else. Raises UsageWrong."""
        for each in own_part(args or (), self.verbs):
            name = each.partition("=")[0]
            if name in self._option_string_actions:
                continue
            if is_option(each):
                self._unknown_option(name)
            elif self.verbs and each not in self.verbs:
                near = _nearest(each, self.verbs)
                self.error(word("command.unknown_verb", name=each) + _meant(near))
        found, over = super().parse_known_args(args, namespace)
        if over:
            self.error(word("command.too_many", what=" ".join(over)))
        return found, over

    def _unknown_option(self, name: str) -> NoReturn:
        if any(name in verb._option_string_actions for verb in self.verbs.values()):
            self.error(word("command.option_behind", name=name))
        self.error(word("command.unknown_option", name=name) + _meant(_nearest(name, self._option_string_actions)))


def _nearest(name: str, known: Iterable[str]) -> str:
    return next(iter(get_close_matches(name, known, n=1)), "")


def _meant(near: str) -> str:
    return f"; {word('command.perhaps', near=near)}" if near else ""


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

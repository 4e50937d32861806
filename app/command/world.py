"""What a command is given from outside: time, identities, environment, streams and the prompt for a passphrase."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.clock import Clock, Identities


class World(Struct, frozen=True):
    """The outside of one command. ``ask`` shows a prompt and returns what was typed unseen; None where nobody sits."""

    clock: Clock
    identities: Identities
    environ: Mapping[str, str]
    out: TextIO
    err: TextIO
    ask: Callable[[str], str] | None


def prompt() -> Callable[[str], str] | None:
    """The prompt of this terminal, None where the input is no terminal."""
    if sys.stdin is None or not sys.stdin.isatty():
        return None
    from getpass import getpass

    return getpass


def plain_text(argument: str) -> str:
    """An argument as text, though the terminal's locale may not know its letters. Raises Refused if it is no text."""
    try:
        return os.fsencode(argument).decode("utf-8") if any("\ud800" <= c <= "\udfff" for c in argument) else argument
    except UnicodeDecodeError:
        raise Refused(Reason("command.not_text", {"text": ascii(argument)})) from None


class Secret(Struct, frozen=True):
    """One passphrase that a command needs: the option that names a file with it, the variable, the code of the prompt.
    One that may be ``bare`` may be empty."""

    option: str
    variable: str
    prompt: str
    bare: bool = False


#: The passphrase of who signs.
SIGNER = Secret("--passphrase-file", "TENTHWRIGHT_PASSPHRASE", "command.ask_passphrase")
#: The passphrase that a new key gets.
MADE = Secret("--passphrase-file", "TENTHWRIGHT_PASSPHRASE", "command.ask_new_passphrase")
#: The passphrase that a key is to have in place of another one.
NEW = Secret("--new-passphrase-file", "TENTHWRIGHT_NEW_PASSPHRASE", "command.ask_new_passphrase")
#: The passphrase of a file with a key.
KEY_FILE = Secret("--key-passphrase-file", "TENTHWRIGHT_KEY_PASSPHRASE", "command.ask_key_passphrase", bare=True)


def passphrase(world: World, file: str | None, person: str, *, twice: bool = False, secret: Secret = SIGNER) -> str:
    """The passphrase of ``person``: from a file's first line, the environment, or the prompt; never an argument.

    Raises Refused where none of them gives one, or the two typed for a new one differ; BookFailure for the file.
    """
    if file is not None:
        return _from_file(Path(file))
    given = world.environ.get(secret.variable)
    if given or (given is not None and secret.bare):
        return plain_text(given)
    if world.ask is None:
        parts = {"person": person, "variable": secret.variable, "option": secret.option}
        raise Refused(Reason("command.passphrase_needed", {**parts}))
    first = world.ask(word(secret.prompt, person=person))
    if not first and not secret.bare:
        raise Refused(Reason("command.passphrase_empty"))
    if twice and world.ask(word("command.ask_passphrase_again")) != first:
        raise Refused(Reason("command.passphrases_differ"))
    return first


def _from_file(path: Path) -> str:
    from storage.files import read_file

    try:
        lines = read_file(path).decode("utf-8-sig").splitlines()
    except UnicodeDecodeError:
        lines = []
    if not lines or not lines[0]:
        raise Refused(Reason("command.passphrase_file_empty", {"file": path.name}))
    return lines[0]

"""Options that several verbs have, and the words that ``--help`` gives for each."""

from __future__ import annotations

import argparse

from inspection.words.say import word


def help_of(name: str) -> str:
    return word(f"command.help.{name}").replace("%", "%%")


def add_option(parser: argparse._ActionsContainer, *flags: str, help_name: str = "", **given: object) -> None:
    name = help_name or flags[-1].lstrip("-").replace("-", "_")
    parser.add_argument(*flags, help=help_of(name), **given)  # type: ignore[arg-type]


def add_book(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--book", metavar="FILE")


def add_json(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--json", action="store_true")


def add_acting(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--as", dest="person", metavar="NAME")


def add_sheet(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--sheet", metavar="SHEET")


def add_passphrase(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--passphrase-file", metavar="FILE")


def add_whose(parser: argparse.ArgumentParser) -> None:
    """Whose act it is, in which book, and how it is answered."""
    add_acting(parser)
    add_book(parser)
    add_json(parser)


def add_signing(parser: argparse.ArgumentParser) -> None:
    """How the signed PDF of a sheet is made, and who signs."""
    add_option(parser, "--paper", choices=("letter", "a4"), default="letter", help_name="pdf_paper")
    add_option(parser, "--stamp-room", action="store_true", help_name="stamp_room")
    add_sheet(parser)
    add_passphrase(parser)
    add_whose(parser)

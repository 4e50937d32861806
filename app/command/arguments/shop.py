"""Arguments of what concerns the shop as a whole: its book, people and rules, and what lies in it."""

from __future__ import annotations

import argparse

from app.command.arguments.options import add_book, add_json, add_option, add_passphrase, add_sheet, add_whose, help_of

TEMPLATES = ("features", "readings", "evidence")
DUTIES = ("inspector", "lead", "office", "keeper")
LISTS = ("sheets", "parts", "people", "instruments")


def demo(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--folder", metavar="FOLDER")
    add_option(parser, "--no-window", action="store_true")
    add_json(parser)


def new(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--shop", required=True, metavar="NAME")
    add_option(parser, "--person", required=True, metavar="NAME")
    add_option(parser, "--starter-crib", action="store_true")
    add_passphrase(parser)
    add_book(parser)
    add_json(parser)


def person(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", metavar="NAME", help=help_of("person_name"))
    add_option(parser, "--enter", action="store_true", help_name="person_enter")
    add_option(parser, "--duty", action="append", choices=DUTIES, default=[], metavar="DUTY", help_name="person_duty")
    keys = parser.add_mutually_exclusive_group()
    for flag in ("--new-key", "--change-passphrase"):
        add_option(keys, flag, action="store_true", help_name=f"person{flag.replace('-', '_')[1:]}")
    add_option(keys, "--key", metavar="FILE", help_name="person_key")
    add_option(parser, "--key-passphrase-file", metavar="FILE", help_name="person_key_passphrase_file")
    add_option(parser, "--new-passphrase-file", metavar="FILE", help_name="person_new_passphrase_file")
    add_passphrase(parser)
    add_whose(parser)


def rules(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--set", nargs="+", action="extend", default=[], metavar="NAME=VALUE", help_name="rules_set")
    add_whose(parser)


def listed(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", nargs="?", choices=LISTS, default="sheets", metavar="WHAT", help=help_of("list_what"))
    add_book(parser)
    add_json(parser)


def template(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", choices=TEMPLATES, metavar="KIND", help=help_of("template_kind"))
    parser.add_argument("file", metavar="FILE", help=help_of("template_file"))
    add_option(parser, "--sheet", help_name="template_sheet", metavar="SHEET")
    add_book(parser)


def verify(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help=help_of("verify_file"))
    add_sheet(parser)
    add_option(parser, "--head", action="append", default=[], help_name="verify_head", metavar="POSITION:DIGEST")
    add_option(parser, "--against", action="append", default=[], help_name="verify_against", metavar="FILE")
    add_option(parser, "--go-by", action="store_true", help_name="verify_go_by")
    add_option(parser, "--leave-pdfs", action="store_true", help_name="verify_leave_pdfs")
    add_book(parser)
    add_json(parser)

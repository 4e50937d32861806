"""Arguments of the crib: its records, what falls due, what to fetch, a person's own trials."""

from __future__ import annotations

import argparse

from app.command.arguments.options import add_book, add_json, add_option, add_sheet, add_whose, help_of


def crib(parser: argparse.ArgumentParser) -> None:
    for flag in ("--overdue", "--soon", "--out-of-service"):
        add_option(parser, flag, action="store_true", help_name=f"crib{flag.replace('-', '_')[1:]}")
    add_book(parser)
    add_json(parser)


def crib_export(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("to", metavar="FILE", help=help_of("crib_export_file"))
    add_book(parser)
    add_json(parser)


def crib_take_in(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=help_of("crib_file"))
    add_option(parser, "--preview", action="store_true", help_name="crib_preview")
    add_whose(parser)


def crib_file(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=help_of("crib_file_tag"))
    add_option(parser, "--attach", default="", metavar="FILE", help_name="crib_attach")
    add_option(parser, "--save-out", default="", metavar="FILE", help_name="crib_save_out")
    add_option(parser, "--name", default="", metavar="NAME", help_name="crib_file_name")
    add_whose(parser)


def due(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--within", default="", metavar="DAYS", help_name="due_within")
    add_book(parser)
    add_json(parser)


def pull_list(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("to", nargs="?", metavar="FILE", help=help_of("pull_list_file"))
    add_option(parser, "--paper", choices=("letter", "a4"), default="letter")
    add_sheet(parser)
    add_whose(parser)


def blocks(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("size", metavar="SIZE", help=help_of("blocks_size"))
    add_option(parser, "--set", help_name="block_set", action="append", default=[], metavar="TAG")
    add_option(parser, "--wear", action="store_true")
    add_book(parser)
    add_json(parser)


def pins(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lower", metavar="LOWER|NUMBER", help=help_of("pins_lower"))
    parser.add_argument("upper", nargs="?", metavar="UPPER", help=help_of("pins_upper"))
    add_option(parser, "--set", help_name="pin_set", action="append", default=[], metavar="TAG")
    add_sheet(parser)
    add_book(parser)
    add_json(parser)


def feel(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", nargs="?", metavar="TAG", help=help_of("feel_tag"))
    add_option(parser, "--block", metavar="SIZE", help_name="feel_block")
    add_option(parser, "--readings", metavar="READINGS", help_name="feel_readings")
    add_option(parser, "--keep", action="store_true", help_name="feel_keep")
    add_option(parser, "--forget", action="store_true", help_name="feel_forget")
    add_whose(parser)

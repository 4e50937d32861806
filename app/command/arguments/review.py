"""Arguments of the lead's review: its list, nonconformances, statements."""

from __future__ import annotations

import argparse

from app.command.arguments.options import add_book, add_json, add_option, add_sheet, add_signing, add_whose, help_of

DISPOSITIONS = ("rework", "repair", "use-as-is", "return", "scrap")
FIRST_ARTICLE = ("complete", "not-complete")


def review(parser: argparse.ArgumentParser) -> None:
    add_sheet(parser)
    add_whose(parser)


def answer(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("point", metavar="POINT", help=help_of("answer_point"))
    parser.add_argument("words", metavar="WORDS", help=help_of("answer_words"))
    add_sheet(parser)
    add_whose(parser)


def again(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("number", metavar="NUMBER", help=help_of("balloon"))
    parser.add_argument("reading", metavar="READING", help=help_of("again_reading"))
    add_option(parser, "--piece", default="", metavar="SERIAL", help_name="repeats_piece")
    add_option(parser, "--place", default="", metavar="PLACE", help_name="again_place")
    add_option(parser, "--role", default="", metavar="ROLE", help_name="again_role")
    add_option(parser, "--with", dest="using", default="", metavar="TAG", help_name="again_with")
    add_sheet(parser)
    add_whose(parser)


def give_back(parser: argparse.ArgumentParser) -> None:
    row = {"action": "append", "default": []}
    add_option(parser, "--row", nargs=2, metavar=("NUMBER", "WORDS"), help_name="return_row", **row)
    add_option(parser, "--cell", nargs=3, metavar=("NUMBER", "SERIAL", "WORDS"), help_name="return_cell", **row)
    add_option(parser, "--words", default="", metavar="WORDS", help_name="return_words")
    add_sheet(parser)
    add_whose(parser)


def nonconformance(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("number", nargs="+", metavar="NUMBER", help=help_of("balloon"))
    add_option(parser, "--piece", default="", metavar="SERIAL", help_name="repeats_piece")
    add_option(parser, "--no", default="", metavar="NC", help_name="nonconformance_no")
    add_option(parser, "--what", default="", metavar="WORDS", help_name="nonconformance_what")
    add_sheet(parser)
    add_whose(parser)


def dispose(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("no", metavar="NC", help=help_of("nonconformance_no"))
    parser.add_argument("disposition", choices=DISPOSITIONS, metavar="WHAT", help=help_of("dispose_what"))
    add_option(parser, "--words", default="", metavar="WORDS", help_name="dispose_words")
    add_option(
        parser, "--affects", nargs="+", action="extend", default=[], metavar="NUMBER", help_name="dispose_affects"
    )
    add_option(parser, "--document", default="", metavar="DOCUMENT", help_name="dispose_document")
    add_option(parser, "--day", default="", metavar="DAY", help_name="dispose_day")
    add_option(parser, "--scope", default="", metavar="WORDS", help_name="dispose_scope")
    add_sheet(parser)
    add_whose(parser)


def nonconformances(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("text", nargs="*", metavar="TEXT", help=help_of("nonconformances_text"))
    add_book(parser)
    add_json(parser)


def approve(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--words", default="", metavar="WORDS", help_name="approve_words")
    add_signing(parser)


def state(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", choices=FIRST_ARTICLE, metavar="WHAT", help=help_of("state_what"))
    add_option(parser, "--words", default="", metavar="WORDS", help_name="state_words")
    add_signing(parser)


def release(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--within", default="", metavar="WORDS", help_name="release_within")
    add_signing(parser)


def partial(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--serial", action="append", required=True, metavar="SERIAL")
    add_option(parser, "--order", default="", metavar="ORDER", help_name="partial_order")
    add_sheet(parser)
    add_whose(parser)


def amend(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--reason", required=True, metavar="WORDS", help_name="amend_reason")
    add_sheet(parser)
    add_whose(parser)

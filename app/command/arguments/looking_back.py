"""Arguments of looking back: finding, a row in time, sheets side by side, reverse trace and its marks."""

from __future__ import annotations

import argparse

from app.command.arguments.options import add_book, add_json, add_option, add_sheet, add_whose, help_of

CAME = ("conforming", "marginal", "in-doubt", "not-conforming")


def find(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("text", nargs="*", metavar="TEXT", help=help_of("find_text"))
    add_option(parser, "--part", default="", metavar="PART", help_name="find_part")
    for name in ("revision", "serial", "lot", "heat", "customer", "order"):
        add_option(parser, f"--{name}", default="", metavar="TEXT", help_name=f"find_{name}")
    add_option(parser, "--by", default="", metavar="NAME", help_name="find_by")
    add_option(parser, "--with", dest="using", default="", metavar="TAG", help_name="find_with")
    add_option(parser, "--verdict", choices=CAME, metavar="VERDICT", help_name="find_verdict")
    add_option(parser, "--nonconformance", default="", metavar="NC", help_name="find_nonconformance")
    add_option(parser, "--since", default="", metavar="DAY", help_name="since_day")
    add_option(parser, "--until", default="", metavar="DAY", help_name="until_day")
    add_option(parser, "--to", default="", metavar="FILE", help_name="list_to")
    add_book(parser)
    add_json(parser)


def history(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("part", metavar="PART", help=help_of("find_part"))
    parser.add_argument("number", nargs="?", metavar="NUMBER", help=help_of("balloon"))
    add_option(parser, "--to", default="", metavar="FILE", help_name="list_to")
    add_book(parser)
    add_json(parser)


def compare(parser: argparse.ArgumentParser) -> None:
    add_sheet(parser)
    add_option(parser, "--beside", metavar="SHEET", help_name="compare_beside")
    add_option(parser, "--changed", action="store_true", help_name="compare_changed")
    add_option(parser, "--to", default="", metavar="FILE", help_name="list_to")
    add_book(parser)
    add_json(parser)


def trace(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=help_of("check_tag"))
    add_option(parser, "--error", required=True, metavar="ERROR", help_name="trace_error")
    add_option(parser, "--at", default="", metavar="SIZE", help_name="trace_at")
    add_option(parser, "--since", default="", metavar="DAY", help_name="trace_since")
    add_option(parser, "--to", default="", metavar="FILE", help_name="trace_to")
    add_option(parser, "--customer", default="", metavar="NAME", help_name="trace_customer")
    add_option(parser, "--paper", choices=("letter", "a4"), default="letter", help_name="trace_paper")
    add_option(parser, "--mark", default="", metavar="WORDS", help_name="trace_mark")
    add_whose(parser)


def marks(parser: argparse.ArgumentParser) -> None:
    add_sheet(parser)
    add_book(parser)
    add_json(parser)


def answer_mark(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", metavar="WORDS", help=help_of("mark_words"))
    add_option(parser, "--mark", default="", metavar="N", help_name="mark_name")
    add_sheet(parser)
    add_whose(parser)

"""Arguments of a sheet at the bench: taken in, measured, judged, signed, and its record."""

from __future__ import annotations

import argparse

from app.command.arguments.options import add_book, add_json, add_option, add_sheet, add_signing, add_whose, help_of


def take_in(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=help_of("feature_file"))
    add_option(parser, "--serial", action="append", default=[], metavar="SERIAL")
    add_option(parser, "--preview", help_name="preview_file", action="store_true")
    add_whose(parser)


def choose(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--all", action="store_true")
    add_option(parser, "--number", metavar="NUMBER")
    add_option(parser, "--budget", action="store_true", help_name="choose_budget")
    add_option(parser, "--with", dest="using", metavar="TAG", help_name="choose_with")
    add_sheet(parser)
    add_book(parser)
    add_json(parser)


def read(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=help_of("reading_file"))
    add_option(parser, "--preview", help_name="preview_file", action="store_true")
    add_sheet(parser)
    add_whose(parser)


def verdicts(parser: argparse.ArgumentParser) -> None:
    add_sheet(parser)
    add_book(parser)
    add_json(parser)


def sign(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--incomplete", default="", metavar="WHY")
    add_signing(parser)


def sign_pdf(parser: argparse.ArgumentParser) -> None:
    add_signing(parser)


def stamp(parser: argparse.ArgumentParser) -> None:
    way = parser.add_mutually_exclusive_group(required=True)
    add_option(way, "--request", metavar="FILE", help_name="stamp_request")
    add_option(way, "--answer", metavar="FILE", help_name="stamp_answer")
    add_sheet(parser)
    add_whose(parser)


def head(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("field", nargs="*", metavar="NAME=TEXT", help=help_of("head_field"))
    add_option(parser, "--sub-item", action="append", default=None, metavar="ITEM", help_name="head_sub_item")
    add_sheet(parser)
    add_whose(parser)


def evidence(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help=help_of("evidence_file"))
    parser.add_argument("--drawing", nargs="?", const="", metavar="FILE", help=help_of("evidence_drawing"))
    add_sheet(parser)
    add_whose(parser)


def missing(parser: argparse.ArgumentParser) -> None:
    add_sheet(parser)
    add_book(parser)
    add_json(parser)


def temperature(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--part", required=True, metavar="T", help_name="temperature_part")
    add_option(parser, "--instrument", required=True, metavar="T", help_name="temperature_instrument")
    add_option(parser, "--thermometer", required=True, metavar="TAG", help_name="temperature_thermometer")
    add_option(parser, "--within", default="", metavar="T", help_name="temperature_within")
    add_option(parser, "--soak", type=int, default=0, metavar="MINUTES", help_name="temperature_soak")
    add_option(parser, "--note", default="", metavar="TEXT", help_name="proof_note")
    add_sheet(parser)
    add_whose(parser)


def rule(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("decision", metavar="RULE", help=help_of("rule_decision"))
    add_option(parser, "--reason", default="", metavar="WHY", help_name="rule_reason")
    add_option(parser, "--printed", action="store_true", help_name="rule_printed")
    add_sheet(parser)
    add_whose(parser)


def repeats(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("number", metavar="NUMBER", help=help_of("repeats_number"))
    parser.add_argument("repeats", type=int, metavar="M", help=help_of("repeats_m"))
    add_option(parser, "--piece", default="", metavar="SERIAL", help_name="repeats_piece")
    add_sheet(parser)
    add_whose(parser)

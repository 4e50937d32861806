"""Arguments of how instruments behave: checks, mishaps, studies on parts, gauge studies."""

from __future__ import annotations

import argparse

from app.command.arguments.options import add_book, add_json, add_option, add_sheet, add_whose, help_of

UPSETS = ("dropped", "repaired", "changed")
#: Kinds of gauge studies.
STUDIES = ("crossed", "standards", "attribute")


def check(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=help_of("check_tag"))
    add_option(parser, "--line", action="append", default=[], metavar="CODE=yes|no", help_name="check_line")
    add_option(parser, "--all-seen", action="store_true", help_name="check_all_seen")
    add_option(parser, "--zeros", default="", metavar="READINGS", help_name="check_zeros")
    add_option(parser, "--block", default="", metavar="SIZE", help_name="check_block")
    add_option(parser, "--standard", default="", metavar="TAG", help_name="check_standard")
    add_option(parser, "--readings", default="", metavar="READINGS", help_name="check_readings")
    add_option(parser, "--unit", default="", metavar="UNIT", help_name="check_unit")
    add_option(parser, "--fitted", metavar="TEXT", help_name="check_fitted")
    add_option(parser, "--closing", action="store_true", help_name="check_closing")
    add_option(parser, "--sheet", metavar="SHEET", help_name="check_sheet")
    add_whose(parser)


def checks(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", nargs="?", metavar="TAG", help=help_of("checks_tag"))
    add_whose(parser)


def upset(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=help_of("check_tag"))
    parser.add_argument("what", choices=UPSETS, metavar="WHAT", help=help_of("upset_what"))
    add_option(parser, "--note", default="", metavar="TEXT", help_name="proof_note")
    add_whose(parser)


def study(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=help_of("check_tag"))
    add_option(parser, "--group", action="append", required=True, metavar="READINGS", help_name="study_group")
    add_option(parser, "--unit", default="", metavar="UNIT", help_name="check_unit")
    add_option(parser, "--fitted", default="", metavar="TEXT", help_name="check_fitted")
    add_option(parser, "--note", default="", metavar="TEXT", help_name="proof_note")
    add_whose(parser)


def gauge_study(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=help_of("gauge_file"))
    add_option(parser, "--unit", default="in", metavar="UNIT", help_name="gauge_unit")
    add_option(parser, "--band", default="", metavar="SIZE", help_name="gauge_band")
    add_json(parser)


def study_start(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=help_of("check_tag"))
    add_option(parser, "--title", required=True, metavar="TEXT", help_name="study_title")
    add_option(parser, "--kind", default="crossed", choices=STUDIES, metavar="KIND", help_name="study_kind")
    add_option(parser, "--reader", action="append", required=True, metavar="NAME", help_name="study_reader")
    add_option(parser, "--part", action="append", default=[], metavar="LABEL", help_name="study_part")
    add_option(parser, "--parts", type=int, default=10, metavar="N", help_name="study_parts")
    add_option(parser, "--trials", type=int, default=3, metavar="N", help_name="study_trials")
    add_option(parser, "--band", default="", metavar="SIZE", help_name="gauge_band")
    add_option(parser, "--number", default="", metavar="NUMBER", help_name="study_number")
    add_option(parser, "--unit", default="", metavar="UNIT", help_name="check_unit")
    add_option(parser, "--fitted", default="", metavar="TEXT", help_name="check_fitted")
    add_sheet(parser)
    add_whose(parser)


def study_read(parser: argparse.ArgumentParser) -> None:
    add_option(parser, "--study", dest="title", default="", metavar="TITLE", help_name="study_named")
    parser.add_argument("readings", nargs="*", metavar="READING", help=help_of("study_readings"))
    add_option(parser, "--keep", action="store_true", help_name="study_keep")
    parser.add_argument("--correct", nargs=2, metavar=("PART", "READING"), help=help_of("study_correct"))
    add_option(parser, "--reason", default="", metavar="TEXT", help_name="study_reason")
    add_whose(parser)


def studies(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("title", nargs="?", default="", metavar="TITLE", help=help_of("study_named"))
    add_option(parser, "--csv", default="", metavar="FILE", help_name="study_csv")
    add_option(parser, "--pdf", default="", metavar="FILE", help_name="study_pdf")
    add_book(parser)
    add_json(parser)


def study_use(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("title", metavar="TITLE", help=help_of("study_named"))
    add_option(parser, "--people", action="store_true", help_name="study_people")
    add_sheet(parser)
    add_whose(parser)


def study_withdraw(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("title", metavar="TITLE", help=help_of("study_named"))
    add_option(parser, "--reason", required=True, metavar="TEXT", help_name="study_reason")
    add_sheet(parser)
    add_whose(parser)


def study_give_up(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("title", metavar="TITLE", help=help_of("study_named"))
    add_option(parser, "--reason", required=True, metavar="TEXT", help_name="study_reason")
    add_whose(parser)

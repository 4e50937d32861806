"""Arguments of what goes out: files, a customer's own form, packages."""

from __future__ import annotations

import argparse

from app.command.arguments.options import add_option, add_sheet, add_whose, help_of

FORMS = ("signed-pdf", "pdf", "xlsx", "csv", "data", "json", "qif", "first-article", "first-article-xlsx", "customer")


def export(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("form", choices=FORMS, metavar="FORM", help=help_of("form"))
    parser.add_argument("to", metavar="FILE", help=help_of("export_file"))
    add_option(parser, "--paper", choices=("letter", "a4"), default="letter")
    add_option(parser, "--layout", help_name="export_layout", default="", metavar="NAME")
    add_sheet(parser)
    add_whose(parser)


def layout(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help=help_of("layout_file"))
    add_option(parser, "--customer", default="", metavar="CUSTOMER", help_name="layout_customer")
    add_option(parser, "--name", default="", metavar="NAME", help_name="layout_name")
    add_option(parser, "--set", action="append", default=[], metavar="NAME=VALUE", help_name="layout_set")
    add_option(parser, "--keep", action="store_true", help_name="layout_keep")
    add_option(parser, "--out", metavar="FILE", help_name="layout_out")
    add_whose(parser)


def package(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("to", nargs="?", metavar="FILE.zip|FOLDER", help=help_of("package_to"))
    add_option(parser, "--beside", action="append", default=[], metavar="FILE", help_name="package_beside")
    add_option(parser, "--layout", help_name="export_layout", default="", metavar="NAME")
    add_option(parser, "--no-form", action="store_true", help_name="package_no_form")
    add_option(parser, "--again", nargs="?", const="", metavar="DIGEST", help_name="package_again")
    add_option(parser, "--paper", choices=("letter", "a4"), default="letter")
    add_sheet(parser)
    add_whose(parser)

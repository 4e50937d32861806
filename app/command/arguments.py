"""The shape of the command line: what may be asked, and the words that ``--help`` gives for it."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from app.command.parsing import Parser
from inspection.words.say import word

FORMS = ("signed-pdf", "pdf", "xlsx", "csv", "data", "json", "qif", "first-article", "first-article-xlsx", "customer")
TEMPLATES = ("features", "readings", "evidence")
UPSETS = ("dropped", "repaired", "changed")
DISPOSITIONS = ("rework", "repair", "use-as-is", "return", "scrap")
FIRST_ARTICLE = ("complete", "not-complete")
#: Kinds of gauge studies.
STUDIES = ("crossed", "standards", "attribute")
DUTIES = ("inspector", "lead", "office", "keeper")
CAME = ("conforming", "marginal", "in-doubt", "not-conforming")
LISTS = ("sheets", "parts", "people", "instruments")

Adds = Callable[[argparse.ArgumentParser], None]


def _help(name: str) -> str:
    return word(f"command.help.{name}").replace("%", "%%")


def _option(parser: argparse._ActionsContainer, *flags: str, help_name: str = "", **given: object) -> None:
    name = help_name or flags[-1].lstrip("-").replace("-", "_")
    parser.add_argument(*flags, help=_help(name), **given)  # type: ignore[arg-type]


def _book(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--book", metavar="FILE")


def _json(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--json", action="store_true")


def _acting(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--as", dest="person", metavar="NAME")


def _sheet(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--sheet", metavar="SHEET")


def _passphrase(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--passphrase-file", metavar="FILE")


def _demo(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--folder", metavar="FOLDER")
    _option(parser, "--no-window", action="store_true")
    _json(parser)


def _new(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--shop", required=True, metavar="NAME")
    _option(parser, "--person", required=True, metavar="NAME")
    _option(parser, "--starter-crib", action="store_true")
    _passphrase(parser)
    _book(parser)
    _json(parser)


def _take_in(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=_help("feature_file"))
    _option(parser, "--serial", action="append", default=[], metavar="SERIAL")
    _option(parser, "--preview", help_name="preview_file", action="store_true")
    _acting(parser)
    _book(parser)
    _json(parser)


def _choose(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--all", action="store_true")
    _option(parser, "--number", metavar="NUMBER")
    _option(parser, "--budget", action="store_true", help_name="choose_budget")
    _option(parser, "--with", dest="using", metavar="TAG", help_name="choose_with")
    _sheet(parser)
    _book(parser)
    _json(parser)


def _read(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=_help("reading_file"))
    _option(parser, "--preview", help_name="preview_file", action="store_true")
    _sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _verdicts(parser: argparse.ArgumentParser) -> None:
    _sheet(parser)
    _book(parser)
    _json(parser)


def _sign(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--incomplete", default="", metavar="WHY")
    _making(parser)
    _sheet(parser)
    _acting(parser)
    _passphrase(parser)
    _book(parser)
    _json(parser)


def _making(parser: argparse.ArgumentParser) -> None:
    """How the signed PDF is made."""
    _option(parser, "--paper", choices=("letter", "a4"), default="letter", help_name="pdf_paper")
    _option(parser, "--stamp-room", action="store_true", help_name="stamp_room")


def _sign_pdf(parser: argparse.ArgumentParser) -> None:
    _making(parser)
    _sheet(parser)
    _acting(parser)
    _passphrase(parser)
    _book(parser)
    _json(parser)


def _stamp(parser: argparse.ArgumentParser) -> None:
    way = parser.add_mutually_exclusive_group(required=True)
    _option(way, "--request", metavar="FILE", help_name="stamp_request")
    _option(way, "--answer", metavar="FILE", help_name="stamp_answer")
    _sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _export(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("form", choices=FORMS, metavar="FORM", help=_help("form"))
    parser.add_argument("to", metavar="FILE", help=_help("export_file"))
    _option(parser, "--paper", choices=("letter", "a4"), default="letter")
    _option(parser, "--layout", help_name="export_layout", default="", metavar="NAME")
    _sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _layout(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help=_help("layout_file"))
    _option(parser, "--customer", default="", metavar="CUSTOMER", help_name="layout_customer")
    _option(parser, "--name", default="", metavar="NAME", help_name="layout_name")
    _option(parser, "--set", action="append", default=[], metavar="NAME=VALUE", help_name="layout_set")
    _option(parser, "--keep", action="store_true", help_name="layout_keep")
    _option(parser, "--out", metavar="FILE", help_name="layout_out")
    _acting(parser)
    _book(parser)
    _json(parser)


def _package(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("to", nargs="?", metavar="FILE.zip|FOLDER", help=_help("package_to"))
    _option(parser, "--beside", action="append", default=[], metavar="FILE", help_name="package_beside")
    _option(parser, "--layout", help_name="export_layout", default="", metavar="NAME")
    _option(parser, "--no-form", action="store_true", help_name="package_no_form")
    _option(parser, "--again", nargs="?", const="", metavar="DIGEST", help_name="package_again")
    _option(parser, "--paper", choices=("letter", "a4"), default="letter")
    _sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _pull_list(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("to", nargs="?", metavar="FILE", help=_help("pull_list_file"))
    _option(parser, "--paper", choices=("letter", "a4"), default="letter")
    _sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _blocks(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("size", metavar="SIZE", help=_help("blocks_size"))
    _option(parser, "--set", help_name="block_set", action="append", default=[], metavar="TAG")
    _option(parser, "--wear", action="store_true")
    _book(parser)
    _json(parser)


def _pins(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lower", metavar="LOWER|NUMBER", help=_help("pins_lower"))
    parser.add_argument("upper", nargs="?", metavar="UPPER", help=_help("pins_upper"))
    _option(parser, "--set", help_name="pin_set", action="append", default=[], metavar="TAG")
    _sheet(parser)
    _book(parser)
    _json(parser)


def _verify(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help=_help("verify_file"))
    _sheet(parser)
    _option(parser, "--head", action="append", default=[], help_name="verify_head", metavar="POSITION:DIGEST")
    _option(parser, "--against", action="append", default=[], help_name="verify_against", metavar="FILE")
    _option(parser, "--go-by", action="store_true", help_name="verify_go_by")
    _option(parser, "--leave-pdfs", action="store_true", help_name="verify_leave_pdfs")
    _book(parser)
    _json(parser)


def _list(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", nargs="?", choices=LISTS, default="sheets", metavar="WHAT", help=_help("list_what"))
    _book(parser)
    _json(parser)


def _template(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", choices=TEMPLATES, metavar="KIND", help=_help("template_kind"))
    parser.add_argument("file", metavar="FILE", help=_help("template_file"))
    _option(parser, "--sheet", help_name="template_sheet", metavar="SHEET")
    _book(parser)


def _crib(parser: argparse.ArgumentParser) -> None:
    for flag in ("--overdue", "--soon", "--out-of-service"):
        _option(parser, flag, action="store_true", help_name=f"crib{flag.replace('-', '_')[1:]}")
    _book(parser)
    _json(parser)


def _crib_export(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("to", metavar="FILE", help=_help("crib_export_file"))
    _book(parser)
    _json(parser)


def _crib_take_in(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=_help("crib_file"))
    _option(parser, "--preview", action="store_true", help_name="crib_preview")
    _acting(parser)
    _book(parser)
    _json(parser)


def _head(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("field", nargs="*", metavar="NAME=TEXT", help=_help("head_field"))
    _option(parser, "--sub-item", action="append", default=None, metavar="ITEM", help_name="head_sub_item")
    _sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _evidence(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help=_help("evidence_file"))
    parser.add_argument("--drawing", nargs="?", const="", metavar="FILE", help=_help("evidence_drawing"))
    _sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _missing(parser: argparse.ArgumentParser) -> None:
    _sheet(parser)
    _book(parser)
    _json(parser)


def _feel(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", nargs="?", metavar="TAG", help=_help("feel_tag"))
    _option(parser, "--block", metavar="SIZE", help_name="feel_block")
    _option(parser, "--readings", metavar="READINGS", help_name="feel_readings")
    _option(parser, "--keep", action="store_true", help_name="feel_keep")
    _option(parser, "--forget", action="store_true", help_name="feel_forget")
    _acting(parser)
    _book(parser)
    _json(parser)


def _check(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=_help("check_tag"))
    _option(parser, "--line", action="append", default=[], metavar="CODE=yes|no", help_name="check_line")
    _option(parser, "--all-seen", action="store_true", help_name="check_all_seen")
    _option(parser, "--zeros", default="", metavar="READINGS", help_name="check_zeros")
    _option(parser, "--block", default="", metavar="SIZE", help_name="check_block")
    _option(parser, "--standard", default="", metavar="TAG", help_name="check_standard")
    _option(parser, "--readings", default="", metavar="READINGS", help_name="check_readings")
    _option(parser, "--unit", default="", metavar="UNIT", help_name="check_unit")
    _option(parser, "--fitted", metavar="TEXT", help_name="check_fitted")
    _option(parser, "--closing", action="store_true", help_name="check_closing")
    _option(parser, "--sheet", metavar="SHEET", help_name="check_sheet")
    _acting(parser)
    _book(parser)
    _json(parser)


def _checks(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", nargs="?", metavar="TAG", help=_help("checks_tag"))
    _acting(parser)
    _book(parser)
    _json(parser)


def _upset(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=_help("check_tag"))
    parser.add_argument("what", choices=UPSETS, metavar="WHAT", help=_help("upset_what"))
    _option(parser, "--note", default="", metavar="TEXT", help_name="proof_note")
    _acting(parser)
    _book(parser)
    _json(parser)


def _study(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=_help("check_tag"))
    _option(parser, "--group", action="append", required=True, metavar="READINGS", help_name="study_group")
    _option(parser, "--unit", default="", metavar="UNIT", help_name="check_unit")
    _option(parser, "--fitted", default="", metavar="TEXT", help_name="check_fitted")
    _option(parser, "--note", default="", metavar="TEXT", help_name="proof_note")
    _acting(parser)
    _book(parser)
    _json(parser)


def _named_sheet(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("sheet", metavar="SHEET", help=_help("named_sheet"))


def _temperature(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    _option(parser, "--part", required=True, metavar="T", help_name="temperature_part")
    _option(parser, "--instrument", required=True, metavar="T", help_name="temperature_instrument")
    _option(parser, "--thermometer", required=True, metavar="TAG", help_name="temperature_thermometer")
    _option(parser, "--within", default="", metavar="T", help_name="temperature_within")
    _option(parser, "--soak", type=int, default=0, metavar="MINUTES", help_name="temperature_soak")
    _option(parser, "--note", default="", metavar="TEXT", help_name="proof_note")
    _acting(parser)
    _book(parser)
    _json(parser)


def _rules(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--set", nargs="+", action="extend", default=[], metavar="NAME=VALUE", help_name="rules_set")
    _acting(parser)
    _book(parser)
    _json(parser)


def _rule(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    parser.add_argument("decision", metavar="RULE", help=_help("rule_decision"))
    _option(parser, "--reason", default="", metavar="WHY", help_name="rule_reason")
    _option(parser, "--printed", action="store_true", help_name="rule_printed")
    _acting(parser)
    _book(parser)
    _json(parser)


def _repeats(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    parser.add_argument("number", metavar="NUMBER", help=_help("repeats_number"))
    parser.add_argument("repeats", type=int, metavar="M", help=_help("repeats_m"))
    _option(parser, "--piece", default="", metavar="SERIAL", help_name="repeats_piece")
    _acting(parser)
    _book(parser)
    _json(parser)


def _find(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("text", nargs="*", metavar="TEXT", help=_help("find_text"))
    _option(parser, "--part", default="", metavar="PART", help_name="find_part")
    for name in ("revision", "serial", "lot", "heat", "customer", "order"):
        _option(parser, f"--{name}", default="", metavar="TEXT", help_name=f"find_{name}")
    _option(parser, "--by", default="", metavar="NAME", help_name="find_by")
    _option(parser, "--with", dest="using", default="", metavar="TAG", help_name="find_with")
    _option(parser, "--verdict", choices=CAME, metavar="VERDICT", help_name="find_verdict")
    _option(parser, "--nonconformance", default="", metavar="NC", help_name="find_nonconformance")
    _option(parser, "--since", default="", metavar="DAY", help_name="since_day")
    _option(parser, "--until", default="", metavar="DAY", help_name="until_day")
    _option(parser, "--to", default="", metavar="FILE", help_name="list_to")
    _book(parser)
    _json(parser)


def _history(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("part", metavar="PART", help=_help("find_part"))
    parser.add_argument("number", nargs="?", metavar="NUMBER", help=_help("balloon"))
    _option(parser, "--to", default="", metavar="FILE", help_name="list_to")
    _book(parser)
    _json(parser)


def _compare(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("sheet", metavar="SHEET", help=_help("compare_sheet"))
    parser.add_argument("other", nargs="?", metavar="OTHER", help=_help("compare_other"))
    _option(parser, "--changed", action="store_true", help_name="compare_changed")
    _option(parser, "--to", default="", metavar="FILE", help_name="list_to")
    _book(parser)
    _json(parser)


def _trace(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=_help("check_tag"))
    _option(parser, "--error", required=True, metavar="ERROR", help_name="trace_error")
    _option(parser, "--at", default="", metavar="SIZE", help_name="trace_at")
    _option(parser, "--since", default="", metavar="DAY", help_name="trace_since")
    _option(parser, "--to", default="", metavar="FILE", help_name="trace_to")
    _option(parser, "--customer", default="", metavar="NAME", help_name="trace_customer")
    _option(parser, "--paper", choices=("letter", "a4"), default="letter", help_name="trace_paper")
    _option(parser, "--mark", default="", metavar="WORDS", help_name="trace_mark")
    _acting(parser)
    _book(parser)
    _json(parser)


def _due(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--within", default="", metavar="DAYS", help_name="due_within")
    _book(parser)
    _json(parser)


def _marks(parser: argparse.ArgumentParser) -> None:
    _sheet(parser)
    _book(parser)
    _json(parser)


def _answer_mark(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", metavar="WORDS", help=_help("mark_words"))
    _option(parser, "--mark", default="", metavar="N", help_name="mark_name")
    _sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _gauge_study(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=_help("gauge_file"))
    _option(parser, "--unit", default="in", metavar="UNIT", help_name="gauge_unit")
    _option(parser, "--band", default="", metavar="SIZE", help_name="gauge_band")
    _json(parser)


def _study_start(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG", help=_help("check_tag"))
    _option(parser, "--title", required=True, metavar="TEXT", help_name="study_title")
    _option(parser, "--kind", default="crossed", choices=STUDIES, metavar="KIND", help_name="study_kind")
    _option(parser, "--reader", action="append", required=True, metavar="NAME", help_name="study_reader")
    _option(parser, "--part", action="append", default=[], metavar="LABEL", help_name="study_part")
    _option(parser, "--parts", type=int, default=10, metavar="N", help_name="study_parts")
    _option(parser, "--trials", type=int, default=3, metavar="N", help_name="study_trials")
    _option(parser, "--band", default="", metavar="SIZE", help_name="gauge_band")
    _option(parser, "--number", default="", metavar="NUMBER", help_name="study_number")
    _option(parser, "--unit", default="", metavar="UNIT", help_name="check_unit")
    _option(parser, "--fitted", default="", metavar="TEXT", help_name="check_fitted")
    _sheet(parser)
    _whose(parser)


def _study_read(parser: argparse.ArgumentParser) -> None:
    _option(parser, "--study", dest="title", default="", metavar="TITLE", help_name="study_named")
    parser.add_argument("readings", nargs="*", metavar="READING", help=_help("study_readings"))
    _option(parser, "--keep", action="store_true", help_name="study_keep")
    parser.add_argument("--correct", nargs=2, metavar=("PART", "READING"), help=_help("study_correct"))
    _option(parser, "--reason", default="", metavar="TEXT", help_name="study_reason")
    _whose(parser)


def _studies(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("title", nargs="?", default="", metavar="TITLE", help=_help("study_named"))
    _option(parser, "--csv", default="", metavar="FILE", help_name="study_csv")
    _option(parser, "--pdf", default="", metavar="FILE", help_name="study_pdf")
    _book(parser)
    _json(parser)


def _study_use(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("title", metavar="TITLE", help=_help("study_named"))
    _option(parser, "--people", action="store_true", help_name="study_people")
    _sheet(parser)
    _whose(parser)


def _study_withdraw(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("title", metavar="TITLE", help=_help("study_named"))
    _option(parser, "--reason", required=True, metavar="TEXT", help_name="study_reason")
    _sheet(parser)
    _whose(parser)


def _study_give_up(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("title", metavar="TITLE", help=_help("study_named"))
    _option(parser, "--reason", required=True, metavar="TEXT", help_name="study_reason")
    _whose(parser)


def _whose(parser: argparse.ArgumentParser) -> None:
    _acting(parser)
    _book(parser)
    _json(parser)


def _person(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", help=_help("person_name"))
    _option(parser, "--enter", action="store_true", help_name="person_enter")
    _option(parser, "--duty", action="append", choices=DUTIES, default=[], metavar="DUTY", help_name="person_duty")
    keys = parser.add_mutually_exclusive_group()
    for flag in ("--new-key", "--change-passphrase"):
        _option(keys, flag, action="store_true", help_name=f"person{flag.replace('-', '_')[1:]}")
    _option(keys, "--key", metavar="FILE", help_name="person_key")
    _option(parser, "--key-passphrase-file", metavar="FILE", help_name="person_key_passphrase_file")
    _option(parser, "--new-passphrase-file", metavar="FILE", help_name="person_new_passphrase_file")
    _passphrase(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _review(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    _acting(parser)
    _book(parser)
    _json(parser)


def _answer(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    parser.add_argument("point", metavar="POINT", help=_help("answer_point"))
    parser.add_argument("words", metavar="WORDS", help=_help("answer_words"))
    _acting(parser)
    _book(parser)
    _json(parser)


def _again(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    parser.add_argument("number", metavar="NUMBER", help=_help("balloon"))
    parser.add_argument("reading", metavar="READING", help=_help("again_reading"))
    _option(parser, "--piece", default="", metavar="SERIAL", help_name="repeats_piece")
    _option(parser, "--place", default="", metavar="PLACE", help_name="again_place")
    _option(parser, "--role", default="", metavar="ROLE", help_name="again_role")
    _option(parser, "--with", dest="using", default="", metavar="TAG", help_name="again_with")
    _acting(parser)
    _book(parser)
    _json(parser)


def _return(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    row = {"action": "append", "default": []}
    _option(parser, "--row", nargs=2, metavar=("NUMBER", "WORDS"), help_name="return_row", **row)
    _option(parser, "--cell", nargs=3, metavar=("NUMBER", "SERIAL", "WORDS"), help_name="return_cell", **row)
    _option(parser, "--words", default="", metavar="WORDS", help_name="return_words")
    _acting(parser)
    _book(parser)
    _json(parser)


def _nonconformance(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    parser.add_argument("number", nargs="+", metavar="NUMBER", help=_help("balloon"))
    _option(parser, "--piece", default="", metavar="SERIAL", help_name="repeats_piece")
    _option(parser, "--no", default="", metavar="NC", help_name="nonconformance_no")
    _option(parser, "--what", default="", metavar="WORDS", help_name="nonconformance_what")
    _acting(parser)
    _book(parser)
    _json(parser)


def _dispose(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    parser.add_argument("no", metavar="NC", help=_help("nonconformance_no"))
    parser.add_argument("disposition", choices=DISPOSITIONS, metavar="WHAT", help=_help("dispose_what"))
    _option(parser, "--words", default="", metavar="WORDS", help_name="dispose_words")
    _option(parser, "--affects", nargs="+", action="extend", default=[], metavar="NUMBER", help_name="dispose_affects")
    _option(parser, "--document", default="", metavar="DOCUMENT", help_name="dispose_document")
    _option(parser, "--day", default="", metavar="DAY", help_name="dispose_day")
    _option(parser, "--scope", default="", metavar="WORDS", help_name="dispose_scope")
    _acting(parser)
    _book(parser)
    _json(parser)


def _nonconformances(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("text", nargs="*", metavar="TEXT", help=_help("nonconformances_text"))
    _book(parser)
    _json(parser)


def _approve(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    _option(parser, "--words", default="", metavar="WORDS", help_name="approve_words")
    _making(parser)
    _acting(parser)
    _passphrase(parser)
    _book(parser)
    _json(parser)


def _state(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    parser.add_argument("what", choices=FIRST_ARTICLE, metavar="WHAT", help=_help("state_what"))
    _option(parser, "--words", default="", metavar="WORDS", help_name="state_words")
    _making(parser)
    _acting(parser)
    _passphrase(parser)
    _book(parser)
    _json(parser)


def _release(parser: argparse.ArgumentParser) -> None:
    _named_sheet(parser)
    _option(parser, "--within", default="", metavar="WORDS", help_name="release_within")
    _making(parser)
    _acting(parser)
    _passphrase(parser)
    _book(parser)
    _json(parser)


VERBS: dict[str, Adds] = {
    "demo": _demo,
    "new": _new,
    "template": _template,
    "take-in": _take_in,
    "choose": _choose,
    "pull-list": _pull_list,
    "blocks": _blocks,
    "pins": _pins,
    "read": _read,
    "verdicts": _verdicts,
    "head": _head,
    "evidence": _evidence,
    "missing": _missing,
    "sign": _sign,
    "sign-pdf": _sign_pdf,
    "stamp": _stamp,
    "review": _review,
    "answer": _answer,
    "again": _again,
    "return": _return,
    "nonconformance": _nonconformance,
    "dispose": _dispose,
    "nonconformances": _nonconformances,
    "approve": _approve,
    "state": _state,
    "release": _release,
    "export": _export,
    "layout": _layout,
    "package": _package,
    "verify": _verify,
    "list": _list,
    "crib": _crib,
    "crib-export": _crib_export,
    "crib-take-in": _crib_take_in,
    "check": _check,
    "checks": _checks,
    "upset": _upset,
    "study": _study,
    "temperature": _temperature,
    "rules": _rules,
    "rule": _rule,
    "repeats": _repeats,
    "feel": _feel,
    "find": _find,
    "history": _history,
    "compare": _compare,
    "trace": _trace,
    "due": _due,
    "marks": _marks,
    "answer-mark": _answer_mark,
    "gauge-study": _gauge_study,
    "study-start": _study_start,
    "study-read": _study_read,
    "studies": _studies,
    "study-use": _study_use,
    "study-withdraw": _study_withdraw,
    "study-give-up": _study_give_up,
    "person": _person,
}


def parser(width: int) -> Parser:
    """The whole command line, its help laid out for ``width`` columns."""

    def layout(prog: str) -> argparse.HelpFormatter:
        return argparse.HelpFormatter(prog, max_help_position=28, width=width)

    def laid_out(prog: str) -> argparse.HelpFormatter:
        return argparse.RawDescriptionHelpFormatter(prog, max_help_position=28, width=width)

    whole = Parser(
        prog="tenthwright",
        description=word("command.about"),
        epilog=word("command.epilog"),
        formatter_class=laid_out,
        allow_abbrev=False,
    )
    whole.add_argument("--version", action="store_true", help=_help("version"))
    verbs = whole.add_subparsers(dest="verb", metavar="COMMAND", title=word("command.commands"), parser_class=Parser)
    for name, add in VERBS.items():
        summary = _help(f"verb.{name}")
        verb = verbs.add_parser(
            name, help=summary, description=word(f"command.about.{name}"), formatter_class=layout, allow_abbrev=False
        )
        add(verb)
    whole.verbs = verbs.choices
    return whole

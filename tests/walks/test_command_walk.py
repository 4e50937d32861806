"""The bracket measured by command line alone, from its feature file to signed files that verify."""

from __future__ import annotations

import json

import pytest

from app.command.outcome import Exit

FORMS = ("pdf", "xlsx", "csv", "data")


def test_one_feature_is_out_and_nothing_is_open(measured) -> None:
    assert measured.command("verdicts", "--json") == Exit.NOT_CONFORMING
    lines = {line["number"]: line for line in json.loads(measured.said[-1])["lines"]}
    assert len(lines) == 40
    assert [number for number, line in lines.items() if line["state"] == "not conforming"] == ["13"]
    assert "open" not in {line["state"] for line in lines.values()}


@pytest.mark.parametrize("form", FORMS)
def test_what_is_sent_verifies(measured, form: str) -> None:
    path = measured.folder / f"sent.{form}"
    assert measured.command("export", form, str(path)) == Exit.DONE
    assert measured.command("verify", str(path)) == Exit.DONE
    assert measured.command("verify") == Exit.DONE


def test_a_sealed_sheet_takes_nothing_more(measured) -> None:
    path = measured.folder / "late.csv"
    path.write_text("serial,number,reading\nA1,3,.4998\n", encoding="utf-8")
    before = measured.book.read_bytes()
    assert measured.command("read", str(path)) == Exit.REFUSED
    assert measured.book.read_bytes() == before

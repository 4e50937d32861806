"""Doubt by command line alone, from a fresh book: instruments are checked, one doubt is settled by the mean that was
set for it, another stays because the permissible error dominates, and a failed check after the work re-opens what was
read since the last good one, and nothing else.

The numbers are those of the textbook case: ± .0005 under guard bands, s = .00013, read .00016 inside; a mean of four
settles it (reckoned by hand from JCGM 100 and ISO 14253-1, from memory).
"""

from __future__ import annotations

import io
import itertools
import json
import uuid
from pathlib import Path
from typing import Any

import pytest

from app.command.main import run
from app.command.outcome import Exit
from storage.book.clock import Moment

pytestmark = pytest.mark.slow

MINUTE = 60_000_000
PART = """\
# part,{part}
# revision,A
# serials,"A1, A2"
number,kind,requirement
1,outside diameter,⌀.7500 ±.0005
2,length,3.250 ±.005
3,length,.500 ±.002
4,outside diameter,⌀1.5000 ±.0010
"""
#: Twelve places, each read four times: s² = (9 · .0002² + 3 · .0003²) / 3 / 12, s = .00013 in with ν = 36.
GROUPS = [".7500 .7502 .7500 .7502"] * 9 + [".7500 .7503 .7500 .7503"] * 3


class Walk:
    """A book of its own, worked by command lines; a minute lies between two entries."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.book = folder, folder / "doubt.tenthwright"
        self.minutes, self.numbers = itertools.count(30_000_000), itertools.count(1)

    def say(self, *argv: str) -> tuple[int, str]:
        out = io.StringIO()
        code = run(
            [*argv, "--book", str(self.book)],
            clock=lambda: Moment(next(self.minutes) * MINUTE, "2027-01-15"),
            identities=lambda: str(uuid.UUID(int=next(self.numbers), version=4)),
            environ={"TENTHWRIGHT_PASSPHRASE": "nine blue herons"},
            out=out,
            err=out,
        )
        assert "Traceback" not in out.getvalue()
        return code, out.getvalue()

    def does(self, *argv: str) -> None:
        code, said = self.say(*argv)
        assert code == Exit.DONE, said

    def told(self, *argv: str) -> dict[str, Any]:
        code, said = self.say(*argv, "--json")
        assert code in (Exit.DONE, Exit.NOT_CONFORMING), said
        found: dict[str, Any] = json.loads(said)
        return found

    def take_in(self, part: str) -> None:
        path = self.folder / f"{part}.csv"
        path.write_text(PART.format(part=part), encoding="utf-8")
        self.does("take-in", str(path))

    def check(self, tag: str, zero: str, block: str, *more: str, standard: str = "") -> dict[str, Any]:
        """A check at which everything is as it should be."""
        zeros, readings = (" ".join([each] * 3) for each in (zero, block))
        named = ("--standard", standard) if standard else ()
        line = ("--all-seen", "--zeros", zeros, "--block", block, *named, "--readings", readings)
        return self.told("check", tag, *line, *more)

    def read(self, part: str, *rows: str) -> dict[str, Any]:
        path = self.folder / "readings.csv"
        path.write_text("\n".join(["serial,number,reading", *rows, ""]), encoding="utf-8")
        return self.told("read", str(path), "--sheet", part)

    def verdicts(self, part: str) -> dict[tuple[str, str], str]:
        """Every cell's verdict, by number and serial."""
        lines = self.told("verdicts", "--sheet", part)["lines"]
        return {(line["number"], result["serial"]): result["state"] for line in lines for result in line["results"]}


@pytest.fixture(scope="module")
def walk(tmp_path_factory: pytest.TempPathFactory) -> Walk:
    """A shop that judges by guard bands, two sheets, every instrument checked, and a micrometer known to scatter."""
    walk = Walk(tmp_path_factory.mktemp("doubt"))
    walk.does("new", "--shop", "Tern & Plover", "--person", "Ines Varga", "--starter-crib")
    walk.does("rules", "--set", "decision=guarded:95")
    walk.take_in("TP-1")
    walk.take_in("TP-2")
    for tag, zero, block, standard in (("M-01", "0", ".75", ""), ("M-02", "1", "1.5", "X-1"), ("C-05", "0", "3", "")):
        done = walk.check(tag, zero, block, "--sheet", "TP-1", standard=standard)
        assert (done["passed"], done["rechosen"]) == (True, [])
    walk.does("study", "M-01", *itertools.chain.from_iterable(("--group", group) for group in GROUPS))
    return walk


def test_the_walk(walk: Walk) -> None:
    chosen = {row["number"]: row["instrument"].split()[0] for row in walk.told("choose", "--sheet", "TP-1")["rows"]}
    assert chosen == {"1": "M-01", "2": "C-05", "3": "M-01", "4": "M-02"}

    # measured: two doubts, and nothing lacks a check
    first = walk.read("TP-1", "A1,3,.5000", "A1,4,1.5001", "A2,4,1.5002")
    assert first["unproven"] == {"results": 0, "why": []}
    again = walk.check("M-01", "0", ".75")  # a good one between: what was read before stays
    assert again["passed"] is True
    walk.read("TP-1", "A1,1,.75034", "A1,2,3.2545", "A2,1,.7500", "A2,2,3.2500", "A2,3,.5001")
    walk.read("TP-2", "A1,3,.5001")
    before = walk.verdicts("TP-1")
    doubted = {cell for cell, state in before.items() if state.startswith("in doubt")}
    assert doubted == {("1", "A1"), ("2", "A1")}
    assert set(before.values()) == {"conforming", "in doubt, measured inside"}

    # one stays, whatever is read again: the permissible error dominates
    (stays,) = walk.told("choose", "--number", "2", "--budget", "--sheet", "TP-1")["doubts"]
    assert stays["repeats"] is None
    assert "permissible error, which repeats don't make smaller" in stays["text"]

    # the other is settled by the mean that is told
    (settles,) = walk.told("choose", "--number", "1", "--budget", "--sheet", "TP-1")["doubts"]
    assert (settles["serial"], settles["repeats"]) == ("A1", 4)
    assert walk.told("repeats", "--sheet", "TP-1", "1", "4", "--piece", "A1")["waiting"] == 3
    walk.read("TP-1", *["A1,1,.75034"] * 2)
    assert walk.verdicts("TP-1")["1", "A1"] == "open"
    walk.read("TP-1", "A1,1,.75034")
    settled = walk.verdicts("TP-1")
    assert settled == before | {("1", "A1"): "conforming"}

    # a check after the work fails: what rested on the micrometer since its last good check, on both sheets
    off = ("--zeros", "0 0 0", "--block", ".75", "--readings", ".7504 .7504 .7504")
    code, said = walk.say("check", "M-01", "--closing", *off)
    assert code == Exit.NOT_CONFORMING
    assert "M-01 failed." in said
    assert "7 readings count no longer:" in said
    for part, number, serial in (("TP-1", "1", "A1"), ("TP-1", "1", "A2"), ("TP-1", "3", "A2"), ("TP-2", "3", "A1")):
        assert f"({part}), row {number}, piece {serial}:" in said
    assert said.count("piece ") == 4
    after = walk.verdicts("TP-1")
    reopened = {("1", "A1"), ("1", "A2"), ("3", "A2")}
    assert after == settled | dict.fromkeys(reopened, "open")
    assert walk.verdicts("TP-2")["3", "A1"] == "open"
    code, said = walk.say("sign", "--sheet", "TP-1")
    assert code == Exit.REFUSED
    assert "Row 3, piece A2, is still open." in said

    # set right, checked and read again, it counts
    assert walk.told("checks", "M-01")["instruments"][0]["why"]["code"] == "check.dead.failed"
    walk.does("upset", "M-01", "repaired", "--note", "anvil cleaned")
    assert walk.check("M-01", "0", ".75")["passed"] is True
    walk.read("TP-1", "A2,3,.5001")
    assert walk.verdicts("TP-1") == after | {("3", "A2"): "conforming"}
    walk.does("verify")

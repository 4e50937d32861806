"""Reports to send out: an invented part of an invented shop, and long ones made by a rule."""

import csv
import io
import re
from collections.abc import Callable

import pytest

from inspection.sheet.report import Budget, BudgetLine, Line, Report, Result, Signed, TemperatureLine, Value

#: Signs that a program may drop in front of a formula, and those that start one.
DROPPED = '\u00ad\u180e\u200b\u200c\u200d\u200e\u200f\u2060\ufeff"'
STARTS = tuple("=+-@＝＋－＠")


def started_in(content: bytes) -> list[str]:
    """The cells of a csv file that would start a formula in some program: split at commas as RFC 4180 says; at
    semicolons, tabs or bars alike; and wherever one of them or a line end stands, quotes being no help inside a cell.
    A plain number is none where it is a cell by commas or alone between other signs."""
    text = content.decode("utf-8-sig")
    cells = [
        cell for sign in ",;\t|" for row in csv.reader(io.StringIO(text, newline=""), delimiter=sign) for cell in row
    ]
    cells += re.split("[;\t|\r\n\v\f\x1c-\x1e\x85\u2028\u2029]", text)
    return [
        cell for cell in cells
        if _bare(cell).startswith(STARTS) and not re.fullmatch(r"-\d+(\.\d+)?", cell)
    ]  # fmt: skip


def _bare(cell: str) -> str:
    while (less := cell.strip().strip(DROPPED)) != cell:
        cell = less
    return cell


@pytest.fixture(scope="session")
def started() -> Callable[[bytes], list[str]]:
    """Looks for cells of a csv file that would start a formula."""
    return started_in


CONFORMING = ("conforming", "conforming")
SERIALS = ("0014", "0015", "0016")
MICROMETER = ("M-014 outside micrometer 0–1 in", "calibrated, due 2027-03-01")
CALIPER = ("C-006 digital caliper 6 in", "calibrated, due 2027-01-15")
PINS = (("largest that enters", "0.1004"), ("smallest that does not enter", "0.1006"))
PLUG = "T-020 thread plug 1/4-20 UNC-2B"
NOTE = (
    "The bore was read at both ends and in two directions after the part had stood beside the gauge for an hour; "
    "wiped, square, light force. "
)


def value(serial: str, text: str, at: int = 0, **more: object) -> Value:
    instrument, calibration = MICROMETER
    decimals = len(text.partition(".")[2])
    plain = {
        "number": text,
        "decimals": decimals,
        "unit": "in",
        "instrument": instrument,
        "calibration": calibration,
        "by": "J. Marsh",
        "taken": f"2026-11-25 09:{10 + at:02d}",
    }
    return Value(serial=serial, text=text, **{**plain, **more})  # type: ignore[arg-type]


def plain_line(number: str, requirement: str, lower: str, upper: str, readings: list[str], **more: object) -> Line:
    serials = SERIALS if len(readings) == 3 else tuple(f"{place + 1:04d}" for place in range(len(readings)))
    told = {
        "zone": "C4",
        "sheet": "1",
        "lower": lower,
        "upper": upper,
        "lower_number": lower,
        "upper_number": upper,
        "unit": "in",
        "decimals": len(upper.partition(".")[2]),
        "instruments": (MICROMETER[0],),
        "values": tuple(
            value(serial, text, at) for at, (serial, text) in enumerate(zip(serials, readings, strict=True))
        ),
        "results": tuple(Result(serial, text, *CONFORMING) for serial, text in zip(serials, readings, strict=True)),
        "state": "conforming",
        "verdict": "conforming",
    }
    return Line(number=number, requirement=requirement, **{**told, **more})  # type: ignore[arg-type]


def focuser_lines() -> tuple[Line, ...]:
    seat = plain_line(
        "16",
        "⌀.7500 +.0000/−.0005",
        "0.7495",
        "0.7500",
        ["0.7498", "0.7502", "0.7497"],
        name="bearing seat",
        key="KC",
        state="not conforming",
        verdict="not conforming, .0002 over",
        values=(
            value(
                "0014", "0.7489", 1, withdrawn="Withdrawn by J. Marsh, 2026-11-25 09:12: misread by one thimble turn."
            ),
            value("0014", "0.7498", 2),
            value("0015", "0.7502", 3),
            value("0016", "0.7497", 4),
        ),
        results=(
            Result(
                "0014",
                "0.7498",
                "conforming, instrument marginal",
                "conforming, instrument marginal",
                ("Resolution ratio 5 : 1, needed 10 : 1.",),
            ),
            Result(
                "0015",
                "0.7502",
                "not conforming",
                "not conforming, .0002 over",
                ("0.7502 in is .0002 in over the upper limit 0.7500 in.",),
            ),
            Result(
                "0016",
                "0.7497",
                "conforming, instrument marginal",
                "conforming, instrument marginal",
                ("Resolution ratio 5 : 1, needed 10 : 1.",),
            ),
        ),
        notes=("Taken again after the part had cooled to the room.",),
    )
    places = plain_line(
        "10",
        "⌀.8750 +.0005/−0",
        "0.8750",
        "0.8755",
        ["", "", ""],
        name="bore for the drawtube",
        values=tuple(
            value(serial, text, at, place=place)
            for serial in SERIALS
            for at, (place, text) in enumerate((("front", "0.8751"), ("back", "0.8753")))
        ),
        results=tuple(Result(serial, "0.8751 … 0.8753", *CONFORMING) for serial in SERIALS),
    )
    pins = plain_line(
        "13.1",
        "4X ⌀.1000 +.0010/−0",
        "0.1000",
        "0.1010",
        ["", "", ""],
        place="at 12 o'clock",
        values=tuple(
            value(
                serial,
                text,
                at,
                role=role,
                instrument="P-002 gauge pins, class XX",
                calibration="calibrated, due 2027-06-30",
            )
            for serial in SERIALS
            for at, (role, text) in enumerate(PINS)
        ),
        results=tuple(Result(serial, "0.1004 … 0.1006", *CONFORMING) for serial in SERIALS),
    )
    thread = plain_line(
        "18.1",
        "1/4-20 UNC-2B",
        "",
        "",
        ["", "", ""],
        kind="thread",
        lower_number="",
        upper_number="",
        values=tuple(
            value(serial, text, at, role=role, number="", unit="", decimals=0, instrument=PLUG)
            for serial in SERIALS
            for at, (role, text) in enumerate((("GO", "enters"), ("NOT GO", "does not enter")))
        ),
        results=tuple(Result(serial, "", *CONFORMING) for serial in SERIALS),
    )
    metric = plain_line(
        "12",
        "3.000 ±.005",
        "2.995",
        "3.005",
        ["", "", ""],
        values=(
            value(
                "0014", "2.9990", 0, written="76.175 mm", converted=True, instrument=CALIPER[0], calibration=CALIPER[1]
            ),
            value("0015", "2.9990", 1, instrument=CALIPER[0], calibration=CALIPER[1]),
            value("0016", "3.0005", 2),
        ),
        results=tuple(
            Result(serial, text, *CONFORMING)
            for serial, text in zip(SERIALS, ("2.9990", "2.9990", "3.0005"), strict=True)
        ),
    )
    unread = plain_line(
        "17",
        "⌖ ⌀.010Ⓜ A B",
        "",
        "0.010",
        ["", "", ""],
        lower_number="",
        values=(),
        state="open",
        verdict="open",
        results=tuple(Result(serial, "", "open", "open") for serial in SERIALS),
        kind="geometric tolerance",
        explained=("The limit at maximum material condition; bonus is not counted.",),
    )
    basic = plain_line(
        "19",
        "[1.875] BASIC",
        "",
        "",
        ["1.8752", "1.8749", "1.8751"],
        lower_number="",
        upper_number="",
        state="not judged",
        verdict="not judged",
        results=tuple(
            Result(serial, text, "not judged", "not judged")
            for serial, text in zip(SERIALS, ("1.8752", "1.8749", "1.8751"), strict=True)
        ),
    )
    note = plain_line(
        "N1",
        "Break all edges .005–.015. Remove burrs.",
        "",
        "",
        ["", "", ""],
        kind="note",
        zone="A1",
        values=tuple(
            value(serial, "as required", 5, number="", unit="", decimals=0, instrument="by eye", calibration="")
            for serial in SERIALS
        ),
        results=tuple(Result(serial, "as required", *CONFORMING) for serial in SERIALS),
        notes=(NOTE * 11,),
    )
    return (
        plain_line("9", "⌀1.2500 ±.0005", "1.2495", "1.2505", ["1.2501", "1.2500", "1.2499"], name="flange"),
        places,
        plain_line("11", "4.250 ±.010", "4.240", "4.260", ["4.2535", "4.2505", "4.2470"]),
        metric,
        pins,
        plain_line("14", ".5 ±.0010", "0.4990", "0.5010", ["0.5000", "0.4995", "0.5010"], condition="before coating"),
        seat,
        unread,
        thread,
        basic,
        note,
    )


HEAD = (
    ("part", "OB-2207 rev C, focuser bearing carrier"),
    ("drawing", "OB-2207-D rev C"),
    ("customer", "Larkfield Optics"),
    ("order and line", "PO 88121, line 3"),
    ("serials", "0014, 0015, 0016"),
    ("supplier code", "L-417"),
    ("lot", "26-118"),
    ("material", "6061-T6, AMS 4117, certificate 55-201"),
    ("process", "router R-88 rev 2"),
    ("machine", "mill 3"),
    ("detail or assembly", "detail"),
    ("extent", "full"),
    ("baseline", ""),
    ("reason", "new part"),
    ("drawing standard", "ASME Y14.5-2018"),
    ("part temperature", "20.4 °C"),
    ("decision rule", "simple acceptance"),
)

SIGNED = (
    Signed(
        "Sheet approved: the record is true and complete.",
        "J. Marsh, inspector",
        "2026-11-25 11:02 UTC",
        "3f" * 32,
        "ab:12:" * 9 + "ab:12",
    ),
    Signed("First article not complete.", "R. Okafor, lead", "2026-11-25 13:40 UTC", "9c" * 32, "cd:34:" * 9 + "cd:34"),
)

CAUTIONS = (
    "This sheet covers only the characteristics listed, on the pieces named. "
    "Release of a safety-critical part is for the people authorised for it.",
    "Measure in a machine only with spindle and axes at a standstill and "
    "the drive secured by local lock-out rules. Edges cut: deburr and handle with care.",
)


def report_of(lines: tuple[Line, ...], serials: tuple[str, ...] = SERIALS, **more: object) -> Report:
    told = {
        "title": "First article inspection",
        "head": HEAD,
        "totals": ("31 conforming", "1 not conforming", "3 open"),
        "signatures": SIGNED,
        "cautions": CAUTIONS,
        "labels": {},
        "sealed": True,
        "shop": "Harrow Lane Precision",
    }
    return Report(serials=serials, lines=lines, **{**told, **more})  # type: ignore[arg-type]


@pytest.fixture
def focuser() -> Report:
    """A sheet with every form of row that there is."""
    return report_of(focuser_lines())


@pytest.fixture
def long_report() -> Callable[[int, int], Report]:
    """A sheet of so many rows on so many pieces."""

    def made(rows: int, pieces: int) -> Report:
        readings = [f"0.{4996 + place % 9}" for place in range(pieces)]
        serials = SERIALS if pieces == 3 else tuple(f"{place + 1:04d}" for place in range(pieces))
        lines = [plain_line(str(row), "⌀.5000 ±.0010", "0.4990", "0.5010", readings) for row in range(1, rows + 1)]
        return report_of(tuple(lines), serials)

    return made


# --- with the doubt of every result ---------------------------------------------------------------------------------

TWO = ("0014", "0015")
GUARD = {
    "expanded": "0.00014",
    "guard": "0.00012",
    "accept_lower": "0.49962",
    "accept_upper": "0.50038",
    "budget": "B1",
}
CHECKED = "checked 2026-11-25 08:02 by J. Marsh"
FAILED = (
    "C-006 failed the check of 2026-11-25 10:31 by J. Marsh. Not as it should be: Wipe faces and reference surface."
)


def budget_line(part: str, share: str, **more: str) -> BudgetLine:
    told = {
        "estimate": "± 0.0001 in",
        "distribution": "rectangular",
        "divisor": "1.732",
        "standard": "0.0000577",
        "unit": "in",
        "sensitivity": "1",
        "sensitivity_unit": "",
        "freedom": "∞",
        "contribution": "0.0000577",
    }
    return BudgetLine(part=part, share=share, **{**told, **more})


def doubted_lines() -> tuple[Line, ...]:
    corrected = plain_line(
        "1",
        "⌀.5000 ±.0005",
        "0.4995",
        "0.5005",
        ["", "", ""],
        values=tuple(
            value(serial, text, at, check=CHECKED, temperature="part 24 °C, instrument 22.5 °C")
            for at, (serial, text) in enumerate(zip(TWO, ("0.5002", "0.5005"), strict=True))
        ),
        results=(
            Result(
                "0014", "0.50019", *CONFORMING, numbers=("0.50019",), read=("0.5002",), probability="99.97", **GUARD
            ),
            Result(
                "0015",
                "0.50049",
                "in doubt, measured inside",
                "in doubt, measured inside",
                ("inside by 0.00001 in; conformity is shown from 0.00012 in inside",),
                numbers=("0.50049",),
                read=("0.5005",),
                probability="55.6",
                corrections=("read 0.5005, corrected 0.50049: temperature −0.00001",),
                **GUARD,
            ),
        ),
        corrections=(
            "0014: read 0.5002, corrected 0.50019; 0015: read 0.5005, corrected 0.50049: temperature −0.00001",
        ),
        state="in doubt, measured inside",
        verdict="in doubt, measured inside (1 of 2 pieces)",
    )
    caliper = {"instrument": CALIPER[0], "calibration": CALIPER[1]}
    reopened = plain_line(
        "2",
        "1.250 ±.005",
        "1.245",
        "1.255",
        ["", "", ""],
        values=(
            value("0014", "1.2505", 2, check=CHECKED, reopened=FAILED, **caliper),
            value("0014", "1.2510", 3, check="C-006 was not checked before use.", **caliper),
            value("0015", "1.2490", 4, check=CHECKED, suspect=FAILED, **caliper),
        ),
        results=(
            Result("0014", "1.2510", *CONFORMING, expanded="0.0014", budget="B2"),
            Result("0015", "1.2490", *CONFORMING, expanded="0.0014", budget="B2"),
        ),
    )
    return corrected, reopened


@pytest.fixture
def doubted() -> Report:
    """A sheet judged by guard bands: corrected, in doubt, re-opened and in question, with temperatures and budgets."""
    temperatures = (
        TemperatureLine(
            "2026-11-25 08:10", "J. Marsh", "24", "22.5", "0.2", "TH-2 pen thermometer", "calibrated, due 2027-05-01",
            "45", "1", "by the window",
        ),
    )  # fmt: skip
    lines = (budget_line("permissible error of M-014, outside use", "66"), budget_line("reading M-014", "34"))
    warm = budget_line(
        "part warmer or colder than the instrument",
        "1",
        unit="10⁻⁶/°C",
        sensitivity="-0.00000202",
        sensitivity_unit="in/(10⁻⁶/°C)",
        contribution="0.000000729",
    )
    left = ("0.00005 in for temperature not added; the uncertainty is that much greater",)
    budgets = (
        Budget("B1", "1", "in", (*lines, warm), "0.0000714", "16.7", "2.169", "95.45", "0.00014"),
        Budget("B2", "2", "in", lines, "0.000666", "∞", "2.000", "95.45", "0.0014", "0.00005", left),
    )
    rule = ("decision rule", "guarded acceptance (ISO 14253-1): conformity is shown at 95 %")
    head = (*(pair for pair in HEAD if pair[0] != "decision rule"), rule, ("why this rule", "agreed by letter"))
    return report_of(doubted_lines(), TWO, head=head, temperatures=temperatures, budgets=budgets)

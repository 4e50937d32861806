"""What readings rest on, as it goes out: checks before use, checks that failed afterwards, and temperatures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from inspection.measuring.proofs import CheckRecord
from inspection.measuring.reading import Reading
from inspection.measuring.temperature_log import TemperatureLog, celsius
from inspection.sheet.report import TemperatureLine
from inspection.sheet.row_runs import runs_text
from inspection.sheet.teller import Teller


def checked(teller: Teller, reading: Reading) -> str:
    """The check that a reading rests on (when, by whom), or that there was none; with the instrument's mark where more
    than one was asked for. Empty where none is asked."""
    if not reading.checks and not reading.unproven:
        return ""
    records = [teller.sheet.checks[name] for name in reading.checks if name in teller.sheet.checks]
    several = len(records) + len(reading.unproven) > 1
    said = [_made(teller, record, several) for record in records]
    return "; ".join((*said, *map(teller.say, reading.unproven)))


def _made(teller: Teller, record: CheckRecord, several: bool) -> str:
    made = {"when": teller.when(record.at), "person": teller.person(record.made.by)}
    if several:
        return teller.word("report.checked_tag", tag=teller.tag(record.instrument), **made)
    return teller.word("report.checked", **made)


def reopened(teller: Teller, reading: Reading) -> str:
    """Why a reading counts no longer: the check that failed; empty where it counts."""
    return _failed(teller, "report.reopened", teller.sheet.reopened.get(reading.identity, ""))


def suspect(teller: Teller, reading: Reading) -> str:
    """Why a reading of a sealed sheet is in question; empty where it is not."""
    return _failed(teller, "report.suspect", teller.sheet.suspect.get(reading.identity, ""))


def _failed(teller: Teller, code: str, check: str) -> str:
    record = teller.sheet.checks.get(check)
    if record is None:
        return ""
    why = " ".join(teller.say(finding.reason) for finding in record.findings if not finding.holds)
    told = {"tag": teller.tag(record.instrument), "when": teller.when(record.at), "why": why}
    return teller.word(code, person=teller.person(record.made.by), **told)


# --- temperatures -------------------------------------------------------------------------------------------------


def temperature_of(teller: Teller, reading: Reading) -> str:
    """The temperatures of part and instrument that a reading inherits; empty where none were taken."""
    if not reading.log or reading.count is None:
        return ""
    log = next((each for each in teller.sheet.temperatures if each.identity == reading.log), None)
    if log is None:
        return ""
    return teller.word("report.temperature", part=celsius(log.part).text, instrument=celsius(log.instrument).text)


def temperature_lines(teller: Teller, order: Mapping[str, int]) -> Iterator[TemperatureLine]:
    """The log in its order; ``order`` is the place of each balloon number on the sheet."""
    rows: dict[str, dict[str, None]] = {}
    for reading in teller.sheet.readings.values():
        if reading.log and reading.count is not None and reading.identity not in teller.sheet.withdrawn:
            number = teller.sheet.characteristic(reading.characteristic).number
            rows.setdefault(reading.log, {})[number] = None
    for log in teller.sheet.temperatures:
        yield _temperature(teller, log, runs_text(rows.get(log.identity, ()), order))


def _temperature(teller: Teller, log: TemperatureLog, rows: str) -> TemperatureLine:
    held = teller.shop.issues.get((log.thermometer_identity, log.thermometer_issue))
    return TemperatureLine(
        when=teller.when(log.at),
        by=teller.person(log.by),
        part=celsius(log.part).text,
        instrument=celsius(log.instrument).text,
        within=celsius(log.within).text,
        thermometer=f"{held.tag} {held.name}".strip() if held else log.thermometer,
        calibration=teller.state(held, teller.day(log.at)) if held else "",
        soak=str(log.soak_minutes),
        rows=rows,
        note=log.note,
    )

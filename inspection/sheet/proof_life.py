"""Acts that prove instruments, and what follows: checks, mishaps, studies on parts, temperatures, and readings that a
failed check re-opens."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime

from msgspec import Struct
from msgspec.structs import replace

from inspection.instruments.reach import usable
from inspection.instruments.record import Instrument, InstrumentKind, Standing, Use
from inspection.measuring.checks import Configuration, checklist, closing_wanted, configured
from inspection.measuring.checks_life import Happened, Made, measuring_issue
from inspection.measuring.checks_outcome import Finding, outcome_of
from inspection.measuring.proofs import CheckRecord, StudyRecord, UpsetRecord, checks_of
from inspection.measuring.reading import Reading
from inspection.measuring.spread import pooled
from inspection.measuring.temperature_log import TemperatureLog, check_log
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.identities import derived
from inspection.sheet.proving import configuration_at, configuration_of
from inspection.sheet.reading_life import judged
from inspection.sheet.state import Cell, Sheet, Shop

# --- checks, mishaps, studies ---------------------------------------------------------------------------------------


def record_check(shop: Shop, act: acts.RecordCheck, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A check is what its answers come to; a failed one names the good one before it and from when on readings are
    re-opened: since that, or since the instrument was last calibrated."""
    instrument = _in_crib(shop, act.instrument)
    _same_as_measured(shop, instrument, act.issue)
    checked = shop.issues[instrument.identity, act.issue]
    outcome = outcome_of(checked, act.configuration, act.answers, closing=act.closing)
    made = Made(
        derived(entry, "check"),
        instrument.identity,
        act.issue,
        act.configuration,
        entry.person,
        entry.at,
        outcome.passed,
        act.closing,
    )
    record = CheckRecord(made, act.answers, outcome.findings, act.sheet)
    return (ev.CheckRecorded(check=record if outcome.passed else _failed(shop, checked, record)),)


def _failed(shop: Shop, instrument: Instrument, record: CheckRecord) -> CheckRecord:
    fitted = record.made.configuration.fitted
    good = [
        each
        for each in checks_of(shop.proofs, instrument.identity)
        if each.made.passed and each.made.configuration.fitted == fitted
    ]
    last = good[-1] if good else None
    since = max(last.at if last else 0, _calibrated(instrument))
    return replace(record, last_good=last.made.identity if last else "", since=since)


def _calibrated(instrument: Instrument) -> int:
    """The end of the day of calibration (UTC microseconds); 0 where no day is on record."""
    if not instrument.certified:
        return 0
    day = datetime.combine(date.fromisoformat(instrument.certified), datetime.max.time(), UTC)
    return int(day.timestamp() * 1_000_000)


def _in_crib(shop: Shop, identity: str) -> Instrument:
    if identity not in shop.crib:
        raise Refused(Reason("instrument.unknown", {"instrument": identity}))
    return shop.crib[identity]


def _same_as_measured(shop: Shop, newest: Instrument, issue: int) -> None:
    """Refused unless the issue that was checked measures as the newest one does."""
    since = measuring_issue(shop.issues, newest.identity, newest.issue)
    if not since <= issue <= newest.issue:
        raise Refused(Reason("check.other_issue", {"tag": newest.tag, "was": issue, "now": newest.issue}))


def remove_for_cause(shop: Shop, act: acts.RemoveForCause, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """An instrument that can't be trusted leaves service; that is on record as a check that failed."""
    instrument = _in_crib(shop, act.instrument)
    reason = act.reason.strip()
    if not reason:
        raise Refused(Reason("instrument.removed_without_reason", {"tag": instrument.tag}))
    if instrument.standing is Standing.OUT_OF_SERVICE:
        raise Refused(Reason("instrument.out_already", {"tag": instrument.tag}))
    set_up = configuration_of(shop, instrument, entry.person, entry.at)
    made = Made(
        derived(entry, "check"), instrument.identity, instrument.issue, set_up, entry.person, entry.at, passed=False
    )
    found = Finding("removed", False, Reason("check.removed", {"tag": instrument.tag, "reason": reason}))
    removed = replace(instrument, issue=instrument.issue + 1, standing=Standing.OUT_OF_SERVICE)
    record = _failed(shop, instrument, CheckRecord(made, (), (found,)))
    return ev.CheckRecorded(check=record), ev.InstrumentIssued(instrument=removed)


def report_upset(shop: Shop, act: acts.ReportUpset, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Something happened to an instrument: no reading rests on its earlier checks from now on."""
    instrument = _in_crib(shop, act.instrument)
    happened = Happened(instrument.identity, entry.at, act.what)
    upset = UpsetRecord(derived(entry, "upset"), happened, entry.person, act.note.strip())
    return (ev.UpsetReported(upset=upset),)


def record_study(shop: Shop, act: acts.RecordStudy, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Repeated readings of parts become the instrument's repeatability, if they show any scatter."""
    instrument = _in_crib(shop, act.instrument)
    set_up = act.configuration
    configured(instrument, set_up.unit, set_up.fitted, set_up.low, set_up.high)
    if pooled(act.groups) is None:
        raise Refused(Reason("study.no_evidence", {"tag": instrument.tag}))
    study = StudyRecord(
        derived(entry, "study"),
        instrument.identity,
        instrument.issue,
        set_up,
        act.groups,
        entry.person,
        entry.at,
        act.note.strip(),
    )
    return (ev.StudyRecorded(study=study),)


# --- what a failed check re-opens -----------------------------------------------------------------------------------


class Suspected(Struct, frozen=True):
    """Readings with an instrument (by identity) that a failed ``check`` puts in question: those taken after ``since``
    and up to ``until`` (UTC microseconds), on whatever sheet."""

    check: str
    instrument: str
    since: int
    until: int


def suspected(events: Iterable[ev.Event]) -> Iterator[Suspected]:
    """What has to be re-opened on sheets because of these events."""
    for event in events:
        if isinstance(event, ev.CheckRecorded) and not event.check.made.passed:
            check = event.check
            yield Suspected(check.made.identity, check.instrument, check.since, check.at)


def reopen_readings(shop: Shop, sheet: Sheet, act: acts.ReopenReadings, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """What was read with the instrument, with the same things fitted, since it was last known to be good.

    Nothing follows on a sheet that has no such reading. On a sealed sheet the verdicts stay as they were sealed; its
    readings are marked, and count no longer once a new round begins.
    """
    check = _failed_check(shop, act.check)
    names = tuple(reading.identity for reading in _affected(shop, sheet, check))
    if not names:
        return ()
    reopened = ev.ReadingsReopened(check=check, readings=names)
    if sheet.sealed:
        return (reopened,)
    after = fold_sheet(sheet, [(reopened, entry)], {})
    return reopened, *(judged(shop, after, sheet.characteristic(row), piece) for row, piece in cells_of(sheet, names))


def cells_of(sheet: Sheet, readings: Iterable[str]) -> tuple[Cell, ...]:
    """The cells of these readings, each once."""
    held = (sheet.readings[name] for name in readings)
    return tuple(dict.fromkeys((reading.characteristic, reading.piece) for reading in held))


def _failed_check(shop: Shop, identity: str) -> CheckRecord:
    for each in reversed(shop.proofs):
        if isinstance(each, CheckRecord) and each.made.identity == identity and not each.made.passed:
            return each
    raise Refused(Reason("check.not_failed"))


def _affected(shop: Shop, sheet: Sheet, check: CheckRecord) -> Iterator[Reading]:
    fitted = check.made.configuration.fitted
    for reading in sheet.readings.values():
        if reading.identity in sheet.withdrawn or reading.identity in sheet.reopened or reading.indication:
            continue
        if reading.identity in sheet.suspect or not check.since < reading.taken <= check.at:
            continue
        if all(part.identity != check.instrument for part in reading.method.parts):
            continue
        if configuration_at(shop, reading, check.instrument).fitted == fitted:
            yield reading


# --- temperatures ---------------------------------------------------------------------------------------------------


def log_temperature(shop: Shop, act: acts.LogTemperature, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Temperatures are logged with the thermometer's identity; one that the crib holds must be in service and due."""
    tag = act.thermometer.strip()
    held = shop.by_tag(tag)
    if held is not None and held.kind is not InstrumentKind.THERMOMETER:
        raise Refused(Reason("temperature.not_a_thermometer", {"tag": tag, "name": held.name}))
    if held is not None and not usable(held, entry.day):
        raise Refused(Reason("temperature.thermometer_barred", {"tag": tag, "due": held.due or "–"}))
    within = act.within or (held.kelvin if held is not None else 0)
    check_log(act.part, act.instrument, within, act.soak_minutes, tag)
    log = TemperatureLog(
        identity=derived(entry, "temperature"),
        by=entry.person,
        at=entry.at,
        part=act.part,
        instrument=act.instrument,
        within=within,
        thermometer=tag,
        thermometer_identity=held.identity if held else "",
        thermometer_issue=held.issue if held else 0,
        soak_minutes=act.soak_minutes,
        written=act.written,
        note=act.note.strip(),
    )
    return (ev.TemperatureLogged(log=log),)


# --- the closing check ----------------------------------------------------------------------------------------------


def closing_checks_missing(shop: Shop, sheet: Sheet) -> tuple[str, ...]:
    """Tags of the instruments that a closing check is asked of before the sheet is signed and that have had none since
    their last reading on it: those that measured a row with a band under the shop's ``closing_band``.

    A check by anyone of the instrument as fitted serves; one that failed has re-opened the readings.
    """
    if not sheet.rules.closing_band:
        return ()
    last: dict[str, Reading] = {}
    for reading in _closing_asked(sheet):
        identity = reading.method.parts[0].identity
        if identity not in last or reading.taken > last[identity].taken:
            last[identity] = reading
    return tuple(
        shop.crib[identity].tag
        for identity, reading in last.items()
        if identity in shop.crib and not _checked_since(shop, identity, reading)
    )


def _closing_asked(sheet: Sheet) -> Iterator[Reading]:
    for cell in sheet.standing:
        requirement = sheet.characteristic(cell[0]).requirement
        if closing_wanted([(requirement.kind, requirement.band)], sheet.rules.closing_band):
            yield from (reading for reading in sheet.counting(*cell) if _sizes(reading))


def _sizes(reading: Reading) -> bool:
    """Whether a reading is of a size: a roughness or a coating of some hundred micro-inches is not a tight one."""
    return reading.count is not None and reading.method.use not in (Use.ROUGHNESS, Use.COATING)


def _checked_since(shop: Shop, instrument: str, reading: Reading) -> bool:
    asked = closing_list(shop, instrument, reading)
    later = (each for each in checks_of(shop.proofs, instrument) if each.at >= reading.taken)
    return not asked or any(each.made.passed for each in later)


def closing_list(shop: Shop, instrument: str, reading: Reading) -> bool:
    """Whether a closing check of the instrument asks for anything at all."""
    set_up: Configuration = configuration_at(shop, reading, instrument)
    return bool(checklist(shop.crib[instrument], set_up, closing=True))

"""Functional tests that were measured: their limits and result from what is written, and their verdict, exactly."""

from __future__ import annotations

from inspection.measuring.verdict import Verdict
from inspection.quantity.other import other_units, written_in
from inspection.quantity.other_limits import OtherLimits, read_limits, read_result
from inspection.sheet.evidence import Evidence, EvidenceKind, Measurement


def measurement(required: str, written: str = "") -> Measurement:
    """A test's limits from the requirement as written, and its result as typed; empty while nothing is measured.

    Raises Refused at the character at fault of either text.

    >>> measured = measurement("≥ 45 HRC", "45.0")
    >>> measured.lower, measured.count, measured.decimals
    (45000, 45000, 1)
    """
    required, written = required.strip(), written.strip()
    limits = read_limits(required)
    if not written:
        return Measurement(limits.unit.kind, limits.unit.symbol, required, limits.lower, limits.upper)
    result = read_result(written, limits)
    return Measurement(
        limits.unit.kind,
        limits.unit.symbol,
        required,
        limits.lower,
        limits.upper,
        result.count,
        written,
        result.decimals,
    )


def limits_of(measured: Measurement) -> OtherLimits:
    """The limits of a measurement, read anew from what is required. Raises Refused."""
    return read_limits(measured.required)


def verdict(evidence: Evidence) -> Verdict:
    """What a material, process or test came to.

    A measured test is judged by its counts, on the limit is inside; one that is not measured by what was found. A
    material or process has no verdict: its papers stand for it.
    """
    if evidence.kind is not EvidenceKind.TEST:
        return Verdict.NOT_JUDGED
    measured = evidence.measurement
    if measured is None:
        return {"yes": Verdict.CONFORMING, "no": Verdict.NOT_CONFORMING}.get(evidence.passed, Verdict.OPEN)
    if measured.count is None:
        return Verdict.OPEN
    under = measured.lower is not None and measured.count < measured.lower
    over = measured.upper is not None and measured.count > measured.upper
    return Verdict.NOT_CONFORMING if under or over else Verdict.CONFORMING


def result_text(measured: Measurement) -> str:
    """The result as it was typed, with its unit; and in the unit of the limits, if it was typed in another."""
    if measured.count is None:
        return ""
    if measured.written[-1:] and measured.written[-1] in "0123456789⁰¹²³⁴⁵⁶⁷⁸⁹.":
        return f"{measured.written} {measured.unit}"
    limits = limits_of(measured)
    own = read_result(measured.written, limits).unit
    if own == limits.unit:
        return measured.written
    return f"{measured.written} ({written_in(measured.count, measured.unit)})"


def limit_texts(measured: Measurement) -> tuple[str, str]:
    """Lower and upper limit with their unit, empty where open."""
    places = limits_of(measured).decimals
    low, high = (
        "" if end is None else written_in(end, measured.unit, places) for end in (measured.lower, measured.upper)
    )
    return low, high


def known_kinds() -> tuple[str, ...]:
    """Every unit that a test can be measured in, by its symbol."""
    return tuple(other_units())

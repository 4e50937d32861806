"""The temperature log of a sheet: what part and instrument had, by which thermometer, and for how long that holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct

from inspection.measuring.checks_life import MICROSECONDS_PER_MINUTE
from inspection.measuring.thermal import Measured
from inspection.reasons import Figure, Reason, Refused

#: The reference temperature of every length, in thousandths of a degree Celsius (ISO 1).
REFERENCE = 20_000

#: Beyond these (thousandths of a degree Celsius) nobody measures a part by hand.
COLDEST, HOTTEST = -30_000, 70_000


class TemperatureLog(Struct, frozen=True):
    """One line of the log. ``part`` and ``instrument`` in thousandths of a degree Celsius, known within ± ``within``
    (half-width); ``thermometer`` is its tag, with identity and issue where the crib holds it; ``soak_minutes`` how
    long the part had lain beside the instrument. ``written`` is what was typed for part and instrument."""

    identity: str
    by: str
    at: int
    part: int
    instrument: int
    within: int
    thermometer: str
    thermometer_identity: str = ""
    thermometer_issue: int = 0
    soak_minutes: int = 0
    written: tuple[str, ...] = ()
    note: str = ""

    @property
    def measured(self) -> Measured:
        """As departures from 20 °C, as the budget takes them."""
        return Measured(self.part - REFERENCE, self.instrument - REFERENCE, self.within)


def log_at(logs: Iterable[TemperatureLog], at: int, minutes: int) -> TemperatureLog | None:
    """The line that a reading taken at ``at`` (UTC microseconds) inherits: the newest before it, if it is no older than
    ``minutes``; None where there is none, or it has gone stale."""
    last = max((each for each in logs if each.at <= at), key=lambda each: each.at, default=None)
    if last is None or at - last.at > minutes * MICROSECONDS_PER_MINUTE:
        return None
    return last


def check_log(part: int, instrument: int, within: int, soak_minutes: int, thermometer: str) -> None:
    """Raises Refused with every fault: a temperature that no bench has, a thermometer without a name or whose ± is not
    known, a negative time."""
    faults = list(_faults(part, instrument, within, soak_minutes, thermometer))
    if faults:
        raise Refused(*faults)


def _faults(part: int, instrument: int, within: int, soak: int, thermometer: str) -> Iterator[Reason]:
    for code, got in (("part", part), ("instrument", instrument)):
        if not COLDEST <= got <= HOTTEST:
            yield Reason("temperature.absurd", {"of": f"temperature.of_{code}", "t": celsius(got)})
    if not thermometer.strip():
        yield Reason("temperature.no_thermometer")
    if within <= 0:
        yield Reason("temperature.within_unknown", {"tag": thermometer.strip() or "–"})
    if soak < 0:
        yield Reason("temperature.soak_negative")


def celsius(thousandths: int) -> Figure:
    """Thousandths of a degree as a decimal without idle zeros.

    >>> celsius(20_400).text, celsius(-5_050).text
    ('20.4', '-5.05')
    """
    whole, rest = divmod(abs(thousandths), 1_000)
    text = f"{whole}.{rest:03d}".rstrip("0").rstrip(".") if rest else str(whole)
    return Figure(f"-{text}" if thousandths < 0 else text)

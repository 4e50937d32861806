"""Answers of a check at which everything is as it should be: for the demo, and to show what a check asks."""

from __future__ import annotations

from inspection.instruments.record import Instrument
from inspection.measuring.checks import Answer, Asked, CheckLine, Configuration, checklist, configured, range_of
from inspection.quantity.speaker import written_out

#: The mark of the setting standard.
MARK = "S-1"


def good_answers(
    instrument: Instrument,
    configuration: Configuration | None = None,
    size: int | None = None,
    *,
    closing: bool = False,
) -> tuple[Answer, ...]:
    """Every line of the list answered well: seen as it should be, zeros at zero, a block of ``size`` (counts; None: the
    middle of the range) read as marked, a setting standard as ``MARK``. Empty for a kind that is not checked."""
    set_up = configuration or configured(instrument)
    low, high = range_of(instrument, set_up)
    at = size if size is not None and low <= size <= high and size > 0 else (low + high) // 2
    return tuple(_answer(line, instrument, set_up, at) for line in checklist(instrument, set_up, closing=closing))


def _answer(line: CheckLine, instrument: Instrument, set_up: Configuration, size: int) -> Answer:
    if line.asked is Asked.SEEN:
        return Answer(line.code, seen=True)
    if line.asked is Asked.UNIT:
        return Answer(line.code, shown=set_up.unit)
    read = line.at if line.asked in (Asked.ZEROS, Asked.SPREAD) else size
    written = (written_out(read, set_up.unit),) * line.least
    return Answer(
        line.code,
        readings=(read,) * line.least,
        size=size if line.asked.has_size else None,
        standard=MARK if line.asked is Asked.STANDARD else "",
        written=written,
    )

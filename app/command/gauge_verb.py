"""``tenthwright gauge-study``: parts that several people read several times, from a file, told as a table."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from msgspec import to_builtins

from app.command.asked import read_options
from app.command.outcome import Answer
from app.command.table import table
from app.command.world import World, plain_text
from inspection.instruments.spelling import Piece
from inspection.quantity.reader import read, unit_symbol
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Reason, Refused
from inspection.studies.gauge_study import Shares, Study, by_ranges, by_variances
from inspection.studies.gauge_told import gauge_findings, gauge_rows
from inspection.words.say import say, word


def gauge_study(options: Namespace, world: World) -> Answer:
    """Tell whose the scatter of a gauge study is, by analysis of variance and by ranges. Nothing is recorded."""
    from storage.intake.gauge_study import read_gauge_study
    from storage.intake.grid import read_bytes

    unit = _unit(plain_text(options.unit).strip())
    (band,) = read_options(("--band", options.band, lambda piece: _band(piece, unit)))
    path = Path(options.file)
    study = read_gauge_study(read_bytes(path), plain_text(path.name), unit)
    found = [by_variances(study), by_ranges(study)]
    people, parts = len(study.people), len(study.parts)
    lines = [word("gauge.title", people=people, parts=parts, trials=study.trials)]
    for shares in found:
        lines += ["", word(f"gauge.way.{shares.way.value}"), "", *_table(shares, unit, band)]
        lines += ["", *(say(reason) for reason in gauge_findings(study, shares, band))]
    data = {"done": True, "people": study.people, "parts": study.parts, "trials": study.trials, "unit": unit}
    return Answer(tuple(lines), {**data, "ways": [_data(study, shares, unit, band) for shares in found]})


def _unit(written: str) -> str:
    for kind in (Kind.LENGTH, Kind.ANGLE):
        symbol = unit_symbol(written, kind)
        if symbol:
            return symbol
    raise Refused(Reason("gauge.refused.unit", {"unit": written[:20]}))


def _band(piece: Piece, unit: str) -> int | None:
    if not piece.text.strip():
        return None
    band = read(piece.text, unit=unit, kind=UNITS[unit].kind).count
    if not band:
        raise Refused(Reason("gauge.refused.no_band"))
    return band


def _table(shares: Shares, unit: str, band: int | None) -> list[str]:
    rows = gauge_rows(shares, unit, band)
    heads = [word("gauge.head.what"), word("gauge.head.deviation", unit=unit), word("gauge.head.study")]
    told = [[word(f"gauge.row.{row.name}"), row.deviation, row.of_study] for row in rows]
    more = [("band", [row.of_band for row in rows])] if band is not None else []
    more += [("interval", [row.between for row in rows])] if shares.variances is not None else []
    for head, cells in more:
        heads.append(word(f"gauge.head.{head}"))
        told = [[*before, cell] for before, cell in zip(told, cells, strict=True)]
    return table(heads, told)


def _data(study: Study, shares: Shares, unit: str, band: int | None) -> dict[str, Any]:
    return {
        "way": shares.way.value,
        "rows": to_builtins(gauge_rows(shares, unit, band)),
        "categories": shares.categories,
        "findings": [{"code": each.code, "text": say(each)} for each in gauge_findings(study, shares, band)],
    }

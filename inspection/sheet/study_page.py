"""A gauge study as it is told: every text of its result, alike in window, command line, page and table.

While readings are missing nothing is told but how far everybody is: whoever reads is to know no other reading.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from inspection.measuring.uncertainty_stated import about, significant
from inspection.quantity.speaker import shown, sign_of
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Figure, Part, Reason
from inspection.sheet.gauge_life import in_use
from inspection.sheet.state import Shop
from inspection.studies.attribute_agreement import Kappa, Share
from inspection.studies.attribute_charts import attribute_charts
from inspection.studies.conducted import Conducted, StudyKind
from inspection.studies.gauge_results import by_attributes, crossed_of, on_standards
from inspection.studies.gauge_study import by_ranges, by_variances
from inspection.studies.gauge_told import gauge_findings, gauge_rows
from inspection.studies.standard_charts import standard_charts
from inspection.studies.study_charts import Chart, charts
from inspection.words.say import say, word

#: Microseconds of a day.
_DAY = 86_400_000_000


class StudySection(Struct, frozen=True):
    """A part of the result: its heading, a table (heads and rows of texts), and what is said below it."""

    head: str
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    said: tuple[str, ...] = ()


class StudyPage(Struct, frozen=True):
    """All of a study in words; ``unit`` is what its charts are told in."""

    title: str
    shop: str
    language: str
    unit: str
    kind: Kind
    facts: tuple[tuple[str, str], ...]
    sections: tuple[StudySection, ...]
    charts: tuple[Chart, ...] = ()


def study_page(shop: Shop, held: Conducted, day: str, language: str = "en") -> StudyPage:
    """The study as it stands; ``day`` is the one it was started on, as it is told."""
    plan = held.plan
    instrument = shop.issues[plan.instrument, plan.issue]
    names = people_named(shop, held)
    if not held.is_complete:
        sections: tuple[StudySection, ...] = (_progress(held, names, language),)
    elif plan.kind is StudyKind.CROSSED:
        sections = tuple(_crossed(held, names, language))
    elif plan.kind is StudyKind.STANDARDS:
        sections = (_standards(held, instrument.resolution, language),)
    else:
        sections = (_attributes(held, names, language),)
    drawn = _drawn(held, names, instrument.resolution, language) if held.is_complete else ()
    facts = tuple(_facts(shop, held, day, names, language))
    unit = plan.configuration.unit
    return StudyPage(plan.title, shop.name, language, unit, instrument.quantity, facts, sections, drawn)


def _drawn(held: Conducted, names: tuple[str, ...], step: int, language: str) -> tuple[Chart, ...]:
    """The charts of a complete study."""

    def named(code: str) -> str:
        return word(code, language)

    if held.plan.kind is StudyKind.CROSSED:
        return charts(held, names)
    if held.plan.kind is StudyKind.STANDARDS:
        return standard_charts(held, step, named)
    return attribute_charts(held, names, named)


def people_named(shop: Shop, held: Conducted) -> tuple[str, ...]:
    """The names of those who read, in the study's order."""
    return tuple(shop.people[each].name if each in shop.people else each for each in held.plan.people)


def _facts(shop: Shop, held: Conducted, day: str, names: tuple[str, ...], language: str) -> Iterator[tuple[str, str]]:
    plan = held.plan
    instrument = shop.issues[plan.instrument, plan.issue]
    set_up = " ".join(filter(None, (instrument.tag, instrument.name, plan.configuration.fitted)))
    told = {
        "instrument": set_up,
        "kind": word(f"gauge.kind.{plan.kind.value}", language),
        "row": plan.number,
        "band": shown(plan.band, instrument.quantity, plan.configuration.unit, language=language) if plan.band else "",
        "people": ", ".join(names),
        "extent": word("gauge.extent", language, n=len(plan.specimens), trials=plan.trials),
        "started": f"{day}, {shop.people[plan.by].name}" if plan.by in shop.people else day,
        "corrected": _corrected(held, language),
        "use": _use(shop, held, language),
    }
    yield from ((word(f"gauge.fact.{name}", language), text) for name, text in told.items() if text)


def _corrected(held: Conducted, language: str) -> str:
    n, late = held.corrected()
    return word("gauge.corrected", language, n=n, late=late) if n else ""


def _use(shop: Shop, held: Conducted, language: str) -> str:
    if held.ended is not None:
        return word("gauge.state.given_up", language, reason=held.ended.reason)
    record = in_use(shop, held.plan.identity)
    if record is None and held.is_complete:
        unused = "gauge.state.complete" if held.plan.kind is StudyKind.CROSSED else "gauge.state.whole"
        return word(unused, language)
    if record is None:
        return word("gauge.state.open", language)
    return word("gauge.state.in_use_people" if record.people else "gauge.state.in_use", language)


def _progress(held: Conducted, names: tuple[str, ...], language: str) -> StudySection:
    rows = tuple(
        (name, word("gauge.of", language, n=sum(run in held.standing for run in runs), of=len(runs)))
        for name, runs in zip(names, map(held.runs_of, held.plan.people), strict=True)
    )
    heads = (word("gauge.head.person", language), word("gauge.head.read", language))
    return StudySection(word("gauge.section.progress", language), heads, rows, (word("gauge.blind", language),))


# --- people and parts -----------------------------------------------------------------------------------------------


def _crossed(held: Conducted, names: tuple[str, ...], language: str) -> Iterator[StudySection]:
    read = replace(crossed_of(held), people=names)
    unit, band = held.plan.configuration.unit, held.plan.band or None
    for shares in (by_variances(read), by_ranges(read)):
        heads = ["what", "deviation", *(["interval"] if shares.variances else []), "study", *(["band"] if band else [])]
        rows = []
        for row in gauge_rows(shares, unit, band):
            cells = [word(f"gauge.row.{row.name}", language), row.deviation]
            cells += [row.between] if shares.variances else []
            rows.append((*cells, row.of_study, *([row.of_band] if band else [])))
        said = tuple(say(each, language=language) for each in gauge_findings(read, shares, band))
        named = tuple(word(f"gauge.head.{each}", language, unit=unit) for each in heads)
        yield StudySection(word(f"gauge.way.{shares.way.value}", language), named, tuple(rows), said)


# --- standards ------------------------------------------------------------------------------------------------------


def _standards(held: Conducted, step: int, language: str) -> StudySection:
    unit, found = held.plan.configuration.unit, on_standards(held)
    rows = []
    for label, bias in found.biases.items():
        told = word("gauge.bias.told" if bias.is_told(step) else "gauge.bias.chance", language)
        half = max(Fraction(bias.half_width()), Fraction(step, 2))  # readings that never differ show the step
        size = shown(bias.size, UNITS[unit].kind, unit, language=language)
        rows.append(
            (
                label,
                size,
                str(bias.sample.n),
                sign_of(bias.bias) + _number(bias.bias**2, unit),
                _number(half**2, unit),
                told,
            )
        )
    heads = tuple(
        word(f"gauge.head.{each}", language, unit=unit) for each in ("standard", "size", "n", "bias", "within", "told")
    )
    said = tuple(say(each, language=language) for each in _lines(held, step))
    return StudySection(word("gauge.section.standards", language), heads, tuple(rows), said)


def _lines(held: Conducted, step: int) -> Iterator[Reason]:
    found, unit = on_standards(held), held.plan.configuration.unit
    if found.linearity is not None:
        line = found.linearity
        told = "told" if line.line.is_told() and 2 * abs(line.over) > step else "chance"
        yield Reason(f"gauge.linearity.{told}", {"over": about(line.over**2, unit)})
    if found.drift is None:
        yield Reason("gauge.stability.none")
        return
    told = "told" if found.drift.is_told() else "chance"
    yield Reason(f"gauge.stability.{told}", {"drift": about((found.drift.slope * _DAY * 30) ** 2, unit)})


def _number(square: Fraction, unit: str) -> str:
    return significant(square / UNITS[unit].count ** 2) if square else "0"


# --- attributes -----------------------------------------------------------------------------------------------------


def _attributes(held: Conducted, names: tuple[str, ...], language: str) -> StudySection:
    found = by_attributes(held)
    known = [found.known.get(person) for person in held.plan.people]
    rows = tuple(
        (
            name,
            _share(found.themselves[person]),
            *((_share(one.right), _share(one.missed), _share(one.alarmed), _kappa(one.kappa)) if one else ()),
        )
        for name, person, one in zip(names, held.plan.people, known, strict=True)
    )
    codes = ("person", "alike", *(("right", "missed", "alarmed", "kappa") if any(known) else ()))
    parts: dict[str, Part] = {"share": Figure(_share(found.together)), "kappa": Figure(_kappa(found.kappa))}
    said = (say(Reason("gauge.attributes.together", parts), language=language),)
    heads = tuple(word(f"gauge.head.{each}", language) for each in codes)
    return StudySection(word("gauge.section.attributes", language), heads, rows, said)


def _share(share: Share | None) -> str:
    if share is None:
        return "–"
    low, high = share.interval()
    return f"{share.hits}/{share.n}\u00a0({100 * low:.0f}…{100 * high:.0f}\u00a0%)"


def _kappa(kappa: Kappa) -> str:
    return "–" if kappa.kappa is None else f"{float(kappa.kappa):.2f}"

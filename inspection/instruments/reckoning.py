"""What the budget of a reading rests on: records, certificates, recorded checks, jaws and temperatures, put together.

``Grounds.of`` puts together what one method brings whatever the row, ``Head.met`` how a row meets it. The verdict on
one pair and the arrays of the choice both go through these two.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.instruments.comparing import compared
from inspection.instruments.materials import expansion_of
from inspection.instruments.ratios import effective_band, has_ratios, size_of
from inspection.instruments.record import Instrument, Use
from inspection.instruments.record_sources import certificates_of, held_of, jaws_of, own_expansion
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Issues, Way
from inspection.measuring.bias import (
    Correction,
    Handling,
    Jaws,
    block_check,
    bore_read,
    certificate,
    jaws_in_bore,
    temperature,
    zero_offset,
)
from inspection.measuring.certificates import drift_at, known_at, says_at
from inspection.measuring.checks import use_checked
from inspection.measuring.known import NOTHING_KNOWN, Evidence, Known
from inspection.measuring.spread import spread_of, taken_as_known
from inspection.measuring.thermal import Temperatures
from inspection.measuring.uncertainty import Budget
from inspection.measuring.uncertainty_parts import people, zero
from inspection.measuring.uncertainty_sources import Source, budget_of
from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE, Kind
from inspection.standards.usual_figures import usual_deviation

#: How far from a block its error still tells of the instrument: as far as one spindle of a micrometer goes, over which
#: thread or scale wander little; common practice.
NEAR = 25 * PICOMETRES_PER_MILLIMETRE

_UNSAID = Evidence()


class Reckoning(Struct, frozen=True):
    """One method on one row: everything that its budget rests on.

    ``sources`` are what a reading passes through, the instrument read first; ``size`` (counts) is where they are taken
    and ``unit`` the row's. ``temperatures`` is None for what is no length, ``band`` where the row leaves none, and
    ``judged`` says whether readings meet limits at all. ``usual`` are inside jaws of which only the usual width is
    known; ``seen`` is the error that the last check showed, with what is done about it here.
    """

    sources: tuple[Source, ...]
    size: int
    unit: str
    temperatures: Temperatures | None
    band: int | None
    judged: bool = True
    usual: Jaws | None = None
    seen: Correction | None = None

    @property
    def read(self) -> Source:
        """The instrument whose scale is read."""
        return self.sources[0]

    @property
    def erring(self) -> tuple[Source, ...]:
        """What errs by itself."""
        return _erring(self.sources)

    def corrections(self, reading: Fraction | int | None = None) -> tuple[Correction, ...]:
        """Every known error and what is done about it: at a ``reading`` (counts), or at the row's size where none is
        given, or one at which nothing could have that error.

        Their lines are those that no source brings. Raises Refused as the parts do, for whatever the row's own size is
        refused; no reading is refused where the row is not.
        """
        read = None if reading is None or reading <= 0 else Fraction(reading)
        at = round(self.size if read is None else read)
        found = (*self._certified(at), self.seen, self._jaws(read), self._warm(at))
        return tuple(correction for correction in found if correction is not None)

    def budget(self, repeats: int = 1) -> Budget:
        """The budget of the mean of ``repeats`` readings, of one at least. Raises Refused where nothing is known, and
        as the parts do."""
        return budget_of(self.sources, self.size, max(repeats, 1), self.temperatures, self.corrections())

    def _certified(self, at: int) -> Iterator[Correction]:
        for source in self.sources:
            held = source.certificate_at(self.size)
            if held is not None:
                size = at if source.travel is None and says_at(held, at) else source.at(self.size)
                yield certificate(size, held, source.tag, self.unit)

    def _jaws(self, reading: Fraction | None) -> Correction | None:
        """Measured jaws have their line in the source; of usual ones U holds what the row's size says."""
        tag = self.read.tag
        if self.usual is not None:
            across = bore_read(self.size, self.usual, tag, self.unit)
            return jaws_in_bore(
                across,
                self.usual,
                self.band,
                tag,
                self.unit,
                measured=False,
                judged=self.judged,
                diameter=self.size,
            )
        if self.read.jaws is None:
            return None
        across = bore_read(self.size, self.read.jaws, tag, self.unit)
        found = jaws_in_bore(reading or across, self.read.jaws, self.band, tag, self.unit)
        return replace(found, lines=())

    def _warm(self, at: int) -> Correction | None:
        return None if self.temperatures is None else temperature(at, self.temperatures, self.unit)


class Met(NamedTuple):
    """How an instrument read meets a row: as a source, the jaws of which only the usual width is known, and the error
    that its last check showed, with what is done about it."""

    source: Source
    usual: Jaws | None
    seen: Correction | None


class Head(Struct, frozen=True):
    """The instrument that is read, whatever the row.

    ``jaws`` are inside jaws that stand on a chord in a bore, ``measured`` on this very instrument or else usual for its
    kind. ``evidence`` is what checks said of it in this use, ``begins`` the size that its zero is read at and ``keeps``
    the smallest step, which stands for a permissible error where none is stated.
    """

    source: Source
    jaws: Jaws | None = None
    measured: bool = False
    evidence: Evidence = _UNSAID
    begins: int = 0
    keeps: int = 0

    def met(self, bore: bool, served: bool, certified: bool, band: int | None) -> Met:
        """As it meets a row: a ``bore`` or not, near the block of its last check (``served``) or not, its reading
        ``certified``, corrected by a certificate, or not. Raises Refused where the parts of the check cannot be."""
        source, usual = self.source, None
        if bore and self.jaws is not None:
            source, usual = (replace(source, jaws=self.jaws), None) if self.measured else (source, self.jaws)
        seen = self.seen(served, certified, band)
        if self.evidence.zero_of and not served and (seen is None or seen.handling is Handling.CORRECTED):
            source = replace(source, settings=self.evidence.zero_of)  # taken off as a mean
        return Met(source, usual, seen)

    def serves(self, size: int) -> bool:
        """Whether a block was read near enough to a size to tell of it."""
        checked = self.evidence.checked
        return checked is not None and abs(size - checked.size) <= NEAR

    def seen(self, served: bool, certified: bool, band: int | None) -> Correction | None:
        """What the last check showed. The zero's error is within the block's, so only one of the two counts."""
        held, source = self.evidence, self.source
        if served and held.checked is not None:
            at, within = self._taken_off(held.checked.size, certified)
            limit = self._permissible(held.checked.size)
            return block_check(held.checked, limit, band, source.tag, source.unit, certified=at, within=within)
        if not held.zero_of or source.zero is None:
            return None
        at, within = self._taken_off(self.begins, certified)
        return zero_offset(
            held.zero_total,
            held.zero_of,
            self._permissible(self.begins),
            band,
            source.tag,
            source.unit,
            square=zero(source.zero, source.resolution, held.zero_of, source.tag, source.unit).variance,
            certified=at,
            within=within,
        )

    def _permissible(self, size: int) -> int:
        """E at the size of a check; the step where the record states none there, as the check itself has it."""
        return next((error for up_to, error in self.source.steps if size <= up_to), 0) or self.keeps

    def _taken_off(self, size: int, certified: bool) -> tuple[Fraction, Fraction | None]:
        """What the certificate takes off at the size of a check, or at its point nearest to that, and its drift."""
        source = self.source
        if not certified or source.certificate is None:
            return Fraction(0), None
        sizes = [point.size for point in source.certificate.points]
        at = min(max(size, min(sizes)), max(sizes))
        drift = drift_at(at, self._permissible(at), source.tag, source.certificate, source.before)
        return known_at(source.certificate, at, source.tag).error, drift


class Ground(Struct, frozen=True):
    """What one method's budgets rest on, whatever the row: the instrument read, what it needs beside, temperatures, and
    the ``blocks`` that it is set on, if any: they carry the size, and the instrument only moves from their stack."""

    head: Head
    aids: tuple[Source, ...]
    temperatures: Temperatures | None
    blocks: Instrument | None = None

    def at(self, row: Characteristic) -> Reckoning:
        """The reckoning of a row. Raises Refused where the parts of the last check cannot be, and as ``compared``."""
        size, band, head = size_of(row), effective_band(row), self.head
        certified = head.source.certificate_at(size) is not None
        met = head.met(row.kind is FeatureKind.BORE, head.serves(size), certified, band)
        sources, unit = (met.source, *self.aids), row.requirement.unit
        if self.blocks is not None:
            sources = (*_over(row, met.source, self.blocks), *self.aids)
        return Reckoning(sources, size, unit, self.temperatures, band, has_ratios(row), met.usual, met.seen)

    @property
    def erring(self) -> tuple[Source, ...]:
        """What errs by itself."""
        return _erring((self.head.source, *self.aids))


def _over(row: Characteristic, read: Source, blocks: Instrument) -> tuple[Source, Source]:
    """The instrument as it moves from the row's stack, and the stack."""
    found = compared(row, blocks)
    return replace(read, travel=found.travel), Source(blocks.tag, read.use, blocks.unit, fixed=found.lines)


def _erring(sources: tuple[Source, ...]) -> tuple[Source, ...]:
    """The instrument read, and whatever of the others has neither a scale by which it is set at its own zero nor a
    size whose lines are known."""
    return (sources[0], *(source for source in sources[1:] if not source.resolution and not source.fixed))


def reckoning(
    characteristic: Characteristic,
    way: Way,
    parts: Sequence[Instrument],
    issues: Issues,
    rules: Rules,
    known: Known = NOTHING_KNOWN,
    material: str = "",
) -> Reckoning:
    """What the budget of a reading of the row rests on, by the ``parts`` of a ``way``, the one that is read first.

    ``issues`` hold the earlier issues of their records, ``material`` is the part's as written on the drawing. Raises
    Refused for records whose numbers cannot be.
    """
    return Grounds(issues, rules, known, material).of(way, parts).at(characteristic)


class Grounds:
    """The grounds of many methods: an instrument that serves several of them is put together once for all."""

    def __init__(self, issues: Issues, rules: Rules, known: Known = NOTHING_KNOWN, material: str = "") -> None:
        self.issues, self.rules, self.known, self.material = issues, rules, known, material
        self._heads: dict[tuple[str, int, Use, bool, bool], Head] = {}
        self._aids: dict[tuple[str, int, Use], Source] = {}
        self._temperatures: dict[int, Temperatures] = {}

    def of(self, way: Way, parts: Sequence[Instrument]) -> Ground:
        """What a method's budgets rest on, whatever the row, by the ``parts`` of a ``way``, the one that is read first.

        Raises Refused for records whose numbers cannot be.
        """
        read, blocks = parts[0], parts[-1] if way.set_on is not None else None
        aids = tuple(self._aid(way.use, aid) for aid in parts[1:] if aid is not blocks)
        warm = self._warm(blocks or read) if read.quantity is Kind.LENGTH else None
        return Ground(self._head(way, read), aids, warm, blocks)

    def _head(self, way: Way, read: Instrument) -> Head:
        enters = way.use is Use.INSIDE and way.transfer is None
        key = (read.identity, read.issue, way.read_use, enters, way.set_on is not None)
        if key not in self._heads:
            source = _source(read, way.read_use, self.issues, self.known)
            if way.set_on is not None:
                # Wherever on its scale it is set: the certificate's points and an earlier zero say nothing of that.
                self._heads[key] = Head(replace(source, certificate=None, before=None))
            else:
                jaws, measured = jaws_of(read) if enters else (None, False)
                evidence = _checked(read, way.read_use, self.known)
                self._heads[key] = Head(source, jaws, measured, evidence, read.low, read.resolution)
        return self._heads[key]

    def _aid(self, use: Use, aid: Instrument) -> Source:
        key = (aid.identity, aid.issue, use)
        if key not in self._aids:
            self._aids[key] = _source(aid, use, self.issues, self.known, is_read=False)
        return self._aids[key]

    def _warm(self, read: Instrument) -> Temperatures:
        expansion = own_expansion(read)
        if expansion not in self._temperatures:
            self._temperatures[expansion] = temperatures_of(expansion, self.rules, self.known, self.material)
        return self._temperatures[expansion]


def _checked(read: Instrument, use: Use, known: Known) -> Evidence:
    """What checks said of the instrument read; nothing in a use that its kind is not checked in: the outside jaws say
    nothing of the inside ones."""
    held = known.evidence.get(read.identity)
    if held is None or (held.checked is None and not held.zero_of):
        return _UNSAID
    return held if use_checked(read.kind) is use else _UNSAID


def _source(instrument: Instrument, use: Use, issues: Issues, known: Known, *, is_read: bool = True) -> Source:
    """One instrument of a method. Beside the one that is read, one with a scale is used at its own zero and adds a
    reading only; one without a scale (transfer gauge, plate) adds its error."""
    held = known.evidence.get(instrument.identity, _UNSAID)
    errs = is_read or not instrument.resolution
    now, before = certificates_of(issues, instrument, use) if errs else (None, None)
    steps = sorted((step.up_to, step.error) for step in instrument.permissible if step.use is use) if errs else ()
    return Source(
        instrument.tag,
        use,
        instrument.unit,
        tuple(steps),
        certificate=now,
        before=before,
        resolution=instrument.resolution,
        spread=spread_of(taken_as_known(_deviation(instrument)), held.block, held.study),
        zero=(held.zeros or taken_as_known(instrument.zero)) if is_read else None,
        held=held_of(instrument, use),
        fixed=(people(held.people, instrument.tag, instrument.unit),) if is_read and held.people else (),
    )


def _deviation(instrument: Instrument) -> int:
    """s of one reading on a part: the record's, else the usual one of its kind, 0 where there is none."""
    if instrument.repeatability or instrument.quantity is not Kind.LENGTH:
        return instrument.repeatability
    return usual_deviation(instrument.kind.value, instrument.resolution) or 0


def temperatures_of(expansion: int, rules: Rules, known: Known, material: str) -> Temperatures:
    """What is known of temperature for a part of a ``material`` and an instrument of an ``expansion`` (1e-9 per
    kelvin): what was logged, corrected or not as the rules have it, else the bound on the room."""
    return Temperatures(
        part_expansion=expansion_of(material),
        instrument_expansion=expansion,
        spread=rules.temperature_spread,
        room=rules.temperature_room,
        measured=known.measured,
        corrected=known.measured is not None and rules.temperature_corrected,
    )

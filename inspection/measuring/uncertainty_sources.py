"""What a reading passes through, and the budget that follows at a size and a number of repeats."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from msgspec import Struct

from inspection.instruments.record import Use
from inspection.measuring.bias import Correction, Handling, Jaws, jaws_line
from inspection.measuring.certificates import Certificate, certificate_lines, certified_error, says_at
from inspection.measuring.spread import Spread
from inspection.measuring.thermal import Temperatures, left_uncorrected, temperature_lines
from inspection.measuring.uncertainty import Budget, Line, combined
from inspection.measuring.uncertainty_parts import (
    Touch,
    amount,
    askew,
    jaw_play,
    parallax,
    permissible,
    reading,
    tilt,
    transfer,
    zero,
)
from inspection.reasons import Part, Reason, Refused

NOTHING = Spread(Fraction(0))


class Held(Struct, frozen=True):
    """How an instrument is held: half-widths of its angles in µas, lengths in counts; 0 leaves a part out.

    Tilt with the way it shows, a wide contact not squared by feel, a jaw that rocks at a distance from the beam, a
    scale that stands off and the eye beside it.
    """

    tilt: int = 0
    touch: Touch = Touch.LONG
    tilt_corrected: bool = False
    contact_width: int = 0
    contact_askew: int = 0
    jaw_distance: int = 0
    jaw_rock: int = 0
    scale_height: int = 0
    eye_off: int = 0


class Source(Struct, frozen=True):
    """One thing that a reading passes through, in counts of its kind.

    ``steps`` are its permissible errors E in this ``use``, each (up to and including this size, E), by size; empty
    where it is read at its own zero and adds none. They are taken at the row's size, or at ``travel``, the most it
    moves, where it only reads a difference from something else. With a ``certificate`` the reading is corrected by it,
    and E only stands for its drift where there is none ``before`` to compare with; beyond the certificate's points E
    stands as without one. ``resolution`` 0 means that it has no scale: its ``spread`` is then what carrying the size
    over scatters. ``zero`` is the spread of its zero, None where no zero is set, and ``settings`` how many zero
    readings were averaged. ``fixed`` are lines whatever the row and however often it is read: those of the size of a
    stack of blocks, which is never read, and what differs between people. ``jaws`` are inside jaws whose
    chord is corrected.
    """

    tag: str
    use: Use
    unit: str = "in"
    steps: tuple[tuple[int, int], ...] = ()
    travel: int | None = None
    certificate: Certificate | None = None
    before: Certificate | None = None
    resolution: int = 0
    spread: Spread = NOTHING
    zero: Spread | None = None
    settings: int = 1
    fixed: tuple[Line, ...] = ()
    jaws: Jaws | None = None
    held: Held = Held()

    def error_at(self, size: int) -> int:
        """E at a size; 0 where none is stated at all. Raises Refused beyond the last size that it is stated for."""
        for up_to, error in self.steps:
            if size <= up_to:
                return error
        if self.steps:
            parts: dict[str, Part] = {"tag": self.tag, "use": self.use.value, "size": amount(size, self.unit)}
            raise Refused(Reason("doubt.no_error_stated", parts))
        return 0

    def at(self, size: int) -> int:
        """At which size its error is taken for a row of ``size``."""
        return size if self.travel is None else self.travel

    def certificate_at(self, size: int) -> Certificate | None:
        """The certificate that corrects a reading of a row of ``size``; None where E stands."""
        held = self.certificate
        if held is None or (self.steps and not says_at(held, self.at(size))):
            return None
        return held

    def limit_at(self, size: int) -> int:
        """What stands for E in the accuracy ratio of a row of ``size``: E, or with a certificate its U and the drift.

        Raises Refused as ``error_at`` and ``certified_error`` do.
        """
        at, held = self.at(size), self.certificate_at(size)
        error = self.error_at(at)
        return error if held is None else certified_error(at, error, self.tag, held, self.before)


def source_lines(source: Source, size: int, repeats: int = 1) -> Iterator[Line]:
    """The lines of one source at ``size``, for the mean of ``repeats`` readings; some may contribute nothing."""
    tag, unit, held = source.tag, source.unit, source.held
    read, certificate = source.at(size), source.certificate_at(size)
    if certificate is not None:
        yield from certificate_lines(read, source.error_at(read), tag, unit, certificate, source.before)
    elif source.steps:
        yield permissible(source.error_at(read), tag, source.use, unit)
    yield from scatter_lines(source, repeats)
    yield from zero_lines(source)
    yield from source.fixed
    if source.jaws is not None:
        yield jaws_line(size, source.jaws, tag, unit)
    yield from held_lines(held, read, tag, unit)


def scatter_lines(source: Source, repeats: int) -> Iterator[Line]:
    """The line of reading the scale, or of carrying the size over: the only one that repeats make smaller."""
    if source.resolution:
        yield reading(source.spread, source.resolution, repeats, source.tag, source.unit)
    elif source.spread.square:
        yield transfer(source.spread, repeats, source.tag, source.unit)


def zero_lines(source: Source) -> Iterator[Line]:
    """The line of setting zero, where one is set."""
    if source.zero is not None:
        yield zero(source.zero, source.resolution, source.settings, source.tag, source.unit)


def held_lines(held: Held, size: int, tag: str, unit: str) -> Iterator[Line]:
    """The lines of how an instrument is held."""
    if held.tilt:
        yield tilt(size, held.tilt, held.touch, tag, unit, corrected=held.tilt_corrected)
    if held.contact_askew:
        yield askew(held.contact_width, held.contact_askew, tag, unit)
    if held.jaw_rock:
        yield jaw_play(held.jaw_distance, held.jaw_rock, tag, unit)
    if held.eye_off:
        yield parallax(held.scale_height, held.eye_off, tag, unit)


def budget_of(
    sources: Iterable[Source],
    size: int,
    repeats: int = 1,
    temperatures: Temperatures | None = None,
    corrections: Iterable[Correction] = (),
) -> Budget:
    """The budget of the mean of ``repeats`` readings at ``size`` through all ``sources``; no temperatures for angles.

    ``corrections`` add their lines where made, and their size to U where left; that of the temperatures is taken from
    ``temperatures`` and need not be among them. Raises Refused where nothing at all is known, and as the parts do.

    >>> micrometer = Source("M-1", Use.OUTSIDE, "mm", ((25 * 10**9, 4_000_000),), resolution=1_000_000)
    >>> budget_of([micrometer], 10**10).expanded(10**9)  # ± 4 µm by steps of 1 µm: pm
    4700000
    """
    lines = [line for source in sources for line in source_lines(source, size, repeats)]
    left = Fraction(0)
    for correction in corrections:
        if correction.name != "temperature" or temperatures is None:
            lines += correction.lines if correction.handling is Handling.CORRECTED else ()
            left += correction.left
    if temperatures is not None:
        lines += temperature_lines(size, temperatures)
        left += left_uncorrected(size, temperatures)
    return combined(lines, left)

"""Callouts of sizes and angles: every form that states, or leaves to the title block, two limits or one."""

from __future__ import annotations

import re

from msgspec import Struct

from inspection.drawing.amounts import Amounts, Written, decimals_of, system
from inspection.drawing.band import Band, band_of_error, band_of_limits, band_of_none, band_of_single_limit
from inspection.drawing.characteristic import FeatureKind
from inspection.drawing.general import Dimension, general_tolerance
from inspection.drawing.plan import TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.drawing.spelling import Line
from inspection.quantity.units import LARGEST_COUNT, Kind
from inspection.reasons import Amount, Part, Reason
from inspection.standards.fits import class_deviations, is_class, is_hole


class Asked(Struct, frozen=True):
    """What the row knows beside its callout: kind of feature and quantity, governing unit, title block, the row's own
    unit (empty if it names none), T stated by a person, and an angle's shorter side (pm)."""

    kind: FeatureKind
    quantity: Kind
    unit: str
    title_block: TitleBlock
    row_unit: str = ""
    band: int | None = None
    shorter_side: int | None = None


class Found(Struct, frozen=True):
    """What a callout states: its form, limits, nominal, band, the numbers it was written with, and reasons."""

    form: Form
    written: tuple[Written, ...]
    nominal: int | None = None
    lower: int | None = None
    upper: int | None = None
    band: Band = Band(None)
    explained: tuple[Reason, ...] = ()


def _word(*words: str) -> re.Pattern[str]:
    return re.compile("|".join(rf"{word}\b\.?" for word in words), re.IGNORECASE)


_DUAL_BEFORE = re.compile(r"\[[^\[\]]*\](?= *(?:S?[⌀R□↧.\d]|max|min))", re.IGNORECASE)
_DUAL = re.compile(r"\[[^\[\]]*\]")
_OPEN = re.compile(r"[\[(]")
_CLOSE = {"[": re.compile(r"\]"), "(": re.compile(r"\)")}
_DIAMETER = re.compile(r"S?⌀|dia\b\.?|diameter\b|[oO](?= *[.\d])", re.IGNORECASE)
_DIAMETER_AFTER = re.compile(r"⌀|dia\b\.?|diameter\b", re.IGNORECASE)
_RADIUS = re.compile(r"S?R(?= *[.,\d])|rad\b\.?|radius\b", re.IGNORECASE)
_RADIUS_AFTER = re.compile(r"rad\b\.?|radius\b|R\b(?! *\d)", re.IGNORECASE)
_CHAMFER_C = re.compile(r"C(?= *[.,\d])")
_LEAD = re.compile(r"□|↧|⌴|⌵|↓|(?:deep|depth|dp)\b\.?", re.IGNORECASE)
_BREAK = re.compile(r"(?:deburr (?:and )?)?(?:break (?:all )?(?:sharp )?edges?|edge break)\b", re.IGNORECASE)
_IDLE = _word("thru all", "thru", "through", "deep", "depth", "dp", "wide", "long", "thk", "thick", "high")
_MAXIMUM = re.compile(r"≤|max(?:imum)?\b\.?", re.IGNORECASE)
_MINIMUM = re.compile(r"≥|min(?:imum)?\b\.?", re.IGNORECASE)
_BASIC = _word("bsc", "basic")
_REFERENCE = _word("ref", "reference")
_STOCK = _word("stock", "stk")
_TYPICAL = _word("typ", "typical")
_PLUS_MINUS = re.compile("±")
_N = r"(?:\d[\d.,]*|[.,]\d[\d.,]*)[^+\-/\[\]()]*?"
_DEVIATIONS = re.compile(
    rf"\+|-(?= *{_N} *(?:/ *)?[+-] *[.\d])|-(?= *{_N} */ *0)|(?:0?[.,]0+|0)(?= *(?:/ *)?- *[.,\d])"
)
_SIGNED = re.compile(r"[+-]")
_SLASH = re.compile(r"[/,]")
_BETWEEN = re.compile(r"-|/|…|to\b", re.IGNORECASE)
_CLASS = re.compile(r"[A-Za-z]{1,2}\d{1,2}(?![\w.])")
_FIT = re.compile(r"/ *[A-Za-z]{1,2}\d{1,2}")
_CHAMFER_ANGLE = re.compile(r"x(?= *\d[\d.]* *(?:°|deg))|x(?= *(?:30|45|60) *(?:$|\[))", re.IGNORECASE)
_ANGLE_FIRST = re.compile(r"\d[\d.]* *(?:°|deg\w*\b) *x", re.IGNORECASE)
_LETTER = re.compile(r"[^\W\d_]")
_TIMES = re.compile(r"x", re.IGNORECASE)
_COUNT = re.compile(r"\d{1,4} *x(?![\d.]| *\d+ *(?:°|deg))", re.IGNORECASE)

_NO_DIAMETER = (FeatureKind.ANGLE, FeatureKind.RADIUS, FeatureKind.COATING)
_ROUND = (FeatureKind.OUTSIDE_DIAMETER, FeatureKind.BORE)
#: Sizes that cannot reach nothing; a step or an edge distance can be zero and pass to the other side.
_ABOVE_NOTHING = (*_ROUND, FeatureKind.LENGTH, FeatureKind.WIDTH, FeatureKind.SLOT, FeatureKind.DEPTH)
_HOLES, _SHAFTS = (FeatureKind.BORE, FeatureKind.SLOT), (FeatureKind.OUTSIDE_DIAMETER,)


def read_size(line: Line, asked: Asked) -> Requirement:
    """Read the callout of a size or an angle. Raises Refused under the character at fault."""
    return _Size(line, asked).read()


class _Size:
    """One callout on its way from text to requirement; the signs seen on the way are kept."""

    def __init__(self, line: Line, asked: Asked) -> None:
        self.line = line
        self.asked = asked
        self.amounts = Amounts(line, asked.quantity, asked.unit)
        self.diameter = False
        self.radius = False
        self.edge_break = False
        self.notes: list[Reason] = []

    # --- the callout as a whole

    def read(self) -> Requirement:
        if self.line.take(_DUAL_BEFORE):
            self.notes.append(Reason("callout.dual"))
        if self.line.sees(_COUNT):
            self._refuse_count()
        self._signs(after=False)
        opened = self.line.take(_OPEN)
        found = self._enclosed(opened[0]) if opened else self._stated()
        if self.line.take(_DUAL):
            self.notes.append(Reason("callout.dual"))
        self._signs()
        self._end()
        return self._requirement(found)

    def _refuse_count(self) -> None:
        if self.asked.kind is not FeatureKind.CHAMFER:
            raise self.line.refused("callout.count_here")

    def _end(self) -> None:
        if self.line.ended:
            return
        code = "callout.typical" if self.line.sees(_TYPICAL) else "callout.rest"
        raise self.line.refused("callout.second_size" if self.line.sees(_TIMES) else code)

    def _requirement(self, found: Found) -> Requirement:
        unit = self._unit(found)
        needed = (found.nominal, found.lower, found.upper)
        if any(abs(count or 0) >= LARGEST_COUNT for count in (*needed, found.band.width)):
            raise self.line.refused("callout.too_large", found.written[0].at)
        return Requirement(
            self.line.written,
            found.form,
            self.asked.quantity,
            unit,
            decimals_of(unit, *needed, written=found.written),
            found.nominal,
            found.lower,
            found.upper,
            found.band.width,
            found.band.natural_zero,
            self.diameter or self.asked.kind in _ROUND,
            (*found.explained, *found.band.explained, *self.notes),
        )

    def _unit(self, found: Found) -> str:
        """The governing unit; a coating's is the one it is written in."""
        explicit = [number.unit for number in found.written if number.explicit]
        if self.asked.kind is FeatureKind.COATING and explicit and not self.asked.row_unit:
            return explicit[0]
        return self.asked.unit

    # --- the signs around a size

    def _signs(self, *, after: bool = True) -> None:
        """Read the signs of shape and the words that say nothing about limits. ``after`` a number an R may be the
        letter of a fit, and an O no sign of a diameter."""
        diameter, radius = (_DIAMETER_AFTER, _RADIUS_AFTER) if after else (_DIAMETER, _RADIUS)
        while True:
            self.line.skip()
            start = self.line.at
            if self.line.take(diameter):
                self._is_diameter(start)
            elif self.line.take(radius):
                self._is_radius(start)
            elif self.line.take(_BREAK):
                self.edge_break = True
            elif not (self.line.take(_LEAD) or self.line.take(_IDLE)):
                return

    def _is_diameter(self, at: int) -> None:
        if self.asked.kind in _NO_DIAMETER:
            raise self.line.refused("callout.no_diameter", at, kind=str(self.asked.kind))
        self.diameter = True

    def _is_radius(self, at: int) -> None:
        if self.asked.kind is not FeatureKind.RADIUS:
            raise self.line.refused("callout.no_radius", at, kind=str(self.asked.kind))
        self.radius = True

    # --- enclosed sizes: basic and reference

    def _enclosed(self, bracket: str) -> Found:
        self._signs(after=False)
        number = self.amounts.take()
        self._signs()
        if self.line.take(_CLOSE[bracket]) is None:
            raise self.line.refused("callout.bracket_open" if self.line.ended else "callout.enclosed")
        self._signs()
        return self._without_limits(number, Form.BASIC if bracket == "[" else Form.REFERENCE)

    def _without_limits(self, number: Written, form: Form, code: str = "") -> Found:
        band = band_of_none(code or f"band.{form}")
        return Found(form, (number,), nominal=number.count, band=band)

    # --- stated sizes

    def _stated(self) -> Found:
        if self.asked.kind is FeatureKind.CHAMFER:
            self.line.take(_CHAMFER_C)
            self._angle_first()
        limit = self._single_word()
        self._signs(after=False)
        number = self.amounts.take()
        end = self.line.at
        self._dual_between()
        self._signs()
        found = self._single(number, limit) if limit else self._with_limits(number, end)
        self._chamfer_angle()
        return found

    def _dual_between(self) -> None:
        if self.line.take(_DUAL):
            self.notes.append(Reason("callout.dual"))

    def _single_word(self) -> Form | None:
        if self.line.take(_MAXIMUM):
            return Form.MAXIMUM
        return Form.MINIMUM if self.line.take(_MINIMUM) else None

    def _with_limits(self, number: Written, end: int) -> Found:
        limit = self._single_word()
        if limit:
            return self._single(number, limit)
        if self.line.take(_PLUS_MINUS):
            return self._plus_minus(number)
        if self.line.sees(_DEVIATIONS):
            return self._deviations(number)
        if self.line.take(_BASIC):
            return self._without_limits(number, Form.BASIC)
        if self.line.take(_REFERENCE):
            return self._without_limits(number, Form.REFERENCE)
        if self.line.take(_STOCK):
            return self._without_limits(number, Form.REFERENCE, "band.stock")
        if self.line.take(_BETWEEN):
            return self._limits(number, end)
        if not self.line.sees(_CHAMFER_ANGLE) and self.line.sees(_CLASS):
            return self._fit(number)
        return self._general(number)

    def _plus_minus(self, number: Written) -> Found:
        half = self._tolerance(number)
        if half.count == 0:
            if self.line.sees(_LETTER):  # a letter O for a nought
                raise self.line.refused("callout.rest")
            raise self.line.refused("callout.zero_band", half.at)
        lower, upper = number.count - half.count, number.count + half.count
        self._above_nothing(lower, half.at)
        return self._between(Form.PLUS_MINUS, (number, half), lower, upper, number.count)

    def _tolerance(self, number: Written) -> Written:
        """The number after a sign; after degrees and minutes a bare one could be either and is refused."""
        found = self.amounts.take()
        if self.asked.quantity is Kind.ANGLE and number.decimals is None and not found.explicit and found.count:
            raise self.line.refused("callout.angle_unit", found.at)
        return found

    def _deviations(self, number: Written) -> Found:
        """Two deviations, the upper one first; a bare 0 needs no sign."""
        upper, first = self._signed(number)
        self.line.take(_SLASH)
        lower, second = self._signed(number)
        if lower == upper:
            raise self.line.refused("callout.zero_band", second.at)
        if lower > upper:
            raise self.line.refused("callout.deviations_order", second.at)
        self._above_nothing(number.count + lower, second.at)
        written = (number, first, second)
        return self._between(Form.PLUS_MINUS, written, number.count + lower, number.count + upper, number.count)

    def _signed(self, number: Written) -> tuple[int, Written]:
        self.line.skip()
        start = self.line.at
        sign = self.line.take(_SIGNED)
        if sign is None and not self.amounts.here():
            raise self.line.refused("callout.deviation_missing")
        found = self._tolerance(number)
        if sign is None and found.count:
            raise self.line.refused("callout.sign_missing", start)
        return (-found.count if sign and sign[0] == "-" else found.count), found

    def _limits(self, first: Written, end: int) -> Found:
        if self.line.sees(_SIGNED):
            raise self.line.refused("callout.number_missing")
        second = self.amounts.take()
        if second.explicit and not first.explicit and second.unit != first.unit:
            first = self.amounts.retake(first, end, second.unit)
        if first.count == second.count:
            raise self.line.refused("callout.limits_equal", second.at)
        if first.count > second.count:
            raise self.line.refused("callout.limits_order", second.at)
        return self._between(Form.LIMITS, (first, second), first.count, second.count, None)

    def _between(
        self, form: Form, written: tuple[Written, ...], lower: int, upper: int, nominal: int | None, *why: Reason
    ) -> Found:
        return Found(form, written, nominal, lower, upper, band_of_limits(lower, upper), why)

    def _above_nothing(self, lower: int, at: int) -> None:
        if lower < 0 and self.asked.kind in _ABOVE_NOTHING:
            raise self.line.refused("callout.below_nothing", at, kind=str(self.asked.kind))

    # --- one limit

    def _single(self, number: Written, form: Form) -> Found:
        if number.count == 0:
            raise self.line.refused("callout.zero", number.at)
        if self.edge_break and form is Form.MAXIMUM:
            band = band_of_error(number.count, self.asked.quantity, self.asked.unit)
        else:
            with self.line.blaming(number.at):
                band = band_of_single_limit(self._dimension(number), self.asked.title_block, self.asked.band)
        lower, upper = (None, number.count) if form is Form.MAXIMUM else (number.count, None)
        return Found(form, (number,), None, lower, upper, band)

    def _dimension(self, number: Written) -> Dimension:
        decimals = number.decimals
        if decimals is not None and number.unit != self.asked.unit:
            decimals = decimals_of(self.asked.unit, number.count)
        unit = self.asked.unit if self.asked.quantity is Kind.ANGLE else system(self.asked.unit)
        return Dimension(self.asked.kind, number.count, decimals, unit, self.asked.shorter_side)

    # --- limits from elsewhere

    def _general(self, number: Written) -> Found:
        if not (self.line.ended or self.line.sees(_CHAMFER_ANGLE) or self.line.sees(_DUAL)):
            self._end()
        if self.edge_break:
            raise self.line.refused("callout.edge_break", number.at)
        with self.line.blaming(number.at):
            general = general_tolerance(self._dimension(number), self.asked.title_block)
        lower, upper = number.count - general.half_width, number.count + general.half_width
        return self._between(Form.GENERAL, (number,), lower, upper, number.count, general.reason)

    def _fit(self, number: Written) -> Found:
        self.line.skip()
        at = self.line.at
        found = self.line.take(_CLASS)
        assert found is not None  # seen just before
        self._check_fit(found[0], at)
        if self.line.sees(_FIT):
            raise self.line.refused("fit.assembly")
        with self.line.blaming(at):
            deviations = class_deviations(number.count, found[0])
        lower, upper = number.count + deviations.lower, number.count + deviations.upper
        self._check_printed(number, lower, upper)
        parts: dict[str, Part] = {
            "class": found[0],
            "lower": Amount(deviations.lower, Kind.LENGTH, "mm"),
            "upper": Amount(deviations.upper, Kind.LENGTH, "mm"),
        }
        return self._between(Form.FIT, (number,), lower, upper, number.count, Reason("limits.by_iso286", parts))

    def _check_fit(self, designation: str, at: int) -> None:
        if not is_class(designation) or self.asked.quantity is Kind.ANGLE:
            raise self.line.refused("callout.rest", at)
        if self.asked.unit != "mm":
            raise self.line.refused("fit.inch", at, **{"class": designation})
        if self.asked.kind in (_SHAFTS if is_hole(designation) else _HOLES):
            raise self.line.refused("fit.side", at, **{"class": designation, "kind": str(self.asked.kind)})

    def _check_printed(self, number: Written, lower: int, upper: int) -> None:
        """Limits printed in brackets behind a fit must be those that the class gives."""
        self.line.skip()
        at = self.line.at
        if not self.line.take(_OPEN):
            return
        if self.line.sees(_SIGNED):
            printed = self._deviations(number)
        else:
            first, end = self.amounts.take(), self.line.at
            if self.line.take(_BETWEEN) is None:
                raise self.line.refused("callout.number_missing")
            printed = self._limits(first, end)
        if self.line.take(_CLOSE[self.line.text[at]]) is None:
            raise self.line.refused("callout.bracket_open" if self.line.ended else "callout.rest")
        if (printed.lower, printed.upper) != (lower, upper):
            raise self.line.refused("fit.printed", at)

    # --- chamfers

    def _angle_first(self) -> None:
        """``45° X .03``: the angle stands in front."""
        angles = Amounts(self.line, Kind.ANGLE, "°")
        if self.line.sees(_ANGLE_FIRST):
            angles.take()
            self.line.take(_TIMES)
            self.notes.append(Reason("callout.chamfer_angle"))

    def _chamfer_angle(self) -> None:
        """``.03 X 45°``: the leg is this row's size; an angle with a tolerance of its own needs a row of its own."""
        if self.asked.kind is not FeatureKind.CHAMFER or self.line.take(_CHAMFER_ANGLE) is None:
            return
        Amounts(self.line, Kind.ANGLE, "°").take()
        if self.line.sees(_PLUS_MINUS) or self.line.sees(_SIGNED):
            raise self.line.refused("callout.chamfer_tolerance")
        self.notes.append(Reason("callout.chamfer_angle"))

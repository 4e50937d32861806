"""Two sheets of a part side by side: their rows by identity, whatever the numbers, and what differs."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.measuring.verdict import Judgement, Verdict
from inspection.quantity.speaker import fewest_decimals, nearest, sign_of
from inspection.reasons import Figure, Part, Reason
from inspection.sheet import figures
from inspection.sheet.lines import WORST_FIRST
from inspection.sheet.state import Sheet
from inspection.words.say import word

#: A mean that moved by so much of the band is told.
MOVED = Fraction(1, 10)


class RowSide(Struct, frozen=True):
    """A row on one of the sheets: each piece's serial with its judgement, the instruments that it was read with
    (identities, in the order of use), and the serials of the pieces about which a slip question has no answer."""

    row: Characteristic
    pieces: tuple[tuple[str, Judgement], ...]
    instruments: tuple[str, ...]
    waiting: tuple[str, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The worst that a piece came to."""
        return min((judged.verdict for _, judged in self.pieces), key=WORST_FIRST.index, default=Verdict.OPEN)

    def means(self) -> dict[str, Fraction]:
        """What each piece with numbers came to (counts): the mean of its smallest and largest result. What may be a
        slip is none."""
        return {
            serial: Fraction(judged.results[0] + judged.results[-1], 2 * judged.of)
            for serial, judged in self.pieces
            if judged.results and serial not in self.waiting
        }


class BesideRow(Struct, frozen=True):
    """A characteristic on the earlier and the later sheet (None where the sheet does not have it). ``difference`` is
    later − earlier (counts): of the pieces that stand on both sheets (``same``, serials), else of the means of all;
    None without numbers on both sides. ``changes`` tell what else is not as it was."""

    earlier: RowSide | None
    later: RowSide | None
    difference: Fraction | None
    same: tuple[str, ...]
    changes: tuple[Reason, ...]

    @property
    def row(self) -> Characteristic:
        """The row as the later sheet has it, or else as it was."""
        side = self.later or self.earlier
        assert side is not None
        return side.row


def beside(earlier: Sheet, later: Sheet, tags: dict[str, str]) -> tuple[BesideRow, ...]:
    """The rows of two sheets by their identity, in the later one's order, those that only the earlier one has at the
    end. ``tags`` are those of instruments by identity."""
    olds, news = _rows(earlier), _rows(later)
    names = [*news, *(name for name in olds if name not in news)]
    return tuple(_beside(_side(earlier, olds.get(name)), _side(later, news.get(name)), tags) for name in names)


def _rows(sheet: Sheet) -> dict[str, Characteristic]:
    """The rows that a sheet is about, by identity."""
    rows = sheet.plan.characteristics
    return {row.identity: row for row in rows if not sheet.only or row.identity in sheet.only}


def _side(sheet: Sheet, row: Characteristic | None) -> RowSide | None:
    if row is None:
        return None
    pieces = tuple((piece.serial, sheet.judgement(row.identity, piece.identity)) for piece in sheet.pieces)
    read = (reading for piece in sheet.pieces for reading in sheet.counting(row.identity, piece.identity))
    used = dict.fromkeys(part.identity for reading in read for part in reading.method.parts[:1])
    asked = {each.piece for each in sheet.open_questions() if each.characteristic == row.identity}
    waiting = tuple(piece.serial for piece in sheet.pieces if piece.identity in asked)
    return RowSide(row, pieces, tuple(used), waiting)


def _beside(earlier: RowSide | None, later: RowSide | None, tags: dict[str, str]) -> BesideRow:
    if earlier is None or later is None:
        code = "beside.only_earlier" if later is None else "beside.only_later"
        return BesideRow(earlier, later, None, (), (Reason(code),))
    difference, same = _difference(earlier, later)
    return BesideRow(earlier, later, difference, same, tuple(_changes(earlier, later, difference, tags)))


def _difference(earlier: RowSide, later: RowSide) -> tuple[Fraction | None, tuple[str, ...]]:
    old, new = earlier.means(), later.means()
    if not old or not new or earlier.row.requirement.kind is not later.row.requirement.kind:
        return None, ()
    same = tuple(serial for serial in new if serial in old)
    return _mean(new, same or tuple(new)) - _mean(old, same or tuple(old)), same


def _mean(values: dict[str, Fraction], of: tuple[str, ...]) -> Fraction:
    return sum((values[name] for name in of), Fraction(0)) / len(of)


def _changes(earlier: RowSide, later: RowSide, difference: Fraction | None, tags: dict[str, str]) -> Iterator[Reason]:
    was, now = earlier.row, later.row
    if was.number != now.number:
        yield Reason("beside.number", {"was": was.number})
    if _asked(was) != _asked(now):
        yield Reason("beside.limits", {"was": limits_text(was) or was.requirement.written})
    elif was.requirement.written != now.requirement.written:
        yield Reason("beside.written", {"was": was.requirement.written})
    if earlier.verdict is not later.verdict:
        yield Reason("beside.verdict", {"was": word(f"verdict.{earlier.verdict.name.lower()}")})
    if earlier.instruments and later.instruments and set(earlier.instruments) != set(later.instruments):
        yield Reason("beside.instrument", {"was": ", ".join(tags.get(name, name) for name in earlier.instruments)})
    for name, side in (("earlier", earlier), ("later", later)):
        if side.waiting:
            yield Reason(f"beside.waiting_{name}", {"n": len(side.waiting), "serials": ", ".join(side.waiting)})
    band = now.requirement.band
    if difference and band and abs(difference) >= MOVED * band:
        told: dict[str, Part] = {"percent": Figure(str(round(100 * abs(difference) / band)))}
        yield Reason("beside.grown" if difference > 0 else "beside.shrunk", told)


def _asked(row: Characteristic) -> tuple[object, ...]:
    asked = row.requirement
    return asked.kind, asked.nominal, asked.lower, asked.upper


def limits_text(row: Characteristic) -> str:
    """A row's limits on one line with their unit, empty where there is none."""
    about = figures.between(*figures.limits(row.requirement))
    return f"{about} {row.requirement.unit}" if about else ""


def results_text(side: RowSide | None) -> str:
    """What a side came to, on one line: the result of one piece, the smallest and largest of several with how many, the
    worst verdict where there are no numbers, nothing where the sheet does not have the row."""
    if side is None:
        return ""
    asked = side.row.requirement
    ends = [
        (Fraction(total, judged.of), total, judged.of)
        for _, judged in side.pieces
        for total in dict.fromkeys(judged.results)
    ]
    if not ends:
        return word(f"verdict.{side.verdict.name.lower()}")
    texts = dict.fromkeys(figures.text(total, asked, of=of) for _, total, of in (min(ends), max(ends)))
    n = sum(bool(judged.results) for _, judged in side.pieces)
    return " … ".join(texts) + (f" (n = {n})" if n > 1 else "")


def difference_text(row: BesideRow) -> str:
    """The difference with its sign in the later row's unit: exactly where two places past the limits hold it, else to
    one place past them; empty without one."""
    if row.difference is None:
        return ""
    asked = row.row.requirement
    sign, size = sign_of(row.difference), abs(row.difference)
    exact = fewest_decimals(size.numerator, asked.unit, size.denominator)
    held = exact is not None and exact <= asked.decimals + 2
    places = max(asked.decimals, exact or 0) if held else asked.decimals + 1
    return sign + nearest(size.numerator, asked.unit, places, size.denominator)

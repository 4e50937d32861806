"""Places of a blank form where one of two answers is ticked: full or partial, complete or not, detail or assembly."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from inspection.layout.layout import ANSWERS, MARKS, HeadPlace
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.blank import Blank
from storage.dispatch.customer_form.boxes import boxes_in, fields_in, is_box
from storage.dispatch.customer_form.columns import Found

#: A label is no sentence.
_LONGEST = 60
#: Labels of one pair stand within so many rows of each other.
_NEAR = 3
#: A column no wider than this (in characters) holds a mark and no value.
_NARROW = 6.0
_MARK_OF = {answer: mark for mark, answer in MARKS.items()}

Cell = tuple[int, int]


class Marks(Struct, frozen=True):
    """The places found, and the labels that they belong to, which stand for nothing else."""

    places: tuple[HeadPlace, ...]
    labels: frozenset[Cell]


class _Label(Struct, frozen=True):
    row: int
    column: int
    answers: frozenset[str]

    @property
    def at(self) -> Cell:
        return self.row, self.column


def find_marks(blank: Blank, tables: Sequence[Found]) -> Marks:
    """The boxes of a worksheet: those that are signs in a text, then empty cells beside the labels of both answers; of
    a label alone only where its cell can hold nothing but a mark."""
    free = [
        (row, column) for row, column in sorted(blank.texts) if not any(each.top <= row <= each.last for each in tables)
    ]
    in_texts = {at: fields for at in free if (fields := _in_text(blank, at))}
    places = {at: fields[0] for at, fields in in_texts.items()}
    labels = [
        _Label(*at, answers)
        for at in free
        if at not in places
        and len(blank.texts[at]) <= _LONGEST
        and not boxes_in(blank.cells, *at)
        and (answers := _answers(blank, at))
    ]
    taken, used = {*places}, {*places}
    for field, pair in ANSWERS.items():
        for beside in _pairs(labels, pair, used):
            cells = _cells_of(blank, beside, taken)
            if cells is not None and not {label.at for label in beside} & used:
                used |= {label.at for label in beside}
                taken |= {*cells}
                places |= {cell: _MARK_OF[answer] for cell, answer in zip(cells, pair, strict=True)}
        given = {*places.values(), *(field for fields in in_texts.values() for field in fields)}
        if field not in given and not given & {_MARK_OF[each] for each in pair}:
            for label, answer in _alone(blank, labels, pair, used):
                cell = _narrow(blank, label, taken)
                if cell is not None:
                    used.add(label.at)
                    taken.add(cell)
                    places[cell] = _MARK_OF[answer]
    found = [(at, field) for at, first in sorted(places.items()) for field in in_texts.get(at, [first])]
    return Marks(tuple(HeadPlace(field, blank.name, *at) for at, field in found), frozenset(used))


def _in_text(blank: Blank, at: Cell) -> list[str]:
    if at in blank.formulas or is_box(blank.cells, *at):
        return []
    return fields_in(blank.cells, *at, before=_in_front(blank, at))


def _in_front(blank: Blank, at: Cell) -> frozenset[str]:
    """What the text at the left of a cell says."""
    texts = [text for (row, column), text in blank.texts.items() if row == at[0] and column < at[1]]
    return words.answers_in(texts[-1]) if texts else frozenset()


def _answers(blank: Blank, at: Cell) -> frozenset[str]:
    """What a label stands for; yes and no stand for what the first text in front of them says is complete or not."""
    found = words.answers_in(blank.texts[at])
    if not found & {"yes", "no"}:
        return found
    row, column = at
    texts = [
        said
        for (other, place), text in sorted(blank.texts.items())
        if other == row and place < column and (said := words.answers_in(text)) and not said & {"yes", "no"}
    ]
    if not texts or "complete" not in texts[-1]:
        return frozenset()
    return frozenset({"complete"} if "yes" in found else {"not complete"})


def _pairs(labels: Sequence[_Label], pair: tuple[str, ...], used: set[Cell]) -> Iterator[tuple[_Label, _Label]]:
    """Labels of both answers near each other, the nearest first."""
    first, second = ([label for label in labels if answer in label.answers and label.at not in used] for answer in pair)
    found = [
        (abs(one.row - two.row), abs(one.column - two.column), one.at, two.at, (one, two))
        for one in first
        for two in second
        if one.at != two.at and abs(one.row - two.row) <= _NEAR
    ]
    yield from (each[-1] for each in sorted(found, key=lambda each: each[:-1]))


def _alone(
    blank: Blank, labels: Sequence[_Label], pair: tuple[str, ...], used: set[Cell]
) -> Iterator[tuple[_Label, str]]:
    """Labels that stand for one answer and nothing else; one word alone ("total") may be said of much on a form."""
    for label in labels:
        several = len(blank.texts[label.at].split()) > 1
        if several and len(label.answers) == 1 and label.at not in used and label.answers <= {*pair}:
            yield label, next(iter(label.answers))


def _cells_of(blank: Blank, labels: Sequence[_Label], taken: set[Cell]) -> tuple[Cell, ...] | None:
    """The cells to tick of two labels, both on the same side: at the side where they are narrower, else below."""
    found: list[tuple[bool, float, int, tuple[Cell, ...]]] = []
    for side in (_left, _right, _below):
        cells = tuple(cell for label in labels if (cell := side(blank, label.at)) is not None and cell not in taken)
        if len({*cells}) == len(labels):
            found.append((side is _below, sum(blank.width(*cell) for cell in cells), len(found), cells))
    return min(found)[-1] if found else None


def _narrow(blank: Blank, label: _Label, taken: set[Cell]) -> Cell | None:
    for side in (_left, _right):
        cell = side(blank, label.at)
        if cell is not None and cell not in taken and (not blank.empty(*cell) or blank.width(*cell) <= _NARROW):
            return cell
    return None


def _left(blank: Blank, at: Cell) -> Cell | None:
    area = blank.area(*at)
    return _to_tick(blank, area.top, area.left - 1) if area.left > 1 else None


def _right(blank: Blank, at: Cell) -> Cell | None:
    area = blank.area(*at)
    return _to_tick(blank, area.top, area.right + 1)


def _below(blank: Blank, at: Cell) -> Cell | None:
    area = blank.area(*at)
    return _to_tick(blank, area.bottom + 1, area.left)


def _to_tick(blank: Blank, row: int, column: int) -> Cell | None:
    """The cell there if it is made to be ticked: empty and drawn or open, a sign of a box alone, or true or false."""
    area = blank.area(row, column)
    at = area.top, area.left
    if at not in blank.formulas and (is_box(blank.cells, *at) or blank.cells.holds_truth(*at)):
        return at
    return at if blank.empty(*at) and blank.waits(*at) else None

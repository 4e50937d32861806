"""Radio buttons drawn above the cells: the buttons of a group share a linked cell, which counts from 1 which of them is
chosen. Each button says besides whether it is (``checked``), which some programs go by and not by the cell: both are
told alike, as a spreadsheet program does when somebody clicks.

Which buttons belong together is told by the frame that they are drawn in (a group box), else by their linked cell,
which the first of them alone may name. That the cell counts them in the order of the markup is from memory of what
spreadsheet programs write, and what LibreOffice shows.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from lxml import etree
from msgspec import Struct

from inspection.layout.layout import ANSWERS, HeadPlace
from inspection.layout.told import Said
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.blank import Blank
from storage.dispatch.customer_form.controls import GROUP_BOX, RADIO, Control, beside, controls_on, is_open
from storage.dispatch.customer_form.form import Workbook, Worksheet
from storage.dispatch.customer_form.references import Area
from storage.intake.heads import plain

_OFFICE = "{urn:schemas-microsoft-com:office:excel}"
#: A heading stands in so many rows above a button, or so many columns in front of it.
_NEAR = 3


class Group(Struct, frozen=True):
    """Radio buttons of which one is chosen: the words over them, those at each, in the order in which they are counted,
    and the cell that holds the number of the chosen one."""

    title: str
    buttons: tuple[str, ...]
    linked: Area | None
    members: tuple[Control, ...] = ()


def radio_groups(book: Workbook, worksheet: Worksheet) -> list[Group]:
    """The groups of radio buttons above a worksheet."""
    controls = controls_on(book, worksheet)
    frames = [each for each in controls if each.kind == GROUP_BOX]
    blank = Blank(book, worksheet)
    found = []
    for frame, members in _together([each for each in controls if each.kind == RADIO], frames):
        said = tuple(each.words or beside(blank, each) for each in members)
        linked = next((each.linked for each in members if each.linked is not None), None)
        title = frame.words if frame is not None and frame.words else _heading(blank, members)
        found.append(Group(title, said, linked, tuple(members)))
    return found


def _together(radios: Sequence[Control], frames: Sequence[Control]) -> list[tuple[Control | None, list[Control]]]:
    found: list[tuple[Control | None, list[Control]]] = []
    for radio in radios:
        frame = next((each for each in frames if _inside(radio, each)), None)
        own = [members for other, members in found if other is frame]
        same = [members for members in own if radio.linked is not None and members[0].linked == radio.linked]
        if same:
            same[0].append(radio)
        elif own and radio.linked is None and not radio.first:
            own[-1].append(radio)
        else:
            found.append((frame, [radio]))
    return found


def _inside(radio: Control, frame: Control) -> bool:
    if radio.corners is None or frame.corners is None:
        return False
    (start, end), (top, bottom) = radio.corners, frame.corners
    row, column = (start.row + end.row) / 2, (start.column + end.column) / 2
    return top.row <= row <= bottom.row and top.column <= column <= bottom.column


def _heading(blank: Blank, members: Sequence[Control]) -> str:
    """The text in front of the first button, or above it: what is asked."""
    corners = members[0].corners
    if corners is None:
        return ""
    row, column = corners[0].row + 1, corners[0].column + 1
    near = [(row, column - at) for at in range(_NEAR + 1)] + [(row - at, column) for at in range(1, _NEAR + 1)]
    own = {each.words for each in members}
    texts = (blank.text(*cell) for cell in near if min(cell) > 0)
    return next((text for text in texts if text and text not in own and not _answers(text)), "")


def _answers(text: str) -> bool:
    return bool(words.answers_in(text) or words.word_of(text))


# --- what they stand for ----------------------------------------------------------------------------------------


def answered_by_buttons(book: Workbook, worksheet: Worksheet) -> Iterator[HeadPlace]:
    """The linked cells of groups whose meaning is known."""
    for group in radio_groups(book, worksheet):
        field = field_of(group)
        if field and group.linked is not None and is_open(book, group.linked):
            yield HeadPlace(field, group.linked.sheet, group.linked.top, group.linked.left)


def field_of(group: Group) -> str:
    """The value of the head that a group asks for; empty where its words do not tell. Accepted or rejected is asked of
    the sheet where the words over the buttons say so, or none stand there: a customer may ask it of its own people."""
    said = [words.answers_in(each) for each in group.buttons]
    for field, pair in ANSWERS.items():
        if all(any(answer in each for each in said) for answer in pair):
            return field
    asked = words.field_of("head", group.title)
    if asked == "article" and all(any(answer in each for each in said) for answer in ("yes", "no")):
        return asked
    if {"in", "mm"} <= {words.unit_in(f"({each})") for each in group.buttons}:
        return "unit"
    if {"conforming", "not conforming"} <= words.words_in(group.buttons).keys() and asked in ("verdict", ""):
        return "verdict" if asked or not group.title else ""
    return ""


def chosen_of(buttons: tuple[str, ...], said: Said) -> int:
    """The number, from 1, of the button that says a value; 0 where none does."""
    for number, each in enumerate(buttons, 1):
        if said.text and (plain(each) == plain(said.text) or words.unit_in(f"({each})") == said.text):
            return number
    found = words.chosen(buttons, said.means)
    return buttons.index(found) + 1 if found is not None else 0


# --- chosen -----------------------------------------------------------------------------------------------------


def parts_of(group: Group) -> set[str]:
    """The parts in which the buttons of a group say whether they are chosen."""
    return {part for each in group.members for part in (each.part, each.shape[0])} - {""}


def show_chosen(book: Workbook, worksheet: Worksheet, numbers: Mapping[tuple[str, int, int], int]) -> None:
    """Let each button above a worksheet say whether it is the one whose number its linked cell was given."""
    for group in radio_groups(book, worksheet):
        at = group.linked
        number = numbers.get((at.sheet.casefold(), at.top, at.left)) if at is not None else None
        for place, each in enumerate(group.members if number else (), 1):
            _say_in_own_part(book, each, place == number)
            _say_in_drawing(book, each, place == number)


def _say_in_own_part(book: Workbook, button: Control, chosen: bool) -> None:
    if button.part and (book.parts.tree(button.part).get("checked") == "Checked") != chosen:
        held = book.parts.change(button.part)
        if chosen:
            held.set("checked", "Checked")
        else:
            del held.attrib["checked"]


def _say_in_drawing(book: Workbook, button: Control, chosen: bool) -> None:
    part, name = button.shape
    shapes = book.parts.tree(part).iter("{urn:schemas-microsoft-com:vml}shape") if part else ()
    data = next((each.find(f"{_OFFICE}ClientData") for each in shapes if each.get("id") == name), None)
    if data is None or (data.findtext(f"{_OFFICE}Checked", "0").strip() == "1") == chosen:
        return
    book.parts.change(part)
    for each in data.findall(f"{_OFFICE}Checked"):
        data.remove(each)
    if chosen:
        etree.SubElement(data, f"{_OFFICE}Checked").text = "1"

"""The keys of the Ledger as one table. Letters go to the find line, so every key here has Alt or Ctrl."""

from __future__ import annotations

from typing import NamedTuple

from app.window.keys import Key
from storage.book.queries.found_sheets import State


class Cut(NamedTuple):
    """What the list is cut down to: sheets in a state, or signed ones by whether they were sent as they stand."""

    state: State | None = None
    sent: bool | None = None


#: What is done in the room; the first stand as buttons above the list, as far as there is room.
KEYS = {
    "open": Key("Ctrl+Return", "ledger.action.open", ("Ctrl+Enter",)),
    "next": Key("Ctrl+N", "ledger.action.next"),
    "sign": Key("Ctrl+G", "ledger.action.sign"),
    "round": Key("Ctrl+R", "ledger.action.round"),
    "desk": Key("Ctrl+D", "ledger.action.desk"),
    "part": Key("Alt+H", "ledger.action.part"),
    "sheet": Key("Alt+S", "ledger.action.sheet"),
    "journal": Key("Alt+J", "ledger.action.journal"),
    "person": Key("Alt+P", "ledger.action.person"),
    "days": Key("Alt+D", "ledger.action.days"),
    "find": Key("Ctrl+F", "ledger.action.find"),
    "on": Key("Alt+PgDown", "ledger.action.on"),
    "up": Key("Alt+PgUp", "ledger.action.up"),
}
BUTTONS = ("open", "next", "sign", "round", "desk", "part", "journal")
#: Actions on one sheet, which need a row.
ON_ONE = ("open", "next", "sign", "round", "desk", "part", "sheet", "journal")
#: Ways of cutting the list down, each with ``Alt+`` and its place.
CUTS = {
    "all": Cut(),
    **{state.value: Cut(state) for state in State},
    "unsent": Cut(sent=False),
    "sent": Cut(sent=True),
}
CUT_KEYS = {name: f"Alt+{place}" for place, name in enumerate(CUTS, 1)}

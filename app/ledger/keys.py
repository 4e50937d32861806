"""The keys of the Ledger as one table. Letters go to the find line, so every key here has Alt or Ctrl."""

from __future__ import annotations

from app.window.keys import Key
from storage.book.queries.found_sheets import State

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
#: Keys that cut the list down to a state; None is all.
STATE_KEYS: dict[State | None, str] = {state: f"Alt+{place}" for place, state in enumerate((None, *State), 1)}

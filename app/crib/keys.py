"""The keys of the crib as one table. Letters go to the search, so every key here has Alt, Ctrl or a function key."""

from __future__ import annotations

from app.window.keys import Key

#: What is done in the room; the first six stand as buttons above the list, as far as there is room.
KEYS = {
    "new": Key("Ctrl+N", "crib.action.new"),
    "edit": Key("F2", "crib.action.edit"),
    "lend": Key("Alt+L", "crib.action.lend"),
    "service": Key("Alt+O", "crib.action.service"),
    "missing": Key("Alt+M", "crib.action.missing"),
    "touched": Key("Alt+S", "crib.action.touched"),
    "copy": Key("Alt+D", "crib.action.copy"),
    "whole": Key("Alt+A", "crib.action.whole"),
    "attach": Key("Alt+F", "crib.action.attach"),
    "save_out": Key("Alt+V", "crib.action.save_out"),
    "take_in": Key("Alt+I", "crib.action.take_in"),
    "export": Key("Alt+X", "crib.action.export"),
    "keep": Key("Ctrl+Return", "crib.action.keep", ("Ctrl+Enter",)),
    "search": Key("Ctrl+F", "crib.action.search"),
    "on": Key("Alt+PgDown", "crib.action.on"),
    "up": Key("Alt+PgUp", "crib.action.up"),
}
BUTTONS = ("new", "edit", "lend", "service", "missing", "touched")
#: Actions on one instrument of the crib, which need a row.
ON_ONE = ("edit", "lend", "service", "missing", "touched", "copy", "attach", "save_out")

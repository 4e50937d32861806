"""The keys of a sheet's record as one table."""

from __future__ import annotations

from app.window.keys import Key

KEYS = {
    "write": Key("Ctrl+S", "record.action.write"),
    "head": Key("Ctrl+H", "record.action.head"),
    "list": Key("Ctrl+L", "record.action.list"),
    "material": Key("Alt+M", "record.action.material"),
    "process": Key("Alt+P", "record.action.process"),
    "test": Key("Alt+T", "record.action.test"),
    "drawing": Key("Alt+D", "record.action.drawing"),
    "attach": Key("Ctrl+T", "record.action.attach"),
    "save_file": Key("Ctrl+Shift+S", "record.action.save_file"),
    "drop_file": Key("Ctrl+Shift+T", "record.action.drop_file"),
}

#: Actions that change the record, and are at rest while it is sealed.
CHANGING = ("write", "material", "process", "test", "drawing", "attach", "drop_file")

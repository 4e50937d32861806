"""The keys of the frame as one table; a room adds its own. No key here is one that an entry field needs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QWidget

#: Rooms by name: key, module and class.
ROOMS = {
    "bench": ("Ctrl+1", "app.bench.room", "BenchRoom"),
    "plan": ("Ctrl+2", "app.plan.room", "PlanRoom"),
    "crib": ("Ctrl+3", "app.crib.room", "CribRoom"),
    "ledger": ("Ctrl+4", "app.ledger.room", "LedgerRoom"),
    "desk": ("Ctrl+5", "app.desk.room", "DeskRoom"),
}


class Key(NamedTuple):
    """One action of the frame: its key, further keys that do the same, the code of its name."""

    key: str
    code: str
    more: tuple[str, ...] = ()


KEYS = {
    "keys": Key("F1", "action.keys"),
    "again": Key("F5", "action.again"),
    "units": Key("F6", "action.units"),
    "theme": Key("F7", "action.theme"),
    "person": Key("F8", "action.person"),
    "new_person": Key("Shift+F8", "action.new_person"),
    "passphrase": Key("Ctrl+F8", "action.passphrase"),
    "new_key": Key("Ctrl+Shift+F8", "action.new_key"),
    "rules": Key("F9", "action.rules"),
    "due": Key("Shift+F9", "action.due"),
    "verify": Key("Ctrl+F9", "action.verify"),
    "starter_crib": Key("Ctrl+Shift+K", "action.starter_crib"),
    "larger": Key("Ctrl++", "action.larger", ("Ctrl+=",)),
    "smaller": Key("Ctrl+-", "action.smaller"),
    "plain_size": Key("Ctrl+0", "action.plain_size"),
    "open_book": Key("Ctrl+O", "action.open_book"),
    "new_book": Key("Ctrl+Shift+N", "action.new_book"),
    "quit": Key("Ctrl+Q", "action.quit"),
}


def make_action(owner: QWidget, key: Key, name: str, do: Callable[[], object]) -> QAction:
    """An action of ``owner`` with its keys and the name people read; it works wherever in the window the focus is."""
    action = QAction(name, owner)
    action.setShortcuts([QKeySequence(each) for each in (key.key, *key.more)])
    action.triggered.connect(do)
    owner.addAction(action)
    return action


def actions_of(owner: QWidget, keys: Mapping[str, Key], does: Mapping[str, Callable[[], object]]) -> dict[str, QAction]:
    """What ``owner`` does, by name, each with its own key and name, in the order of the keys' table; it works where the
    focus is inside."""
    from inspection.words.say import word

    made = {name: make_action(owner, key, word(key.code), does[name]) for name, key in keys.items() if name in does}
    for action in made.values():
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
    return made


def written(actions: list[QAction]) -> tuple[tuple[str, str], ...]:
    """Keys and names, for the list that F1 shows."""
    pairs = ((",  ".join(each.toString() for each in action.shortcuts()), action.text()) for action in actions)
    return tuple(pair for pair in pairs if pair[0])

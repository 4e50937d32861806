"""The keys of the crib as one table. Letters go to the search, so every key here has Alt, Ctrl or a function key."""

from __future__ import annotations

from app.window.keys import Key

#: What is done in the room; some stand as buttons above the list, as far as there is room.
KEYS = {
    "new": Key("Ctrl+N", "crib.action.new"),
    "edit": Key("F2", "crib.action.edit"),
    "lend": Key("Alt+L", "crib.action.lend"),
    "service": Key("Alt+O", "crib.action.service"),
    "check": Key("Alt+K", "crib.action.check"),
    "upset": Key("Alt+U", "crib.action.upset"),
    "study": Key("Alt+T", "crib.action.study"),
    "studies": Key("Ctrl+J", "gauge.action.studies"),
    "missing": Key("Alt+M", "crib.action.missing"),
    "touched": Key("Alt+S", "crib.action.touched"),
    "copy": Key("Alt+D", "crib.action.copy"),
    "whole": Key("Alt+A", "crib.action.whole"),
    "attach": Key("Alt+F", "crib.action.attach"),
    "save_out": Key("Alt+V", "crib.action.save_out"),
    "show_file": Key("Alt+W", "crib.action.show_file"),
    "plotted": Key("Alt+G", "crib.action.plotted"),
    "feel": Key("Alt+H", "crib.action.feel"),
    "out_of_set": Key("Alt+B", "crib.action.out_of_set"),
    "take_in": Key("Alt+I", "crib.action.take_in"),
    "export": Key("Alt+X", "crib.action.export"),
    "keep": Key("Ctrl+Return", "crib.action.keep", ("Ctrl+Enter",)),
    "search": Key("Ctrl+F", "crib.action.search"),
    "on": Key("Alt+PgDown", "crib.action.on"),
    "up": Key("Alt+PgUp", "crib.action.up"),
}
BUTTONS = ("new", "edit", "check", "lend", "service", "missing", "touched")
#: Actions on one instrument of the crib, which need a row.
ON_ONE = (
    "edit", "lend", "service", "check", "upset", "study", "missing", "touched", "copy", "attach", "save_out",
    "show_file", "plotted", "feel", "out_of_set",
)  # fmt: skip
#: What is done in the dialog of a person's own trials; the first five stand as buttons below it.
FEEL_KEYS = {
    "take_away": Key("Ctrl+Z", "feel.action.take_away"),
    "anew": Key("Ctrl+N", "feel.action.anew"),
    "go_on": Key("Ctrl+G", "feel.action.go_on"),
    "close": Key("Esc", "feel.action.close"),
    "forget": Key("Ctrl+Shift+Del", "feel.action.forget"),
    "on": Key("Alt+PgDown", "feel.action.on"),
    "up": Key("Alt+PgUp", "feel.action.up"),
}
FEEL_BUTTONS = ("take_away", "anew", "go_on", "close", "forget")
#: What is done in the dialog of a study on parts; all stand as buttons below it.
STUDY_KEYS = {
    "record": Key("Ctrl+Return", "study.action.record", ("Ctrl+Enter",)),
    "take_back": Key("Ctrl+Z", "study.action.take_back"),
    "set_up": Key("F4", "study.action.set_up"),
    "anew": Key("F5", "study.action.anew"),
    "leave": Key("Esc", "study.action.leave"),
}
STUDY_BUTTONS = ("record", "take_back", "set_up", "anew", "leave")

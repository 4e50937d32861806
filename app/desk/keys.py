"""The keys of the Desk as one table, and its faces by the digit that shows each."""

from __future__ import annotations

from app.window.keys import Key

#: What is looked at, in the order of the strip; ``Alt+`` and the digit shows a face.
FACES = ("record", "pages", "workbook", "table", "data", "sent", "form")

KEYS = {
    "find": Key("Ctrl+F", "desk.action.find"),
    "lacking": Key("Ctrl+M", "desk.action.lacking"),
    **{name: Key(f"Alt+{place}", f"desk.action.{name}") for place, name in enumerate(FACES, start=1)},
    "page_before": Key("PgUp", "desk.action.page_before"),
    "page_after": Key("PgDown", "desk.action.page_after"),
    "page_first": Key("Ctrl+Home", "desk.action.page_first"),
    "page_last": Key("Ctrl+End", "desk.action.page_last"),
    "closer": Key("+", "desk.action.closer", ("=",)),
    "farther": Key("-", "desk.action.farther"),
    "whole": Key("0", "desk.action.whole"),
    "tab_before": Key("Ctrl+PgUp", "desk.action.tab_before"),
    "tab_after": Key("Ctrl+PgDown", "desk.action.tab_after"),
    "paper": Key("Ctrl+P", "desk.action.paper"),
    "signed": Key("Ctrl+U", "desk.action.signed"),
    "sign": Key("Ctrl+G", "desk.action.sign"),
    "stamp_room": Key("Ctrl+Shift+U", "desk.action.stamp_room"),
    "stamp_ask": Key("Ctrl+Y", "desk.action.stamp_ask"),
    "stamp_put": Key("Ctrl+Shift+Y", "desk.action.stamp_put"),
    "anew": Key("Ctrl+R", "desk.action.anew"),
    "export": Key("Ctrl+E", "desk.action.export"),
    "export_all": Key("Ctrl+Shift+E", "desk.action.export_all"),
    "package": Key("Ctrl+Shift+P", "desk.action.package"),
    "again": Key("Ctrl+Shift+R", "desk.action.again"),
    "digest": Key("Ctrl+D", "desk.action.digest"),
    "copy": Key("Ctrl+C", "desk.action.copy"),
    "check": Key("Ctrl+K", "desk.action.check"),
    "bench": Key("Ctrl+Return", "desk.action.bench", ("Ctrl+Enter",)),
}

#: The keys of the customer's form.
FORM_KEYS = {
    "form_open": Key("Ctrl+B", "desk.action.form_open"),
    "form_which": Key("Ctrl+L", "desk.action.form_which"),
    "form_give": Key("Return", "desk.action.form_give", ("Enter", "F2")),
    "form_take": Key("Delete", "desk.action.form_take"),
    "form_settings": Key("Ctrl+T", "desk.action.form_settings"),
    "form_keep": Key("Ctrl+S", "desk.action.form_keep"),
    "form_notes": Key("Ctrl+I", "desk.action.form_notes"),
}

#: Actions that mean something on some faces only.
ON_FACE = {
    "page_before": ("pages",),
    "page_after": ("pages",),
    "page_first": ("pages",),
    "page_last": ("pages",),
    "closer": ("pages",),
    "farther": ("pages",),
    "whole": ("pages",),
    "tab_before": ("workbook", "form"),
    "tab_after": ("workbook", "form"),
    "paper": ("pages", "workbook"),
    "signed": ("pages",),
    "anew": ("pages", "workbook", "table", "data"),
    "digest": ("sent",),
    "copy": ("sent",),
    "again": ("sent",),
}

#: The form that a face shows a file of.
FORM_OF = {"pages": "pdf", "workbook": "xlsx", "table": "csv", "data": "data"}

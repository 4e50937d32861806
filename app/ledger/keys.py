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
    "review": Key("Ctrl+L", "ledger.action.review"),
    "desk": Key("Ctrl+D", "ledger.action.desk"),
    "part": Key("Alt+H", "ledger.action.part"),
    "rows": Key("Alt+R", "ledger.action.rows"),
    "beside": Key("Alt+B", "ledger.action.beside"),
    "trace": Key("Alt+T", "ledger.action.trace"),
    "sheet": Key("Alt+S", "ledger.action.sheet"),
    "journal": Key("Alt+J", "ledger.action.journal"),
    "nonconformances": Key("Alt+N", "ledger.action.nonconformances"),
    "fields": Key("Alt+F", "ledger.action.fields"),
    "find": Key("Ctrl+F", "ledger.action.find"),
    "copy": Key("Ctrl+C", "listing.action.copy"),
    "write": Key("Ctrl+E", "listing.action.write"),
    "on": Key("Alt+PgDown", "ledger.action.on"),
    "up": Key("Alt+PgUp", "ledger.action.up"),
}
BUTTONS = ("open", "sign", "review", "desk", "next", "round", "nonconformances")
#: What looks back, as buttons beside the title.
BACK = ("rows", "beside", "trace", "part", "journal")
#: Actions on one sheet, which need a row.
ON_ONE = ("open", "next", "sign", "round", "review", "desk", "part", "rows", "beside", "sheet", "journal")
#: Ways of cutting the list down, each with ``Alt+`` and its place.
CUTS = {
    "all": Cut(),
    **{state.value: Cut(state) for state in State},
    "unsent": Cut(sent=False),
    "sent": Cut(sent=True),
}
CUT_KEYS = {name: f"Alt+{place}" for place, name in enumerate(CUTS, 1)}

#: The review of one sheet. Its three statements have a key each and no letter: none is made in passing.
REVIEW_KEYS = {
    "answer": Key("Alt+A", "review.action.answer"),
    "unanswered": Key("Alt+U", "review.action.unanswered"),
    "bench": Key("Ctrl+Return", "review.action.bench", ("Ctrl+Enter",)),
    "again": Key("Alt+R", "review.action.again"),
    "return": Key("Alt+B", "review.action.return"),
    "raise": Key("Alt+N", "review.action.raise"),
    "decide": Key("Alt+E", "review.action.decide"),
    "approve": Key("F10", "review.action.approve"),
    "complete": Key("F11", "review.action.complete"),
    "not_complete": Key("Shift+F11", "review.action.not_complete"),
    "release": Key("F12", "review.action.release"),
    "partial": Key("Alt+P", "review.action.partial"),
    "amend": Key("Alt+M", "review.action.amend"),
}
REVIEW_BUTTONS = ("again", "return", "raise", "approve", "complete", "not_complete", "release", "decide")
#: Rows read again, blind.
AGAIN_KEYS = {
    "instrument": Key("Alt+I", "review.action.instrument"),
    "all": Key("Ctrl+A", "review.action.all"),
    "rows": Key("Alt+L", "review.action.rows"),
}
#: Nonconformances across the shop.
ACROSS_KEYS = {
    "review": Key("Ctrl+L", "ledger.action.review"),
    "decide": Key("Alt+E", "review.action.decide"),
    "find": Key("Ctrl+F", "ledger.action.find"),
}
#: The rows of a part in time; the first stand as buttons.
ROWS_BUTTONS = ("time", "spread", "copy", "write", "picture", "whole")
ROWS_KEYS = {
    "time": Key("Alt+1", "ledger.rows.face.time"),
    "spread": Key("Alt+2", "ledger.rows.face.spread"),
    "copy": Key("Ctrl+C", "listing.action.copy"),
    "write": Key("Ctrl+E", "listing.action.write"),
    "picture": Key("Ctrl+Shift+E", "ledger.rows.action.picture"),
    "whole": Key("Alt+W", "ledger.rows.action.whole"),
    "before": Key("Left", "ledger.rows.action.before"),
    "after": Key("Right", "ledger.rows.action.after"),
    "sheet": Key("Ctrl+Return", "ledger.rows.action.sheet", ("Ctrl+Enter",)),
    "waiting": Key("Alt+Q", "ledger.rows.action.waiting"),
    "on": Key("Alt+PgDown", "ledger.action.on"),
    "up": Key("Alt+PgUp", "ledger.action.up"),
}
#: Two sheets of a part side by side; the first stand as buttons.
BESIDE_KEYS = {
    "all": Key("Alt+1", "beside.only.all"),
    "changed": Key("Alt+2", "beside.only.changed"),
    "earlier": Key("Alt+Left", "beside.action.earlier"),
    "later": Key("Alt+Right", "beside.action.later"),
    "other": Key("Alt+O", "beside.action.other"),
    "copy": Key("Ctrl+C", "listing.action.copy"),
    "write": Key("Ctrl+E", "listing.action.write"),
    "open": Key("Ctrl+Return", "ledger.action.open", ("Ctrl+Enter",)),
}
BESIDE_BUTTONS = ("all", "changed", "earlier", "later", "other", "copy", "write")
#: What a found error makes of readings.
TRACE_KEYS = {
    "copy": Key("Ctrl+C", "listing.action.copy"),
    "trace": Key("Alt+T", "ledger.action.trace"),
    "mark": Key("Alt+M", "ledger.action.mark"),
    "write": Key("Alt+W", "ledger.action.write_trace", ("Ctrl+E",)),
    "open": Key("Ctrl+Return", "ledger.action.open", ("Ctrl+Enter",)),
}

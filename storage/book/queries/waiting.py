"""Which cells of these sheets have a slip question that nobody has answered?"""

from __future__ import annotations

import json
from collections.abc import Iterable

from sqlalchemy import Connection

_Cell = tuple[str, str, str]
"""Sheet, characteristic and piece."""

#: Only a sheet that stands with a question is looked through, by its entries: a question and its answers are found by
#: no index of their own. The newest answer holds, for a question can be left open again.
_QUESTIONS = """
    WITH asked(sheet) AS (
        SELECT value FROM json_each(?) WHERE (
            SELECT standing.questions FROM standing WHERE standing.sheet = value ORDER BY standing.sequence DESC LIMIT 1
        ) > 0
    )
    SELECT question.question, question.sheet, question.characteristic, question.piece, answer.question, answer.answer
    FROM asked
    CROSS JOIN journal ON journal.stream = asked.sheet
    LEFT JOIN question ON question.sequence = journal.sequence
    LEFT JOIN answer ON answer.sequence = journal.sequence
    WHERE question.question IS NOT NULL OR answer.question IS NOT NULL
    ORDER BY journal.sequence, answer.place
"""


def waiting_cells(connection: Connection, sheets: Iterable[str]) -> frozenset[_Cell]:
    """The cells of ``sheets`` about which a question waits: never answered, or left open. One statement, none without
    sheets."""
    names = json.dumps(list(sheets))
    cells: dict[str, _Cell] = {}
    waits: set[str] = set()
    if names == "[]":
        return frozenset()
    for name, sheet, row, piece, answered, how in connection.exec_driver_sql(_QUESTIONS, (names,)):
        if name is not None:
            cells[name] = (sheet, row, piece)
            waits.add(name)
        if answered is not None:
            (waits.add if how == "left open" else waits.discard)(answered)
    return frozenset(cells[name] for name in waits)

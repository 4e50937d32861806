"""Which cells of these sheets rest on a reading that a failed check put in question after their sheet was sealed?"""

from __future__ import annotations

import json
from collections.abc import Iterable

from sqlalchemy import Connection

#: A reading is found by the entries of its sheet, which are gone through only where a check put one in question.
_SUSPECT = """
    SELECT reopened_reading.sheet, reading.characteristic, reading.piece, max(reopened_reading.at)
    FROM json_each(?) AS asked
    CROSS JOIN reopened_reading ON reopened_reading.sheet = asked.value
    CROSS JOIN journal ON journal.stream = reopened_reading.sheet
    CROSS JOIN reading ON reading.sequence = journal.sequence AND reading.reading = reopened_reading.reading
    GROUP BY reopened_reading.sheet, reading.characteristic, reading.piece
"""


def put_in_question(connection: Connection, sheets: Iterable[str]) -> dict[tuple[str, str, str], int]:
    """The cells (sheet, characteristic, piece) of ``sheets`` of which a failed check put a reading in question, with
    when (UTC µs) the last one did; what was judged later does not rest on it. One statement."""
    rows = connection.exec_driver_sql(_SUSPECT, (json.dumps(list(sheets)),))
    return {(sheet, row, piece): at for sheet, row, piece, at in rows}

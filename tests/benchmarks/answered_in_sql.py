"""What the program answers when it looks back, answered in SQL alone as one who knows the tables would write it: its
answers are held against these, and the time that they take against theirs."""

from __future__ import annotations

#: What every result of a row came to, in the order measured, but those about which a question waits; with the value
#: that is reckoned with: of several places that which lies nearer to a limit, none where it was held against another
#: size or other limits than the newest issue has. Means of repeats and natural zeros are left out: the books that are
#: asked have none.
_VALUES = """
    newest AS MATERIALIZED (SELECT sequence FROM plan_issue WHERE part = :part ORDER BY issue DESC LIMIT 1),
    found AS (
        SELECT judgement.characteristic, judgement.at, judgement.verdict, piece.serial,
            CASE WHEN was.upper - judgement.largest <= judgement.smallest - was.lower THEN judgement.largest
                ELSE judgement.smallest END - asked.nominal AS value
        FROM judgement
        JOIN piece ON piece.sheet = judgement.sheet AND piece.piece = judgement.piece
        LEFT JOIN reading ON reading.sequence = judgement.sequence
            AND reading.characteristic = judgement.characteristic AND reading.piece = judgement.piece
        LEFT JOIN characteristic AS was ON was.characteristic = judgement.characteristic
            AND was.plan = coalesce(reading.plan, (
                SELECT before.plan FROM judgement AS earlier
                JOIN reading AS before ON before.sequence = earlier.sequence
                    AND before.characteristic = earlier.characteristic AND before.piece = earlier.piece
                WHERE earlier.sheet = judgement.sheet AND earlier.characteristic = judgement.characteristic
                    AND earlier.piece = judgement.piece AND earlier.sequence < judgement.sequence
                ORDER BY earlier.sequence DESC LIMIT 1
            ))
        LEFT JOIN characteristic AS asked
            ON asked.characteristic = judgement.characteristic AND asked.sequence = (SELECT sequence FROM newest)
            AND asked.nominal IS was.nominal AND asked.lower IS was.lower AND asked.upper IS was.upper
        LEFT JOIN question ON question.sequence = judgement.sequence
            AND question.characteristic = judgement.characteristic AND question.piece = judgement.piece
        WHERE {which} AND judgement.verdict <> 'open'
            AND (question.question IS NULL OR 'left open' <> coalesce((
                SELECT answer.answer FROM journal JOIN answer ON answer.sequence = journal.sequence
                WHERE journal.stream = judgement.sheet AND answer.question = question.question
                ORDER BY answer.sequence DESC LIMIT 1
            ), 'left open'))
            AND NOT EXISTS (
                SELECT 1 FROM judgement AS later
                WHERE later.sheet = judgement.sheet AND later.characteristic = judgement.characteristic
                    AND later.piece = judgement.piece AND later.sequence > judgement.sequence
            )
    ),
    moved AS (
        SELECT *, value - lag(value) OVER (PARTITION BY characteristic ORDER BY at, serial) AS step FROM found
    )
"""
#: By row: how many results, how many do not conform, and of the values how many, Σ, Σx² (less the nominal) and the sum
#: of the moving ranges: all that the indices and both charts follow from.
_SUMS = """
    SELECT moved.characteristic, count(*), sum(verdict = 'not conforming'), count(value), sum(value),
        sum(value * value), sum(abs(step)), min(value), max(value)
    FROM moved GROUP BY moved.characteristic
"""
PART = f"""
    WITH {
    _VALUES.format(
        which="judgement.sheet IN (SELECT sheet FROM sheet WHERE part = :part ORDER BY sequence DESC LIMIT 60)"
    )
} {_SUMS}
"""
#: The same of one row, and every result for the table and the chart.
ROW = f"""
    WITH {_VALUES.format(which="judgement.part = :part AND judgement.characteristic = :row")} {_SUMS}
"""
ROW_RESULTS = f"""
    WITH {_VALUES.format(which="judgement.part = :part AND judgement.characteristic = :row")}
    SELECT at, serial, verdict, value, step FROM moved ORDER BY at, serial
"""
#: Every reading with what an error makes of it, the gravest first. As above, without means, and without questions.
TRACE = """
    WITH limits AS MATERIALIZED (
        SELECT characteristic.plan, characteristic.characteristic, characteristic.number, characteristic.written,
            characteristic.lower, characteristic.upper, plan_issue.number AS part
        FROM characteristic JOIN plan_issue ON plan_issue.sequence = characteristic.sequence
    ),
    found AS (
        SELECT reading.reading, reading.sheet, reading.amount, reading.unit, reading.written, reading.taken,
            reading."by", limits.part, limits.number, limits.written AS limits, piece.serial,
            coalesce(doubt.guard, judgement.expanded) AS g,
            min(judgement.smallest - limits.lower, limits.upper - judgement.largest) AS before,
            min(judgement.smallest - limits.lower - :error, limits.upper - judgement.largest + :error) AS after
        FROM reading_instrument
        JOIN reading ON reading.sequence = reading_instrument.sequence AND reading.reading = reading_instrument.reading
        JOIN limits ON limits.plan = reading.plan AND limits.characteristic = reading.characteristic
        JOIN piece ON piece.sheet = reading.sheet AND piece.piece = reading.piece
        JOIN judgement ON judgement.sequence = (
                SELECT max(other.sequence) FROM judgement AS other
                WHERE other.sheet = reading.sheet AND other.characteristic = reading.characteristic
                    AND other.piece = reading.piece
            )
            AND judgement.characteristic = reading.characteristic AND judgement.piece = reading.piece
        LEFT JOIN doubt ON doubt.sequence = judgement.sequence AND doubt.characteristic = judgement.characteristic
            AND doubt.piece = judgement.piece
        WHERE reading_instrument.instrument = :instrument AND reading_instrument.taken > :since
            AND coalesce(
                (SELECT change FROM withdrawal WHERE withdrawal.reading = reading.reading
                 ORDER BY sequence DESC LIMIT 1), 'put back') = 'put back'
        ORDER BY reading_instrument.taken LIMIT :most
    )
    SELECT *, CASE
        WHEN before IS NULL THEN 7
        WHEN after < 0 THEN CASE WHEN before >= 0 THEN 1 ELSE 5 END
        WHEN before < 0 THEN 4
        WHEN after < g THEN 2 ELSE 6 END AS outcome
    FROM found ORDER BY outcome, taken
"""

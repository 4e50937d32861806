"""What follows from events of signing and review: seals, nonconformances, answers, statements, what was sent."""

from __future__ import annotations

from collections.abc import Mapping

from inspection.sheet import events as ev
from storage.book.rows import Row, RowsOf, Where, by


def _sealed(event: ev.SheetSealed, where: Where) -> list[Row]:
    columns = {
        "sheet": where.stream,
        "round": event.round,
        "digest": event.digest,
        "algorithm": event.signature.algorithm,
        "signature": event.signature.value,
        "certificate": event.signature.certificate,
        "incomplete": event.incomplete,
        **by(where),
    }
    return [("seal", columns)]


def _nonconformance(event: ev.NonconformanceRaised | ev.NonconformanceDisposed, where: Where) -> list[Row]:
    held = event.nonconformance
    columns = {
        "sheet": where.stream,
        "part": where.part,
        "nonconformance": held.identity,
        "change": "raised" if held.disposition is None else "decided",
        "number": held.number,
        "piece": held.piece,
        "rows": len(held.rows),
        "what": held.what,
        "disposition": held.disposition.value if held.disposition else "",
        "document": held.leave.document if held.leave else "",
        **by(where),
    }
    return [("nonconformance", columns)]


def _reworked(event: ev.PieceReworked, where: Where) -> list[Row]:
    told = {"sheet": where.stream, "piece": event.piece, "change": "reworked", "round": event.round}
    return [("piece_change", {**told, "nonconformance": event.nonconformance, **by(where)})]


def _left(event: ev.PieceLeft, where: Where) -> list[Row]:
    told = {"sheet": where.stream, "piece": event.piece, "change": event.disposition.value, "round": 0}
    return [("piece_change", {**told, "nonconformance": event.nonconformance, **by(where)})]


def _point(event: ev.PointAnswered, where: Where) -> list[Row]:
    answer = event.answer
    return [("point_answer", {"sheet": where.stream, "point": answer.point, "words": answer.words, **by(where)})]


def _mark(event: ev.SheetMarked | ev.MarkAnswered, where: Where) -> list[Row]:
    mark = event.mark
    columns = {
        "sheet": where.stream,
        "mark": mark.identity,
        "change": "marked" if mark.waits else "answered",
        "instrument": mark.instrument,
        "issue": mark.issue,
        "error": mark.error,
        "size": mark.size,
        "readings": len(mark.readings),
        "words": mark.words if mark.waits else mark.answer,
        **by(where),
    }
    return [("sheet_mark", columns)]


def _again(event: ev.RowReadAgain, where: Where) -> list[Row]:
    reading = event.again.reading
    columns = {
        "sheet": where.stream,
        "reading": reading.identity,
        "characteristic": reading.characteristic,
        "piece": reading.piece,
        "amount": reading.count,
        "written": reading.written,
        "observed": reading.observed.value if reading.observed else "",
        **by(where),
    }
    return [("read_again", columns)]


def _returned(event: ev.SheetReturned, where: Where) -> list[Row]:
    return [
        (
            "sheet_return",
            {
                "sheet": where.stream,
                "characteristic": row.characteristic,
                "piece": row.piece,
                "words": row.words,
                **by(where),
            },
        )
        for row in event.rows
    ]


def _stated(event: ev.StatementSigned, where: Where) -> list[Row]:
    columns = {
        "sheet": where.stream,
        "kind": event.kind.value,
        "round": event.round,
        "digest": event.digest,
        "algorithm": event.signature.algorithm,
        "signature": event.signature.value,
        "certificate": event.signature.certificate,
        **by(where),
    }
    return [("statement", columns)]


def _reopened(event: ev.SheetReopened, where: Where) -> list[Row]:
    return [("reopening", {"sheet": where.stream, "round": event.round, "reason": event.reason, **by(where)})]


def _sent(event: ev.SheetSent, where: Where) -> list[Row]:
    columns = {"sheet": where.stream, "form": event.form, "name": event.name, "digest": event.digest, **by(where)}
    return [("sent", columns)]


def _document(event: ev.DocumentKept, where: Where) -> list[Row]:
    columns = {"round": event.round, "signs": event.signs, "stamped": int(event.stamped)}
    return [("document", {"sheet": where.stream, **columns, **by(where)})]


ROWS: Mapping[type[ev.Event], RowsOf] = {
    ev.SheetSealed: _sealed,
    ev.NonconformanceRaised: _nonconformance,
    ev.NonconformanceDisposed: _nonconformance,
    ev.PieceReworked: _reworked,
    ev.PieceLeft: _left,
    ev.PointAnswered: _point,
    ev.SheetMarked: _mark,
    ev.MarkAnswered: _mark,
    ev.RowReadAgain: _again,
    ev.SheetReturned: _returned,
    ev.StatementSigned: _stated,
    ev.SheetReopened: _reopened,
    ev.SheetSent: _sent,
    ev.DocumentKept: _document,
}
"""The rows of each kind of event."""

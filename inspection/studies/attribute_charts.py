"""The charts of a study by GO and NO-GO: who said what of each part, how each part was judged, how people agree."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from inspection.studies.attribute_agreement import Share
from inspection.studies.conducted import Conducted, good_words
from inspection.studies.gauge_results import by_attributes
from inspection.studies.study_charts import Chart, ChartLine, ChartPoint, Shape

#: Counts of a whole share, and of a row of the board: any number that leaves no step to be seen.
WHOLE = 10**9
_QUARTERS = tuple((WHOLE * n // 4, f"{25 * n} %") for n in range(5))
#: From one person's place to the next, and to the second point of the same one.
_APART, _BESIDE = 16, 2

Named = Callable[[str], str]


def attribute_charts(held: Conducted, names: tuple[str, ...], named: Named) -> tuple[Chart, ...]:
    """A board of what everybody said of every part, each part's share of right judgements (of good ones, where nothing
    is known), and how people agree with themselves and with what is known. ``names`` are the people's, ``named`` puts a
    code into words."""
    return _board(held, names, named), _by_part(held), _by_person(held, names, named)


def _board(held: Conducted, names: tuple[str, ...], named: Named) -> Chart:
    """A column a part, a row each time that somebody went through the parts; what is known stands on top."""
    plan = held.plan
    rows: list[tuple[str, Mapping[int, bool]]] = []
    known = {place: each.good for place, each in enumerate(plan.specimens, 1) if each.good is not None}
    if known:
        rows.append((named("gauge.row.known"), known))
    for person, name in enumerate(names):
        for trial in range(plan.trials):
            rows.append((f"{name} {trial + 1}", dict(_said(held, person, trial))))
    ups = tuple((-row * WHOLE, name) for row, (name, _) in enumerate(rows))
    lines = []
    for good, shape in ((True, Shape.GOOD), (False, Shape.BAD)):
        word = named("gauge.said.good" if good else "gauge.said.bad")
        points = tuple(
            ChartPoint(place, -row * WHOLE, said=f"{name}, {word}")
            for row, (name, of) in enumerate(rows)
            for place, each in of.items()
            if each is good
        )
        lines.append(ChartLine(word, points, joined=False, shape=shape))
    return Chart("board", tuple(lines), ticks=_labels(held), ups=ups)


def _said(held: Conducted, person: int, trial: int) -> Iterator[tuple[int, bool]]:
    for place in range(len(held.plan.specimens)):
        words = good_words(held.cell(person, place))
        if trial < len(words):
            yield place + 1, words[trial] == "good"


def _labels(held: Conducted) -> tuple[tuple[int, str], ...]:
    return tuple((place, each.label) for place, each in enumerate(held.plan.specimens, 1))


def _by_part(held: Conducted) -> Chart:
    """Which parts are judged well: those near a limit are where people and gauge err."""
    plan = held.plan
    known = any(each.good is not None for each in plan.specimens)
    points = []
    for place, specimen in enumerate(plan.specimens):
        words = [word for person in range(len(plan.people)) for word in good_words(held.cell(person, place))]
        if words and (specimen.good is not None or not known):
            right = "bad" if specimen.good is False else "good"
            points.append(_share(place + 1, Share(words.count(right), len(words))))
    line = ChartLine("", tuple(points), joined=False)
    return Chart("detected" if known else "called_good", (line,), ticks=_labels(held), ups=_QUARTERS)


def _by_person(held: Conducted, names: tuple[str, ...], named: Named) -> Chart:
    found = by_attributes(held)
    people = list(enumerate(held.plan.people, 1))
    of = {"alike": found.themselves, "right": {person: each.right for person, each in found.known.items()}}
    lines = tuple(
        ChartLine(
            named(f"gauge.head.{code}"),
            tuple(
                _share(_APART * place + _BESIDE * at, shares[person]) for place, person in people if person in shares
            ),
            joined=False,
        )
        for at, (code, shares) in enumerate(of.items())
        if shares
    )
    ticks = tuple((_APART * place + len(lines) - 1, name) for place, name in enumerate(names, 1))
    return Chart("agreement", lines, ticks=ticks, ups=_QUARTERS)


def _share(x: int, share: Share) -> ChartPoint:
    """A share with the exact interval of where it lies."""
    low, high = share.interval()
    said = f"{share.hits}/{share.n}"
    return ChartPoint(x, round(share.value * WHOLE), (round(low * WHOLE), round(high * WHOLE)), said)

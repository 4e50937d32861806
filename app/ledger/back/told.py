"""A row in time as it is shown: a line of the list, the chart, the page below it, and the table that is copied."""

from __future__ import annotations

from collections.abc import Iterator

from app.jobs import results_told
from app.jobs.results_told import COLUMNS
from app.ledger.back.work import RowLooked
from app.parts.items import Item
from app.parts.marks import Mark, mark_of
from app.parts.paper import Paper
from app.parts.plot import Level, Plot, Point, Stroke
from app.window.theme import Theme
from inspection.sheet.figures import between, limits
from inspection.sheet.state import Shop
from inspection.studies.history import Series, limits_of
from inspection.studies.history_told import INDICES, findings, stated
from inspection.words.say import say, word

#: So many values are shown, the last ones: more do not part on a screen.
MOST_SHOWN = 150


def row_item(series: Series) -> Item:
    """A row as listed: what is known of it in one line."""
    numbers = stated(series)
    ppk = numbers.indices.get("ppk")
    if ppk is not None:
        said = word("ledger.rows.ppk", n=numbers.n, value=ppk.value, low=ppk.low, high=ppk.high)
    elif not numbers.n:
        said = word("ledger.rows.none")
    else:
        said = word("ledger.rows.few" if numbers.lack == "too_few" else "ledger.rows.n", n=numbers.n)
    text = word("ledger.rows.line", number=series.row.number, requirement=series.row.requirement.written)
    mark = Mark.OUT if series.out else Mark.CONFORMING if series.results else Mark.OPEN
    return Item(text, mark, (said,), word("ledger.rows.out", n=series.out) if series.out else "")


# --- the chart ----------------------------------------------------------------------------------------------------


def plot_of(series: Series) -> Plot:
    """The chart of individual values: each with its verdict's mark, limits of the row and of the chart; a circle
    around what lies beyond the chart's."""
    asked, first = series.row.requirement, max(0, len(series.values) - MOST_SHOWN)
    shown = list(zip(range(first, len(series.values)), series.values[first:], series.places[first:], strict=True))
    points = [Point(at + 1, round(value / series.scale), _mark(series, place)) for at, value, place in shown]
    beyond = set(series.chart.beyond) if series.chart is not None else set()
    around = [at for at, _, _ in shown if at in beyond]
    points += [
        Point(at + 1, round(series.values[at] / series.scale), Mark.OPEN, series=ring)
        for ring, at in enumerate(around, 1)
    ]
    days = tuple((at + 1, series.results[place].day) for at, _, place in shown if series.results[place].day)
    met = dict.fromkeys(series.results[place].verdict for _, _, place in shown)
    legend = [(mark_of(verdict), word(f"verdict.{verdict.name.lower()}")) for verdict in met]
    legend += [(Mark.OPEN, word("ledger.rows.beyond"))] if around else []
    least = asked.band or 0
    return Plot(
        tuple(points), tuple(_levels(series)), asked.kind, asked.unit, least=least, ticks=days, legend=tuple(legend)
    )


def _mark(series: Series, place: int) -> Mark:
    return mark_of(series.results[place].verdict)


def _levels(series: Series) -> Iterator[Level]:
    if not series.values:
        return
    lower, upper = limits_of(series.row.requirement)
    if lower is not None:
        yield Level(lower, word("ledger.rows.lower"))
    if upper is not None:
        yield Level(upper, word("ledger.rows.upper"))
    if (chart := series.chart) is not None:
        yield Level(round(chart.mean / series.scale), word("ledger.rows.mean"), Stroke.CENTRE)
        yield Level(round(chart.lower / series.scale), word("ledger.rows.chart_lower"), Stroke.SCATTER)
        yield Level(round(chart.upper / series.scale), word("ledger.rows.chart_upper"), Stroke.SCATTER)


# --- the page -----------------------------------------------------------------------------------------------------


def row_page(series: Series, shop: Shop, theme: Theme) -> str:
    """What a row says, and its figures, as rich text."""
    paper, numbers, asked = Paper(theme), stated(series), series.row.requirement
    about = between(*limits(asked))
    title = word("ledger.rows.line", number=series.row.number, requirement=asked.written)
    people = {one.identity: one.name for one in shop.people.values()}
    said = [say(each) for each in findings(series, people, {name: one.tag for name, one in shop.crib.items()})]
    if len(series.values) > MOST_SHOWN:
        said.append(word("ledger.rows.last", n=MOST_SHOWN))
    indices = (
        (word(f"history.figure.{name}"), f"{one.value}  ({one.low} … {one.high})")
        for name in INDICES
        if (one := numbers.indices.get(name)) is not None
    )
    pairs = (
        (word("history.figure.n"), str(numbers.n)),
        (word("history.figure.mean"), f"{numbers.mean} {numbers.unit}" if numbers.mean else ""),
        (word("history.figure.s"), f"{numbers.deviation} {numbers.unit}" if numbers.deviation else ""),
        *indices,
    )
    head = paper.title(title, (f"{about} {asked.unit}" if about else "",))
    return head + "".join(paper.line(each) for each in said) + paper.facts(pairs)


def row_table(looked: RowLooked, shop: Shop) -> str:
    """All results of a row as lines of cells with tabs between, for a spreadsheet."""
    lines = results_told.told(looked.series, looked.plans, shop)
    rows = [[word(f"history.head.{name}") for name in COLUMNS], *([line[name] for name in COLUMNS] for line in lines)]
    return "".join("\t".join(row) + "\n" for row in rows)

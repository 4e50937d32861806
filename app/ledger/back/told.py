"""A row in time as it is shown: a line of the list, the page below the chart, one result, the list that goes out."""

from __future__ import annotations

from collections.abc import Iterator

from app.ledger.back.charts import MOST_SHOWN
from app.ledger.back.work import RowLooked
from app.parts.items import Item
from app.parts.marks import Mark
from app.parts.paper import Paper
from app.window.theme import Theme
from inspection.sheet.figures import between, limits
from inspection.studies.history import Series
from inspection.studies.history_told import StatedSeries, stated
from inspection.words.say import say, word


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
    if series.waiting:
        mark = Mark.OUT if series.out else Mark.QUESTION
        said += word("ledger.rows.waiting", n=len(series.waiting))
    return Item(text, mark, (said,), word("ledger.rows.out", n=series.out) if series.out else "")


# --- the page -----------------------------------------------------------------------------------------------------


def row_page(looked: RowLooked, theme: Theme) -> str:
    """What a row says, and its figures, as rich text."""
    paper, series = Paper(theme), looked.series
    numbers, asked = stated(series), series.row.requirement
    about = between(*limits(asked))
    title = word("ledger.rows.line", number=series.row.number, requirement=asked.written)
    said = [say(each) for each in looked.told.findings]
    if series.waiting:
        at = [each.code for each in looked.told.findings].index("history.found.waiting")
        said[at] += " " + word("ledger.rows.waiting.key")
    if len(series.results) > MOST_SHOWN:
        said.append(word("ledger.rows.last", n=MOST_SHOWN))
    if looked.told.normal:
        said.append(word("ledger.rows.curve"))
    head = paper.title(title, (f"{about} {asked.unit}" if about else "",))
    return "".join((head, _figures(paper, numbers), *map(paper.line, said), *_groups(paper, looked)))


def _figures(paper: Paper, numbers: StatedSeries) -> str:
    """n, mean, s and the indices side by side, below each index its interval."""
    if not numbers.n:
        return ""
    texts = [("n", str(numbers.n), ""), ("mean", numbers.mean, ""), ("s", numbers.deviation, "")]
    texts += [(name, one.value, f"{one.low} … {one.high}") for name, one in numbers.indices.items()]
    held = [each for each in texts if each[1]]
    rows = [[(text, "ink") for _, text, _ in held]]
    if numbers.indices:
        rows.append([(text, "quiet") for _, _, text in held])
    told = paper.table([word(f"history.head.{name}") for name, _, _ in held], rows)
    return told + (paper.line(word("ledger.rows.indices"), "quiet") if numbers.indices else "")


def _groups(paper: Paper, looked: RowLooked) -> Iterator[str]:
    """What each person read, and what was read with each instrument, the smallest mean first."""
    heads = [word(f"history.head.{name}") for name in ("n", "mean", "s")]
    for what, groups in looked.told.groups.items():
        if groups:
            texts = ((each.name, str(each.n), each.mean, each.deviation) for each in groups)
            rows = [[(text, "ink") for text in row] for row in texts]
            yield paper.section("") + paper.table([word(f"history.groups.{what}"), *heads], rows)


def point_line(looked: RowLooked, place: int, at: int, of: int) -> str:
    """One result in a line: which of how many, and what is known of it."""
    line = looked.told.lines[place]
    unit = (looked.series.then[place] or looked.series.row).requirement.unit
    told = (
        word("ledger.rows.point", n=at, of=of),
        line["day"],
        line["serial"],
        f"{line['result']} {unit}",
        word("ledger.rows.point.limits", text=line["limits"]) if line["limits"] else "",
        line["came_to"],
        line["by"],
        line["instrument"],
        word("ledger.rows.point.u", text=line["u"]) if line["u"] else "",
        word("ledger.rows.revision", revision=line["revision"]) if line["revision"] else "",
    )
    return "   ".join(each.replace(" ", "\u00a0") for each in told if each)

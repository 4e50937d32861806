"""Why an instrument and not another, how far it can be trusted line by line, and what would help: as the dialog of W
tells it, and as plain text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from app.bench import showing
from app.bench.helped import Helped, helped
from app.bench.line import is_blind
from app.bench.result_told import Found, found_of
from app.bench.seen import Seen
from app.bench.under_way import At
from inspection.instruments.method import Assessment
from inspection.measuring.bias_stated import StatedCorrection
from inspection.measuring.verdict import Judgement, Verdict
from inspection.sheet.report import Budget, BudgetLine
from inspection.sheet.report_budgets import printed_budget
from inspection.words.say import say, word
from storage.book.clock import Moment

#: The columns of a budget in the order of JCGM 100, by the names that their heads have in the catalogue.
COLUMNS = (
    "what", "estimate", "distribution", "divisor", "standard", "sensitivity", "freedom", "contribution", "share",
)  # fmt: skip


class WhyTold(NamedTuple):
    """What is told of a row: heading, what it came to, how its instrument stands, known errors, what would help, every
    other method with what stands against it, and the budget with what it is of, or why there is none."""

    title: str
    instrument: str = ""
    found: Found = Found()
    standing: tuple[str, ...] = ()
    corrections: tuple[str, ...] = ()
    helps: tuple[str, ...] = ()
    others: tuple[tuple[str, str], ...] = ()
    of_what: str = ""
    budget: Budget | None = None
    lacks: tuple[str, ...] = ()


def why_of(seen: Seen, at: At, units: str, now: Moment) -> WhyTold:
    """What is told of the row at hand. Of one that is read blind only which instruments there are: all else would tell
    its band."""
    row = seen.row(at.row)
    others = showing.others_of(seen, at, units)
    chosen = showing.chosen_of(seen, at, units)
    if is_blind(seen, at.cell):
        title = word("bench.why.title", number=row.number, requirement=word("bench.blind.limits"))
        return WhyTold(title, chosen.name, others=others, lacks=(word("bench.blind.limits"),))
    found, judgement = helped(seen, at.cell, now), seen.sheet.judgement(*at.cell)
    told = found.told
    budget, of_what = _budget(found, judgement)
    corrections = judgement.corrections if judgement.budget is not None else told.corrections if told else ()
    return WhyTold(
        word("bench.why.title", number=row.number, requirement=row.requirement.written),
        chosen.name,
        found_of(seen, at.cell, units),
        (*_standing(told.assessment if told else None, units), *filter(None, (chosen.more,))),
        tuple(_corrections(corrections, units)),
        tuple(_helps(found, judgement, units)),
        others,
        of_what,
        budget,
        tuple(say(reason, units) for reason in told.why) if told is not None and budget is None else (),
    )


def _budget(found: Helped, judgement: Judgement) -> tuple[Budget | None, str]:
    """The budget that the verdict rests on, or before there is one that of a reading taken now."""
    if judgement.budget is not None and judgement.verdict is not Verdict.OPEN:
        return printed_budget(judgement.budget), word("bench.budget.of_verdict")
    if found.told is not None and found.told.budget is not None:
        return printed_budget(found.told.budget), word("bench.budget.of_reading")
    return None, ""


def _standing(assessment: Assessment | None, units: str) -> Iterator[str]:
    """Every ratio against what is needed, and the checks that do not hold."""
    if assessment is None:
        return
    for ratio in assessment.ratios:
        code = "help.ratio.holds" if ratio.holds else "help.ratio.short"
        yield word(code, ratio=ratio.name, got=ratio.got, needed=ratio.needed)
    for check in assessment.checks:
        if not check.holds:
            yield say(check.reason, units)


def _corrections(corrections: tuple[StatedCorrection, ...], units: str) -> Iterator[str]:
    """What is done about each error that was found; one of nothing is none."""
    yield from (say(each.reason, units) for each in corrections if each.amount)


def _helps(found: Helped, judgement: Judgement, units: str) -> Iterator[str]:
    """Remedies with the check that each mends and the ratio it then comes to; what repeats would do about a doubt."""
    if found.doubt is not None:
        yield say(found.doubt, units)
    elif judgement.only_unproven:
        yield word("bench.help.check")
    for each in found.remedies:
        yield word("help.remedy", check=each.check.value, what=say(each.reason, units), ratio=each.ratio)
    ratios = found.told.assessment.ratios if found.told is not None else ()
    if not found.remedies and any(not ratio.holds for ratio in ratios):
        yield word("help.no_remedy")


# --- the budget -------------------------------------------------------------------------------------------------------


def cells_of(line: BudgetLine, budget: Budget) -> tuple[str, ...]:
    """A line of the budget in the order of the columns."""
    return (
        line.part,
        line.estimate,
        line.distribution,
        line.divisor,
        " ".join(filter(None, (line.standard, line.unit))),
        " ".join(filter(None, (line.sensitivity, line.sensitivity_unit))),
        line.freedom,
        f"{line.contribution} {budget.unit}",
        f"{line.share} %",
    )


def sums_of(budget: Budget) -> tuple[str, ...]:
    """u_c, ν_eff, k and U, and what of known errors is in U."""
    sums = word(
        "help.sum",
        u=f"{budget.combined} {budget.unit}",
        freedom=budget.freedom,
        k=budget.factor,
        p=budget.confidence,
        U=f"{budget.expanded} {budget.unit}",
    )
    left = f"{budget.uncorrected} {budget.unit}" if budget.uncorrected else ""
    return (sums, word("help.uncorrected", C=left)) if left else (sums,)


# --- plain text -------------------------------------------------------------------------------------------------------


def text_of(told: WhyTold) -> str:
    """Everything as plain text; the cells of the budget are parted by tabs, as a spreadsheet takes them, and none
    becomes a formula there."""
    parts = [told.title, told.instrument, " · ".join(told.found.figures), told.found.sentence, *told.standing]
    for heading, lines in (("help.corrections", told.corrections), ("help.remedies", told.helps)):
        parts += ["", word(heading), *lines] if lines else []
    if told.budget is not None:
        parts += ["", told.of_what, "\t".join(word(f"help.column.{column}") for column in COLUMNS)]
        parts += ["\t".join(cells_of(line, told.budget)) for line in told.budget.lines]
        parts += ["", *sums_of(told.budget)]
    else:
        parts += ["", *told.lacks] if told.lacks else []
    if told.others:
        parts += ["", word("bench.others"), *("\t".join(filter(None, each)) for each in told.others)]
    kept = (part for place, part in enumerate(parts) if part or parts[place - 1])
    from storage.csv_cells import guarded

    return "\n".join("\t".join(map(guarded, part.split("\t"))) for part in kept)

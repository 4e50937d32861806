"""The doubt of a result as it goes out: U, guard band and acceptance limits, probability, and what was corrected."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec.structs import replace

from inspection.drawing.requirement import Requirement
from inspection.measuring.bias import Handling
from inspection.measuring.bias_stated import StatedCorrection
from inspection.measuring.guard import RuleKind, per_cent
from inspection.measuring.verdict import Judgement
from inspection.reasons import Reason
from inspection.sheet import figures
from inspection.sheet.figures import NO_ACCEPTANCE, Acceptance
from inspection.sheet.report import Result
from inspection.sheet.teller import Teller

#: Reasons that tell a probability, and what is said where the customer is not shown one.
_UNPRINTED = {
    "doubt.probability.between": "report.probability_between",
    "judge.improbable": "report.probability_small",
}


def acceptance_of(requirement: Requirement, judgement: Judgement) -> Acceptance:
    """The acceptance limits that a guarded verdict was found by; none under any other rule."""
    guarded = judgement.rule == RuleKind.GUARDED.value
    if not guarded or judgement.guard is None or judgement.budget is None:
        return NO_ACCEPTANCE
    expanded = judgement.budget.expanded
    return figures.acceptance(requirement, judgement.guard, expanded, judgement.results, judgement.of)


def taken_off(judgement: Judgement) -> tuple[StatedCorrection, ...]:
    """The known errors that were taken off the reading."""
    return tuple(each for each in judgement.corrections if each.handling == Handling.CORRECTED.value and each.amount)


def is_computed(judgement: Judgement, repeats: int) -> bool:
    """Whether the result is more than a reading: a mean, or one with known errors taken off."""
    return bool(judgement.results) and (repeats > 1 or bool(taken_off(judgement)))


def result_texts(requirement: Requirement, judgement: Judgement, accepted: Acceptance) -> tuple[str, ...]:
    """The results of a computed verdict to the place of their uncertainty."""
    return tuple(
        figures.computed(total, requirement, judgement.expanded, judgement.of, accepted) for total in judgement.results
    )


def reasons_of(teller: Teller, judgement: Judgement) -> tuple[str, ...]:
    """Why a cell came to its verdict, without a probability where the customer is not shown one."""
    printed = teller.sheet.rules.decision.printed
    return tuple(teller.say(reason if printed else _unprinted(reason)) for reason in judgement.reasons)


def _unprinted(reason: Reason) -> Reason:
    code = _UNPRINTED.get(reason.code)
    return Reason(code, {name: part for name, part in reason.parts.items() if name != "got"}) if code else reason


def with_doubt(
    teller: Teller,
    result: Result,
    requirement: Requirement,
    judgement: Judgement,
    accepted: Acceptance,
    read: Sequence[str],
    budget: str,
) -> Result:
    """A result with all that was computed of it; ``read`` are its texts before known errors were taken off. One that
    rests on no budget stays as it is."""
    stated = judgement.budget
    if stated is None or not judgement.results:
        return result
    off = taken_off(judgement)
    left = tuple(each for each in judgement.corrections if each.amount and each not in off)
    told = (_corrected(teller, requirement, read, result.numbers, off),) if off else ()
    return replace(
        result,
        read=tuple(read) if off else (),
        expanded=figures.uncertainty(stated.expanded, stated.unit),
        guard=accepted.guard,
        accept_lower=accepted.lower,
        accept_upper=accepted.upper,
        probability=per_cent(judgement.probability) if judgement.probability and _shown(teller) else "",
        corrections=(*told, *(teller.say(each.reason) for each in left)),
        budget=budget,
    )


def _shown(teller: Teller) -> bool:
    return teller.sheet.rules.decision.printed


# --- corrections ----------------------------------------------------------------------------------------------------


def _corrected(
    teller: Teller,
    requirement: Requirement,
    read: Sequence[str],
    numbers: Sequence[str],
    off: Sequence[StatedCorrection],
) -> str:
    """What was read, what was made of it, and by what: read 1.0002, corrected 1.0001: temperature −0.0001."""
    told = teller.word("report.corrected", read=_span(read), result=_span(numbers))
    return teller.word("report.corrected_by", told=told, causes=_causes(teller, requirement, numbers, off))


def _span(texts: Sequence[str]) -> str:
    """One number, or smallest and largest."""
    return " … ".join(texts)


def _causes(teller: Teller, requirement: Requirement, numbers: Sequence[str], off: Iterable[StatedCorrection]) -> str:
    """Each known error with what was added for it, to the last place of the result and as far as its first digit."""
    decimals = max(len(number.partition(".")[2]) for number in numbers)
    return ", ".join(
        f"{_cause(teller, each.reason)} {figures.signed(each.amount, requirement, decimals)}" for each in off
    )


def _cause(teller: Teller, reason: Reason) -> str:
    """What an error comes from, without its amount: "doubt.zero.corrected" is told by "report.cause.zero"."""
    return teller.say(Reason(f"report.cause.{reason.code.split('.')[1]}", reason.parts))


def corrections_of(
    teller: Teller, requirement: Requirement, results: Sequence[tuple[Result, Judgement]]
) -> Iterator[str]:
    """What was taken off the results of a row: those with the same corrections together, each by its piece."""
    groups: dict[str, list[Result]] = {}
    for result, judgement in results:
        if result.read:
            causes = _causes(teller, requirement, result.numbers, taken_off(judgement))
            groups.setdefault(causes, []).append(result)
    for causes, of in groups.items():
        told = (
            teller.word("report.corrected_of", serial=each.serial, read=_span(each.read), result=_span(each.numbers))
            for each in of
        )
        yield teller.word("report.corrected_by", told="; ".join(told), causes=causes)

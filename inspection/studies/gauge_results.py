"""What a conducted gauge study comes to: crossed, on standards, or by attributes; None while readings are missing."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from inspection.studies.attribute_agreement import AgainstKnown, Kappa, Share, against_known, of_many
from inspection.studies.conducted import Conducted, StudyKind, good_words
from inspection.studies.gauge_study import Study, study
from inspection.studies.sample import sample_of
from inspection.studies.standard_study import Bias, Line, Linearity, bias_of, line_through, linearity_of

#: Microseconds of a day.
_DAY = 86_400_000_000


def crossed_of(held: Conducted) -> Study:
    """The readings of a complete study of parts as they are reckoned. Raises Refused while any is missing."""
    plan = held.plan
    return study(plan.people, [each.label for each in plan.specimens], held.counts())


class OnStandards(Struct, frozen=True):
    """One instrument on standards: the bias at each (by label), how bias goes with size (None under two sizes), and
    how it goes with time, in counts per day (None where all was read within a day)."""

    biases: Mapping[str, Bias]
    linearity: Linearity | None
    drift: Line | None


def on_standards(held: Conducted) -> OnStandards:
    """A study on standards as far as it was read."""
    plan = held.plan
    biases: dict[str, Bias] = {}
    by_size: dict[int, list[int]] = {}
    in_time: list[tuple[int, int]] = []
    for place, specimen in enumerate(plan.specimens):
        readings = [each for each in held.of_specimen(place) if each.quantity is not None]
        counts = [each.quantity.count for each in readings if each.quantity is not None]
        found = bias_of(counts, specimen.size, Fraction(specimen.within, 2))
        if found is not None:
            biases[specimen.label] = found
        by_size.setdefault(specimen.size, []).extend(counts)
        in_time += [(each.at, count - specimen.size) for each, count in zip(readings, counts, strict=True)]
    span = max((at for at, _ in in_time), default=0) - min((at for at, _ in in_time), default=0)
    linearity = linearity_of(by_size) if len(by_size) > 1 else None
    return OnStandards(biases, linearity, line_through(in_time) if span >= _DAY else None)


class ByAttributes(Struct, frozen=True):
    """Parts by a go/no-go gauge: how each person agrees with themselves (parts judged alike every time), everybody with
    everybody, and each with what is known (None where nothing is). People by identity."""

    themselves: Mapping[str, Share]
    together: Share
    kappa: Kappa
    known: Mapping[str, AgainstKnown]


def by_attributes(held: Conducted) -> ByAttributes:
    """A complete attribute study."""
    plan = held.plan
    said = {
        person: [good_words(held.cell(place, specimen)) for specimen in range(len(plan.specimens))]
        for place, person in enumerate(plan.people)
    }
    n = len(plan.specimens)
    every = [tuple(word for person in plan.people for word in said[person][place]) for place in range(n)]
    truth = [(place, each.good) for place, each in enumerate(plan.specimens) if each.good is not None]
    known = {
        person: against_known(
            [said[person][place] for place, _ in truth], ["good" if good else "bad" for _, good in truth], "good"
        )
        for person in plan.people
        if truth
    }
    return ByAttributes(
        {person: Share(sum(len(set(each)) == 1 for each in words), n) for person, words in said.items()},
        Share(sum(len(set(each)) == 1 for each in every), n),
        of_many(every),
        known,
    )


def mean_of(held: Conducted, specimen: int, person: int | None = None) -> Fraction | None:
    """The mean of what was read of a specimen, by a person or by everybody; None where nothing was."""
    readings = held.of_specimen(specimen) if person is None else held.cell(person, specimen)
    counts = [each.quantity.count for each in readings if each.quantity is not None]
    return sample_of(counts).mean if counts else None


def has_result(held: Conducted) -> bool:
    """Whether there is anything to be told: standards as soon as they were read, the others when complete."""
    return bool(held.standing) if held.plan.kind is StudyKind.STANDARDS else held.is_complete

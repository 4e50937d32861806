"""A gauge study as it is conducted at the Bench: planned, read blind in an order given beforehand, and what it came to.

Everybody reads every part equally often, in rounds: all parts once, in an order of one's own, then all of them again.
The order comes from the digest of the study's identity, so that anybody can work it out again and nobody chose it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from hashlib import sha256

from msgspec import Struct
from msgspec.structs import replace

from inspection.measuring.checks import Configuration
from inspection.quantity.units import Quantity
from inspection.reasons import Reason

#: More readings nobody takes for one study; a further one begins.
MOST_RUNS = 2_000


class StudyKind(StrEnum):
    """What is studied."""

    CROSSED = "crossed"  # people × parts × trials
    STANDARDS = "standards"  # one instrument on standards of known size
    ATTRIBUTE = "attribute"  # parts by a go/no-go gauge


class Specimen(Struct, frozen=True):
    """What is read, by the ``label`` that it carries. A standard's ``size`` and the expanded uncertainty ``within``
    (k = 2) of it in counts; ``good`` is what a part of an attribute study is known to be, None if that is not known."""

    label: str
    size: int = 0
    within: int = 0
    good: bool | None = None


class Run(Struct, frozen=True):
    """One reading to be taken: whose (place among the people), of what (place among the specimens), for the how
    manieth time, counted from 0."""

    person: int
    specimen: int
    trial: int


class StudyPlan(Struct, frozen=True):
    """A study as it was started. ``people`` are identities; ``band`` T (counts) is what it is held against, 0 for none;
    ``part``, ``characteristic`` and ``number`` say of what row, where it is of one. ``runs`` are in the order read."""

    identity: str
    kind: StudyKind
    title: str
    instrument: str
    issue: int
    configuration: Configuration
    people: tuple[str, ...]
    specimens: tuple[Specimen, ...]
    trials: int
    runs: tuple[Run, ...]
    by: str
    at: int
    band: int = 0
    part: str = ""
    characteristic: str = ""
    number: str = ""


def in_random_order(identity: str, people: int, specimens: int, trials: int) -> tuple[Run, ...]:
    """The runs of everybody, person by person and round by round, each round in an order drawn from the digest of the
    ``identity``: by the SHA-256 of "identity/person/trial/specimen". A part that would be read twice running, where two
    rounds meet, changes places with the next one.

    >>> [run.specimen for run in in_random_order("study", 1, 4, 2)]
    [3, 0, 2, 1, 2, 0, 1, 3]
    """
    return tuple(run for person in range(people) for run in _of_person(identity, person, specimens, trials))


def _of_person(identity: str, person: int, specimens: int, trials: int) -> Iterator[Run]:
    last = -1
    for trial in range(trials):
        drawn = sorted(range(specimens), key=lambda each: _drawn(identity, person, trial, each))
        if len(drawn) > 1 and drawn[0] == last:
            drawn[0], drawn[1] = drawn[1], drawn[0]
        last = drawn[-1]
        yield from (Run(person, each, trial) for each in drawn)


def _drawn(identity: str, *place: int) -> str:
    return sha256("/".join((identity, *map(str, place))).encode()).hexdigest()


class StudyReading(Struct, frozen=True):
    """One reading of a study as it was kept. ``quantity`` is what was read; of a go/no-go gauge ``observed`` is what
    entered, "EN" where GO did and NO-GO did not. ``question`` is what it looks like beside the others of its part."""

    identity: str
    run: int
    by: str
    at: int
    quantity: Quantity | None = None
    observed: str = ""
    replaces: str = ""
    reason: str = ""
    answers: str = ""
    question: Reason | None = None

    @property
    def written(self) -> str:
        """As it was written."""
        return self.quantity.written if self.quantity is not None else self.observed


class Ended(Struct, frozen=True):
    """A study was given up, by whom, when, and why."""

    by: str
    at: int
    reason: str


class Conducted(Struct, frozen=True):
    """A study as it stands: every reading by identity, the one that counts of each run, the questions answered."""

    plan: StudyPlan
    readings: Mapping[str, StudyReading] = {}
    standing: Mapping[int, str] = {}
    answered: frozenset[str] = frozenset()
    ended: Ended | None = None

    @property
    def is_complete(self) -> bool:
        """Whether every run was read, and no question waits."""
        return len(self.standing) == len(self.plan.runs) and not any(map(self.waits, self.readings))

    @property
    def is_told(self) -> bool:
        """Whether what was read may be shown: nobody reads blind any more."""
        return self.is_complete or self.ended is not None

    def corrected(self) -> tuple[int, int]:
        """How many readings were corrected with a reason, and how many of those once everything had been read."""
        first: dict[int, int] = {}
        for each in self.readings.values():
            first.setdefault(each.run, each.at)
        late = max(first.values(), default=0) if len(first) == len(self.plan.runs) else None
        anew = [each for each in self.readings.values() if each.replaces]
        return len(anew), sum(late is not None and each.at > late for each in anew)

    def waits(self, reading: str) -> bool:
        """Whether the question asked about a reading waits for an answer."""
        held = self.readings.get(reading)
        return held is not None and held.question is not None and reading not in self.answered

    def waiting(self, person: str) -> StudyReading | None:
        """The reading of a person's that a question waits about; None if none does."""
        return next((each for each in self.readings.values() if each.by == person and self.waits(each.identity)), None)

    def runs_of(self, person: str) -> tuple[int, ...]:
        """A person's runs in their order, by their place; none for somebody who takes no part."""
        if person not in self.plan.people:
            return ()
        place = self.plan.people.index(person)
        return tuple(n for n, run in enumerate(self.plan.runs) if run.person == place)

    def next_run(self, person: str) -> int | None:
        """The run that a person reads next; None where nothing is left for them, or the study was given up."""
        if self.ended is not None:
            return None
        return next((run for run in self.runs_of(person) if run not in self.standing), None)

    def read(self, run: int) -> StudyReading | None:
        """The reading that counts of a run."""
        name = self.standing.get(run)
        return None if name is None else self.readings[name]

    def of_specimen(self, specimen: int) -> tuple[StudyReading, ...]:
        """The readings of one specimen that count, in the order of the runs."""
        runs = (n for n, run in enumerate(self.plan.runs) if run.specimen == specimen)
        return tuple(each for run in runs if (each := self.read(run)) is not None)

    def cell(self, person: int, specimen: int) -> tuple[StudyReading, ...]:
        """What one person read of one specimen, by trial."""
        runs = self.plan.runs
        mine = sorted((run.trial, n) for n, run in enumerate(runs) if (run.person, run.specimen) == (person, specimen))
        return tuple(each for _, n in mine if (each := self.read(n)) is not None)

    def counts(self) -> tuple[tuple[tuple[int, ...], ...], ...]:
        """``[person][specimen][trial]`` in counts."""
        return tuple(
            tuple(
                tuple(each.quantity.count for each in self.cell(person, specimen) if each.quantity is not None)
                for specimen in range(len(self.plan.specimens))
            )
            for person in range(len(self.plan.people))
        )

    def with_reading(self, reading: StudyReading) -> Conducted:
        """With a further reading, which counts from now on."""
        answered = {name for name in (reading.answers, reading.replaces) if name}
        return replace(
            self,
            readings={**self.readings, reading.identity: reading},
            standing={**self.standing, reading.run: reading.identity},
            answered=self.answered | answered,
        )

    def with_answer(self, reading: str) -> Conducted:
        """With the question about a reading answered: it stands as written."""
        return replace(self, answered=self.answered | {reading})


def same_title(one: str, other: str) -> bool:
    """Whether people would take two titles for one.

    >>> same_title("Hub, May ", "hub,  may")
    True
    """
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def said_good(observed: str) -> bool:
    """What a go/no-go gauge says: GO enters and NO-GO does not.

    >>> said_good("EN"), said_good("EE"), said_good("N")
    (True, False, False)
    """
    return observed == "EN"


#: What may be observed: GO enters or does not, then NO-GO.
OBSERVED = ("EN", "EE", "N")


def observed_in(text: str) -> str:
    """What was typed of a go/no-go gauge, "" where it is none of the three: E N, E E, or N alone.

    >>> observed_in("e n"), observed_in("N n"), observed_in("pass")
    ('EN', 'N', '')
    """
    letters = "".join(text.upper().split())
    letters = "N" if letters == "NN" else letters
    return letters if letters in OBSERVED else ""


def labels_twice(labels: Sequence[str]) -> tuple[str, ...]:
    """The labels that are used more than once."""
    return tuple(dict.fromkeys(each for each in labels if labels.count(each) > 1))


def good_words(readings: Iterable[StudyReading]) -> tuple[str, ...]:
    """What a go/no-go gauge said each time: "good" or "bad"."""
    return tuple("good" if said_good(each.observed) else "bad" for each in readings)

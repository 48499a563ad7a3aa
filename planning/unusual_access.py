"""
Which looks at records the owner asks about.

Each finding is a question and no accusation: there is mostly a good answer, and it is the owner who
asks it. So a rule leaves out whoever has a visible reason: who treats the patient, who is at work,
who is only on their way in or out. All thresholds are the clinic's own; common practice, no source.

A finding's `key` is the same however often and from wherever one looks, so none is kept twice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from planning.names import fold
from planning.vocabulary import Term

HOUR = timedelta(hours=1)
# So many records and entries a finding names; the trail has all of them.
NAMED = 200


class Question(Term):
    """What the owner asks about."""

    MANY = "many", "Many records in an hour"
    HOURS = "hours", "Outside of working hours"
    OWN = "own", "One’s own record"
    COLLEAGUE = "colleague", "A colleague’s record"
    FAMILY = "family", "Same family name or address"
    NO_REASON = "no_reason", "No visit or task near that day"


@dataclass(frozen=True, slots=True)
class Access:
    """
    One time that a person opened, printed or exported something of a patient's record.

    Attributes:
        position: of the entry in the audit trail.
        at: by the clinic's clock.
        person, patient: their numbers.
    """

    position: int
    at: datetime
    person: int
    patient: int


@dataclass(frozen=True, slots=True)
class Finding:
    """
    Attributes:
        patient: None where it is about many records.
        reason: a sentence without a patient's name.
        records: the patients, each once, the first `NAMED` of `count`.
        first, last: entries of the audit trail.
    """

    question: Question
    person: int
    patient: int | None
    day: date
    key: str
    reason: str
    count: int
    entries: int
    records: tuple[int, ...]
    first: int
    last: int
    begins: datetime
    ends: datetime


@dataclass(frozen=True, slots=True)
class WorkDay:
    """From when to when a person was at work, breaks included."""

    starts: datetime
    ends: datetime


@dataclass(frozen=True, slots=True)
class PatientFacts:
    """
    Attributes:
        staff: the member of staff whom the clinic knows this patient to be.
        namesakes: members of staff of the same name, of whom nobody has said yet.
    """

    name: str
    address: str = ""
    staff: int | None = None
    namesakes: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class PersonFacts:
    """`address` is that of the person's own record as a patient, where there is one."""

    name: str
    address: str = ""


@dataclass(frozen=True, slots=True)
class Known:
    """
    What relations are seen by.

    Attributes:
        involved: (person, patient) who had to do with each other near that day.
    """

    people: Mapping[int, PersonFacts]
    patients: Mapping[int, PatientFacts]
    involved: Collection[tuple[int, int]] = field(default_factory=frozenset)


def many_in_an_hour(
    accesses: Iterable[Access],
    most: int,
    *,
    until: datetime,
    asked_up_to: Mapping[int, int] | None = None,
) -> list[Finding]:
    """
    Hours in which one person opened more than `most` different records.

    An hour begins with any access, and is asked about once it is over: one that ends after `until`
    is left to the next look. No access counts in two findings.

    Args:
        accesses: from at least an hour before the last look.
        asked_up_to: by person, the last entry of the trail that an earlier finding counted.
    """
    asked_up_to = asked_up_to or {}
    found: list[Finding] = []
    for person, own in _by_person(accesses).items():
        after = asked_up_to.get(person, 0)
        found += _full_hours([one for one in own if one.position > after], most, until)
    return found


def _full_hours(own: Sequence[Access], most: int, until: datetime) -> Iterator[Finding]:
    """Each access is counted in and out once, however many there are."""
    start = stop = 0
    records: Counter[int] = Counter()
    while start < len(own):
        end = own[start].at + HOUR
        if end > until:
            return
        while stop < len(own) and own[stop].at < end:
            records[own[stop].patient] += 1
            stop += 1
        if len(records) > most:
            hour = own[start:stop]
            reason = f"{len(records)} different records within an hour; asked about above {most}."
            yield _finding(Question.MANY, hour, f"many:{hour[0].person}:{hour[0].position}", reason)
            start, records = stop, Counter()
            continue
        patient = own[start].patient
        records[patient] -= 1
        if not records[patient]:
            del records[patient]
        start += 1


def outside_hours(
    accesses: Iterable[Access], work: Mapping[int, WorkDay | None], margin: timedelta
) -> list[Finding]:
    """
    Accesses of one day before or after work, or on a day off: one finding for each.

    Args:
        work: by person; None for a day off. Nothing is asked about who is not in it.
        margin: so long before and after is still work.
    """
    found = []
    for person, own in _by_person(accesses).items():
        if person not in work:
            continue
        parts: dict[str, list[Access]] = {}
        for one in own:
            parts.setdefault(_part_of_day(one, work[person], margin), []).append(one)
        parts.pop("", None)
        for part, some in parts.items():
            key = f"hours:{person}:{some[0].at.date()}:{part}"
            found.append(_finding(Question.HOURS, some, key, _when(some, part, work[person])))
    return found


def _part_of_day(one: Access, work: WorkDay | None, margin: timedelta) -> str:
    if work is None:
        return "off"
    if one.at < work.starts - margin:
        return "before"
    return "after" if one.at > work.ends + margin else ""


def _when(some: Sequence[Access], part: str, work: WorkDay | None) -> str:
    span = _span(some)
    if work is None or part == "off":
        return f"{span}, on a day on which this person was not at work."
    if part == "before":
        return f"{span}; work began at {work.starts:%H:%M}."
    return f"{span}; work ended at {work.ends:%H:%M}."


def relations(accesses: Iterable[Access], known: Known) -> list[Finding]:
    """
    One's own record, a colleague's, or that of somebody of the same family name or address: one
    finding a day, person and patient, the nearest relation that fits.

    Whoever is involved in the care of the patient is asked about their own record alone.
    """
    found = []
    for (person, patient, day), some in _by_record(accesses).items():
        question, reason = _relation(person, patient, known)
        if question is not None:
            key = f"{question.value}:{person}:{patient}:{day}"
            found.append(_finding(question, some, key, f"{reason} {_span(some)}."))
    return found


def _relation(person: int, patient: int, known: Known) -> tuple[Question | None, str]:
    facts, own = known.patients.get(patient), known.people.get(person)
    if facts is None or own is None:
        return None, ""
    if facts.staff == person:
        return Question.OWN, "The record is this person’s own."
    if person in facts.namesakes:
        return Question.OWN, "The patient bears the name of this person, and may be the same."
    if (person, patient) in known.involved:
        return None, ""
    if facts.staff is not None:
        return Question.COLLEAGUE, "The patient is a member of staff."
    if facts.namesakes:
        return Question.COLLEAGUE, "The patient bears the name of a member of staff."
    if own.address and _same_address(own.address, facts.address):
        return Question.FAMILY, "The patient’s address is that of this person’s own record."
    if _family_name(own.name) and _family_name(own.name) == _family_name(facts.name):
        return Question.FAMILY, "The patient bears the family name of this person."
    return None, ""


def _family_name(name: str) -> str:
    """The last word of a name: a guess, which is why the owner is asked and nobody told."""
    folded = [fold(word) for word in name.split()]
    return folded[-1] if len(folded) > 1 else ""


def _same_address(one: str, other: str) -> bool:
    return bool(fold(one)) and fold(one) == fold(other)


def without_reason(
    accesses: Iterable[Access],
    with_reason: Collection[int],
    days: int,
    *,
    asked: Collection[tuple[int, int]] = (),
) -> list[Finding]:
    """
    Records of patients of whom nothing was near that day: one finding a day, person and patient.

    Args:
        with_reason: patients with a visit, session, review or task near.
        days: what "near" was, for the words.
        asked: (person, patient) about whom there is a question of that day already.
    """
    found = []
    for (person, patient, day), some in _by_record(accesses).items():
        if patient in with_reason or (person, patient) in asked:
            continue
        reason = (
            f"No visit, session, review or task of this patient within {days} days of that day. "
            f"{_span(some)}."
        )
        key = f"no_reason:{person}:{patient}:{day}"
        found.append(_finding(Question.NO_REASON, some, key, reason))
    return found


def _by_person(accesses: Iterable[Access]) -> dict[int, list[Access]]:
    people: dict[int, list[Access]] = {}
    for one in sorted(accesses, key=lambda one: (one.at, one.position)):
        people.setdefault(one.person, []).append(one)
    return people


def _by_record(accesses: Iterable[Access]) -> dict[tuple[int, int, date], list[Access]]:
    records: dict[tuple[int, int, date], list[Access]] = {}
    for one in sorted(accesses, key=lambda one: (one.at, one.position)):
        records.setdefault((one.person, one.patient, one.at.date()), []).append(one)
    return records


def _span(some: Sequence[Access]) -> str:
    """ "Opened at 22:14", "Opened between 22:14 and 22:31"."""
    first, last = f"{some[0].at:%H:%M}", f"{some[-1].at:%H:%M}"
    return f"Opened at {first}" if first == last else f"Opened between {first} and {last}"


def _finding(question: Question, some: Sequence[Access], key: str, reason: str) -> Finding:
    records = tuple(dict.fromkeys(one.patient for one in some))
    is_about_many = question in (Question.MANY, Question.HOURS)
    return Finding(
        question=question,
        person=some[0].person,
        patient=None if is_about_many else some[0].patient,
        day=some[0].at.date(),
        key=key,
        reason=reason,
        count=len(records),
        entries=len(some),
        records=records[:NAMED],
        first=min(one.position for one in some),
        last=max(one.position for one in some),
        begins=some[0].at,
        ends=some[-1].at,
    )

"""Finding a patient as one types, and finding who may be the same person."""

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Lower
from django.utils import timezone

from clinic.access.rules import reads_clinical
from clinic.database.fields import prefix_range
from clinic.staff.models import User
from planning.imports.matching import People, keys_of
from planning.names import Person, phone_tail, query_words
from planning.spellings import one_slip_from
from planning.spoken import Heard, hear
from records.patients.enums import AlertLevel
from records.patients.models import Alert, Patient, PatientWord

SHOWN = 20
FIRST_YEAR = 1900
SHORTEST_PHONE_TAIL = 3
# Beyond so many rows it no longer pays to ask which of the typed words is the rarest.
COUNTED = 500
_RECORD_NUMBER = re.compile(r"[Pp]?0*([0-9]{1,11})")
_YEAR = re.compile(r"[0-9]{4}")
_PHONE = re.compile(r"[+(]?\d[\d\s()./-]*")


@dataclass(frozen=True)
class Matches:
    """
    The first hits in order, and whether there are more of them.

    Attributes:
        patients: at most as many as asked for.
        more: some hits are not among `patients`.
        near: nobody is spelt as typed; these are one slip of the keys away.
    """

    patients: list[Patient]
    more: bool
    near: bool = False


def find_patients(typed: str, limit: int = SHOWN) -> Matches:
    """
    Patients by what is typed: record number, date of birth as people say it or its year, ending of
    the telephone number, whole e-mail address, or the beginnings of words of the name in any order.

    A record number comes first, then telephone numbers, then years of birth, then names. Names
    stand in the order of the word that matched, then of the whole name, as in an index of names.
    Every read is a range of one index that stops when the list is full, so the time does not grow
    with the number of patients. Where nobody is found, spellings one slip away are tried.
    """
    heard = hear(typed, timezone.localdate())
    found: dict[int, None] = {}
    for ids in _ways_to_find(typed.strip(), heard, limit + 1):
        found.update(dict.fromkeys(ids))
        if len(found) > limit:
            break
    near = not found
    if near:
        found.update(dict.fromkeys(_spelt_nearly(query_words(heard.rest), heard, limit + 1)))
    shown = list(found)[:limit]
    by_id = Patient.objects.in_bulk(shown)
    patients = [by_id[pk] for pk in shown if pk in by_id]
    return Matches(patients, more=len(found) > limit, near=near and bool(patients))


def _ways_to_find(typed: str, heard: Heard, wanted: int) -> Iterable[Iterable[int]]:
    """Ids from each reading of what is typed, best reading first, at most `wanted` from each."""
    if match := _RECORD_NUMBER.fullmatch(typed):
        number = f"P{int(match[1]):06d}"
        yield Patient.objects.filter(record_number=number).values_list("pk", flat=True)
    names = query_words(heard.rest)
    for day in heard.born:
        born = Patient.objects.filter(birth_date=day)
        yield _born(_named(born, names), wanted)
    if _PHONE.fullmatch(typed):
        tail = phone_tail(typed)
        if len(tail) >= SHORTEST_PHONE_TAIL:
            by_tail = Patient.objects.exclude(phone_tail="").filter(
                prefix_range("phone_tail", tail)
            )
            yield by_tail.order_by("phone_tail", "pk").values_list("pk", flat=True)[:wanted]
    if _YEAR.fullmatch(typed) and FIRST_YEAR <= (year := int(typed)) <= timezone.localdate().year:
        that_year = Patient.objects.filter(
            birth_date__gte=date(year, 1, 1), birth_date__lte=date(year, 12, 31)
        )
        # In the index's order: a year of a large clinic is too many to sort by name.
        yield that_year.order_by("birth_date", "pk").values_list("pk", flat=True)[:wanted]
    if "@" in typed:
        yield _with_email(typed).values_list("pk", flat=True)[:wanted]
    # A day without a year may be a word of the name ("Sunday"), and the day of a visit.
    if heard.born:
        return
    for found_by in dict.fromkeys((query_words(typed), names)):
        if found_by:
            yield _by_words([word[:100] for word in found_by], wanted)


def _spelt_nearly(typed: tuple[str, ...], heard: Heard, wanted: int) -> list[int]:
    """
    Ids of those whose names hold, for each word typed, one that begins so or is one slip away.

    Every spelling is looked up in the index of words at once, so the time grows with what is typed
    and not with the number of patients.
    """
    slips = {word: one_slip_from(word) for word in typed}
    asked = frozenset().union(*slips.values())
    if not asked:
        return []
    on_record = set(
        PatientWord.objects.filter(word__in=asked).values_list("word", flat=True).distinct()
    )
    if not on_record:
        return []
    patients = Patient.objects.all()
    if heard.born:
        patients = patients.filter(birth_date__in=heard.born)
    for word, near in slips.items():
        spelt = Q(word__in=sorted(near & on_record)) | prefix_range("word", word)
        patients = patients.filter(pk__in=PatientWord.objects.filter(spelt).values("patient_id"))
    return list(_born(patients, wanted))


def _with_email(email: str) -> QuerySet[Patient]:
    """Whose whole address it is, in any case; the "not empty" repeats the index's condition."""
    folded = Patient.objects.annotate(folded_email=Lower("email"))
    return folded.filter(Q(folded_email=email.lower()) & ~Q(email=""))


def _born(patients: QuerySet[Patient], wanted: int) -> QuerySet:
    return patients.order_by("full_name", "pk").values_list("pk", flat=True)[:wanted]


def _named(patients: QuerySet[Patient], found_by: Iterable[str]) -> QuerySet[Patient]:
    """Those of a few patients whose names hold all the words."""
    for word in found_by:
        same = PatientWord.objects.filter(prefix_range("word", word), patient=OuterRef("pk"))
        patients = patients.filter(Exists(same))
    return patients


def _by_words(found_by: list[str], wanted: int) -> list[int]:
    """
    Ids by name. The rarest word leads along its part of the index; `name_key`, in the same index,
    says whether the others fit.
    """
    lead = found_by[0] if len(found_by) == 1 else _rarest(found_by)
    rows = PatientWord.objects.filter(prefix_range("word", lead))
    for word in found_by:
        if word != lead:
            rows = rows.filter(name_key__contains=f" {word}")
    rows = rows.order_by("word", "name_key", "patient_id")
    # A patient stands there once for each word that fits ("Maria Martin" twice under "ma").
    found: dict[int, None] = {}
    taken, step = 0, 2 * wanted
    while len(found) < wanted:
        ids = list(rows.values_list("patient_id", flat=True)[taken : taken + step])
        found.update(dict.fromkeys(ids))
        if len(ids) < step:
            break
        taken, step = taken + step, 4 * step
    return list(found)[:wanted]


def _rarest(found_by: list[str]) -> str:
    """The word that fewest rows begin with; where all are common, the longest."""

    def rows(word: str) -> int:
        # In the index's order: PostgreSQL would rather read the table than believe in few rows.
        along = PatientWord.objects.filter(prefix_range("word", word)).order_by("word")
        return along.values("word")[:COUNTED].count()

    counts = {word: rows(word) for word in found_by}
    return min(found_by, key=lambda word: (counts[word], -len(word)))


def latest_patients(limit: int = SHOWN) -> QuerySet[Patient]:
    """Who was registered last, for a list that nobody has typed into yet."""
    return Patient.objects.order_by("-pk")[:limit]


def alerts_by_level(patient: Patient, reader: User) -> list[tuple[AlertLevel, list[Alert]]]:
    """The current alerts that `reader` reads, the loudest level first, without empty levels."""
    current = list(patient.alerts.current().seen_by(reader).select_related("added_by"))
    grouped = [
        (level, [alert for alert in current if alert.level == level]) for level in AlertLevel
    ]
    return [(level, alerts) for level, alerts in grouped if alerts]


def unread_level(patient: Patient, reader: User) -> AlertLevel | None:
    """The loudest level among the current alerts whose words `reader` does not read."""
    if reads_clinical(reader):
        return None
    levels = set(patient.alerts.current().from_answers().values_list("level", flat=True))
    return next((level for level in AlertLevel if level in levels), None)


@dataclass(frozen=True)
class Duplicate:
    """A patient on record who may be the person being typed, and why."""

    patient: Patient
    reason: str


def likely_duplicates(person: Person, *, besides: int | None = None) -> list[Duplicate]:
    """
    Patients on record who may be `person`, by `planning.names.likely_duplicate`.

    Args:
        besides: id of the patient who is being changed.
    """
    (found,) = duplicates_of_many([person])
    return [duplicate for duplicate in found if duplicate.patient.pk != besides]


def duplicates_of_many(persons: Sequence[Person]) -> list[list[Duplicate]]:
    """`likely_duplicates` of each person, in three queries for all, each sorted by name."""
    on_record: People[Patient] = People()
    for patient in _alike(persons):
        on_record.add(as_person(patient), patient)
    return [
        sorted(
            (Duplicate(patient, reason) for patient, reason in on_record.like(person)),
            key=lambda found: (found.patient.full_name, found.patient.pk),
        )
        for person in persons
    ]


def _alike(persons: Sequence[Person]) -> Iterable[Patient]:
    """Who shares a date of birth, telephone or e-mail with any of them."""
    keys: dict[str, set] = defaultdict(set)
    for person in persons:
        for kind, value in keys_of(person):
            keys[kind].add(value)
    # One query for each index; the "not empty" repeats the condition of the partial ones.
    ways: list[QuerySet[Patient]] = []
    if keys["born"]:
        ways.append(Patient.objects.filter(birth_date__in=keys["born"]))
    if keys["tail"]:
        ways.append(Patient.objects.filter(Q(phone_tail__in=keys["tail"]) & ~Q(phone_tail="")))
    if keys["email"]:
        folded = Patient.objects.annotate(folded_email=Lower("email"))
        ways.append(folded.filter(Q(folded_email__in=keys["email"]) & ~Q(email="")))
    return {patient.pk: patient for way in ways for patient in way}.values()


def as_person(patient: Patient) -> Person:
    """What the duplicate check looks at."""
    return Person(
        full_name=f"{patient.full_name} {patient.known_as}".strip(),
        birth_date=patient.birth_date,
        phone=patient.phone,
        email=patient.email,
    )

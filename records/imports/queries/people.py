"""Who a row is about: patients on record, other rows of the file, and former numbers."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db.models import Q

from planning.imports.matching import People, keys_of
from planning.imports.rows import FormerPatient, FormerTreatment, read_row
from planning.names import Person, words
from records.imports.enums import RowState
from records.imports.models import Import, ImportRow
from records.patients.models import Patient
from records.patients.queries import Duplicate, as_person


def same_person(person: Person, found: Iterable[Duplicate]) -> Patient | None:
    """The one patient with exactly this name and date of birth, if there is one and no other."""
    same = [one.patient for one in found if is_same(person, as_person(one.patient))]
    return same[0] if len(same) == 1 else None


def is_same(a: Person, b: Person) -> bool:
    """Whether name and date of birth are the same, which is more than that they are alike."""
    return a.birth_date == b.birth_date and set(words(a.full_name)) == set(words(b.full_name))


def earlier_rows(taken: Import, people: Sequence[Person], today) -> People[tuple[int, Person]]:
    """Rows of this file that are new by now and share a key with one of `people`, by number."""
    wanted: dict[str, set] = defaultdict(set)
    for person in people:
        for kind, value in keys_of(person):
            wanted[kind].add(value)
    found: dict[int, ImportRow] = {}
    for name in ("born", "tail", "email"):
        if wanted[name]:
            # Only who is new has these keys; the "not empty" repeats the condition of the index.
            there = ~Q(**{name: ""}) if name != "born" else Q(born__isnull=False)
            rows = taken.rows.filter(there, **{f"{name}__in": wanted[name]}).order_by()
            found |= {row.pk: row for row in rows}
    index: People[tuple[int, Person]] = People()
    mapped = taken.mapped
    for row in sorted(found.values(), key=lambda row: row.number):
        said = read_row(row.cells or [], mapped, today)
        if isinstance(said, FormerPatient):
            index.add(said.person, (row.number, said.person))
    return index


class PatientFinder:
    """Finds the patients of a batch of past treatments in three queries."""

    def __init__(self, treatments: Sequence[FormerTreatment]) -> None:
        numbers = {one.record_number for one in treatments if one.record_number}
        self._by_number = {
            patient.record_number: patient
            for patient in Patient.objects.filter(record_number__in=numbers)
        }
        self._by_former: dict[str, set[int]] = defaultdict(set)
        former = {one.former_number for one in treatments if one.former_number}
        rows = ImportRow.objects.filter(
            ~Q(key=""), key__in=former, import_of__kind="patients", patient__isnull=False,
            state__in=[RowState.TAKEN, RowState.KEPT, RowState.HERE],
        ).select_related("patient")  # fmt: skip
        self._patients: dict[int, Patient] = {}
        for row in rows:
            if row.patient:
                self._by_former[row.key].add(row.patient.pk)
                self._patients[row.patient.pk] = row.patient
        born = {one.birth_date for one in treatments if one.birth_date and one.full_name}
        self._by_born: dict = defaultdict(list)
        for patient in Patient.objects.filter(birth_date__in=born):
            self._by_born[patient.birth_date].append(patient)

    def find(self, said: FormerTreatment) -> tuple[Patient | None, str]:
        """The patient, or why none is certain; what the row says besides must not contradict."""
        patient, problem = self._found(said)
        if patient is None:
            return None, problem
        if said.birth_date and patient.birth_date != said.birth_date:
            return None, (
                f"patient {patient.record_number} is found, but was born on another day: compare "
                "both."
            )
        return patient, ""

    def _found(self, said: FormerTreatment) -> tuple[Patient | None, str]:
        if said.record_number:
            patient = self._by_number.get(said.record_number)
            return patient, f"nobody here has the record number {said.record_number}."
        if said.former_number:
            ids = self._by_former.get(said.former_number, set())
            if len(ids) == 1:
                return self._patients[next(iter(ids))], ""
            if ids:
                return None, "two imported patients have this number: use the record number here."
            if not (said.full_name and said.birth_date):
                return None, (
                    f"no patient was imported with the number {said.former_number}: import the "
                    "patients first, or use the record number here."
                )
        wanted = set(words(said.full_name))
        same = [
            one
            for one in self._by_born.get(said.birth_date, [])
            if wanted in (set(words(one.full_name)), set(words(f"{one.full_name} {one.known_as}")))
        ]
        if len(same) == 1:
            return same[0], ""
        if same:
            return None, "several patients have this name and date of birth: use a number."
        return None, "nobody here has exactly this name and date of birth."

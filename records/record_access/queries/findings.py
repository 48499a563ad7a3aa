"""The questions as the owner reads them."""

from collections.abc import Iterable
from dataclasses import dataclass

from clinic.staff.models import User
from records.patients.models import Patient
from records.record_access.enums import Mark
from records.record_access.models import AccessFinding
from records.record_access.queries.facts import namesakes_unsaid

SHOWN_RECORDS = 12


def open_questions() -> int:
    return AccessFinding.objects.still_open().count()


@dataclass(frozen=True, slots=True)
class Asked:
    """A question, with the records it is about; `more` of them are not named."""

    finding: AccessFinding
    records: list[Patient]
    more: int


def asked(findings: Iterable[AccessFinding]) -> list[Asked]:
    """One query for the patients of all."""
    findings = list(findings)
    named = {pk for one in findings for pk in one.records[:SHOWN_RECORDS]}
    patients = Patient.objects.only("full_name", "record_number").in_bulk(named)
    return [
        Asked(
            one,
            [patients[pk] for pk in one.records[:SHOWN_RECORDS] if pk in patients],
            max(0, one.count - SHOWN_RECORDS),
        )
        for one in findings
    ]


def findings_shown(*, mark: Mark, person_id: int | None = None, before: int | None = None):
    findings = AccessFinding.objects.filter(mark=mark).with_people()
    if person_id:
        findings = findings.filter(person_id=person_id)
    return findings.filter(pk__lt=before) if before else findings


@dataclass(frozen=True, slots=True)
class Namesakes:
    """A member of staff and a patient of one name, of whom nobody said whether they are one."""

    person: User
    patient: Patient


def namesakes(most: int = 20) -> list[Namesakes]:
    pairs = [pair for _, pair in zip(range(most), namesakes_unsaid(), strict=False)]
    people = User.objects.in_bulk([person for person, _ in pairs])
    patients = Patient.objects.in_bulk([patient for _, patient in pairs])
    return [
        Namesakes(people[person], patients[patient])
        for person, patient in pairs
        if person in people and patient in patients
    ]

"""
What a batch of rows would become: new, already here, or refused and why. The dry run and the run
itself ask the same functions, so that they cannot tell two stories.
"""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from django.core.exceptions import ValidationError

from planning.imports.columns import Kind
from planning.imports.matching import People
from planning.imports.rows import FormerPatient, FormerTreatment, read_row
from planning.names import PHONE_TAIL_DIGITS, Person, phone_tail
from planning.stock_lines import Problem
from records.imports.enums import RowState
from records.imports.models import Import, ImportRow
from records.imports.queries.people import PatientFinder, earlier_rows, is_same, same_person
from records.patients.models import Patient
from records.patients.queries import Duplicate, as_person, duplicates_of_many
from records.patients.validators import check_birth_date, parse_weight_g

ALREADY = "is written down already, from another file"


Said = TypeVar("Said", FormerPatient, FormerTreatment)


@dataclass(frozen=True, slots=True)
class Good(Generic[Said]):
    """A row that can be taken in, what it says, and whom it would register or is about."""

    row: ImportRow
    said: Said
    patient: Patient


def look_at(taken: Import, rows: Sequence[ImportRow], *, today: date) -> None:
    """The dry run: set state, problems and keys of the rows, without storing anything."""
    if taken.kind == Kind.PATIENTS:
        good_patients(taken, rows, today=today, is_dry=True)
    else:
        good_treatments(taken, rows, today=today)


def good_patients(
    taken: Import, rows: Sequence[ImportRow], *, today: date, is_dry: bool
) -> list[Good[FormerPatient]]:
    """
    Set what becomes of the rows, and give those back that are new.

    Args:
        is_dry: other rows of the file are looked at too; once it runs, they are patients.
    """
    read = list(_read(taken, rows, today))
    readable = [(row, said) for row, said in read if isinstance(said, FormerPatient)]
    people = [said.person for _, said in readable]
    found = duplicates_of_many(people)
    in_file = earlier_rows(taken, people, today) if is_dry else People[tuple[int, Person]]()
    good = []
    for (row, said), duplicates in zip(readable, found, strict=True):
        row.key = said.former_number
        patient, problems = as_patient(said, today)
        if problems:
            refuse(row, *problems)
        elif not row.is_sure and duplicates:
            _is_alike(row, said, duplicates)
        elif not row.is_sure and (alike := in_file.like(said.person)):
            (number, other), reason = alike[0]
            state = RowState.HERE if is_same(said.person, other) else RowState.ALIKE
            refuse(row, ("", f"May be row {number} of this file. {reason}"), state=state)
        else:
            _keep_keys(row, said)
            in_file.add(said.person, (row.number, said.person))
            good.append(Good(row, said, patient))
    return good


def good_treatments(
    taken: Import, rows: Sequence[ImportRow], *, today: date
) -> list[Good[FormerTreatment]]:
    """Set what becomes of the rows, and give those back that are new."""
    read = list(_read(taken, rows, today))
    readable = [(row, said) for row, said in read if isinstance(said, FormerTreatment)]
    finder = PatientFinder([said for _, said in readable])
    good = []
    for row, said in readable:
        patient, problem = finder.find(said)
        if patient is None:
            refuse(row, ("Patient", problem))
        elif said.treated_on < patient.birth_date:
            refuse(row, ("Day of treatment", "the patient was not born by then."))
        else:
            row.key = treatment_key(patient, said)
            good.append(Good(row, said, patient))
    known = _known_keys(taken, {one.row.key for one in good})
    for one in good:
        if one.row.key in known and not one.row.is_sure:
            refuse(one.row, ("", f"This treatment {ALREADY}."), state=RowState.HERE)
    return [one for one in good if one.row.state == RowState.GOOD]


def _known_keys(taken: Import, keys: set[str]) -> set[str]:
    """Those taken in by another file: two alike in one file are two syringes."""
    rows = ImportRow.objects.filter(key__in=keys, state__in=[RowState.TAKEN, RowState.KEPT])
    return set(rows.exclude(key="").exclude(import_of=taken).values_list("key", flat=True))


def _read(
    taken: Import, rows: Sequence[ImportRow], today: date
) -> Iterator[tuple[ImportRow, FormerPatient | FormerTreatment]]:
    """The rows that say what is needed; the others are refused."""
    mapped = taken.mapped
    for row in rows:
        row.problems, row.state, row.patient = [], RowState.GOOD, None
        said = read_row(row.cells or [], mapped, today)
        if isinstance(said, tuple):
            refuse(row, *((problem.column, _of(problem)) for problem in said))
        else:
            yield row, said


def _of(problem: Problem) -> str:
    return f"“{problem.value}”: {problem.message}" if problem.value else problem.message


def refuse(row: ImportRow, *problems: tuple[str, str], state: RowState = RowState.WRONG) -> None:
    """Why a row is not taken in, as (our column, reason)."""
    row.state, row.problems = state, [list(problem) for problem in problems]


def _is_alike(row: ImportRow, said: FormerPatient, duplicates: Sequence[Duplicate]) -> None:
    """Already here where name and date of birth are the same; otherwise a person decides."""
    row.patient = same_person(said.person, duplicates)
    same = [one for one in duplicates if is_same(said.person, as_person(one.patient))]
    first = (same or duplicates)[0]
    reason = f"May be {first.patient.record_number}, who is here. {first.reason}"
    refuse(row, ("", reason), state=RowState.HERE if same else RowState.ALIKE)


def _keep_keys(row: ImportRow, said: FormerPatient) -> None:
    tail = phone_tail(said.phone)
    row.born, row.email = said.birth_date, said.email.lower()
    row.tail = tail if len(tail) == PHONE_TAIL_DIGITS else ""


def as_patient(said: FormerPatient, today: date) -> tuple[Patient, list[tuple[str, str]]]:
    """The patient as they would be registered, and what the record refuses of it."""
    patient = Patient(
        full_name=said.full_name, known_as=said.known_as, birth_date=said.birth_date, sex=said.sex,
        phone=said.phone, email=said.email, address=said.address,
        preferred_channel=_channel(said),
    )  # fmt: skip
    problems: list[tuple[str, str]] = []
    try:
        check_birth_date(said.birth_date, today=today)
    except ValidationError as error:
        problems.append(("Date of birth", " ".join(error.messages)))
    try:
        patient.weight_g = parse_weight_g(said.weight) if said.weight else None
    except ValidationError as error:
        problems.append(("Weight", " ".join(error.messages)))
    try:
        patient.clean_fields(exclude={"record_number", "birth_date", "weight_g"})
    except ValidationError as error:
        labels = {"full_name": "Name", "email": "E-mail", "phone": "Phone", "address": "Address"}
        problems += [
            (labels.get(name, name), " ".join(texts)) for name, texts in error.message_dict.items()
        ]
    return patient, problems


def _channel(said: FormerPatient) -> str:
    """The first way that there is; how the patient likes to be reached is asked at a visit."""
    if said.phone or not (said.email or said.address):
        return "phone"
    return "email" if said.email else "letter"


def treatment_key(patient: Patient, said: FormerTreatment) -> str:
    """What makes two rows of different files the same treatment."""
    parts = (
        patient.pk, said.treated_on.isoformat(), said.product.casefold(), said.lot,
        said.region.casefold(), said.amount, said.measure,
    )  # fmt: skip
    return hashlib.sha256("\x1f".join(map(str, parts)).encode()).hexdigest()

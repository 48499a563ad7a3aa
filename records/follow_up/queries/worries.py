"""Worries that patients told of the day after, as cases of the follow-up list: one query."""

from collections.abc import Iterator
from datetime import datetime
from itertools import starmap
from typing import NamedTuple

from django.utils import timezone

from planning.follow_up import Case, Kind, Way
from planning.review_dates import ReviewState
from records.aftercare.models import CheckInAnswer, CheckInAnswerQuerySet
from records.follow_up.queries.found import Asked, Found, Person

SOURCE = "worry"
_SESSION = "check_in__session__"
_PATIENT = f"{_SESSION}patient__"
_COLUMNS = (
    "pk", "check_in_id", "at", "haste", f"{_SESSION}started_at", f"{_SESSION}patient_id",
    f"{_PATIENT}record_number", f"{_PATIENT}full_name", f"{_PATIENT}phone", f"{_PATIENT}email",
    f"{_PATIENT}address", f"{_PATIENT}preferred_channel", f"{_SESSION}injector_id",
    f"{_SESSION}injector__full_name",
)  # fmt: skip


class Worry(NamedTuple):
    """One row as it is read."""

    pk: int
    check_in_id: int
    at: datetime
    haste: int
    treated_at: datetime
    patient_id: int
    record_number: str
    patient: str
    phone: str
    email: str
    address: str
    prefers: str
    injector_id: int
    injector: str


def waiting_worries(asked: Asked) -> Iterator[Found]:
    """
    Everybody with a worry that nobody dealt with; a visit to come does not settle it.

    Whoever answers again does not push others off the page: of several answers to one question the
    most pressing one stands for all, of those as pressing the last.
    """
    rising = worries_of(asked).waiting().order_by("haste", "pk").values_list(*_COLUMNS)
    standing_for = {row.check_in_id: row for row in starmap(Worry, rising)}
    for row in standing_for.values():
        case = Case(
            kind=Kind.WORRY,
            source=SOURCE,
            pk=row.pk,
            state=ReviewState.DUE,
            deadline_on=timezone.localdate(row.at),
            weight=row.haste,
            prefers=Way(row.prefers),
            phone=row.phone,
            email=row.email,
            address=row.address,
        )
        person = Person(row.patient_id, row.record_number, row.patient)
        yield Found(case, person, row.injector_id, row.injector, row)


def worries_of(asked: Asked) -> CheckInAnswerQuerySet:
    """Answers of the patients of the injector in question."""
    answers = CheckInAnswer.objects.all()
    if asked.injector_id is None:
        return answers
    return answers.filter(check_in__session__injector=asked.injector_id)
